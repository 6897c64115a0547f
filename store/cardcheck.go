package store

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain/warranty"
)

// CardCheck is what the public page needs to judge a card.
type CardCheck struct {
	Card *CardRow // nil where the shop keeps no such card
	Slip bool     // there is none, but one whose code differs by one slip of the hand; which one stays here
}

// Check judges the card under code at the time now, by the clock that it was issued under; see warranty.Check.
func (c CardCheck) Check(code warranty.Code, now time.Time) (warranty.PublicFacts, error) {
	if c.Slip {
		return warranty.PublicFacts{Standing: warranty.Mistyped, Code: code}, nil
	}
	if c.Card == nil {
		return warranty.Check(code, nil, warranty.Fate{}, nil, civilDay(now, time.UTC))
	}
	today := civilDay(now, c.Card.Shop.Location())
	return warranty.Check(code, &c.Card.Signed, c.Card.Fate, c.Card.keys(), today)
}

const slipSQL = `SELECT EXISTS (SELECT FROM warranty_card WHERE code = ANY($1::text[]))`

// CardCheck reads the card that the shop keeps under code. Where it keeps none, a second round trip looks up the codes
// of which code is one slip, each in the index.
func (s *Store) CardCheck(ctx context.Context, code warranty.Code) (CardCheck, error) {
	var check CardCheck
	var cards []CardRow
	var batch pgx.Batch
	queueCardRows(&batch, `w.code = $1`, "", &cards, string(code))
	if err := s.db.SendBatch(ctx, &batch).Close(); err != nil {
		return CardCheck{}, fmt.Errorf("check of a card: %w", Translate(err))
	}
	if len(cards) > 0 {
		check.Card = &cards[0]
		return check, nil
	}
	var slips []string
	for _, c := range code.Slips() {
		slips = append(slips, string(c))
	}
	err := s.db.QueryRow(ctx, slipSQL, slips).Scan(&check.Slip)
	if err != nil {
		return CardCheck{}, fmt.Errorf("check of a card: %w", Translate(err))
	}
	return check, nil
}
