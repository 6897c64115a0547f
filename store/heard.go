package store

import (
	"context"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/acoustic"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/heard"
	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/timing"
)

// HeardReading is a reading that was heard, to be kept in a cell of a run.
type HeardReading struct {
	RunID int64 // 0 for a new run
	Kind  timing.Kind
	// Reading names the recorder as its instrument. A reading of the run in the same position and state of wind is
	// replaced.
	Reading timing.Reading
	Facts   heard.Facts
	// Sound is the WAV or FLAC file, nil when it is not kept or Facts.Sound names one that is in the folder already.
	// It must have been put there (see files.Folder.PutSound): the record names it by its sum.
	Sound []byte
	// Result is what was heard, the instants as found, for its charts; nil when it is not kept.
	Result *acoustic.Result
	// RecordingID is the recording that was sent in and is kept by this, 0 for none.
	RecordingID int64
}

// Heard is what is kept of the recording that a reading was taken from.
type Heard struct {
	ID       int64
	DocketID int64
	Number   docket.Number
	RunID    int64
	Position timing.Position
	Hours    float64 // after winding
	Facts    heard.Facts
	Sum      [32]byte // of the kept sound; zero when it was not kept
	KeptAt   time.Time
	KeptBy   string
	// Stands reports whether the reading is still that of its cell.
	Stands bool
	// Result is what was heard, the instants as found; nil when it was not kept or not asked for.
	Result *acoustic.Result
}

// heardFacts is what the journal keeps of a reading that was heard.
type heardFacts struct {
	Run      string      `json:"run"`
	At       string      `json:"at"` // "CH, full wind"
	Figures  string      `json:"figures"`
	Replaced string      `json:"replaced,omitempty"` // the figures that stood there before
	Heard    heard.Facts `json:"recording"`
}

// KeepHeard keeps a reading that was heard in the cell of a run, judges the run anew, and returns its id. The facts of
// the recording are kept beside the reading and in the journal. The error is a *domain.InvalidError (fields of
// timing.Sheet, "recorder" and ""), or wraps domain.ErrNotFound, domain.ErrChanged or domain.ErrClosed.
func (s *Store) KeepHeard(ctx context.Context, c Change, in HeardReading) (runID int64, err error) {
	if in.Sound != nil {
		in.Facts.Sound = heard.SoundOf(in.Sound)
	}
	if err := domain.Invalid(heard.Problems(in.Reading, in.Facts)); err != nil {
		return 0, err
	}
	err = s.change(ctx, c, func(tx pgx.Tx, d docket.Docket) ([]event, error) {
		basis, err := basisOf(ctx, tx, d.ID)
		if err != nil {
			return nil, err
		}
		basis.at = c.At
		k := hearing{tx: tx, docket: d, c: c, basis: basis, in: in}
		if in.RunID == 0 {
			runID, err = k.newRun(ctx)
		} else {
			runID, err = in.RunID, k.intoRun(ctx)
		}
		if err != nil {
			return nil, err
		}
		return k.events, k.keepFacts(ctx, runID)
	})
	if err != nil {
		return 0, err
	}
	return runID, nil
}

// hearing is a reading on its way into a run.
type hearing struct {
	tx     pgx.Tx
	docket docket.Docket
	c      Change
	basis  runBasis
	in     HeardReading
	events []event
}

func (k *hearing) newRun(ctx context.Context) (int64, error) {
	reading := k.in.Reading
	sh := timing.Sheet{Run: timing.Run{Kind: k.in.Kind, CrownHour: k.basis.crownHour, Readings: []timing.Reading{reading}},
		States: []float64{reading.HoursAfterWinding}, Instrument: reading.Instrument,
		ClockPPM:     halfWidthPPM(k.in.Facts.ClockStdPPM),
		TemperatureC: reading.TemperatureC}
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
	k.tell(r, "")
	return id, writeReadings(ctx, k.tx, id, r.Sheet, timing.Sheet{}, nil, k.c)
}

func (k *hearing) intoRun(ctx context.Context) error {
	before, err := lockedRun(ctx, k.tx, k.docket.ID, k.in.RunID, k.basis.crownHour)
	if err != nil {
		return err
	}
	after, reading := before, k.in.Reading
	reading.TemperatureC = before.Sheet.TemperatureC // the sheet's, which all its readings share
	was, replaced := before.Sheet.Run.Reading(reading.Position, reading.HoursAfterWinding)
	after.Sheet.Run.Readings = slices.DeleteFunc(slices.Clone(before.Sheet.Run.Readings), func(r timing.Reading) bool {
		return sameCell(r, reading)
	})
	after.Sheet.Run.Readings = append(after.Sheet.Run.Readings, reading)
	after.Sheet.States = withState(before.Sheet.States, reading.HoursAfterWinding)
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
	text := ""
	if replaced {
		text = was.Text()
	}
	k.tell(after, text)
	k.events = append(k.events, changeEvents("", before, after, nil, j)[1:]...)
	// The cell is written even when its figures read the same as before, since they come from another recording.
	old := before.Sheet
	old.Run.Readings = slices.DeleteFunc(slices.Clone(old.Run.Readings),
		func(r timing.Reading) bool { return sameCell(r, reading) })
	if replaced {
		if _, err := k.tx.Exec(ctx, `DELETE FROM reading WHERE run_id = $1 AND position = $2 AND hours = $3 AND again = 0`, before.ID,
			string(was.Position), was.HoursAfterWinding); err != nil {
			return err
		}
	}
	return writeReadings(ctx, k.tx, before.ID, after.Sheet, old, nil, k.c)
}

func (k *hearing) mayTake(r RunRecord) error {
	if why := k.docket.RunProblem(r.Sheet.Run.Kind); why != "" {
		return domain.Invalid(map[string]string{"kind": why})
	}
	return domain.Invalid(r.Sheet.Problems())
}

// tell notes for the journal what was heard.
func (k *hearing) tell(r RunRecord, replaced string) {
	g := k.in.Reading
	k.events = append(k.events, event{kind: docket.ReadingHeard,
		summary: k.in.Facts.Summary(r.Sheet.Run.Title(), g.Cell()),
		facts: heardFacts{Run: r.Sheet.Run.Title(), At: g.Cell(), Figures: g.Text(), Replaced: replaced,
			Heard: k.in.Facts}})
}

func (k *hearing) keepFacts(ctx context.Context, runID int64) error {
	f, g := k.in.Facts, k.in.Reading
	facts, err := json.Marshal(f)
	if err != nil {
		return err
	}
	var sum []byte
	var size *int64
	format := ""
	if f.Sound != nil {
		if sum, err = hex.DecodeString(f.Sound.SHA256); err != nil {
			return err
		}
		size, format = &f.Sound.Bytes, f.Sound.Format
	}
	var result []byte
	if k.in.Result != nil {
		if result, err = heard.EncodeResult(*k.in.Result); err != nil {
			return fmt.Errorf("what was heard: %w", err)
		}
	}
	var id int64
	err = k.tx.QueryRow(ctx, `INSERT INTO heard (docket_id, run_id, position, hours, recorder_id, recorder, clock_std_ppm, facts, sound_sha256,
			sound_bytes, sound_format, kept_at, by_id, result)
		VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14) RETURNING id`,
		k.docket.ID, runID, string(g.Position), g.HoursAfterWinding, nullID(f.RecorderID), f.Recorder, f.ClockStdPPM, facts,
		sum, size, format,
		docket.Moment(k.c.At), k.c.By.StaffID, result).Scan(&id)
	if err != nil {
		return err
	}
	var batch pgx.Batch
	batch.Queue(`UPDATE reading SET heard_id = $4 WHERE run_id = $1 AND position = $2 AND hours = $3`, runID,
		string(g.Position), g.HoursAfterWinding, id)
	if k.in.RecordingID != 0 {
		batch.Queue(`UPDATE recording SET kept_run_id = $2 WHERE id = $1 AND docket_id = $3 RETURNING id`, k.in.RecordingID,
			runID, k.docket.ID).
			QueryRow(func(row pgx.Row) error { return row.Scan(&id) }) // no row: it was thrown away meanwhile
	}
	return k.tx.SendBatch(ctx, &batch).Close()
}

func sameCell(a, b timing.Reading) bool {
	return a.Repeat == b.Repeat &&
		timing.CellName(a.Position, a.HoursAfterWinding) == timing.CellName(b.Position, b.HoursAfterWinding)
}

func withState(states []float64, hours float64) []float64 {
	for _, h := range states {
		if timing.HoursText(h) == timing.HoursText(hours) {
			return states
		}
	}
	states = append(slices.Clone(states), hours)
	slices.Sort(states)
	return states
}

// halfWidthPPM is the half-width of the rectangle that has a standard uncertainty, as the sheet of a run states a
// clock: to hundredths, rounded up.
func halfWidthPPM(std float64) float64 {
	return math.Min(math.Ceil(100*std/metrology.FromHalfWidth(1))/100, 1000)
}

// keepHeard leaves in a sheet that was typed anew the readings whose rates still read as they were heard with the
// recorder that heard them, whatever the sheet names as its instrument and whichever other figure of them was
// corrected. It returns the recordings by timing.CellName.
func (r RunRecord) keepHeard(sheet *timing.Sheet) map[string]int64 {
	still := map[string]int64{}
	for i := range sheet.Run.Readings {
		now := &sheet.Run.Readings[i]
		if now.Repeat > 0 {
			continue
		}
		cell := timing.CellName(now.Position, now.HoursAfterWinding)
		then, found := r.Sheet.Run.Reading(now.Position, now.HoursAfterWinding)
		if r.Heard[cell] == 0 || !found || now.RateSPerDay == nil || then.RateSPerDay == nil ||
			now.RateSPerDay.InputText(timing.Rate) != then.RateSPerDay.InputText(timing.Rate) {
			continue
		}
		now.Instrument, now.TakenAt, still[cell] = then.Instrument, then.TakenAt, r.Heard[cell]
	}
	return still
}

const heardFields = `h.id, h.docket_id, d.number, h.run_id, h.position, h.hours, h.facts, h.sound_sha256, h.kept_at, b.name,
	EXISTS (SELECT FROM reading g WHERE g.heard_id = h.id), `

const heardFrom = ` FROM heard h JOIN docket d ON d.id = h.docket_id JOIN staff b ON b.id = h.by_id `

func scanHeard(row pgx.CollectableRow) (Heard, error) {
	var h Heard
	var number string
	var facts, sum, result []byte
	err := row.Scan(&h.ID, &h.DocketID, &number, &h.RunID, &h.Position, &h.Hours, &facts, &sum, &h.KeptAt, &h.KeptBy,
		&h.Stands, &result)
	if err != nil {
		return Heard{}, err
	}
	if h.Number, err = docket.ParseNumber(number); err != nil {
		return Heard{}, err
	}
	copy(h.Sum[:], sum)
	h.KeptAt = h.KeptAt.UTC()
	if result != nil {
		r, err := heard.DecodeResult(result)
		if err != nil {
			return Heard{}, err
		}
		h.Result = &r
	}
	return h, json.Unmarshal(facts, &h.Facts)
}

// HeardSheet is what the page of a kept recording shows.
type HeardSheet struct {
	Head  Head
	Heard Heard
	Run   timing.Run // kind, number and label only
}

// HeardSheet reads what was kept of one recording of a docket in one round trip. The error wraps domain.ErrNotFound.
func (s *Store) HeardSheet(ctx context.Context, n docket.Number, id int64) (HeardSheet, error) {
	var sheet HeardSheet
	var found bool
	var list []Heard
	var batch pgx.Batch
	queueHead(&batch, n, &sheet.Head, &found)
	batch.Queue(`SELECT `+heardFields+`h.result`+heardFrom+`WHERE h.id = $1 AND d.number = $2`, id,
		n.String()).Query(func(rows pgx.Rows) (err error) {
		list, err = pgx.CollectRows(rows, scanHeard)
		return err
	})
	batch.Queue(`SELECT r.kind, r.ordinal, r.note FROM run r JOIN heard h ON h.run_id = r.id WHERE h.id = $1`,
		id).Query(func(rows pgx.Rows) error {
		_, err := pgx.ForEachRow(rows, []any{&sheet.Run.Kind, &sheet.Run.Adjustment, &sheet.Run.Label},
			func() error { return nil })
		return err
	})
	err := s.db.SendBatch(ctx, &batch).Close()
	if err == nil && (!found || len(list) == 0) {
		err = domain.ErrNotFound
	}
	if err != nil {
		return HeardSheet{}, fmt.Errorf("recording %d of docket %s: %w", id, n, Translate(err))
	}
	sheet.Heard = list[0]
	return sheet, nil
}

// KeptSound reads which sound was kept of a reading that was heard. The error wraps domain.ErrNotFound, also when no
// sound was kept.
func (s *Store) KeptSound(ctx context.Context, id int64) (Heard, error) {
	rows, _ := s.db.Query(ctx, `SELECT `+heardFields+`NULL::jsonb`+heardFrom+`WHERE h.id = $1 AND h.sound_sha256 IS NOT NULL`, id)
	h, err := pgx.CollectExactlyOneRow(rows, scanHeard)
	if err != nil {
		return Heard{}, fmt.Errorf("sound of recording %d: %w", id, Translate(err))
	}
	return h, nil
}
