package store

import (
	"context"
	"encoding/json"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/finaltest"
	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/tongue"
)

// FinalTest is what was known of a docket's final test when results were recorded.
type FinalTest struct {
	ID    int64
	Sheet finaltest.Sheet
	Note  string
	By    string
	At    time.Time
	// Counts is false for what was recorded before the docket last came to its final test, SinceWork for what was
	// recorded before the watch was last worked on.
	Counts, SinceWork bool
}

// finalTestsShown is how many recordings the sheet of the final test shows.
const finalTestsShown = 20

// FinalTestSheet is what the sheet of a docket's final test shows.
type FinalTestSheet struct {
	Head  Head
	Tests []FinalTest // newest first
	More  bool        // there are older ones
	Bench []staff.Member
}

// Now is the test as it stands: the newest recording that counts, or an empty one.
func (f FinalTestSheet) Now() FinalTest {
	if len(f.Tests) > 0 && f.Tests[0].Counts {
		return f.Tests[0]
	}
	return FinalTest{}
}

// Before is what a new recording follows on.
func (f FinalTestSheet) Before() finaltest.Before {
	var since []finaltest.Sheet
	for _, t := range f.Tests {
		if t.SinceWork {
			since = append(since, t.Sheet)
		}
	}
	return finaltest.Before{Standing: f.Now().Sheet, SinceWork: finaltest.Newest(since)}
}

// FinalTestSheet reads the sheet in one round trip; the error wraps domain.ErrNotFound.
func (s *Store) FinalTestSheet(ctx context.Context, n docket.Number) (FinalTestSheet, error) {
	var sheet FinalTestSheet
	var found bool
	var batch pgx.Batch
	queueHead(&batch, n, &sheet.Head, &found)
	queueFinalTests(&batch, n, finalTestsShown+1, &sheet.Tests)
	queueBench(&batch, &sheet.Bench)
	if err := s.sendSheet(ctx, &batch, &found); err != nil {
		return FinalTestSheet{}, fmt.Errorf("final test of docket %s: %w", n, err)
	}
	if sheet.More = len(sheet.Tests) > finalTestsShown; sheet.More {
		sheet.Tests = sheet.Tests[:finalTestsShown]
	}
	return sheet, nil
}

// TestedSaid is what customers are told of the water-resistance test that stands, in a language and by the settings of a shop; "" where
// the watch was not tested.
func TestedSaid(tests []FinalTest, t tongue.Tongue, sh shop.Shop) string {
	if len(tests) == 0 || !tests[0].Counts {
		return ""
	}
	if t != "" {
		sh.Locale = t.In(sh.Locale)
	}
	return tests[0].Sheet.Said(t, sh.Locale, sh.Location())
}

// queueFinalTests adds a docket's final tests to a page's batch, newest first.
func queueFinalTests(batch *pgx.Batch, n docket.Number, limit int, tests *[]FinalTest) {
	batch.Queue(finalTestSQL+`WHERE d.number = $1 ORDER BY f.id DESC LIMIT $2`, n.String(), limit).
		Query(func(rows pgx.Rows) (err error) {
			*tests, err = pgx.CollectRows(rows, scanFinalTest)
			return err
		})
}

const finalTestSQL = `SELECT f.id, f.results, f.note, m.name, f.at, coalesce(f.at >= d.test_since, false),
	coalesce(f.at >= d.work_since, false)
	FROM docket d JOIN final_test f ON f.docket_id = d.id JOIN staff m ON m.id = f.by_id `

func scanFinalTest(row pgx.CollectableRow) (FinalTest, error) {
	var f FinalTest
	var kept []byte
	if err := row.Scan(&f.ID, &kept, &f.Note, &f.By, &f.At, &f.Counts, &f.SinceWork); err != nil {
		return FinalTest{}, err
	}
	f.At = f.At.UTC()
	var results []resultRow
	if err := json.Unmarshal(kept, &results); err != nil {
		return FinalTest{}, fmt.Errorf("results of final test %d: %w", f.ID, err)
	}
	for _, r := range results {
		f.Sheet.Results = append(f.Sheet.Results, r.result())
	}
	return f, nil
}

// resultRow is how a result is kept.
type resultRow struct {
	Test     finaltest.Test    `json:"test"`
	Outcome  finaltest.Outcome `json:"outcome"`
	Figure   *float64          `json:"figure,omitempty"` // in the test's unit
	Medium   finaltest.Medium  `json:"medium,omitempty"`
	DryFirst bool              `json:"dry_first,omitempty"`
	Note     string            `json:"note,omitempty"`
	Corrects string            `json:"corrects,omitempty"`
	By       string            `json:"by"`
	ByID     int64             `json:"by_id"`
	At       time.Time         `json:"at"`
}

func rowOfResult(r finaltest.Result) resultRow {
	row := resultRow{Test: r.Test, Outcome: r.Outcome, Medium: r.Medium, DryFirst: r.DryFirst, Note: r.Note,
		Corrects: r.Corrects, By: r.By,
		ByID: r.ByID, At: r.At}
	if r.HasFigure {
		row.Figure = &r.Figure
	}
	return row
}

func (row resultRow) result() finaltest.Result {
	r := finaltest.Result{Test: row.Test, Outcome: row.Outcome, Medium: row.Medium, DryFirst: row.DryFirst, Note: row.Note,
		Corrects: row.Corrects, By: row.By, ByID: row.ByID, At: row.At.UTC()}
	if row.Figure != nil {
		r.Figure, r.HasFigure = *row.Figure, true
	}
	return r
}

// RecordFinalTest records the results known so far and returns the verdict, which is open while tests are still to
// be done. A result that was recorded before and reads the same keeps who found it and when. The error is a
// *domain.InvalidError (the keys of finaltest.Sheet.Problems, and "" where the docket is not at its final test), or
// wraps domain.ErrNotFound, domain.ErrChanged or domain.ErrClosed.
func (s *Store) RecordFinalTest(ctx context.Context, c Change, sheet finaltest.Sheet, note string) (finaltest.Outcome,
	error) {
	var verdict finaltest.Outcome
	err := s.change(ctx, c, func(tx pgx.Tx, d docket.Docket) ([]event, error) {
		if why := d.FinalTestProblem(); why != "" {
			return nil, domain.Invalid(map[string]string{"": why})
		}
		h, before, err := finalTestBasis(ctx, tx, c.Number)
		if err != nil {
			return nil, err
		}
		if err := domain.Invalid(sheet.Problems(finaltest.StatedOf(h.Watch, h.Calibre), before, note)); err != nil {
			return nil, err
		}
		kept := sheet.Signed(before.Standing, finaltest.Result{By: c.By.Name, ByID: c.By.StaffID, At: docket.Moment(c.At)})
		verdict = kept.Verdict()
		if err := insertFinalTest(ctx, tx, d.ID, c, kept, verdict, note); err != nil {
			return nil, err
		}
		return []event{finalTestEvent(kept, sheet.Corrected(before), verdict, note)}, nil
	})
	return verdict, err
}

// finalTestBasis reads what the watch states and what was recorded before.
func finalTestBasis(ctx context.Context, tx pgx.Tx, n docket.Number) (h Head, before finaltest.Before, err error) {
	var found bool
	var tests []FinalTest
	var batch pgx.Batch
	queueHead(&batch, n, &h, &found)
	batch.Queue(finalTestSQL+`WHERE d.number = $1 AND f.at >= coalesce(d.work_since, d.test_since) ORDER BY f.id DESC`,
		n.String()).Query(func(rows pgx.Rows) (err error) {
		tests, err = pgx.CollectRows(rows, scanFinalTest)
		return err
	})
	if err := tx.SendBatch(ctx, &batch).Close(); err != nil {
		return h, before, err
	}
	return h, FinalTestSheet{Tests: tests}.Before(), nil
}

func insertFinalTest(ctx context.Context, tx pgx.Tx, docketID int64, c Change, sheet finaltest.Sheet,
	verdict finaltest.Outcome, note string) error {
	kept, err := json.Marshal(resultRows(sheet))
	if err != nil {
		return err
	}
	_, err = tx.Exec(ctx, `INSERT INTO final_test (docket_id, results, verdict, note, by_id, at) VALUES ($1, $2, $3, $4, $5, $6)`,
		docketID, kept, string(verdict), note, c.By.StaffID, docket.Moment(c.At))
	return err
}

// resultRows are the results of a sheet as they are kept.
func resultRows(sheet finaltest.Sheet) []resultRow {
	rows := []resultRow{}
	for _, t := range finaltest.Tests {
		if r := sheet.Result(t); r.Outcome != finaltest.OutcomeOpen || r.Note != "" || r.HasFigure || r.Corrects != "" {
			rows = append(rows, rowOfResult(r))
		}
	}
	return rows
}

// finalTestFacts is what the journal keeps of a final test.
type finalTestFacts struct {
	Verdict string        `json:"verdict"`
	Results []testedFacts `json:"results"`
	Note    string        `json:"note,omitempty"`
}

type testedFacts struct {
	Test    string `json:"test"`
	Outcome string `json:"outcome"`
	Figure  string `json:"figure,omitempty"`
	Note    string `json:"note,omitempty"`
	// Was and Why are of a line corrected by this recording: how it read, and why that was wrong.
	Was string `json:"was,omitempty"`
	Why string `json:"why_corrected,omitempty"`
}

func finalTestEvent(sheet finaltest.Sheet, was map[finaltest.Test]finaltest.Result, verdict finaltest.Outcome, note string) event {
	f := finalTestFacts{Verdict: verdict.VerdictWords(), Note: note}
	for _, t := range finaltest.Tests {
		r := sheet.Result(t)
		line := testedFacts{Test: t.Words(), Outcome: r.Outcome.Words(), Figure: r.FigureWords(), Note: r.Note}
		if before, corrected := was[t]; corrected {
			line.Was, line.Why = before.WasWords(), r.Corrects
		}
		f.Results = append(f.Results, line)
	}
	return event{kind: docket.FinalTested, summary: verdict.Summary(was), facts: f}
}
