package store

import (
	"context"
	"encoding/hex"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/photo"
	"ledgerwheel/domain/text"
)

// Photo is one photograph of a docket. Its pictures lie in the folder, under Sum.
type Photo struct {
	ID       int64
	DocketID int64
	About    photo.About
	Caption  string
	Sum      [32]byte
	WidthPx  int // of the full size
	HeightPx int
	Bytes    int
	AddedAt  time.Time
	AddedBy  string

	CustomerSees bool // on the page behind the private link
	// A removed photograph is shown to nobody; its row stays.
	RemovedAt             time.Time
	RemovedBy, RemovedWhy string
}

// Removed says that the photograph was removed.
func (p Photo) Removed() bool { return !p.RemovedAt.IsZero() }

const photoSQL = `SELECT p.id, p.docket_id, p.about, p.caption, p.sha256, p.width, p.height, p.bytes, p.added_at, m.name,
	p.customer_sees, p.removed_at, coalesce(r.name, ''), p.removed_why
	FROM photo p JOIN staff m ON m.id = p.added_by LEFT JOIN staff r ON r.id = p.removed_by `

func scanPhoto(row pgx.CollectableRow) (Photo, error) {
	var p Photo
	var sum []byte
	var removed *time.Time
	err := row.Scan(&p.ID, &p.DocketID, &p.About, &p.Caption, &sum, &p.WidthPx, &p.HeightPx, &p.Bytes, &p.AddedAt,
		&p.AddedBy, &p.CustomerSees, &removed, &p.RemovedBy, &p.RemovedWhy)
	copy(p.Sum[:], sum)
	p.AddedAt, p.RemovedAt = p.AddedAt.UTC(), timeOr(removed)
	return p, err
}

// queuePhotos adds a docket's photographs, the removed among them, oldest first, to a page's batch.
func queuePhotos(batch *pgx.Batch, n docket.Number, photos *[]Photo) {
	batch.Queue(photoSQL+`WHERE p.docket_id = (SELECT id FROM docket WHERE number = $1) ORDER BY p.id LIMIT $2`,
		n.String(), photo.MaxPerDocket).Query(func(rows pgx.Rows) (err error) {
		*photos, err = pgx.CollectRows(rows, scanPhoto)
		return err
	})
}

// Photo reads one photograph that was not removed; the error wraps domain.ErrNotFound.
func (s *Store) Photo(ctx context.Context, id int64) (Photo, error) {
	rows, _ := s.db.Query(ctx, photoSQL+`WHERE p.id = $1 AND p.removed_at IS NULL`, id)
	p, err := pgx.CollectExactlyOneRow(rows, scanPhoto)
	if err != nil {
		return Photo{}, fmt.Errorf("photograph %d: %w", id, Translate(err))
	}
	return p, nil
}

// AddPhotos adds to a docket photographs whose pictures are in the uploads already, all or none, and returns their ids
// in the same order. The error is a *domain.InvalidError when there are too many, or as of the other changes of a
// docket.
func (s *Store) AddPhotos(ctx context.Context, c Change, label photo.Label,
	pictures []photo.Picture) ([]int64, error) {
	label.Caption = text.Line(label.Caption)
	if err := domain.Invalid(photo.CaptionProblems(label.Caption)); err != nil {
		return nil, err
	}
	var ids []int64
	err := s.change(ctx, c, func(tx pgx.Tx, d docket.Docket) ([]event, error) {
		ids = make([]int64, 0, len(pictures))
		var kept int
		if err := tx.QueryRow(ctx, `SELECT count(*) FROM photo WHERE docket_id = $1`, d.ID).Scan(&kept); err != nil {
			return nil, err
		}
		if kept+len(pictures) > photo.MaxPerDocket {
			return nil, domain.Invalid(map[string]string{"photos": photo.CountProblem(kept)})
		}
		var batch pgx.Batch
		var events []event
		for _, p := range pictures {
			sum, err := hex.DecodeString(p.SHA256)
			if err != nil || len(sum) != 32 {
				return nil, fmt.Errorf("photograph: %q is no sum", p.SHA256)
			}
			batch.Queue(`INSERT INTO photo (docket_id, about, caption, sha256, width, height, bytes, added_by, added_at,
				customer_sees) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10) RETURNING id`, d.ID, string(label.About),
				label.Caption, sum, p.WidthPx, p.HeightPx, len(p.Full), c.By.StaffID, docket.Moment(c.At),
				label.CustomerSees).QueryRow(func(row pgx.Row) error {
				var id int64
				err := row.Scan(&id)
				ids = append(ids, id)
				return err
			})
			// The sum binds the picture to the journal: a file exchanged later no longer matches it.
			events = append(events, event{kind: docket.PhotoAdded, summary: label.About.AddedSummary(),
				facts: map[string]any{"about": string(label.About), "caption": label.Caption, "sha256": p.SHA256,
					"customer_sees": label.CustomerSees}})
		}
		return events, tx.SendBatch(ctx, &batch).Close()
	})
	if err != nil {
		return nil, err
	}
	return ids, nil
}

// CaptionPhoto says what a photograph of the docket shows. The error is a *domain.InvalidError, wraps
// domain.ErrNotFound when the docket has no such photograph, or is as of the other changes of a docket.
func (s *Store) CaptionPhoto(ctx context.Context, c Change, id int64, caption string) error {
	caption = text.Line(caption)
	if err := domain.Invalid(photo.CaptionProblems(caption)); err != nil {
		return err
	}
	return s.change(ctx, c, func(tx pgx.Tx, d docket.Docket) ([]event, error) {
		var old string
		err := tx.QueryRow(ctx, `SELECT caption FROM photo WHERE id = $1 AND docket_id = $2
			AND removed_at IS NULL`, id, d.ID).Scan(&old)
		if err != nil || old == caption {
			return nil, err
		}
		if _, err := tx.Exec(ctx, `UPDATE photo SET caption = $2 WHERE id = $1`, id, caption); err != nil {
			return nil, err
		}
		return []event{{kind: docket.NoteAdded, summary: photo.CaptionSummary,
			facts: map[string]any{"photograph": id, "from": old, "to": caption}}}, nil
	})
}
