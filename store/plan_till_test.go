package store_test

import (
	"context"
	"time"
)

// tillQuestions are what the pages of the till ask.
func tillQuestions() []question {
	// The newest docket's day, and one in the middle of the smaller shop.
	newest := func(o *oldShop) time.Time {
		return time.Date(2001, 1, 2, 0, 0, 0, 0, time.UTC).Add(time.Duration(o.size) * 2 * time.Hour).Truncate(24 * time.Hour)
	}
	middle := time.Date(2001, 9, 3, 0, 0, 0, 0, time.UTC)
	return []question{
		{"till", func(ctx context.Context, o *oldShop) error { return second(o.Till(ctx, "EUR", newest(o), time.Time{})) }},
		{"till, a later page", func(ctx context.Context, o *oldShop) error { return second(o.Till(ctx, "EUR", newest(o), middle)) }},
		{"closed day", func(ctx context.Context, o *oldShop) error { return second(o.ClosedDay(ctx, "EUR", middle)) }},
	}
}
