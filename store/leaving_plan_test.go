package store_test

import (
	"context"

	"ledgerwheel/domain/docket"
)

// leavingQuestions are what the pages of a watch's leaving read, and what anyone asks who checks a card.
func leavingQuestions() []question {
	n := docket.Number{Year: 2002, Seq: 77}
	return []question{
		{"final test", func(ctx context.Context, o *oldShop) error { return second(o.FinalTestSheet(ctx, n)) }},
		{"hand-over", func(ctx context.Context, o *oldShop) error { return second(o.HandOverSheet(ctx, n)) }},
		{"warranty card", func(ctx context.Context, o *oldShop) error { return second(o.CardSheet(ctx, n)) }},
		{"card check", func(ctx context.Context, o *oldShop) error { return second(o.CardCheck(ctx, "CARD4077")) }},
		{"card check of none", func(ctx context.Context, o *oldShop) error { return second(o.CardCheck(ctx, "CARD0")) }},
		{"signing keys", func(ctx context.Context, o *oldShop) error { return second(o.SigningKeys(ctx)) }},
	}
}
