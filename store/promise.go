package store

import (
	"context"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/warranty"
)

// promised is what the watch of a docket may come back on. left is the settings as they stood when it left, and newest
// the card issued last, nil for none.
func promised(stage docket.Stage, handedBackAt time.Time, left shop.Shop, newest *CardRow) warranty.Promise {
	p := warranty.Promise{Stage: stage, Months: left.WarrantyMonths, Carded: newest != nil}
	if !handedBackAt.IsZero() {
		p.HandedOverOn = civilDay(handedBackAt, left.Location())
	}
	if newest != nil && newest.Live() {
		if card, err := newest.Card(); err == nil {
			p.Card = &card
		}
	}
	return p
}

// promiseOf reads what the watch of a locked docket may come back on.
func promiseOf(ctx context.Context, tx pgx.Tx, d docket.Docket) (warranty.Promise, error) {
	var left shop.Shop
	var cards []CardRow
	stood := stoodShops{}
	var batch pgx.Batch
	queueShops(&batch, stood, `SELECT left_under FROM docket WHERE id = $1`, d.ID)
	batch.Queue(`SELECT coalesce(left_under, 0) FROM docket WHERE id = $1`, d.ID).Query(stood.give(&left))
	queueCards(&batch, d.Number, 1, &cards)
	if err := tx.SendBatch(ctx, &batch).Close(); err != nil {
		return warranty.Promise{}, err
	}
	var newest *CardRow
	if len(cards) > 0 {
		newest = &cards[0]
	}
	return promised(d.Stage, d.HandedBackAt, left, newest), nil
}

// queuePromises adds to a batch what the past dockets that ids selects may come back on. It is queued before they are
// read, and give then tells it of each.
func queuePromises(batch *pgx.Batch, ids string, args ...any) (give func(*PastDocket)) {
	stood := stoodShops{}
	var cards []CardRow
	queueShops(batch, stood, `SELECT left_under FROM docket WHERE id IN (`+ids+`)`, args...)
	queueCardRows(batch, `w.docket_id IN (`+ids+`)`, ` ORDER BY w.id DESC`, &cards, args...)
	return func(d *PastDocket) {
		var newest *CardRow
		for i := range cards {
			if cards[i].DocketID == d.ID {
				newest = &cards[i]
				break
			}
		}
		d.Promise = promised(d.Stage, d.HandedBackAt, stood[d.leftUnder], newest)
	}
}
