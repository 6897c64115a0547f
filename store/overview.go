package store

import (
	"context"
	"fmt"
	"math"
	"slices"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/diagnosis"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/link"
	"ledgerwheel/domain/staff"
)

// overviewPhotos is how many photographs the overview of a docket shows, the newest first.
const overviewPhotos = 8

// Overview is what the first sheet of a docket shows.
type Overview struct {
	Head       Head
	Photos     []Photo // newest first
	MorePhotos bool
	Bench      []staff.Member     // who works at a bench
	Hazards    []diagnosis.Hazard // found and not acknowledged
	Questions  []link.Question    // that the customer asked, oldest first
	Risk       AtRisk             // what lies where in the shop, in money
	Outlook    *Outlook           // nil for a watch that is ready or gone, or not worked out yet
	// Before is the docket on whose warranty the watch came back, and Comeback what was said of that.
	Before   Earlier
	Comeback Comeback
}

// Outlook is by when a watch in work will be ready.
type Outlook struct {
	LikelyOn time.Time // civil day that is kept 8 times in 10
	Percent  *int      // chance of the promised day; nil where none is promised, or another since
}

// queueOutlook adds to a batch the outlook of the docket numbered n.
func queueOutlook(batch *pgx.Batch, n string, into **Outlook) {
	batch.Queue(`SELECT p.likely_on, CASE WHEN p.promised_on = d.promised_on THEN p.chance_percent END
		FROM docket d JOIN promise_now p ON p.docket_id = d.id WHERE d.number = $1`, n).Query(func(rows pgx.Rows) error {
		list, err := pgx.CollectRows(rows, pgx.RowToAddrOfStructByPos[Outlook])
		if len(list) == 1 {
			*into = list[0]
		}
		return err
	})
}

// Overview reads a docket's first sheet in one round trip. The error wraps domain.ErrNotFound.
func (s *Store) Overview(ctx context.Context, n docket.Number) (Overview, error) {
	var o Overview
	var found bool
	var batch pgx.Batch
	queueHead(&batch, n, &o.Head, &found)
	batch.Queue(photoSQL+`WHERE p.docket_id = (SELECT id FROM docket WHERE number = $1) AND p.removed_at IS NULL
		ORDER BY p.id DESC LIMIT $2`,
		n.String(), overviewPhotos+1).Query(func(rows pgx.Rows) (err error) {
		o.Photos, err = pgx.CollectRows(rows, scanPhoto)
		return err
	})
	queueBench(&batch, &o.Bench)
	batch.Queue(`SELECT hazard FROM hazard WHERE docket_id = (SELECT id FROM docket WHERE number = $1)
		AND acknowledged_at IS NULL ORDER BY hazard`, n.String()).Query(func(rows pgx.Rows) (err error) {
		o.Hazards, err = pgx.CollectRows(rows, pgx.RowTo[diagnosis.Hazard])
		return err
	})
	queueQuestions(&batch, `(SELECT id FROM docket WHERE number = $1)`, n.String(), &o.Questions)
	queueAtRisk(&batch, &o.Risk)
	queueOutlook(&batch, n.String(), &o.Outlook)
	var before earlierReader
	queueClocks(&batch, &before.clocks)
	before.queue(&batch, n)
	queueComeback(&batch, `(SELECT id FROM docket WHERE number = $1)`, n.String(), &o.Comeback)
	err := s.db.SendBatch(ctx, &batch).Close()
	if err == nil && !found {
		err = domain.ErrNotFound
	}
	if err != nil {
		return Overview{}, fmt.Errorf("docket %s: %w", n, Translate(err))
	}
	o.Before = before.give(o.Head.Watch)
	if len(o.Photos) > overviewPhotos {
		o.Photos, o.MorePhotos = o.Photos[:overviewPhotos], true
	}
	return o, nil
}

// JournalSheet is a page of a docket's journal.
type JournalSheet struct {
	Head    Head
	Entries []docket.Entry // newest first, at most JournalPage, as they are shown
	entered []docket.Entry // the same as they were entered
	// above and below are the neighbours of the entries shown, to which their chain is tied.
	above, below *docket.Entry
}

// Verify checks the entries of the page, their ties to their neighbours, and, where the page begins with the
// newest entry, that this is the one the docket knows as its head. It returns a *docket.BrokenError.
func (j JournalSheet) Verify() error {
	var stretch []docket.Entry
	if j.below != nil {
		stretch = append(stretch, *j.below)
	}
	for _, e := range slices.Backward(j.entered) {
		stretch = append(stretch, e)
	}
	if j.above != nil {
		stretch = append(stretch, *j.above)
	}
	if err := docket.VerifyStretch(stretch); err != nil || j.above != nil {
		return err
	}
	d := j.Head.Docket
	return docket.VerifyEnd(d.ID, stretch, docket.Head{Seq: d.Version, Hash: d.Head})
}

// JournalSheet reads the docket's head and the page of its journal whose newest entry has the sequence upTo
// or, where there are fewer, the journal's newest, in one round trip. The error wraps domain.ErrNotFound.
func (s *Store) JournalSheet(ctx context.Context, n docket.Number, upTo int64) (JournalSheet, error) {
	var j JournalSheet
	var found bool
	var batch pgx.Batch
	queueHead(&batch, n, &j.Head, &found)
	last := min(upTo, math.MaxInt64-1) + 1
	var told []*docket.Telling
	batch.Queue(`SELECT `+entryColumns+toldColumn+` FROM journal j
		WHERE docket_id = (SELECT id FROM docket WHERE number = $1) AND seq <= $2 ORDER BY seq DESC LIMIT $3`,
		n.String(), last, JournalPage+2).Query(func(rows pgx.Rows) (err error) {
		j.entered, err = pgx.CollectRows(rows, func(row pgx.CollectableRow) (docket.Entry, error) {
			e, t, err := scanBoth(row)
			told = append(told, t)
			return e, err
		})
		return err
	})
	if err := s.db.SendBatch(ctx, &batch).Close(); err != nil {
		return JournalSheet{}, fmt.Errorf("journal of docket %s: %w", n, Translate(err))
	}
	if !found {
		return JournalSheet{}, fmt.Errorf("journal of docket %s: %w", n, domain.ErrNotFound)
	}
	j.setNeighbours(last, told)
	return j, nil
}

// setNeighbours parts the entries of the page from their neighbours; told says how each is shown.
func (j *JournalSheet) setNeighbours(last int64, told []*docket.Telling) {
	if len(j.entered) > 0 && j.entered[0].Seq == last {
		above := j.entered[0]
		j.above, j.entered, told = &above, j.entered[1:], told[1:]
	}
	if len(j.entered) > JournalPage {
		below := j.entered[JournalPage]
		j.below, j.entered = &below, j.entered[:JournalPage]
	}
	for i, e := range j.entered {
		j.Entries = append(j.Entries, e.Told(told[i]))
	}
}
