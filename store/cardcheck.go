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
}

// Check judges the card under code at the time now, by the clock that it was issued under; see warranty.Check.
func (c CardCheck) Check(code warranty.Code, now time.Time) (warranty.PublicFacts, error) {
	if c.Card == nil {
		return warranty.Check(code, nil, warranty.Fate{}, nil, civilDay(now, time.UTC))
	}
	today := civilDay(now, c.Card.Shop.Location())
	return warranty.Check(code, &c.Card.Signed, c.Card.Fate, c.Card.keys(), today)
}

// CardCheck reads, in one round trip, the card that the shop keeps under code.
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
	}
	return check, nil
}
