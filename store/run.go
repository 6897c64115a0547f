package store

import (
	"context"
	"errors"
	"slices"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/timing"
)

// RunEntry is a run to be recorded.
type RunEntry struct {
	// Sheet is the run as typed. Its crown hour and the number of an adjustment are set by the record; a reading that
	// has no time of its own was taken at Change.At. Whoever records it took it.
	Sheet timing.Sheet
	// Grade is the grade to judge by when the docket was not judged yet; "" takes that of the watch's calibre, and
	// leaves the run unjudged if it has none.
	Grade string
	// LastSeen is the id of the docket's newest run as its writer saw it, 0 for none; nil is not asked. When another is
	// newer the run is refused with domain.ErrChanged, so that a form sent twice is not two runs.
	LastSeen *int64
	// Sent is which sending of another program it is; nil for what a person recorded.
	Sent *RunSent
}

// RunSent is one sending of another program: equal keys of one token are the same sending, and its sum tells whether the
// same was sent.
type RunSent struct {
	TokenID  int64
	Key, Sum [32]byte
}

// runBasis is what a run is judged on, beside itself.
type runBasis struct {
	crownHour      int
	calibreGrade   string
	lift           timing.LiftAngle // the calibre's
	rule           metrology.Rule
	limitsID       int64 // of the docket, 0 when it was not judged yet
	nextAdjustment int
	newestRun      int64
	at             time.Time // readings that have no time of their own are taken at it; zero takes the run's
}

func basisOf(ctx context.Context, tx pgx.Tx, docketID int64) (runBasis, error) {
	var b runBasis
	var simple bool
	var liftU95Deg float64
	err := tx.QueryRow(ctx, `SELECT w.crown_at, coalesce(k.grade, ''), coalesce((SELECT decision_rule = 'simple' FROM shop), false),
			coalesce(d.rate_limits_id, 0), (SELECT coalesce(max(ordinal), 0) + 1 FROM run WHERE docket_id = d.id),
			(SELECT coalesce(max(id), 0) FROM run WHERE docket_id = d.id AND kind <> 'run-down'),
			coalesce(k.lift_angle_deg, 0), coalesce(k.lift_angle_u95_deg, 0)
		FROM docket d JOIN watch w ON w.id = d.watch_id LEFT JOIN calibre k ON k.id = w.calibre_id WHERE d.id = $1`, docketID).
		Scan(&b.crownHour, &b.calibreGrade, &simple, &b.limitsID, &b.nextAdjustment, &b.newestRun,
			&b.lift.Deg, &liftU95Deg)
	b.rule, b.lift.StdDeg = ruleOf(simple), liftU95Deg/metrology.CoverageFactor
	return b, err
}

// limits finds what the docket is judged by: the version it was judged by before, else the newest of the grade, else
// the newest of its calibre's; found is false when it has neither.
func (b runBasis) limits(ctx context.Context, tx pgx.Tx, grade string) (v LimitsVersion, found bool, err error) {
	switch {
	case b.limitsID != 0:
		v, err = limitsOf(ctx, tx, b.limitsID)
		return v, err == nil, err
	case grade == "" && b.calibreGrade == "":
		return v, false, nil
	case grade == "":
		v, err = newestOf(ctx, tx, b.calibreGrade)
		if errors.Is(err, pgx.ErrNoRows) { // the calibre's grade has no limits yet
			return v, false, nil
		}
		return v, err == nil, err
	}
	v, err = newestOf(ctx, tx, grade)
	if errors.Is(err, pgx.ErrNoRows) {
		err = domain.Invalid(map[string]string{"grade": docket.GradeProblem})
	}
	return v, err == nil, err
}

// RecordRun adds a run, judges it, and returns its id. The first run that is judged settles which version of the rate
// limits the docket keeps. The error is a *domain.InvalidError when a rule is broken, or wraps domain.ErrNotFound,
// domain.ErrChanged or domain.ErrClosed, or domain.ErrSentTwice where another run is of the same sending.
func (s *Store) RecordRun(ctx context.Context, c Change, in RunEntry) (int64, error) {
	var id int64
	err := s.change(ctx, c, func(tx pgx.Tx, d docket.Docket) ([]event, error) {
		if why := d.RunProblem(in.Sheet.Run.Kind); why != "" {
			return nil, domain.Invalid(map[string]string{"kind": why})
		}
		basis, err := basisOf(ctx, tx, d.ID)
		if err != nil {
			return nil, err
		}
		basis.at = c.At
		if in.LastSeen != nil && *in.LastSeen != basis.newestRun {
			return nil, domain.ErrChanged
		}
		r := RunRecord{Sheet: in.Sheet, TakenAt: docket.Moment(c.At), TakenBy: c.By.Name}
		r.Sheet.Run.CrownHour, r.Sheet.Run.Adjustment = basis.crownHour, 0
		if r.Sheet.Run.Kind == timing.Adjustment {
			r.Sheet.Run.Adjustment = basis.nextAdjustment
		}
		if err := domain.Invalid(r.Sheet.Problems()); err != nil {
			return nil, err
		}
		j, err := judgeRun(ctx, tx, d.ID, &r, basis, in.Grade)
		if err != nil {
			return nil, err
		}
		if id, err = insertRun(ctx, tx, d, r, c); err != nil {
			return nil, err
		}
		if err := keepSent(ctx, tx, in.Sent, id); err != nil {
			return nil, err
		}
		return []event{{kind: docket.RunRecorded, facts: factsOfRun(r.Sheet, j),
				summary: docket.RunSummary(r.Sheet.Run.Title(), judgedWords(r, j))}}, writeReadings(ctx, tx, id, r.Sheet,
				timing.Sheet{}, nil, c)
	})
	return id, err
}

// judgeRun judges r as it stands, by its calibre's lift angle as it is known now, and has the docket keep the limits when it kept none; nil when there is nothing to
// judge by.
func judgeRun(ctx context.Context, tx pgx.Tx, docketID int64, r *RunRecord, b runBasis,
	grade string) (*timing.Judgement, error) {
	r.Sheet.LiftAngle = r.Sheet.LiftAngle.Now(b.lift)
	limits, found, err := b.limits(ctx, tx, grade)
	if err != nil || !found {
		return nil, err
	}
	clocks, err := clocksOf(ctx, tx)
	if err != nil {
		return nil, err
	}
	at := b.at
	if at.IsZero() {
		at = r.TakenAt
	}
	clocks.give(&r.Sheet, at)
	j := r.judgeBy(limits, b.rule)
	if b.limitsID == 0 && j.Judged() {
		_, err = tx.Exec(ctx, `UPDATE docket SET rate_limits_id = $2 WHERE id = $1`, docketID, limits.ID)
	}
	return &j, err
}

// judgeBy sets what the record keeps of a judgement.
func (r *RunRecord) judgeBy(v LimitsVersion, rule metrology.Rule) timing.Judgement {
	j := r.Judge(v.Limits, rule)
	r.RateLimitsID, r.SimpleAcceptance, r.Outcome = v.ID, rule == metrology.Simple, docket.NotYet
	if j.Judged() {
		r.Outcome = docket.Outcome(j.Verdict.String())
	}
	return j
}

// insertRun adds a run. An adjustment is work on the watch, so what was measured and tested before it is open again.
func insertRun(ctx context.Context, tx pgx.Tx, d docket.Docket, r RunRecord, c Change) (id int64, err error) {
	sh := r.Sheet
	if sh.Run.Kind == timing.Adjustment {
		if err := worked(ctx, tx, d, c.At); err != nil {
			return 0, err
		}
	}
	err = tx.QueryRow(ctx, `INSERT INTO run (docket_id, kind, ordinal, note, instrument, instrument_ppm, temperature_c, states, taken_at,
			by_id, outcome, rate_limits_id, simple_rule, touched, lift_angle_deg, lift_angle_u95_deg, of_run_id, power_reserve_h, written_under)
		VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, nullif($15::float8, 0), nullif($16::float8, 0),
			$17, nullif($18::float8, 0), `+newestShop+`) RETURNING id`,
		d.ID, string(sh.Run.Kind), sh.Run.Adjustment, sh.Run.Label, sh.Instrument, sh.ClockPPM, sh.TemperatureC,
		sh.States, r.TakenAt,
		c.By.StaffID, string(r.Outcome), nullID(r.RateLimitsID), r.SimpleAcceptance, touchedColumn(sh.Run),
		sh.LiftAngle.Deg, liftU95Deg(sh.LiftAngle), nullID(r.OfRunID), r.PowerReserveH).Scan(&id)
	return id, err
}

// writeReadings replaces the readings that differ from before; one that reads the same keeps who took it and when.
// heardIn names, by timing.CellName, the recordings that their rates were heard in.
func writeReadings(ctx context.Context, tx pgx.Tx, runID int64, now, before timing.Sheet, heardIn map[string]int64,
	c Change) error {
	var batch pgx.Batch
	for _, old := range before.Run.Readings {
		if is, found := now.Run.Like(old); !found || is.Text() != old.Text() {
			batch.Queue(`DELETE FROM reading WHERE run_id = $1 AND position = $2 AND hours = $3 AND again = $4`, runID,
				string(old.Position), old.HoursAfterWinding, old.Repeat)
		}
	}
	for _, r := range now.Run.Readings {
		if was, found := before.Run.Like(r); found && was.Text() == r.Text() {
			continue
		}
		at := r.TakenAt
		if at.IsZero() {
			at = c.At
		}
		args := []any{runID, string(r.Position), r.HoursAfterWinding}
		for _, q := range timing.Quantities() {
			args = append(args, figureArgs(r.Figure(q))...)
		}
		batch.Queue(`INSERT INTO reading (run_id, position, hours, rate_s_per_day, rate_half_width, rate_u, amplitude_deg, amplitude_half_width,
				amplitude_u, beat_error_ms, beat_error_half_width, beat_error_u, taken_at, by_id, heard_id,
				rate_asked, amplitude_asked, beat_error_asked, again)
			VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16, $17, $18, $19)`, append(args,
			docket.Moment(at), c.By.StaffID, nullID(heardFor(heardIn, r)), askedOf(r.RateSPerDay), askedOf(r.AmplitudeDeg),
			askedOf(r.BeatErrorMs), r.Repeat)...)
	}
	if batch.Len() == 0 {
		return nil
	}
	return tx.SendBatch(ctx, &batch).Close()
}

// heardFor is the recording a reading was heard in; one that was taken again was typed.
func heardFor(heardIn map[string]int64, r timing.Reading) int64 {
	if r.Repeat > 0 {
		return 0
	}
	return heardIn[timing.CellName(r.Position, r.HoursAfterWinding)]
}

// askedOf is what was asked about a figure; "" where it was not measured.
func askedOf(f *timing.Figure) string {
	if f == nil {
		return ""
	}
	return f.Asked
}

// figureArgs are a figure's value, half of its step and its stated uncertainty.
func figureArgs(f *timing.Figure) []any {
	if f == nil {
		return []any{nil, nil, 0.0}
	}
	return []any{f.Value, f.Step / 2, f.StdUncertainty}
}

// lockedRun reads one run of a locked docket.
func lockedRun(ctx context.Context, tx pgx.Tx, docketID, id int64, crownHour int) (RunRecord, error) {
	runs, err := runsOf(ctx, tx, docketID, id, crownHour)
	if err == nil && len(runs) == 0 {
		err = domain.ErrNotFound
	}
	if err != nil {
		return RunRecord{}, err
	}
	return runs[0], nil
}

// runsOf reads the runs of a docket with their readings, or only the one with the id if it is not 0.
func runsOf(ctx context.Context, tx pgx.Tx, docketID, id int64, crownHour int) ([]RunRecord, error) {
	var runs []RunRecord
	var readings []keptReading
	var clocks recorderClocks
	var batch pgx.Batch
	queueClocks(&batch, &clocks)
	batch.Queue(`SELECT `+runFields+runFrom+`WHERE r.docket_id = $1 AND ($2 = 0 OR r.id = $2) ORDER BY r.id`, docketID,
		id).
		Query(func(rows pgx.Rows) (err error) {
			runs, err = pgx.CollectRows(rows, scanRun)
			return err
		})
	batch.Queue(`SELECT `+readingFields+readingFrom+`WHERE g.run_id IN (SELECT id FROM run WHERE docket_id = $1 AND ($2 = 0 OR id = $2))`,
		docketID, id).
		Query(func(rows pgx.Rows) (err error) {
			readings, err = pgx.CollectRows(rows, scanReading)
			return err
		})
	if err := tx.SendBatch(ctx, &batch).Close(); err != nil {
		return nil, err
	}
	gather(runs, readings, crownHour, clocks)
	return runs, nil
}

// ChangeRun replaces what was written of a run, if it still has the version its writer saw, and judges it anew by the
// version of the rate limits that the docket keeps. Kind and number stay. A correction of a figure on record asks for
// c.Why. The error is a *domain.InvalidError ("why" among its keys), or wraps
// domain.ErrNotFound, domain.ErrChanged or domain.ErrClosed. Saving what is there already changes nothing.
func (s *Store) ChangeRun(ctx context.Context, c Change, id int64, version int, sheet timing.Sheet) error {
	return s.change(ctx, c, func(tx pgx.Tx, d docket.Docket) ([]event, error) {
		basis, err := basisOf(ctx, tx, d.ID)
		if err != nil {
			return nil, err
		}
		basis.at = c.At
		before, err := lockedRun(ctx, tx, d.ID, id, basis.crownHour)
		if err != nil {
			return nil, err
		}
		if before.Version != version {
			return nil, domain.ErrChanged
		}
		if why := d.RunProblem(before.Sheet.Run.Kind); why != "" {
			return nil, domain.Invalid(map[string]string{"kind": why})
		}
		after := before
		after.Sheet = sheet
		after.Sheet.LiftAngle = before.Sheet.LiftAngle
		after.Sheet.Run.Kind, after.Sheet.Run.Adjustment, after.Sheet.Run.CrownHour =
			before.Sheet.Run.Kind, before.Sheet.Run.Adjustment, basis.crownHour
		after.Sheet.Run.Readings = slices.Clone(sheet.Run.Readings)
		after.Sheet.Keep(before.Sheet)
		heardIn := before.keepHeard(&after.Sheet)
		if err := domain.Invalid(after.Sheet.Problems()); err != nil {
			return nil, err
		}
		edits := timing.Edits(before.Sheet, after.Sheet)
		if len(edits) == 0 {
			return nil, nil
		}
		if err := keepRunCorrection(ctx, tx, c, before, edits); err != nil {
			return nil, err
		}
		j, err := judgeRun(ctx, tx, d.ID, &after, basis, "")
		if err != nil {
			return nil, err
		}
		if err := updateRun(ctx, tx, after); err != nil {
			return nil, err
		}
		return changeEvents(c.Why, before, after, edits, j), writeReadings(ctx, tx, id, after.Sheet, before.Sheet, heardIn, c)
	})
}

func updateRun(ctx context.Context, tx pgx.Tx, r RunRecord) error {
	sh := r.Sheet
	_, err := tx.Exec(ctx, `UPDATE run SET note = $2, instrument = $3, instrument_ppm = $4, temperature_c = $5, states = $6,
			outcome = $7, rate_limits_id = $8, simple_rule = $9, touched = $10, lift_angle_deg = nullif($11::float8, 0),
			lift_angle_u95_deg = nullif($12::float8, 0), version = version + 1, written_under = `+newestShop+`
		WHERE id = $1`,
		r.ID, sh.Run.Label, sh.Instrument, sh.ClockPPM, sh.TemperatureC, sh.States, string(r.Outcome), nullID(r.RateLimitsID),
		r.SimpleAcceptance, touchedColumn(sh.Run), sh.LiftAngle.Deg, liftU95Deg(sh.LiftAngle))
	return err
}

// liftU95Deg is the expanded uncertainty as the tables keep it; 0 where nobody determined the angle.
func liftU95Deg(l timing.LiftAngle) float64 { return l.StdDeg * metrology.CoverageFactor }

// touchedColumn is what an adjustment touched, as the table keeps it.
func touchedColumn(r timing.Run) []string {
	words := make([]string, len(r.Touched))
	for i, t := range r.Touched {
		words[i] = string(t)
	}
	return words
}

// JudgeRuns judges every run of a docket anew, by the newest version of a grade's rate limits and the shop's rule as it
// stands; the docket keeps that version from then on. Nothing is written when every verdict, version, rule and
// lift angle is that already. The error is a *domain.InvalidError (fields "grade" and ""), or wraps domain.ErrNotFound, domain.ErrChanged
// or domain.ErrClosed. Another grade than the runs were judged by before asks for c.Why (field "why").
func (s *Store) JudgeRuns(ctx context.Context, c Change, grade string) error {
	return s.change(ctx, c, func(tx pgx.Tx, d docket.Docket) ([]event, error) {
		if why := d.JudgeProblem(); why != "" {
			return nil, domain.Invalid(map[string]string{"": why})
		}
		basis, err := basisOf(ctx, tx, d.ID)
		if err != nil {
			return nil, err
		}
		limits, err := newestOf(ctx, tx, grade)
		if errors.Is(err, pgx.ErrNoRows) {
			return nil, domain.Invalid(map[string]string{"grade": docket.GradeProblem})
		}
		if err != nil {
			return nil, err
		}
		if err := askGradeReason(ctx, tx, c, basis.limitsID, limits); err != nil {
			return nil, err
		}
		runs, err := runsOf(ctx, tx, d.ID, 0, basis.crownHour)
		if err != nil {
			return nil, err
		}
		return judgeAll(ctx, tx, d.ID, runs, limits, basis, c.Why)
	})
}

func judgeAll(ctx context.Context, tx pgx.Tx, docketID int64, runs []RunRecord, limits LimitsVersion,
	basis runBasis, why string) ([]event, error) {
	var batch pgx.Batch
	var verdicts []judgedAnew
	for _, before := range runs {
		if before.Sheet.Run.Kind == timing.RunDown {
			continue // judged as it is shown
		}
		after := before
		after.Sheet.LiftAngle = before.Sheet.LiftAngle.Now(basis.lift)
		j := after.judgeBy(limits, basis.rule)
		if after.RateLimitsID == before.RateLimitsID && after.SimpleAcceptance == before.SimpleAcceptance &&
			after.Outcome == before.Outcome && after.Sheet.LiftAngle == before.Sheet.LiftAngle {
			continue
		}
		verdicts = append(verdicts, judgedAnew{Run: after.Sheet.Run.Title(), Before: before.Outcome.Words(),
			Now: j.Verdict.String()})
		batch.Queue(`UPDATE run SET outcome = $2, rate_limits_id = $3, simple_rule = $4,
			lift_angle_deg = nullif($5::float8, 0), lift_angle_u95_deg = nullif($6::float8, 0), version = version + 1,
			written_under = `+newestShop+` WHERE id = $1`,
			after.ID, string(after.Outcome), after.RateLimitsID, after.SimpleAcceptance, after.Sheet.LiftAngle.Deg,
			liftU95Deg(after.Sheet.LiftAngle))
	}
	if len(verdicts) == 0 && basis.limitsID == limits.ID {
		return nil, nil
	}
	batch.Queue(`UPDATE docket SET rate_limits_id = $2, rate_limits_why = CASE WHEN $3 = '' THEN rate_limits_why ELSE $3 END
		WHERE id = $1`, docketID, limits.ID, why)
	if err := tx.SendBatch(ctx, &batch).Close(); err != nil {
		return nil, err
	}
	by := limits.Limits.Title()
	return []event{{kind: docket.RunJudged, why: why, summary: docket.RunsJudgedSummary(by),
		facts: struct {
			By       string       `json:"judged_by"`
			Rule     string       `json:"rule"`
			Verdicts []judgedAnew `json:"verdicts"`
		}{by, basis.rule.String(), verdicts}}}, nil
}
