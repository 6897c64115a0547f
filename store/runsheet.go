package store

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/record"
	"ledgerwheel/domain/service"
	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/timing"
)

// RunRecord is a run as the record keeps it.
type RunRecord struct {
	ID      int64
	Sheet   timing.Sheet
	TakenAt time.Time // when it was begun
	TakenBy string
	Version int // raised whenever it is changed or judged anew

	// Outcome is the verdict it was last given, by the rate limits and the rule named.
	Outcome          docket.Outcome
	RateLimitsID     int64 // 0 when it was not judged
	SimpleAcceptance bool

	// Shop is the settings as they stood when the run was last written or judged; only a regulation sheet reads them.
	Shop shop.Shop

	// OfRunID is the run that a run-down belongs to, 0 for none; PowerReserveH when it was heard to stop, 0 when it wasn't.
	OfRunID       int64
	PowerReserveH float64

	// Heard names, by timing.CellName, the recordings that readings were heard in.
	Heard map[string]int64
}

func (r *RunRecord) heard(k keptReading) {
	if r.Heard == nil {
		r.Heard = map[string]int64{}
	}
	r.Heard[timing.CellName(k.reading.Position, k.reading.HoursAfterWinding)] = k.heardID
}

// Rule is the decision rule by which the run was judged.
func (r RunRecord) Rule() metrology.Rule { return ruleOf(r.SimpleAcceptance) }

func ruleOf(simple bool) metrology.Rule {
	if simple {
		return metrology.Simple
	}
	return metrology.Guarded
}

// Judge judges the run as it stands by a version of rate limits and a rule.
func (r RunRecord) Judge(limits timing.RateLimits, rule metrology.Rule) timing.Judgement {
	return timing.Judge(r.Sheet.Run, limits, rule, r.Sheet.Instruments())
}

// RunsShown is how many runs of a docket its regulation sheet shows: the newest, and beyond them those as received.
const RunsShown = 50

// RegulationSheet is what the regulation sheet of a docket shows.
type RegulationSheet struct {
	Head Head
	Runs []RunRecord // oldest first
	// RunDowns belong to the runs, oldest first.
	RunDowns []RunRecord
	Limits   []LimitsVersion // the newest of each grade, and those by which the docket or a run was judged
	// NextAdjustment is the number that the next adjustment takes.
	NextAdjustment int
	GradeWhy       string                    // why the docket is judged by another grade than before; "" if it is not
	Corrections    map[int64][]RunCorrection // of figures on record, by the run's id, oldest first

	// What was seen and done, which the advice on the runs hears.
	Findings []FindingRow // struck ones too
	Works    []service.Work
	Fitted   []PartRow // parts that were fitted

	Tests []FinalTest // the newest final test, if there was one

	Before Earlier // the docket on whose warranty the watch came back

	Seal record.Seal // that the bulletin bears; without a text there is none old enough
}

// part puts the run-downs by themselves.
func (r *RegulationSheet) part() {
	var runs []RunRecord
	for _, run := range r.Runs {
		if run.Sheet.Run.Kind == timing.RunDown {
			r.RunDowns = append(r.RunDowns, run)
		} else {
			runs = append(runs, run)
		}
	}
	r.Runs = runs
}

// RunDownsOf are those that belong to a run; with 0, those that belong to none.
func (r RegulationSheet) RunDownsOf(runID int64) []RunRecord {
	var out []RunRecord
	for _, down := range r.RunDowns {
		if down.OfRunID == runID {
			out = append(out, down)
		}
	}
	return out
}

// Run finds a run by its id.
func (r RegulationSheet) Run(id int64) (RunRecord, bool) {
	at := slices.IndexFunc(r.Runs, func(run RunRecord) bool { return run.ID == id })
	if at < 0 {
		return RunRecord{}, false
	}
	return r.Runs[at], true
}

// Newest returns the run taken last.
func (r RegulationSheet) Newest() (RunRecord, bool) {
	if len(r.Runs) == 0 {
		return RunRecord{}, false
	}
	return r.Runs[len(r.Runs)-1], true
}

// LimitsByID finds one of the versions of rate limits.
func (r RegulationSheet) LimitsByID(id int64) (LimitsVersion, bool) {
	at := slices.IndexFunc(r.Limits, func(v LimitsVersion) bool { return v.ID == id })
	if at < 0 {
		return LimitsVersion{}, false
	}
	return r.Limits[at], true
}

// NewestLimits finds the newest version of a grade.
func (r RegulationSheet) NewestLimits(grade string) (newest LimitsVersion, found bool) {
	for _, v := range r.Limits {
		if v.Limits.Grade == grade && v.Limits.Version > newest.Limits.Version {
			newest, found = v, true
		}
	}
	return newest, found
}

// Grades returns the newest version of each grade, by name.
func (r RegulationSheet) Grades() []LimitsVersion {
	var grades []LimitsVersion
	for _, v := range r.Limits {
		if newest, _ := r.NewestLimits(v.Limits.Grade); newest.ID == v.ID {
			grades = append(grades, v)
		}
	}
	return grades
}

// shownRuns selects the runs of the docket numbered $1 that its sheet shows.
const shownRuns = `(SELECT id FROM run WHERE docket_id = (SELECT id FROM docket WHERE number = $1)
	AND (kind = 'as received' OR id IN
		(SELECT id FROM run WHERE docket_id = (SELECT id FROM docket WHERE number = $1) ORDER BY id DESC LIMIT $2)))`

const runFields = `r.id, r.kind, r.ordinal, r.note, r.instrument, r.instrument_ppm, r.temperature_c, r.states, r.taken_at, b.name,
	r.outcome, coalesce(r.rate_limits_id, 0), r.simple_rule, r.version, r.touched, coalesce(r.lift_angle_deg, 0),
	coalesce(r.lift_angle_u95_deg, 0), coalesce(r.of_run_id, 0), coalesce(r.power_reserve_h, 0), coalesce(r.written_under, 0)`

const runFrom = ` FROM run r JOIN staff b ON b.id = r.by_id `

func scanRun(row pgx.CollectableRow) (RunRecord, error) { return stoodShops(nil).scanRun(row) }

func (stood stoodShops) scanRun(row pgx.CollectableRow) (RunRecord, error) {
	var r RunRecord
	var writtenUnder int64
	var liftU95Deg float64
	sh := &r.Sheet
	err := row.Scan(&r.ID, &sh.Run.Kind, &sh.Run.Adjustment, &sh.Run.Label, &sh.Instrument, &sh.ClockPPM, &sh.TemperatureC,
		&sh.States,
		&r.TakenAt, &r.TakenBy, &r.Outcome, &r.RateLimitsID, &r.SimpleAcceptance, &r.Version, &sh.Run.Touched,
		&sh.LiftAngle.Deg, &liftU95Deg, &r.OfRunID, &r.PowerReserveH, &writtenUnder)
	sh.LiftAngle.StdDeg = liftU95Deg / metrology.CoverageFactor
	r.TakenAt, r.Shop = r.TakenAt.UTC(), stood[writtenUnder]
	return r, err
}

const readingFields = `g.run_id, g.position, g.hours, g.rate_s_per_day, g.rate_half_width, g.rate_u, g.amplitude_deg, g.amplitude_half_width,
	g.amplitude_u, g.beat_error_ms, g.beat_error_half_width, g.beat_error_u, g.taken_at, p.name, coalesce(h.id, 0), coalesce(h.recorder, ''),
	g.rate_asked, g.amplitude_asked, g.beat_error_asked, g.again`

const readingFrom = ` FROM reading g JOIN staff p ON p.id = g.by_id LEFT JOIN heard h ON h.id = g.heard_id `

// keptReading is a reading with the run it belongs to.
type keptReading struct {
	runID   int64
	heardID int64 // 0 when it was not heard
	reading timing.Reading
}

func scanReading(row pgx.CollectableRow) (keptReading, error) {
	var k keptReading
	var figures [3]struct {
		value, halfWidth *float64
		u                float64
		asked            string
	}
	r := &k.reading
	targets := []any{&k.runID, &r.Position, &r.HoursAfterWinding}
	for i := range figures {
		targets = append(targets, &figures[i].value, &figures[i].halfWidth, &figures[i].u)
	}
	targets = append(targets, &r.TakenAt, &r.TakenBy, &k.heardID, &r.Instrument)
	for i := range figures {
		targets = append(targets, &figures[i].asked)
	}
	targets = append(targets, &r.Repeat)
	if err := row.Scan(targets...); err != nil {
		return k, err
	}
	r.TakenAt = r.TakenAt.UTC()
	for i, q := range timing.Quantities() {
		if f := figures[i]; f.value != nil && f.halfWidth != nil {
			r.SetFigure(q, &timing.Figure{Value: *f.value, Step: 2 * *f.halfWidth, StdUncertainty: f.u, Asked: f.asked})
		}
	}
	return k, nil
}

// gather gives the runs their readings, both what the sheets and the watch say of them, and the sheets what the
// recorders' calibrations say of the clocks.
func gather(runs []RunRecord, readings []keptReading, crownHour int, clocks recorderClocks) {
	if crownHour == 0 {
		crownHour = timing.CrownAtThree
	}
	for i := range runs {
		sh := &runs[i].Sheet
		sh.Run.CrownHour = crownHour
		for _, k := range readings {
			if k.runID == runs[i].ID {
				k.reading.TemperatureC = sh.TemperatureC
				if k.heardID == 0 {
					k.reading.Instrument = sh.Instrument
				} else {
					runs[i].heard(k)
				}
				sh.Run.Readings = append(sh.Run.Readings, k.reading)
			}
		}
		order := timing.Positions()
		slices.SortFunc(sh.Run.Readings, func(a, b timing.Reading) int {
			if a.HoursAfterWinding != b.HoursAfterWinding {
				if a.HoursAfterWinding < b.HoursAfterWinding {
					return -1
				}
				return 1
			}
			return cmp.Or(slices.Index(order, a.Position)-slices.Index(order, b.Position), a.Repeat-b.Repeat)
		})
		clocks.give(sh, runs[i].TakenAt)
	}
}

// RegulationSheet reads everything the regulation sheet of a docket shows in one round trip. The error wraps
// domain.ErrNotFound.
func (s *Store) RegulationSheet(ctx context.Context, n docket.Number) (RegulationSheet, error) {
	var sheet RegulationSheet
	var found bool
	var readings []keptReading
	var clocks recorderClocks
	var batch pgx.Batch
	number := n.String()
	queueClocks(&batch, &clocks)
	queueHead(&batch, n, &sheet.Head, &found)
	queueFinalTests(&batch, n, 1, &sheet.Tests)
	stood := stoodShops{}
	queueShops(&batch, stood, `SELECT written_under FROM run WHERE id IN `+shownRuns, number, RunsShown)
	batch.Queue(`SELECT `+runFields+runFrom+`WHERE r.id IN `+shownRuns+` ORDER BY r.id`, number, RunsShown).
		Query(func(rows pgx.Rows) (err error) {
			sheet.Runs, err = pgx.CollectRows(rows, stood.scanRun)
			return err
		})
	batch.Queue(`SELECT `+readingFields+readingFrom+`WHERE g.run_id IN `+shownRuns, number, RunsShown).
		Query(func(rows pgx.Rows) (err error) {
			readings, err = pgx.CollectRows(rows, scanReading)
			return err
		})
	batch.Queue(`SELECT `+limitsFields+limitsFrom+`WHERE `+newestLimits+`
			OR l.id = (SELECT rate_limits_id FROM docket WHERE number = $1)
			OR l.id IN (SELECT rate_limits_id FROM run WHERE id IN `+shownRuns+`) ORDER BY l.name, l.grade, l.version DESC`, number, RunsShown).
		Query(func(rows pgx.Rows) (err error) {
			sheet.Limits, err = pgx.CollectRows(rows, scanLimits)
			return err
		})
	batch.Queue(`SELECT coalesce(max(r.ordinal), 0) + 1, coalesce(max(d.rate_limits_why), '') FROM docket d
		LEFT JOIN run r ON r.docket_id = d.id WHERE d.number = $1`, number).
		QueryRow(func(row pgx.Row) error { return row.Scan(&sheet.NextAdjustment, &sheet.GradeWhy) })
	sheet.Corrections = map[int64][]RunCorrection{}
	queueRunCorrections(&batch, shownRuns, []any{number, RunsShown}, sheet.Corrections)
	queueFindings(&batch, n, &sheet.Findings)
	queueWorks(&batch, `(SELECT id FROM docket WHERE number = $1)`, number, &sheet.Works)
	batch.Queue(`SELECT `+partFields+` FROM part_line p WHERE p.docket_id = (SELECT id FROM docket WHERE number = $1)
		AND p.state = 'fitted' ORDER BY p.id`, number).Query(func(rows pgx.Rows) (err error) {
		sheet.Fitted, err = pgx.CollectRows(rows, scanPart)
		return err
	})
	queueSeal(&batch, &sheet.Seal, docketSealSQL, number)
	var before earlierReader
	before.queue(&batch, n)
	err := s.db.SendBatch(ctx, &batch).Close()
	if err == nil && !found {
		err = domain.ErrNotFound
	}
	if err != nil {
		return RegulationSheet{}, fmt.Errorf("regulation of docket %s: %w", n, Translate(err))
	}
	before.clocks = clocks
	sheet.Before = before.give(sheet.Head.Watch)
	gather(sheet.Runs, readings, sheet.Head.Watch.CrownAt, clocks)
	sheet.part()
	return sheet, nil
}
