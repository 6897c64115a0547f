package store

import (
	"context"
	"fmt"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/photo"
	"ledgerwheel/domain/text"
)

// lockPhoto reads a photograph of a locked docket; the error wraps domain.ErrNotFound.
func lockPhoto(ctx context.Context, tx pgx.Tx, docketID, id int64) (Photo, error) {
	rows, _ := tx.Query(ctx, photoSQL+`WHERE p.id = $1 AND p.docket_id = $2`, id, docketID)
	p, err := pgx.CollectExactlyOneRow(rows, scanPhoto)
	if err != nil {
		return Photo{}, fmt.Errorf("photograph %d: %w", id, Translate(err))
	}
	return p, nil
}

// ShowPhoto shows a photograph of the docket to the customer, or takes it out of the customer's sight. It may also be
// done once the watch has left, as the private link may still serve. The error wraps domain.ErrNotFound, also for a
// photograph that was removed.
func (s *Store) ShowPhoto(ctx context.Context, c Change, id int64, customerSees bool) error {
	return s.changeAny(ctx, c, func(tx pgx.Tx, d docket.Docket) ([]event, error) {
		p, err := lockPhoto(ctx, tx, d.ID, id)
		switch {
		case err != nil:
			return nil, err
		case p.Removed():
			return nil, domain.ErrNotFound
		case p.CustomerSees == customerSees:
			return nil, nil
		}
		ev := event{kind: docket.PhotoHidden, summary: photo.HiddenSummary, facts: p.facts()}
		if customerSees {
			ev.kind, ev.summary = docket.PhotoShown, photo.ShownSummary
		}
		_, err = tx.Exec(ctx, `UPDATE photo SET customer_sees = $2 WHERE id = $1`, id, customerSees)
		return []event{ev}, err
	})
}

// facts name the photograph by what is hashed of it.
func (p Photo) facts() map[string]any {
	return map[string]any{"photograph": p.ID, "caption": p.Caption, "sha256": fmt.Sprintf("%x", p.Sum)}
}

// RemovePhoto removes a photograph for the reason given: it is shown to nobody any more, and ClearPictures deletes its
// files. Row, sum and journal stay. A photograph that was removed already stays as it is. It may also be done once the
// watch has left. The error is a *domain.InvalidError without a reason, or wraps domain.ErrNotFound.
func (s *Store) RemovePhoto(ctx context.Context, c Change, id int64, why string) error {
	why = text.Lines(why)
	if err := domain.Invalid(photo.RemovalProblems(why)); err != nil {
		return err
	}
	return s.changeAny(ctx, c, func(tx pgx.Tx, d docket.Docket) ([]event, error) {
		p, err := lockPhoto(ctx, tx, d.ID, id)
		if err != nil || p.Removed() {
			return nil, err
		}
		_, err = tx.Exec(ctx, `UPDATE photo SET removed_at = $2, removed_by = $3, removed_why = $4, customer_sees = false
			WHERE id = $1`, id, docket.Moment(c.At), c.By.StaffID, why)
		return []event{{kind: docket.PhotoRemoved, summary: photo.RemovedSummary, why: why, facts: p.facts()}}, err
	})
}

// ClearPictures has remove delete the files of every removed photograph that are still there and that no other row
// names. What a pulled plug left is found again by the next call, so remove is also asked for files that are gone. No
// picture may be filed meanwhile: its files could be taken for those of a removed one.
func (s *Store) ClearPictures(ctx context.Context, remove func(sum [32]byte) error) error {
	err := s.inTx(ctx, func(tx pgx.Tx) error {
		rows, _ := tx.Query(ctx, `SELECT p.sha256 FROM (SELECT sha256 FROM photo WHERE removed_at IS NOT NULL AND cleared_at IS NULL
				UNION SELECT sha256 FROM parcel_photo WHERE removed_at IS NOT NULL AND cleared_at IS NULL) p
			WHERE NOT EXISTS (SELECT FROM photo o WHERE o.sha256 = p.sha256 AND o.removed_at IS NULL)
			AND NOT EXISTS (SELECT FROM calibre_drawing d WHERE d.sha256 = p.sha256)
			AND NOT EXISTS (SELECT FROM parcel_photo o WHERE o.sha256 = p.sha256 AND o.removed_at IS NULL)`)
		sums, err := pgx.CollectRows(rows, pgx.RowTo[[]byte])
		if err != nil {
			return err
		}
		for _, sum := range sums {
			if err := remove([32]byte(sum)); err != nil {
				return err
			}
		}
		for _, table := range []string{"photo", "parcel_photo"} {
			if _, err := tx.Exec(ctx, `UPDATE `+table+` SET cleared_at = now() WHERE removed_at IS NOT NULL AND cleared_at IS NULL
				AND sha256 = ANY($1)`, sums); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return fmt.Errorf("clear pictures: %w", Translate(err))
	}
	return nil
}
