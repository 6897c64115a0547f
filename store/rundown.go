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

// RunDown is a run-down that was heard, to be kept beside the docket's newest run.
type RunDown struct {
	// RunDown names the recorder as the instrument of its readings.
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
	FromHours     float64        `json:"from_hours_after_winding"`
	ToHours       float64        `json:"to_hours_after_winding"`
	PowerReserveH float64        `json:"power_reserve_h,omitempty"` // when the watch was heard to stop
	Heard         heard.Facts    `json:"recording"`
}

// KeepRunDown keeps all readings of a run-down as a part of the run that was taken last, by itself where there is none, and
// returns its id. It takes the place of no reading, is judged as it is shown, and has one entry in the journal. The error is a
// *domain.InvalidError (fields of timing.Sheet, "recorder", "sound" and ""), or wraps domain.ErrNotFound, domain.ErrChanged
// or domain.ErrClosed.
func (s *Store) KeepRunDown(ctx context.Context, c Change, in RunDown) (id int64, err error) {
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
		if id, err = k.keep(ctx); err != nil {
			return nil, err
		}
		return k.events, k.keepAllFacts(ctx, id)
	})
	if err != nil {
		return 0, err
	}
	return id, nil
}

// runningDown is a run-down on its way into the record.
type runningDown struct {
	hearing
	in RunDown
}

func (k *runningDown) keep(ctx context.Context) (int64, error) {
	readings := k.in.Readings
	sh := timing.Sheet{Run: timing.Run{Kind: timing.RunDown, CrownHour: k.basis.crownHour, Readings: readings},
		Instrument: readings[0].Instrument, ClockPPM: halfWidthPPM(k.in.Recording.ClockStdPPM), LiftAngle: k.basis.lift}
	for _, r := range readings {
		sh.States = withState(sh.States, r.HoursAfterWinding)
	}
	r := RunRecord{Sheet: sh, TakenAt: docket.Moment(k.c.At), TakenBy: k.c.By.Name, OfRunID: k.basis.newestRun,
		PowerReserveH: k.in.PowerReserveH}
	if err := k.mayTake(r); err != nil {
		return 0, err
	}
	id, err := insertRun(ctx, k.tx, k.docket, r, k.c)
	if err != nil {
		return 0, err
	}
	title := "none"
	if r.OfRunID != 0 {
		of, err := lockedRun(ctx, k.tx, k.docket.ID, r.OfRunID, k.basis.crownHour)
		if err != nil {
			return 0, err
		}
		title = of.Sheet.Run.Title()
	}
	k.tellAll(title)
	return id, writeReadings(ctx, k.tx, id, r.Sheet, timing.Sheet{}, nil, k.c)
}

// tellAll notes for the journal what was heard, in one entry.
func (k *runningDown) tellAll(of string) {
	all := k.in.Readings
	first, last := all[0], all[len(all)-1]
	f := runDownFacts{Run: of, Position: string(first.Position), FromHours: first.HoursAfterWinding,
		ToHours: last.HoursAfterWinding, PowerReserveH: k.in.PowerReserveH, Heard: k.in.Recording}
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
