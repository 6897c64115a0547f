package store

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/parcel"
)

const carrierFields = `c.id, c.name, c.limit_minor, c.currency, c.cells_in_equipment, c.note`

func carrierTargets(c *parcel.Carrier) []any {
	return []any{&c.ID, &c.Name, &c.LimitMinor, &c.Currency, &c.CellsInEquipment, &c.Note}
}

func scanCarrier(row pgx.CollectableRow) (c parcel.Carrier, err error) {
	err = row.Scan(carrierTargets(&c)...)
	return c, err
}

// queueCarriers adds the reading of those that the shop sends by to a page's batch.
func queueCarriers(batch *pgx.Batch, list *[]parcel.Carrier) {
	batch.Queue(`SELECT ` + carrierFields + ` FROM carrier c WHERE c.ended_at IS NULL ORDER BY lower(c.name)`).
		Query(func(rows pgx.Rows) (err error) {
			*list, err = pgx.CollectRows(rows, scanCarrier)
			return err
		})
}

// Carriers lists those that the shop sends by.
func (s *Store) Carriers(ctx context.Context) (list []parcel.Carrier, err error) {
	var batch pgx.Batch
	queueCarriers(&batch, &list)
	if err := s.db.SendBatch(ctx, &batch).Close(); err != nil {
		return nil, fmt.Errorf("carriers: %w", Translate(err))
	}
	return list, nil
}

// KeepCarrier writes down the terms of a carrier. Those of one of the same name end: what was sent by them keeps them. The
// error is a *domain.InvalidError.
func (s *Store) KeepCarrier(ctx context.Context, c parcel.Carrier, by Actor, at time.Time) error {
	c = c.Tidied()
	if err := domain.Invalid(c.Problems()); err != nil {
		return err
	}
	n := note{kind: docket.CarrierChanged, by: by, at: at, summary: c.CarrierKeptSummary()}
	err := s.changeShop(ctx, &n, func(tx pgx.Tx) error {
		if _, err := tx.Exec(ctx, `UPDATE carrier SET ended_at = $2 WHERE lower(name) = lower($1) AND ended_at IS NULL`, c.Name,
			docket.Moment(at)); err != nil {
			return err
		}
		_, err := tx.Exec(ctx, `INSERT INTO carrier (name, limit_minor, currency, cells_in_equipment, note, kept_by, kept_at)
			VALUES ($1, $2, $3, $4, $5, $6, $7)`, c.Name, c.LimitMinor, c.Currency, c.CellsInEquipment, c.Note, by.StaffID, docket.Moment(at))
		return err
	})
	if err != nil {
		return fmt.Errorf("keep carrier: %w", Translate(err))
	}
	return nil
}

// EndCarrier has the shop send no longer by a carrier. The error wraps domain.ErrNotFound where it does not any more.
func (s *Store) EndCarrier(ctx context.Context, id int64, by Actor, at time.Time) error {
	n := note{kind: docket.CarrierChanged, by: by, at: at}
	err := s.changeShop(ctx, &n, func(tx pgx.Tx) error {
		var c parcel.Carrier
		err := tx.QueryRow(ctx, `UPDATE carrier c SET ended_at = $2 WHERE id = $1 AND ended_at IS NULL RETURNING `+carrierFields, id,
			docket.Moment(at)).Scan(carrierTargets(&c)...)
		n.summary = c.CarrierEndedSummary()
		return err
	})
	if err != nil {
		return fmt.Errorf("end carrier: %w", Translate(err))
	}
	return nil
}
