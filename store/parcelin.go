package store

import (
	"context"
	"encoding/hex"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/parcel"
	"ledgerwheel/domain/photo"
)

// ParcelIn is a parcel that came.
type ParcelIn struct {
	parcel.Arrival
	ID      int64
	CameAt  time.Time
	By      string
	Dockets []string // numbers of the watches that were taken in from it
	Photos  []ParcelPhoto
	Removed int // photographs that went with the data of who sent it
}

// ParcelPhoto is a photograph of a parcel; its pictures lie in the folder, under Sum.
type ParcelPhoto struct {
	ID                int64
	Sum               [32]byte
	WidthPx, HeightPx int
}

const parcelInSQL = `SELECT p.id, p.came_at, m.name, p.carrier, p.number, p.sender, p.seal, p.box, p.things, p.contents, p.note,
	ARRAY(SELECT number FROM docket WHERE parcel_id = p.id ORDER BY id) FROM parcel_in p JOIN staff m ON m.id = p.by_id `

func scanParcelIn(row pgx.CollectableRow) (ParcelIn, error) {
	var p ParcelIn
	err := row.Scan(&p.ID, &p.CameAt, &p.By, &p.Carrier, &p.Number, &p.Sender, &p.Seal, &p.Box, &p.Things, &p.Contents, &p.Note,
		&p.Dockets)
	p.CameAt = p.CameAt.UTC()
	return p, err
}

// ParcelsPage is how many parcels a page lists.
const ParcelsPage = 50

// ParcelsIn lists the parcels that came, newest first, below the id before (0 for the newest), without their photographs.
func (s *Store) ParcelsIn(ctx context.Context, before int64) ([]ParcelIn, error) {
	rows, _ := s.db.Query(ctx, parcelInSQL+`WHERE $1 = 0 OR p.id < $1 ORDER BY p.id DESC LIMIT $2`, before, ParcelsPage)
	list, err := pgx.CollectRows(rows, scanParcelIn)
	if err != nil {
		return nil, fmt.Errorf("parcels: %w", Translate(err))
	}
	return list, nil
}

// ParcelIn reads one parcel; the error wraps domain.ErrNotFound.
func (s *Store) ParcelIn(ctx context.Context, id int64) (ParcelIn, error) {
	var list []ParcelIn
	var photos []ParcelPhoto
	var removed int
	var batch pgx.Batch
	batch.Queue(parcelInSQL+`WHERE p.id = $1`, id).Query(func(rows pgx.Rows) (err error) {
		list, err = pgx.CollectRows(rows, scanParcelIn)
		return err
	})
	batch.Queue(`SELECT id, sha256, width, height FROM parcel_photo WHERE parcel_id = $1 AND removed_at IS NULL ORDER BY id`, id).
		Query(func(rows pgx.Rows) (err error) {
			photos, err = pgx.CollectRows(rows, scanParcelPhoto)
			return err
		})
	batch.Queue(`SELECT count(*) FROM parcel_photo WHERE parcel_id = $1 AND removed_at IS NOT NULL`, id).QueryRow(func(row pgx.Row) error {
		return row.Scan(&removed)
	})
	err := s.db.SendBatch(ctx, &batch).Close()
	if err == nil && len(list) == 0 {
		err = domain.ErrNotFound
	}
	if err != nil {
		return ParcelIn{}, fmt.Errorf("parcel %d: %w", id, Translate(err))
	}
	list[0].Photos, list[0].Removed = photos, removed
	return list[0], nil
}

func scanParcelPhoto(row pgx.CollectableRow) (p ParcelPhoto, err error) {
	var sum []byte
	err = row.Scan(&p.ID, &sum, &p.WidthPx, &p.HeightPx)
	copy(p.Sum[:], sum)
	return p, err
}

// ParcelPhoto reads one photograph of a parcel; the error wraps domain.ErrNotFound.
func (s *Store) ParcelPhoto(ctx context.Context, id int64) (ParcelPhoto, error) {
	rows, _ := s.db.Query(ctx, `SELECT id, sha256, width, height FROM parcel_photo WHERE id = $1 AND removed_at IS NULL`, id)
	p, err := pgx.CollectExactlyOneRow(rows, scanParcelPhoto)
	if err != nil {
		return ParcelPhoto{}, fmt.Errorf("photograph %d of a parcel: %w", id, Translate(err))
	}
	return p, nil
}

// KeepParcelIn writes down a parcel that came, with photographs whose pictures are in the uploads already, and returns its id.
// The error is a *domain.InvalidError.
func (s *Store) KeepParcelIn(ctx context.Context, a parcel.Arrival, pictures []photo.Picture, by Actor, at time.Time) (id int64, err error) {
	a = a.Tidied()
	if err := domain.Invalid(a.Problems()); err != nil {
		return 0, err
	}
	sums := make([]string, len(pictures))
	for i, p := range pictures {
		sums[i] = p.SHA256
	}
	n := note{kind: docket.ParcelCame, by: by, at: at, summary: a.Summary(), facts: map[string]any{"sender": a.Sender,
		"contents": a.Contents, "photographs": sums}}
	err = s.changeShop(ctx, &n, func(tx pgx.Tx) error {
		err := tx.QueryRow(ctx, `INSERT INTO parcel_in (came_at, by_id, carrier, number, sender, seal, box, things, contents, note)
			VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10) RETURNING id`, docket.Moment(at), by.StaffID, a.Carrier, a.Number, a.Sender,
			string(a.Seal), string(a.Box), a.Things, a.Contents, a.Note).Scan(&id)
		if err != nil {
			return err
		}
		var batch pgx.Batch
		for _, p := range pictures {
			sum, err := hex.DecodeString(p.SHA256)
			if err != nil || len(sum) != 32 {
				return fmt.Errorf("photograph: %q is no sum", p.SHA256)
			}
			batch.Queue(`INSERT INTO parcel_photo (parcel_id, sha256, width, height, bytes, added_by, added_at)
				VALUES ($1, $2, $3, $4, $5, $6, $7)`, id, sum, p.WidthPx, p.HeightPx, len(p.Full), by.StaffID, docket.Moment(at))
		}
		return tx.SendBatch(ctx, &batch).Close()
	})
	if err != nil {
		return 0, fmt.Errorf("keep parcel: %w", Translate(err))
	}
	return id, nil
}

// openParcel reads the parcel that a watch is taken in from. A watch that joins a visit comes out of the parcel of the visit.
func (t *taking) openParcel(ctx context.Context, tx pgx.Tx) error {
	if t.ParcelID == 0 && t.With != (docket.Number{}) {
		if err := tx.QueryRow(ctx, `SELECT coalesce(parcel_id, 0) FROM docket WHERE number = $1`, t.With.String()).Scan(&t.ParcelID); err != nil {
			return err
		}
	}
	if t.ParcelID == 0 {
		return nil
	}
	rows, _ := tx.Query(ctx, parcelInSQL+`WHERE p.id = $1`, t.ParcelID)
	p, err := pgx.CollectExactlyOneRow(rows, scanParcelIn)
	if errors.Is(err, pgx.ErrNoRows) {
		return domain.Invalid(map[string]string{"parcel": "There is no such parcel."})
	}
	t.parcel = p
	return err
}
