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
	"ledgerwheel/domain/watch"
)

// CalibreRecord is a calibre with its drawings and how it came to be as it is.
type CalibreRecord struct {
	Calibre  watch.Calibre
	Version  int64
	Drawings []CalibreDrawing // oldest first
	History  []CalibreState   // newest first
}

// CalibreState is one saved state of a calibre.
type CalibreState struct {
	Version int64
	At      time.Time
	By      string // "" where the program did it
	Why     string
	Docket  string // number of the docket in which the reason was found, or ""
	Changes []watch.CalibreDifference
}

// CalibreDrawing is a picture of a calibre. Its files lie in the uploads, under Sum.
type CalibreDrawing struct {
	ID       int64
	Caption  string
	Sum      [32]byte
	WidthPx  int
	HeightPx int
	AddedAt  time.Time
	AddedBy  string
}

// MaxCalibreDrawings bounds the drawings of one calibre.
const MaxCalibreDrawings = 40

// statesListed is how many states a record shows.
const statesListed = 200

// CalibreRecord reads all there is of one calibre, in one round trip; the error wraps domain.ErrNotFound.
func (s *Store) CalibreRecord(ctx context.Context, id int64) (CalibreRecord, error) {
	var r CalibreRecord
	var batch pgx.Batch
	batch.Queue(`SELECT `+calibreFields+`, k.version FROM calibre k WHERE k.id = $1`,
		id).QueryRow(func(row pgx.Row) error {
		return row.Scan(append(calibreTargets(&r.Calibre), &r.Version)...)
	})
	batch.Queue(`SELECT p.id, p.caption, p.sha256, p.width, p.height, p.added_at, m.name FROM calibre_drawing p JOIN staff m ON m.id = p.added_by
		WHERE p.calibre_id = $1 AND p.struck_at IS NULL ORDER BY p.id LIMIT $2`, id, MaxCalibreDrawings).Query(func(rows pgx.Rows) (err error) {
		r.Drawings, err = pgx.CollectRows(rows, scanCalibreDrawing)
		return err
	})
	batch.Queue(`SELECT h.version, h.at, h.by_name, h.why, coalesce(d.number, ''), h.changes FROM calibre_change h
		LEFT JOIN docket d ON d.id = h.docket_id WHERE h.calibre_id = $1 ORDER BY h.version DESC LIMIT $2`, id, statesListed).Query(func(rows pgx.Rows) (err error) {
		r.History, err = pgx.CollectRows(rows, scanCalibreState)
		return err
	})
	if err := s.db.SendBatch(ctx, &batch).Close(); err != nil {
		return CalibreRecord{}, fmt.Errorf("calibre %d: %w", id, Translate(err))
	}
	return r, nil
}

func scanCalibreDrawing(row pgx.CollectableRow) (CalibreDrawing, error) {
	var d CalibreDrawing
	var sum []byte
	err := row.Scan(&d.ID, &d.Caption, &sum, &d.WidthPx, &d.HeightPx, &d.AddedAt, &d.AddedBy)
	copy(d.Sum[:], sum)
	d.AddedAt = d.AddedAt.UTC()
	return d, err
}

func scanCalibreState(row pgx.CollectableRow) (CalibreState, error) {
	var h CalibreState
	err := row.Scan(&h.Version, &h.At, &h.By, &h.Why, &h.Docket, &h.Changes)
	h.At = h.At.UTC()
	return h, err
}

// CalibreDrawing reads one drawing that has not been taken off; the error wraps domain.ErrNotFound.
func (s *Store) CalibreDrawing(ctx context.Context, id int64) (CalibreDrawing, error) {
	rows, _ := s.db.Query(ctx, `SELECT p.id, p.caption, p.sha256, p.width, p.height, p.added_at, m.name FROM calibre_drawing p
		JOIN staff m ON m.id = p.added_by WHERE p.id = $1 AND p.struck_at IS NULL`, id)
	d, err := pgx.CollectExactlyOneRow(rows, scanCalibreDrawing)
	if err != nil {
		return CalibreDrawing{}, fmt.Errorf("drawing %d: %w", id, Translate(err))
	}
	return d, nil
}

// AddCalibreDrawings adds pictures that are in the uploads already, all or none. The error is a *domain.InvalidError
// when there are too many or the caption is missing or too long, or wraps domain.ErrNotFound.
func (s *Store) AddCalibreDrawings(ctx context.Context, by Actor, at time.Time, id int64, caption string,
	pictures []photo.Picture) error {
	caption = text.Line(caption)
	bad := photo.CaptionProblems(caption)
	if caption == "" {
		bad = map[string]string{"caption": watch.NoDrawing}
	}
	if err := domain.Invalid(bad); err != nil {
		return err
	}
	added := note{kind: docket.CalibreChanged, by: by, at: at}
	err := s.changeShop(ctx, &added, func(tx pgx.Tx) error {
		k, _, err := lockCalibre(ctx, tx, id)
		if err != nil {
			return err
		}
		added.summary = docket.CalibreSummary(k.Name, "drawings added")
		var kept int
		if err := tx.QueryRow(ctx, `SELECT count(*) FROM calibre_drawing WHERE calibre_id = $1 AND struck_at IS NULL`,
			id).Scan(&kept); err != nil {
			return err
		}
		if kept+len(pictures) > MaxCalibreDrawings {
			return domain.Invalid(map[string]string{"photos": watch.DrawingsProblem(MaxCalibreDrawings, kept)})
		}
		var batch pgx.Batch
		for _, p := range pictures {
			sum, err := hex.DecodeString(p.SHA256)
			if err != nil || len(sum) != 32 {
				return fmt.Errorf("drawing: %q is no sum", p.SHA256)
			}
			batch.Queue(`INSERT INTO calibre_drawing (calibre_id, caption, sha256, width, height, bytes, added_by, added_at)
				VALUES ($1, $2, $3, $4, $5, $6, $7, $8)`, id, caption, sum, p.WidthPx, p.HeightPx, len(p.Full), by.StaffID, docket.Moment(at))
		}
		return tx.SendBatch(ctx, &batch).Close()
	})
	if err != nil {
		return fmt.Errorf("drawings of calibre %d: %w", id, Translate(err))
	}
	return nil
}

// StrikeCalibreDrawing takes a drawing off its calibre's page; the error wraps domain.ErrNotFound.
func (s *Store) StrikeCalibreDrawing(ctx context.Context, by Actor, at time.Time, calibre, id int64) error {
	struck := note{kind: docket.CalibreChanged, by: by, at: at}
	err := s.changeShop(ctx, &struck, func(tx pgx.Tx) error {
		var name string
		err := tx.QueryRow(ctx, `UPDATE calibre_drawing SET struck_by = $3, struck_at = $4
			WHERE id = $1 AND calibre_id = $2 AND struck_at IS NULL
			RETURNING (SELECT name FROM calibre WHERE id = $2)`, id, calibre, by.StaffID, docket.Moment(at)).Scan(&name)
		struck.summary = docket.CalibreSummary(name, "a drawing taken off")
		return err
	})
	if err != nil {
		return fmt.Errorf("strike drawing %d: %w", id, Translate(err))
	}
	return nil
}
