package store

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/warranty"
)

// CardCheck is what the public page needs to judge a card.
type CardCheck struct {
	Shop shop.Shop
	Card *CardRow // nil where the shop keeps no such card
}

// Check judges the card under code at the time now; see warranty.Check.
func (c CardCheck) Check(code warranty.Code, now time.Time) (warranty.PublicFacts, error) {
	today := civilDay(now, c.Shop.Location())
	if c.Card == nil {
		return warranty.Check(code, nil, warranty.Fate{}, nil, today)
	}
	return warranty.Check(code, &c.Card.Signed, c.Card.Fate, c.Card.keys(), today)
}

// CardCheck reads, in one round trip, the card that the shop keeps under code. The error wraps domain.ErrNotFound only
// until the shop is founded.
func (s *Store) CardCheck(ctx context.Context, code warranty.Code) (CardCheck, error) {
	var check CardCheck
	var cards []CardRow
	var batch pgx.Batch
	batch.Queue(`SELECT ` + shopFields + ` FROM shop s`).QueryRow(func(row pgx.Row) error {
		return row.Scan(shopTargets(&check.Shop)...)
	})
	batch.Queue(cardSQL+`WHERE w.code = $1`, string(code)).Query(func(rows pgx.Rows) (err error) {
		cards, err = pgx.CollectRows(rows, scanCard)
		return err
	})
	if err := s.db.SendBatch(ctx, &batch).Close(); err != nil {
		return CardCheck{}, fmt.Errorf("check of a card: %w", Translate(err))
	}
	if len(cards) > 0 {
		check.Card = &cards[0]
	}
	return check, nil
}
