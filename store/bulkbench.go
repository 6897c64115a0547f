package store

import (
	"encoding/json"
	"fmt"

	"ledgerwheel/domain"
	"ledgerwheel/domain/diagnosis"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/finaltest"
	"ledgerwheel/domain/service"
	"ledgerwheel/domain/timing"
)

// open refuses what comes after the watch has left.
func (d *BulkDocket) open() error {
	if d.Closed() {
		return fmt.Errorf("docket %s: %w", d.Number, domain.ErrClosed)
	}
	return nil
}

// Move is Store.Move.
func (d *BulkDocket) Move(c Change, to docket.Stage, a docket.Act, benchID int64) error {
	if err := d.open(); err != nil {
		return err
	}
	a.Role = c.By.Role
	m, err := docket.FindMove(d.Stage, to)
	if err != nil {
		return err
	}
	f := d.Facts()
	if err := m.Check(f, a); err != nil {
		return err
	}
	if m.Closes {
		benchID = 0
	}
	bench, err := d.bulk.bench(benchID)
	if err != nil {
		return err
	}
	events, err := d.saved(c, d.Apply(m, f, a, c.At), benchID)
	if err != nil {
		return err
	}
	d.enter(c, append(events, moveEvents(m, f, a, bench)...)...)
	return nil
}

// AddFinding is Store.AddFinding, without a photograph.
func (d *BulkDocket) AddFinding(c Change, f diagnosis.Finding) error {
	f = f.Tidied()
	if err := domain.Invalid(f.Problems()); err != nil {
		return err
	}
	if err := d.open(); err != nil {
		return err
	}
	d.findings = append(d.findings, bulkFinding{f, c.By.StaffID, docket.Moment(c.At)})
	d.enter(c, event{kind: docket.FindingAdded, summary: f.AddedSummary(), facts: factsOfFinding(f)})
	return nil
}

// ReadCautions is Store.AcknowledgeHazard of every hazard that nobody acknowledged yet.
func (d *BulkDocket) ReadCautions(c Change) error {
	if err := d.open(); err != nil {
		return err
	}
	for i := range d.hazards {
		h := &d.hazards[i]
		if !h.readAt.IsZero() {
			continue
		}
		h.readBy, h.readAt = c.By.StaffID, docket.Moment(c.At)
		d.enter(c, hazardReadEvent(h.hazard))
	}
	return nil
}

// RecordRun is Store.RecordRun.
func (d *BulkDocket) RecordRun(c Change, in RunEntry) error {
	if err := d.open(); err != nil {
		return err
	}
	if why := d.RunProblem(in.Sheet.Run.Kind); why != "" {
		return domain.Invalid(map[string]string{"kind": why})
	}
	r := RunRecord{Sheet: in.Sheet, TakenAt: docket.Moment(c.At), TakenBy: c.By.Name}
	run := &r.Sheet.Run
	run.CrownHour, run.Adjustment = d.Watch.CrownAt, 0
	if run.Kind == timing.Adjustment {
		run.Adjustment = 1
		for _, was := range d.runs {
			run.Adjustment = max(run.Adjustment, was.Sheet.Run.Adjustment+1)
		}
	}
	if err := domain.Invalid(r.Sheet.Problems()); err != nil {
		return err
	}
	j, err := d.judged(&r, in.Grade)
	if err != nil {
		return err
	}
	if r.ID, err = d.bulk.id("run"); err != nil {
		return err
	}
	if run.Kind == timing.Adjustment {
		d.worked(c.At)
	}
	d.runs = append(d.runs, bulkRun{r, c.By.StaffID})
	d.enter(c, event{kind: docket.RunRecorded, facts: factsOfRun(r.Sheet, j), summary: docket.RunSummary(run.Title(), judgedWords(r, j))})
	return nil
}

// judged is judgeRun of a docket in memory.
func (d *BulkDocket) judged(r *RunRecord, grade string) (*timing.Judgement, error) {
	b := d.bulk
	r.Sheet.LiftAngle = r.Sheet.LiftAngle.Now(d.calibre.LiftAngle())
	limits, found := LimitsVersion{}, false
	for _, v := range b.limits {
		if v.ID == d.rateLimitsID {
			limits, found = v, true
		}
	}
	if !found {
		if grade != "" {
			if limits, found = b.limitsFor(grade); !found {
				return nil, domain.Invalid(map[string]string{"grade": docket.GradeProblem})
			}
		} else if limits, found = b.limitsFor(d.calibre.GradeKey); !found {
			return nil, nil
		}
	}
	b.clocks.give(&r.Sheet, r.TakenAt)
	j := r.judgeBy(limits, ruleOf(b.shop.SimpleAcceptance))
	if d.rateLimitsID == 0 && j.Judged() {
		d.rateLimitsID = limits.ID
	}
	return &j, nil
}

// runFacts adds to the facts what the runs say.
func (d *BulkDocket) runFacts(f *docket.Facts) {
	for _, r := range d.runs {
		kind := r.Sheet.Run.Kind
		f.AsReceivedRun = f.AsReceivedRun || kind == timing.AsReceived
		if d.WorkSince.IsZero() || r.TakenAt.Before(d.WorkSince) {
			continue
		}
		f.NewestRun = r.Outcome
		if kind == timing.Final {
			f.RunAfterWork, f.RunOutcome = true, r.Outcome
		}
	}
}

func (d *BulkDocket) runRows(r bulkRun) {
	sh := r.Sheet
	d.bulk.row("run", r.ID, d.ID, string(sh.Run.Kind), sh.Run.Adjustment, sh.Run.Label, sh.Instrument, sh.ClockPPM, sh.TemperatureC, sh.States, r.TakenAt, r.by,
		string(r.Outcome), nullID(r.RateLimitsID), r.SimpleAcceptance, touchedColumn(sh.Run), nullFigure(sh.LiftAngle.Deg), nullFigure(liftU95Deg(sh.LiftAngle)),
		d.bulk.shopVersion)
	for _, g := range sh.Run.Readings {
		at := g.TakenAt
		if at.IsZero() {
			at = r.TakenAt
		}
		values := []any{r.ID, string(g.Position), g.HoursAfterWinding}
		for _, q := range timing.Quantities() {
			values = append(values, figureArgs(g.Figure(q))...)
		}
		d.bulk.row("reading", append(values, docket.Moment(at), r.by, askedOf(g.RateSPerDay), askedOf(g.AmplitudeDeg), askedOf(g.BeatErrorMs), g.Repeat)...)
	}
}

// nullFigure keeps a figure that nobody knows as null.
func nullFigure(v float64) *float64 {
	if v == 0 {
		return nil
	}
	return &v
}

// AddWork is Store.AddWork.
func (d *BulkDocket) AddWork(c Change, w service.Work) (err error) {
	if err := domain.Invalid(w.Problems()); err != nil {
		return err
	}
	if err := d.open(); err != nil {
		return err
	}
	if w.ID, err = d.bulk.id("bench_work"); err != nil {
		return err
	}
	d.worked(c.At)
	w.ByID, w.At = c.By.StaffID, docket.Moment(c.At)
	d.works = append(d.works, w)
	d.enter(c, event{kind: docket.ServiceStepDone, summary: w.Summary(), facts: factsOfWork(w)})
	return nil
}

// RecordFinalTest is Store.RecordFinalTest.
func (d *BulkDocket) RecordFinalTest(c Change, sheet finaltest.Sheet, note string) (finaltest.Outcome, error) {
	if err := d.open(); err != nil {
		return "", err
	}
	if why := d.FinalTestProblem(); why != "" {
		return "", domain.Invalid(map[string]string{"": why})
	}
	before := FinalTestSheet{Tests: d.finalTests()}.Before()
	if err := domain.Invalid(sheet.Problems(finaltest.StatedOf(d.Watch, d.calibre), before, note)); err != nil {
		return "", err
	}
	t := bulkTest{note: note, by: c.By.StaffID, byName: c.By.Name, at: docket.Moment(c.At)}
	t.sheet = sheet.Signed(before.Standing, finaltest.Result{By: c.By.Name, ByID: c.By.StaffID, At: t.at})
	t.verdict = t.sheet.Verdict()
	var err error
	if t.kept, err = json.Marshal(resultRows(t.sheet)); err != nil {
		return "", err
	}
	d.tests = append(d.tests, t)
	d.enter(c, finalTestEvent(t.sheet, sheet.Corrected(before), t.verdict, note))
	return t.verdict, nil
}
