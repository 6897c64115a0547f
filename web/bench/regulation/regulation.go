package web

import (
	"cmp"
	"context"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/text"
	"ledgerwheel/domain/timing"
	"ledgerwheel/store"
	"ledgerwheel/web/view"
)

type regulationStore interface {
	RegulationSheet(ctx context.Context, n docket.Number) (store.RegulationSheet, error)
	RecordRun(ctx context.Context, c store.Change, in store.RunEntry) (int64, error)
	ChangeRun(ctx context.Context, c store.Change, id int64, version int, sheet timing.Sheet) error
	JudgeRuns(ctx context.Context, c store.Change, grade string) error
}

// regulationRoutes are the regulation sheet of a docket, the forms its runs are typed into, and its bulletin.
func (s *Server) regulationRoutes() []route {
	return []route{
		{http.MethodGet, "/dockets/{number}/regulation", needs(staff.ViewDockets), s.showRegulation},
		{http.MethodGet, "/dockets/{number}/regulation/new", needs(staff.TakeReadings), s.newRun},
		{http.MethodPost, "/dockets/{number}/regulation/new", needs(staff.TakeReadings), s.recordRun},
		{http.MethodGet, "/dockets/{number}/regulation/runs/{run}", needs(staff.TakeReadings), s.editRun},
		{http.MethodPost, "/dockets/{number}/regulation/runs/{run}", needs(staff.TakeReadings), s.changeRun},
		{http.MethodPost, "/dockets/{number}/regulation/preview", needs(staff.TakeReadings), s.previewRun},
		{http.MethodPost, "/dockets/{number}/regulation/judge", needs(staff.TakeReadings), s.judgeRuns},
		{http.MethodGet, "/dockets/{number}/papers/bulletin", needs(staff.PrintPapers), s.showBulletin},
		{http.MethodGet, "/dockets/{number}/papers/bulletin.pdf", needs(staff.PrintPapers), s.sendBulletin},
	}
}

func (s *Server) showRegulation(w http.ResponseWriter, r *http.Request) error {
	sheet, err := regulationSheet(r, s.store)
	if err != nil {
		return err
	}
	return s.renderRegulation(w, r, http.StatusOK, sheet, "")
}

// renderRegulation shows the sheet; judgeProblem says why a judgement was refused.
func (s *Server) renderRegulation(w http.ResponseWriter, r *http.Request, status int, sheet store.RegulationSheet, judgeProblem string) error {
	p, d := s.docketPage(r, sheet.Head, "regulation")
	v := view.RegulationView{Runs: s.runList(r, sheet, d.Number)}
	v.Take, v.NoTake = takeLinks(r, sheet, d.Number)
	if may(r, staff.TakeReadings) && !sheet.Head.Docket.Closed() {
		v.Take = slices.Insert(v.Take, 0, view.LinkView{Text: "Listen to the watch", Href: view.DocketURL(d.Number, "listen"), TestID: "listen-live"})
	}
	v.Judged = s.judgedView(r, sheet)
	v.Judged.Problem = judgeProblem
	shown, found, err := chosenRun(r, sheet, "run")
	if err != nil {
		return err
	}
	if !found {
		shown, found = sheet.Newest()
	}
	if found {
		run := s.runView(r, sheet, shown, d.Number)
		if len(sheet.Runs) == 1 {
			run.Paper = &view.LinkView{Text: "Bulletin of this run", Href: view.DocketURL(d.Number, "papers/bulletin"), TestID: "bulletin"}
		}
		v.Shown = &run
		viewer, _ := viewerOf(r.Context())
		v.Next = advisedOn(sheet, judgingRule(viewer.Shop), shown.ID).nextStep()
		v.NextHref = view.DocketURL(d.Number, "advice") + "?run=" + itoa64(shown.ID)
	}
	if len(sheet.Runs) > 1 {
		c, err := s.compareView(r, sheet, shown, d.Number)
		if err != nil {
			return err
		}
		v.Compare = &c
	}
	return render(w, r, status, view.Regulation(p, d, v))
}

// chosenRun finds the run whose id the query gives under the name; found is false when it gives none.
func chosenRun(r *http.Request, sheet store.RegulationSheet, name string) (run store.RunRecord, found bool, err error) {
	typed := r.URL.Query().Get(name)
	if typed == "" {
		return store.RunRecord{}, false, nil
	}
	id, err := strconv.ParseInt(typed, 10, 64)
	if err != nil {
		return store.RunRecord{}, false, badRequest(err)
	}
	if run, found = sheet.Run(id); !found {
		return store.RunRecord{}, false, badRequest(fmt.Errorf("%s: the docket has no run %d", name, id))
	}
	return run, true, nil
}

// judgingOf is what a run was judged by when it was last saved.
func judgingOf(sheet store.RegulationSheet, run store.RunRecord) judging {
	by := judging{rule: run.Rule()}
	if limits, found := sheet.LimitsByID(run.RateLimitsID); found {
		by.limits = &limits
	}
	return by
}

// runList is every run in a line, the one shown marked.
func (s *Server) runList(r *http.Request, sheet store.RegulationSheet, number string) view.DataView {
	list := view.DataView{TableView: view.TableView{ID: "run-list", Caption: "Runs, oldest first", HideCaption: true, TestID: "run-list"}, Stack: true,
		Columns: []view.Column{{Text: "run"}, {Text: "taken"}, {Text: "by"}, {Text: "mean rate at full wind", Unit: "s/d", Numeric: true},
			{Text: "delta", Unit: "s/d", Numeric: true}, {Text: "verdict"}}}
	shown, found, _ := chosenRun(r, sheet, "run")
	if !found {
		shown, _ = sheet.Newest()
	}
	for _, run := range sheet.Runs {
		stats := timing.StatisticsOf(run.Sheet.Run, timing.Options{Instruments: run.Sheet.Instruments()})
		full, _ := stats.At(0)
		mark := markOfOutcome(run.Outcome)
		verdict := string(run.Outcome)
		if run.Outcome == docket.NotYet {
			verdict = "not judged"
		}
		row := view.Row{Head: true, Now: run.ID == shown.ID, TestID: "run-" + itoa64(run.ID), Cells: []view.Cell{
			{Text: text.Capital(run.Sheet.Run.Title()), Href: view.DocketURL(number, "regulation") + "?run=" + itoa64(run.ID) + "#run", Note: run.Sheet.Run.Label},
			view.Txt(s.moment(r, run.TakenAt)), {Text: run.TakenBy, Auto: true},
			view.Show(view.Stat(statOrNone(full.Mean))), view.Show(view.Stat(statOrNone(full.Delta))), {Mark: mark, Text: verdict}}}
		list.Rows = append(list.Rows, row)
	}
	return list
}

// statOrNone prints a statistic, or nothing for one that a state without readings does not have.
func statOrNone(s timing.Statistic) view.StatView {
	if s.Key == "" {
		return view.StatView{}
	}
	return statView(s, false)
}

// takeLinks offers the kinds of run that may be taken now by this person, or says why there are none.
func takeLinks(r *http.Request, sheet store.RegulationSheet, number string) (links []view.LinkView, why string) {
	d := sheet.Head.Docket
	for _, k := range d.RunKinds() {
		if may(r, docket.RunPermission(k)) && may(r, staff.TakeReadings) {
			links = append(links, view.LinkView{Text: takeWords(k, sheet.NextAdjustment), TestID: "take-" + slugOf(k),
				Href: view.DocketURL(number, "regulation/new") + "?" + url.Values{"kind": {string(k)}}.Encode()})
		}
	}
	if len(links) > 0 {
		links[len(links)-1].Kind = view.Chief
		return links, ""
	}
	if !may(r, staff.TakeReadings) {
		return nil, ""
	}
	if d.Closed() {
		return nil, "The watch has left the shop, so no run is taken any more."
	}
	return nil, "No run is taken in the stage " + d.Stage.Label() + "."
}

// takeWords is what the button says that opens the form for a run.
func takeWords(k timing.Kind, next int) string {
	switch k {
	case timing.AsReceived:
		return "Take the run as received"
	case timing.Final:
		return "Take the final run"
	}
	return "Take a run " + kindTitle(k, next)
}

func slugOf(k timing.Kind) string {
	switch k {
	case timing.AsReceived:
		return "as-received"
	case timing.AfterService:
		return "after-service"
	}
	return string(k)
}

// runView is one run in full.
func (s *Server) runView(r *http.Request, sheet store.RegulationSheet, run store.RunRecord, number string) view.RunView {
	by := judgingOf(sheet, run)
	sh := run.Sheet
	v := view.RunView{Heading: text.Capital(sh.Run.Title()), Note: sh.Run.Label, Terms: s.runTerms(r, run), Grid: readGrid("grid", sh), Figures: figuresOf(sh, by),
		Charts: []view.ChartView{ratesChart("chart-rates", sh, by), amplitudeChart("chart-amplitude", sh)}}
	s.sayWhen(r, &v.Grid, run)
	sayHeard(&v.Grid, run, number)
	switch why := sheet.Head.Docket.RunProblem(sh.Run.Kind); {
	case !may(r, staff.TakeReadings) || !may(r, docket.RunPermission(sh.Run.Kind)):
	case why != "":
		v.Fixed = why
	default:
		v.Change = &view.LinkView{Text: "Add or correct figures", TestID: "change-run",
			Href: view.DocketURL(number, "regulation/runs/"+itoa64(run.ID))}
	}
	return v
}

// runTerms are the conditions of a run.
func (s *Server) runTerms(r *http.Request, run store.RunRecord) []view.TermView {
	sh := run.Sheet
	temperature := ""
	if sh.TemperatureC != nil {
		temperature = text.TrueMinus(strconv.FormatFloat(*sh.TemperatureC, 'f', -1, 64)) + " °C"
	}
	return []view.TermView{
		view.Term("Taken", s.moment(r, run.TakenAt)), view.Term("By", run.TakenBy), view.Term("Instrument", sh.Instrument),
		view.Term("Its clock", runClockText(sh)), view.Term("Temperature", temperature),
	}
}

// sayWhen notes at each state of wind who took its readings and when, where that is not when the run was begun.
func (s *Server) sayWhen(r *http.Request, g *view.RunGridView, run store.RunRecord) {
	for i, hours := range run.Sheet.States {
		var last timing.Reading
		for _, reading := range run.Sheet.Run.Readings {
			if timing.HoursText(reading.HoursAfterWinding) == timing.HoursText(hours) && reading.TakenAt.After(last.TakenAt) {
				last = reading
			}
		}
		switch {
		case last.TakenAt.IsZero():
			g.States[i].Note = "not measured yet"
		case !last.TakenAt.Equal(run.TakenAt):
			g.States[i].Note = s.moment(r, last.TakenAt) + ", " + last.TakenBy
		}
	}
}

// sayHeard leads from each rate that was heard to what was kept of its recording.
func sayHeard(g *view.RunGridView, run store.RunRecord, number string) {
	for i := range g.Rows {
		for j := range g.Rows[i].Cells {
			cell := &g.Rows[i].Cells[j]
			quantity, name, _ := strings.Cut(cell.Name, "-")
			if id := run.Heard[name]; id != 0 && quantity == string(timing.Rate) {
				cell.Heard = view.DocketURL(number, "heard/"+itoa64(id))
			}
		}
	}
}

// judgedView says what the docket is judged by and offers what may be judged by instead.
func (s *Server) judgedView(r *http.Request, sheet store.RegulationSheet) view.JudgedView {
	viewer, _ := viewerOf(r.Context())
	rule := judgingRule(viewer.Shop)
	d := sheet.Head.Docket
	v := view.JudgedView{Rule: rule.String(), May: may(r, staff.TakeReadings) && d.JudgeProblem() == ""}
	grades := emptyForm()
	grades.Values.Set("grade", sheet.Head.Calibre.GradeKey)
	v.Grades = grades.view().Field("grade", "Grade").WithWidth(view.Half).WithOptions(gradeOptions(sheet, false)...)
	kept, judged := sheet.LimitsByID(sheet.Head.RateLimitsID)
	if !judged {
		return v
	}
	v.By, v.ByHref = versionName(kept.Limits), limitsURL(kept.Limits)
	v.Grades = v.Grades.WithValue(kept.Limits.Grade)
	newest, _ := sheet.NewestLimits(kept.Limits.Grade)
	if newest.ID != kept.ID {
		v.News = fmt.Sprintf("%s was published on %s. The docket keeps to its own version until somebody judges it anew.",
			text.Capital(versionName(newest.Limits)), s.moment(r, newest.MadeAt))
		v.Offer, v.OfferGrade = fmt.Sprintf("Judge every run by version %d", newest.Limits.Version), newest.Limits.Grade
		return v
	}
	if slices.ContainsFunc(sheet.Runs, func(run store.RunRecord) bool {
		return run.RateLimitsID != 0 && (run.Rule() != rule || run.RateLimitsID != kept.ID)
	}) {
		v.News = "Some runs were judged by another rule or version than the shop and the docket now have."
		v.Offer, v.OfferGrade = "Judge every run anew", kept.Limits.Grade
	}
	return v
}

// gradeOptions lists the grades with the newest version of each.
func gradeOptions(sheet store.RegulationSheet, none bool) []view.Option {
	var options []view.Option
	if none {
		options = append(options, view.Option{Text: "none: save without a verdict"})
	}
	for _, g := range sheet.Grades() {
		options = append(options, view.Option{Value: g.Limits.Grade, Text: versionName(g.Limits)})
	}
	return options
}

func (s *Server) judgeRuns(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.changeForm(w, r)
	if err != nil {
		return err
	}
	return s.settle(w, r, ending{form: f, change: c, err: s.store.JudgeRuns(r.Context(), c, f.Text("grade")),
		said: "Every run of the docket is judged anew.", to: view.DocketURL(c.Number.String(), "regulation"),
		again: func(status int) error {
			sheet, err := regulationSheet(r, s.store)
			if err != nil {
				return err
			}
			return s.renderRegulation(w, r, status, sheet, cmp.Or(f.Problems[""], f.Problems["grade"]))
		}})
}
