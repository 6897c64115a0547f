package regulation

import (
	"fmt"
	"net/http"
	"slices"
	"time"

	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/oscillator"
	"ledgerwheel/domain/service"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/text"
	"ledgerwheel/domain/timing"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/runs"
	"ledgerwheel/web/view"
)

// adviceRoutes are the advice sheet of a docket; it only shows.
func (s *Room) adviceRoutes() []page.Route {
	return []page.Route{
		page.Get("/dockets/{number}/advice", page.Needs(staff.ViewDockets), s.showAdvice),
	}
}

func (s *Room) showAdvice(w http.ResponseWriter, r *http.Request) error {
	sheet, err := runs.Read(r, s.store)
	if err != nil {
		return err
	}
	chosen, _, err := chosenRun(r, sheet, "run")
	if err != nil {
		return err
	}
	p, d := s.DocketPage(r, sheet.Head, "advice")
	viewer, _ := page.ViewerOf(r.Context())
	a := AdvisedOn(sheet, runs.JudgingRule(viewer.Shop), chosen.ID)
	v := a.view(d.Number, d.Next)
	if a.found {
		v.Runs, v.RunsSay = adviceRuns(a, sheet, d.Number), runsSay(sheet)
		v.Then = runAfterAdvice(r, sheet, d)
		v.Taken = fmt.Sprintf("%s, docket %s. Run %s, taken %s by %s.", d.Watch, d.Number, a.run.Sheet.Run.Title(),
			s.Moment(r, a.run.TakenAt), a.run.TakenBy)
	}
	return page.Render(w, r, http.StatusOK, advice(p, d, v))
}

// runAfterAdvice offers the run that shows whether a correction helped; nil where none may be taken.
func runAfterAdvice(r *http.Request, sheet store.RegulationSheet, d view.DocketView) *view.LinkView {
	links, _ := takeLinks(r, sheet, d)
	at := slices.IndexFunc(links, func(l view.LinkView) bool { return l.TestID == "take-"+slugOf(timing.Adjustment) })
	if at < 0 {
		return nil
	}
	link := links[at]
	link.Kind = view.Plain
	if d.Next != nil && d.Next.Corrects {
		link.Kind = view.Chief
	}
	return &link
}

// adviceRuns lead to the advice on each run; one run needs no choice.
func adviceRuns(a advised, sheet store.RegulationSheet, number string) []view.TabView {
	if len(sheet.Runs) < 2 {
		return nil
	}
	var tabs []view.TabView
	for _, run := range sheet.Runs {
		tabs = append(tabs, view.TabView{Text: text.Capital(run.Sheet.Run.Title()), Href: view.DocketURL(number, "advice") +
			"?run=" + page.Itoa64(run.ID),
			Current: run.ID == a.run.ID, TestID: "advice-run-" + page.Itoa64(run.ID)})
	}
	return tabs
}

// advised is the fit to the runs of a docket, and what it says of the last of them.
type advised struct {
	found   bool // there is a run
	run     store.RunRecord
	by      runs.Judging
	balance oscillator.Balance
	Report  oscillator.Report
	Why     string // why nothing could be fitted; "" when something was
	prior   string // title of the run before; "" when there is none
}

// AdvisedOn fits the runs of a docket up to one of them, 0 for the newest, and takes advice on that one. A run is held
// against what judged it; one that was not judged, against the newest limits of its calibre's grade.
func AdvisedOn(sheet store.RegulationSheet, rule metrology.Rule, runID int64) advised {
	at := slices.IndexFunc(sheet.Runs, func(run store.RunRecord) bool { return run.ID == runID })
	if at < 0 {
		at = len(sheet.Runs) - 1
	}
	if at < 0 {
		return advised{}
	}
	a := advised{found: true, run: sheet.Runs[at], by: judgingOf(sheet, sheet.Runs[at]),
		balance: runs.BalanceOf(sheet.Head.Calibre)}
	if a.by.Limits == nil {
		if newest, found := sheet.NewestLimits(sheet.Head.Calibre.GradeKey); found {
			a.by = runs.Judging{Limits: &newest, Rule: rule}
		}
	}
	if at > 0 {
		a.prior = sheet.Runs[at-1].Sheet.Run.Title()
	}
	var err error
	options := fitOptions(sheet, a.run, a.by)
	options.Known = knownOf(sheet, sheet.Runs[:at+1])
	if a.Report, err = oscillator.Advise(occasionsOf(sheet, sheet.Runs[:at+1]), options); err != nil {
		a.Why = text.Sentence(err.Error())
	}
	return a
}

// shows is what the readings show first, in a line: to be corrected where that is the docket's next action.
func (a advised) shows(next *view.NextView) string {
	switch {
	case !a.found || a.Why != "":
		return ""
	case len(a.Report.Advice) > 0:
		first := text.Uncapital(a.Report.Advice[0].Title)
		if next != nil && next.Corrects {
			return fmt.Sprintf("Correct first: %s.", first)
		}
		return fmt.Sprintf("The readings show: %s.", first)
	}
	return a.Report.Next.Text
}

// occasionsOf are runs with the run-downs that belong to them.
func occasionsOf(sheet store.RegulationSheet, runs []store.RunRecord) []oscillator.Occasion {
	out := make([]oscillator.Occasion, len(runs))
	for i, run := range runs {
		out[i] = oscillator.Occasion{Run: run.Sheet.Run}
		for _, down := range sheet.RunDownsOf(run.ID) {
			out[i].RunDowns = append(out[i].RunDowns, down.Sheet.Run.Readings)
		}
	}
	return out
}

// fitOptions gathers what is known beside the readings. Where runs know one clock differently, the more careful
// statement is taken; the lift angle is that of the run advised on, as its verdict has it.
func fitOptions(sheet store.RegulationSheet, advisedOn store.RunRecord, by runs.Judging) oscillator.Options {
	o := oscillator.Options{Instruments: timing.Instruments{ClockStdSPerDay: map[string]float64{},
		LiftAngleRel: advisedOn.Sheet.LiftAngle.Rel()}, Rule: by.Rule, Balance: runs.BalanceOf(sheet.Head.Calibre)}
	for _, run := range sheet.Runs {
		for name, u := range run.Sheet.Instruments().ClockStdSPerDay {
			o.Instruments.ClockStdSPerDay[name] = max(o.Instruments.ClockStdSPerDay[name], u)
			o.Instruments.OtherClockStdSPerDay = max(o.Instruments.OtherClockStdSPerDay, u)
		}
	}
	if by.Limits != nil {
		o.Limits = by.Limits.Limits
	}
	return o
}

// knownOf is what the docket says beside the readings of some of its runs: findings that stand, steps of service and
// parts fitted, by when they were done.
func knownOf(sheet store.RegulationSheet, among []store.RunRecord) oscillator.Known {
	var k oscillator.Known
	begun := make([]time.Time, len(among))
	for i, run := range among {
		begun[i] = run.TakenAt
	}
	did := func(w oscillator.Work, at time.Time) {
		k.Done = append(k.Done, oscillator.Done{What: w, Before: oscillator.FirstAfter(at, begun)})
	}
	for _, work := range sheet.Works {
		for _, step := range work.Steps {
			if w, ok := step.Work(); ok {
				did(w, work.At)
			}
		}
	}
	for _, part := range sheet.Fitted {
		if w, ok := service.PartWork(part.Description); ok {
			did(w, part.Since)
		}
	}
	for _, f := range sheet.Findings {
		if seen, ok := f.Speaks(); ok && !f.Struck() {
			k.Seen = append(k.Seen, seen)
		}
	}
	return k
}
