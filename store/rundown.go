package store

import (
	"context"
	"slices"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/heard"
	"ledgerwheel/domain/timing"
)

// RunDown is a run-down that was heard, to be kept as readings of a run in one position at several states of wind.
type RunDown struct {
	RunID int64 // 0 for a new run
	Kind  timing.Kind
	// RunDown names the recorder as the instrument of its readings. Readings of the run in the same cells are replaced.
	heard.RunDown
	Recording heard.Facts // of the whole recording; its sound, when one is kept, must be in the uploads
	// RecordingID is the recording that was sent in and is kept by this, 0 for none.
	RecordingID int64
}

// runDownFacts is what the journal keeps of a run-down.
type runDownFacts struct {
	Run           string         `json:"run"`
	Position      string         `json:"position"`
	Readings      []readingFacts `json:"readings"`
	Replaced      []readingFacts `json:"replaced,omitempty"` // the figures that stood there before
	FromHours     float64        `json:"from_hours_after_winding"`
	ToHours       float64        `json:"to_hours_after_winding"`
	PowerReserveH float64        `json:"power_reserve_h,omitempty"` // when the watch was heard to stop
	Heard         heard.Facts    `json:"recording"`
}

// KeepRunDown keeps all readings of a run-down in one run, judges the run anew once, and returns its id. The journal
// has one entry for the whole of what was heard; a new run is recorded as every run is. The error is a
// *domain.InvalidError (fields of timing.Sheet, "recorder", "sound" and ""), or wraps domain.ErrNotFound,
// domain.ErrChanged or domain.ErrClosed.
func (s *Store) KeepRunDown(ctx context.Context, c Change, in RunDown) (runID int64, err error) {
	in.Facts = slices.Clone(in.Facts)
	for i := range in.Facts {
		in.Facts[i].Sound = in.Recording.Sound
	}
	if err := domain.Invalid(in.Problems(in.Recording)); err != nil {
		return 0, err
	}
	err = s.change(ctx, c, func(tx pgx.Tx, d docket.Docket) ([]event, error) {
		basis, err := basisOf(ctx, tx, d.ID)
		if err != nil {
			return nil, err
		}
		basis.at = c.At
		k := runningDown{hearing: hearing{tx: tx, docket: d, c: c, basis: basis}, in: in}
		if in.RunID == 0 {
			runID, err = k.newRun(ctx)
		} else {
			runID, err = in.RunID, k.intoRun(ctx)
		}
		if err != nil {
			return nil, err
		}
		return k.events, k.keepAllFacts(ctx, runID)
	})
	if err != nil {
		return 0, err
	}
	return runID, nil
}

// runningDown is a run-down on its way into a run.
type runningDown struct {
	hearing
	in       RunDown
	replaced []readingFacts
}

func (k *runningDown) newRun(ctx context.Context) (int64, error) {
	readings := k.in.Readings
	sh := timing.Sheet{Run: timing.Run{Kind: k.in.Kind, CrownHour: k.basis.crownHour, Readings: readings},
		Instrument: readings[0].Instrument, ClockPPM: halfWidthPPM(k.in.Recording.ClockStdPPM)}
	for _, r := range readings {
		sh.States = withState(sh.States, r.HoursAfterWinding)
	}
	if sh.Run.Kind == timing.Adjustment {
		sh.Run.Adjustment = k.basis.nextAdjustment
	}
	r := RunRecord{Sheet: sh, TakenAt: docket.Moment(k.c.At), TakenBy: k.c.By.Name}
	if err := k.mayTake(r); err != nil {
		return 0, err
	}
	j, err := judgeRun(ctx, k.tx, k.docket.ID, &r, k.basis, "")
	if err != nil {
		return 0, err
	}
	id, err := insertRun(ctx, k.tx, k.docket, r, k.c)
	if err != nil {
		return 0, err
	}
	k.events = append(k.events, event{kind: docket.RunRecorded, facts: factsOfRun(r.Sheet, j),
		summary: docket.RunSummary(r.Sheet.Run.Title(), judgedWords(r, j))})
	k.tellAll(r)
	return id, writeReadings(ctx, k.tx, id, r.Sheet, timing.Sheet{}, nil, k.c)
}

func (k *runningDown) intoRun(ctx context.Context) error {
	before, err := lockedRun(ctx, k.tx, k.docket.ID, k.in.RunID, k.basis.crownHour)
	if err != nil {
		return err
	}
	after, old := before, before.Sheet
	// The cells are written even when their figures read the same as before, since they come from another recording.
	old.Run.Readings = slices.DeleteFunc(slices.Clone(old.Run.Readings), k.covers)
	after.Sheet.Run.Readings = slices.Clone(old.Run.Readings)
	for _, reading := range k.in.Readings {
		reading.TemperatureC = before.Sheet.TemperatureC // the sheet's, which all its readings share
		after.Sheet.Run.Readings = append(after.Sheet.Run.Readings, reading)
		after.Sheet.States = withState(after.Sheet.States, reading.HoursAfterWinding)
	}
	if err := k.mayTake(after); err != nil {
		return err
	}
	j, err := judgeRun(ctx, k.tx, k.docket.ID, &after, k.basis, "")
	if err != nil {
		return err
	}
	if err := updateRun(ctx, k.tx, after); err != nil {
		return err
	}
	if err := k.clear(ctx, before); err != nil {
		return err
	}
	k.tellAll(after)
	k.events = append(k.events, changeEvents("", before, after, nil, j)[1:]...)
	return writeReadings(ctx, k.tx, before.ID, after.Sheet, old, nil, k.c)
}

// covers reports whether the run-down has a reading in the cell of r.
func (k *runningDown) covers(r timing.Reading) bool {
	return slices.ContainsFunc(k.in.Readings, func(mine timing.Reading) bool { return sameCell(mine, r) })
}

// clear takes the readings out of the run that the run-down replaces.
func (k *runningDown) clear(ctx context.Context, before RunRecord) error {
	var batch pgx.Batch
	for _, r := range before.Sheet.Run.Readings {
		if k.covers(r) {
			k.replaced = append(k.replaced, factsOfReading(r))
			batch.Queue(`DELETE FROM reading WHERE run_id = $1 AND position = $2 AND hours = $3 AND again = 0`, before.ID, string(r.Position),
				r.HoursAfterWinding)
		}
	}
	if batch.Len() == 0 {
		return nil
	}
	return k.tx.SendBatch(ctx, &batch).Close()
}

// tellAll notes for the journal what was heard, in one entry.
func (k *runningDown) tellAll(r RunRecord) {
	all := k.in.Readings
	first, last := all[0], all[len(all)-1]
	f := runDownFacts{Run: r.Sheet.Run.Title(), Position: string(first.Position), Replaced: k.replaced,
		FromHours: first.HoursAfterWinding,
		ToHours:   last.HoursAfterWinding, PowerReserveH: k.in.PowerReserveH, Heard: k.in.Recording}
	for _, reading := range all {
		f.Readings = append(f.Readings, factsOfReading(reading))
	}
	k.events = append(k.events, event{kind: docket.ReadingHeard, summary: k.in.Summary(f.Run, k.in.Recording.Recorder),
		facts: f})
}

func factsOfReading(r timing.Reading) readingFacts {
	return readingFacts{At: r.Cell(), Figures: r.Text()}
}

// keepAllFacts keeps beside each reading what was heard of it.
func (k *runningDown) keepAllFacts(ctx context.Context, runID int64) error {
	for i, reading := range k.in.Readings {
		one := k.hearing
		one.in = HeardReading{Reading: reading, Facts: k.in.Facts[i]}
		if i == len(k.in.Readings)-1 {
			one.in.RecordingID = k.in.RecordingID
		}
		if err := one.keepFacts(ctx, runID); err != nil {
			return err
		}
	}
	return nil
}
