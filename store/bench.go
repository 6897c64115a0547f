package store

import (
	"context"
	"encoding/json"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/diagnosis"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/stock"
	"ledgerwheel/domain/watch"
)

// BenchResult is what a bench tool was given and what it answered, as the journal keeps it: a later reader sees how a
// figure came about, and can have it worked out again.
type BenchResult struct {
	Tool    string   `json:"tool"`         // its name in words
	Slug    string   `json:"tool_address"` // and in addresses
	Typed   string   `json:"typed"`        // every field as typed, as a query string
	Inputs  []string `json:"inputs"`       // the same for reading: label, figure and unit
	Figures []string `json:"figures"`      // every figure of the answer
}

// BenchUse is what was made of an answer.
type BenchUse string

// The uses.
const (
	BenchFinding    BenchUse = "finding"
	BenchPart       BenchUse = "part"
	BenchCorrection BenchUse = "correction of the calibre"
)

// benchFacts is a result with what was made of it.
type benchFacts struct {
	BenchResult
	KeptAs    BenchUse                  `json:"kept_as"`
	Calibre   string                    `json:"calibre,omitempty"`
	Corrected []watch.CalibreDifference `json:"corrected,omitempty"`
}

// KeptBench is a result that a docket holds.
type KeptBench struct {
	BenchResult
	KeptAs BenchUse
	Seq    int64 // of the journal entry
	By     string
	At     time.Time
}

// BenchSheet is what a bench tool opened from a docket shows beside its own arithmetic.
type BenchSheet struct {
	Head           Head
	CalibreVersion int64       // to correct Head.Calibre by; 0 when the calibre is not in the shop's list
	Kept           []KeptBench // newest first
}

// benchKeptShown is how many kept results a page shows, the newest first.
const benchKeptShown = 50

// BenchSheet reads it in one round trip; the error wraps domain.ErrNotFound.
func (s *Store) BenchSheet(ctx context.Context, n docket.Number) (BenchSheet, error) {
	var sheet BenchSheet
	var found bool
	var batch pgx.Batch
	queueHead(&batch, n, &sheet.Head, &found)
	batch.Queue(`SELECT coalesce((SELECT k.version FROM docket d JOIN watch w ON w.id = d.watch_id JOIN calibre k ON k.id = w.calibre_id
		WHERE d.number = $1), 0)`, n.String()).QueryRow(func(row pgx.Row) error { return row.Scan(&sheet.CalibreVersion) })
	batch.Queue(`SELECT seq, by_name, at, facts FROM journal WHERE docket_id = (SELECT id FROM docket WHERE number = $1)
		AND kind = $2 ORDER BY seq DESC LIMIT $3`, n.String(), string(docket.BenchKept), benchKeptShown).Query(func(rows pgx.Rows) (err error) {
		sheet.Kept, err = pgx.CollectRows(rows, scanKeptBench)
		return err
	})
	if err := s.sendSheet(ctx, &batch, &found); err != nil {
		return BenchSheet{}, fmt.Errorf("bench sheet of docket %s: %w", n, err)
	}
	return sheet, nil
}

func scanKeptBench(row pgx.CollectableRow) (KeptBench, error) {
	var k KeptBench
	var facts []byte
	if err := row.Scan(&k.Seq, &k.By, &k.At, &facts); err != nil {
		return k, err
	}
	var kept benchFacts
	if err := json.Unmarshal(facts, &kept); err != nil {
		return k, fmt.Errorf("journal entry %d: %w", k.Seq, err)
	}
	k.BenchResult, k.KeptAs, k.At = kept.BenchResult, kept.KeptAs, k.At.UTC()
	return k, nil
}

func (r BenchResult) event(summary string, facts benchFacts) event {
	facts.BenchResult = r
	return event{kind: docket.BenchKept, summary: summary, facts: facts}
}

// KeepBenchFinding keeps an answer as a finding. The error is as of AddFinding.
func (s *Store) KeepBenchFinding(ctx context.Context, c Change, r BenchResult, f diagnosis.Finding) (id int64,
	err error) {
	f = f.Tidied()
	if err := domain.Invalid(f.Problems()); err != nil {
		return 0, err
	}
	err = s.change(ctx, c, func(tx pgx.Tx, d docket.Docket) ([]event, error) {
		var events []event
		id, events, err = addFinding(ctx, tx, d, c, f)
		kept := r.event(docket.BenchFindingSummary(r.Tool, f.Component.Words()), benchFacts{KeptAs: BenchFinding})
		return append([]event{kept}, events...), err
	})
	return id, err
}

// KeepBenchPart keeps an answer as a part that the docket needs. The error is as of AddPart.
func (s *Store) KeepBenchPart(ctx context.Context, c Change, r BenchResult, p stock.PartLine) (id int64, err error) {
	if err := domain.Invalid(p.Problems()); err != nil {
		return 0, err
	}
	err = s.change(ctx, c, func(tx pgx.Tx, d docket.Docket) ([]event, error) {
		var ev event
		id, ev, err = addPart(ctx, tx, d, c, p)
		return []event{r.event(docket.BenchPartSummary(r.Tool, p.Description), benchFacts{KeptAs: BenchPart}), ev}, err
	})
	return id, err
}

// KeepBenchCorrection corrects the calibre of the docket's watch by the fields given, named and typed as on its form,
// if it is still the one with this id and version, and tells the docket how the figures came about. The error is a
// *domain.InvalidError, also where the calibre says so already, wraps domain.ErrChanged when the calibre, or the
// watch's, is no longer what the person saw, or is as of the other changes of a docket.
func (s *Store) KeepBenchCorrection(ctx context.Context, c Change, r BenchResult, calibreID, version int64,
	fields map[string]string) error {
	return s.change(ctx, c, func(tx pgx.Tx, d docket.Docket) ([]event, error) {
		var own bool
		err := tx.QueryRow(ctx, `SELECT coalesce(calibre_id = $2, false) FROM watch WHERE id = $1`, d.WatchID,
			calibreID).Scan(&own)
		if err != nil {
			return nil, err
		}
		k, now, err := lockCalibre(ctx, tx, calibreID)
		if err == nil && (!own || now != version) {
			err = domain.ErrChanged
		}
		if err != nil {
			return nil, err
		}
		changed, err := correctCalibre(ctx, tx, CalibreChange{By: c.By, At: c.At, Why: r.Tool, Docket: c.Number}, calibreID,
			fields)
		if err == nil && len(changed) == 0 {
			err = domain.Invalid(map[string]string{"": watch.SaysSoAlready})
		}
		if err != nil {
			return nil, err
		}
		summary := docket.BenchCalibreSummary(r.Tool, k.Name)
		return []event{r.event(summary, benchFacts{KeptAs: BenchCorrection, Calibre: k.Name, Corrected: changed})}, nil
	})
}
