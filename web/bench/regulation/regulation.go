package regulation

import (
	"cmp"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/figure"
	"ledgerwheel/domain/heard"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/text"
	"ledgerwheel/domain/timing"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/runs"
	"ledgerwheel/web/sheet"
	"ledgerwheel/web/view"
)

// regulationRoutes are the regulation sheet of a docket, the forms its runs are typed into, and its bulletin.
func (s *Room) regulationRoutes() []page.Route {
	return []page.Route{
		page.Get("/dockets/{number}/regulation", page.Needs(staff.ViewDockets), s.showRegulation),
		page.Get("/dockets/{number}/regulation/new", page.Needs(staff.TakeReadings), s.newRun),
		page.Post("/dockets/{number}/regulation/new", page.Needs(staff.TakeReadings), s.recordRun),
		page.Get("/dockets/{number}/regulation/runs/{run}", page.Needs(staff.TakeReadings), s.editRun),
		page.Post("/dockets/{number}/regulation/runs/{run}", page.Needs(staff.TakeReadings), s.changeRun),
		page.Post("/dockets/{number}/regulation/preview", page.Needs(staff.TakeReadings), s.previewRun),
		page.Post("/dockets/{number}/regulation/judge", page.Needs(staff.TakeReadings), s.judgeRuns),
		page.Get("/dockets/{number}/papers/bulletin", page.Needs(staff.PrintPapers), s.showBulletin),
		page.Get("/dockets/{number}/papers/bulletin.pdf", page.Needs(staff.PrintPapers), s.sendBulletin),
	}
}

func (s *Room) showRegulation(w http.ResponseWriter, r *http.Request) error {
	sheet, err := runs.Read(r, s.store)
	if err != nil {
		return err
	}
	return s.renderRegulation(w, r, http.StatusOK, sheet, nil)
}

// renderRegulation shows the sheet; judging is the form of a judgement that was refused, or nil.
func (s *Room) renderRegulation(w http.ResponseWriter, r *http.Request, status int, sheet store.RegulationSheet,
	judging *page.Form) error {
	p, d := s.DocketPage(r, sheet.Head, "regulation")
	v := regulationView{Runs: s.runList(r, sheet, d.Number), RunsSay: runsSay(sheet)}
	v.Take, v.NoTake = takeLinks(r, sheet, d)
	if page.May(r, staff.TakeReadings) && !sheet.Head.Docket.Closed() {
		v.Take = append(v.Take, view.LinkView{Text: "Listen to the watch", Href: view.DocketURL(d.Number, "listen"),
			TestID: "listen-live"})
	}
	v.Judged = s.judgedView(r, sheet, judging)
	shown, found, err := chosenRun(r, sheet, "run")
	if err != nil {
		return err
	}
	if !found {
		shown, found = sheet.Newest()
	}
	if found {
		run := s.runView(r, sheet, shown, d.Number)
		viewer, _ := page.ViewerOf(r.Context())
		run.Glance = glanceOf(run.Figures, d.Next, AdvisedOn(sheet, runs.JudgingRule(viewer.Shop), shown.ID))
		run.Glance.AdviceHref = view.DocketURL(d.Number, "advice") + "?run=" + page.Itoa64(shown.ID)
		v.Shown = &run
		if run.Change != nil {
			v.Take = append(v.Take, *run.Change)
		}
		if page.May(r, staff.PrintPapers) {
			v.Take = append(v.Take, bulletinLink(sheet, shown, d.Number))
		}
	}
	v.Before = s.BeforeOf(r, sheet.Head, sheet.Before, store.Comeback{})
	v.RunDowns = s.runDownsOf(r, sheet, shown, d.Number)
	if len(sheet.Runs) > 1 {
		c, err := s.compareView(r, sheet, shown, d.Number)
		if err != nil {
			return err
		}
		v.Compare = &c
	}
	return page.Render(w, r, status, regulation(p, d, v))
}

// chosenRun finds the run whose id the query gives under the name; found is false when it gives none.
func chosenRun(r *http.Request, sheet store.RegulationSheet, name string) (run store.RunRecord, found bool, err error) {
	typed := r.URL.Query().Get(name)
	if typed == "" {
		return store.RunRecord{}, false, nil
	}
	id, err := strconv.ParseInt(typed, 10, 64)
	if err != nil {
		return store.RunRecord{}, false, page.BadRequest(err)
	}
	if at := slices.IndexFunc(sheet.RunDowns, func(down store.RunRecord) bool { return down.ID == id }); at >= 0 {
		run, found = sheet.Run(sheet.RunDowns[at].OfRunID) // it is shown with the run that it belongs to
		return run, found, nil
	}
	if run, found = sheet.Run(id); !found {
		return store.RunRecord{}, false, page.BadRequest(fmt.Errorf("%s: the docket has no run %d", name, id))
	}
	return run, true, nil
}

// judgingOf is what a run was judged by when it was last saved.
func judgingOf(sheet store.RegulationSheet, run store.RunRecord) runs.Judging {
	by := runs.Judging{Rule: run.Rule()}
	if limits, found := sheet.LimitsByID(run.RateLimitsID); found {
		by.Limits = &limits
	}
	return by
}

// runList is every run in a line, the one shown marked.
func (s *Room) runList(r *http.Request, sheet store.RegulationSheet, number string) view.DataView {
	list := view.DataView{TableView: view.TableView{ID: "run-list", Caption: "Runs, oldest first", HideCaption: true,
		TestID: "run-list"}, Stack: true,
		Columns: []view.Column{{Text: "run"}, {Text: "taken"}, {Text: "by"}, {Text: "mean rate at full wind", Unit: "s/d",
			Numeric: true},
			{Text: "delta", Unit: "s/d", Numeric: true}, {Text: "verdict"}}}
	shown, found, _ := chosenRun(r, sheet, "run")
	if !found {
		shown, _ = sheet.Newest()
	}
	for _, run := range sheet.Runs {
		stats := timing.StatisticsOf(run.Sheet.Run, timing.Options{Instruments: run.Sheet.Instruments()})
		full, _ := stats.At(0)
		mark := runs.MarkOfOutcome(run.Outcome)
		verdict := string(run.Outcome)
		if run.Outcome == docket.NotYet {
			verdict = "not judged"
		}
		row := view.Row{Head: true, Now: run.ID == shown.ID, TestID: "run-" + page.Itoa64(run.ID), Cells: []view.Cell{
			{Text: text.Capital(run.Sheet.Run.Title()), Href: view.DocketURL(number, "regulation") + "?run=" +
				page.Itoa64(run.ID) + "#run", Note: run.Sheet.Run.Label},
			view.Txt(s.Moment(r, run.TakenAt)), {Text: run.TakenBy, Auto: true},
			view.Show(runs.Stat(statOrNone(full.Mean))), view.Show(runs.Stat(statOrNone(full.Delta))),
			{Mark: mark, Text: verdict}}}
		list.Rows = append(list.Rows, row)
	}
	return list
}

// statOrNone prints a statistic, or nothing for one that a state without readings does not have.
func statOrNone(s timing.Statistic) runs.StatView {
	if s.Key == "" {
		return runs.StatView{}
	}
	return runs.StatOf(s)
}

// runsSay names the runs of a docket, newest first.
func runsSay(sheet store.RegulationSheet) string {
	names := make([]string, 0, len(sheet.Runs))
	for _, run := range slices.Backward(sheet.Runs) {
		names = append(names, run.Sheet.Run.Title())
	}
	return fmt.Sprintf("%s: %s", counted(len(names), "run", "runs"), strings.Join(names, ", "))
}

// bulletinLink leads to the paper of a run, beside the one that it is compared with where there are several.
func bulletinLink(sheet store.RegulationSheet, shown store.RunRecord, number string) view.LinkView {
	link := view.LinkView{Text: "Bulletin", Href: view.DocketURL(number, "papers/bulletin"), TestID: "bulletin"}
	if len(sheet.Runs) > 1 {
		link.TestID = "bulletin-now"
		link.Href += "?" + usualPair(sheet, shown).query()
	}
	return link
}

// takeLinks offers the kinds of run that may be taken now by this person, the last in the road first, or says why there
// are none.
func takeLinks(r *http.Request, sheet store.RegulationSheet, d view.DocketView) (links []view.LinkView, why string) {
	kept := sheet.Head.Docket
	for _, k := range kept.RunKinds() {
		if page.May(r, docket.RunPermission(k)) && page.May(r, staff.TakeReadings) {
			links = append(links, view.LinkView{Text: takeWords(k, sheet.NextAdjustment), TestID: "take-" + slugOf(k),
				Href: view.DocketURL(d.Number, "regulation/new") + "?" + url.Values{"kind": {string(k)}}.Encode()})
		}
	}
	if len(links) > 0 {
		usual := slices.IndexFunc(links, func(l view.LinkView) bool { return l.TestID == "take-"+slugOf(runs.UsualKind(sheet)) })
		if d.Next != nil && d.Next.Here {
			links[max(usual, 0)].Kind = view.Chief
		}
		slices.Reverse(links)
		return links, ""
	}
	if !page.May(r, staff.TakeReadings) {
		return nil, ""
	}
	if kept.Closed() {
		return nil, "The watch has left the shop, so no run is taken any more."
	}
	return nil, "No run is taken in the stage " + kept.Stage.Label() + "."
}

// takeWords is what the button says that opens the form for a run.
func takeWords(k timing.Kind, next int) string {
	switch k {
	case timing.AsReceived:
		return "Take the run as received"
	case timing.Final:
		return "Take the final run"
	}
	return "Take a run " + runs.KindTitle(k, next)
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
func (s *Room) runView(r *http.Request, sheet store.RegulationSheet, run store.RunRecord, number string) runView {
	by := judgingOf(sheet, run)
	sh := run.Sheet
	v := runView{Heading: text.Capital(sh.Run.Title()), Taken: s.Moment(r, run.TakenAt) + ", " + run.TakenBy,
		Note: sh.Run.Label, Terms: s.runTerms(r, run), TermsSay: termsSay(sh), Grid: runs.ReadGrid("grid", sh),
		Figures: runs.FiguresOf(sh, by), FiguresSay: figuresSay(sh), Rates: runs.RatesChart("chart-rates", sh, by),
		Amplitudes: runs.AmplitudeChart("chart-amplitude", sh)}
	for _, c := range sheet.Corrections[run.ID] {
		v.Corrected = append(v.Corrected, correctedView{At: s.Moment(r, c.At), By: c.By, Why: c.Why, Changes: c.Changes})
	}
	v.Again, v.AgainNote = readAgain(sh.Run)
	s.sayWhen(r, &v.Grid, run)
	sayHeard(&v.Grid, run, number)
	switch why := sheet.Head.Docket.RunProblem(sh.Run.Kind); {
	case !page.May(r, staff.TakeReadings) || !page.May(r, docket.RunPermission(sh.Run.Kind)):
	case why != "":
		v.Fixed = why
	default:
		v.Change = &view.LinkView{Text: "Add or correct figures", TestID: "change-run",
			Href: view.DocketURL(number, "regulation/runs/"+page.Itoa64(run.ID))}
	}
	return v
}

// runTerms are the conditions of a run.
func (s *Room) runTerms(r *http.Request, run store.RunRecord) []view.TermView {
	sh := run.Sheet
	temperature := temperatureText(sh)
	return []view.TermView{
		view.Term("Taken", s.Moment(r, run.TakenAt)), view.Term("By", run.TakenBy), view.Term("Instrument", sh.Instrument),
		view.Term("Its clock", runs.ClockText(sh)), view.Term("Temperature", temperature),
	}
}

func temperatureText(sh timing.Sheet) string {
	if sh.TemperatureC == nil {
		return ""
	}
	return figure.Shown(*sh.TemperatureC) + " °C"
}

// termsSay are the conditions in a phrase.
func termsSay(sh timing.Sheet) string {
	return strings.TrimSuffix(sh.Instrument+", "+temperatureText(sh), ", ")
}

// figuresSay are the chief figures at full wind in a phrase.
func figuresSay(sh timing.Sheet) string {
	full, _ := timing.StatisticsOf(sh.Run, timing.Options{Instruments: sh.Instruments()}).At(0)
	var said []string
	for _, s := range []timing.Statistic{full.Mean, full.Delta} {
		if s.Computable() {
			said = append(said, s.Label+" "+s.Value.Brief(s.Signed).String())
		}
	}
	return strings.Join(said, ", ")
}

// sayWhen notes at each state of wind who took its readings and when, where that is not when the run was begun.
func (s *Room) sayWhen(r *http.Request, g *runs.GridView, run store.RunRecord) {
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
			g.States[i].Note = s.Moment(r, last.TakenAt) + ", " + last.TakenBy
		}
	}
}

// sayHeard leads from each rate that was heard to what was kept of its recording, and says that a lift angle was assumed
// where the run has none.
func sayHeard(g *runs.GridView, run store.RunRecord, number string) {
	if len(run.Heard) > 0 && run.Sheet.LiftAngle.Deg == 0 {
		g.Note = strings.TrimSpace(g.Note + " The calibre’s lift angle is not known: amplitudes that were heard are for " +
			heard.LiftWords(timing.UsualLiftAngleDeg, true) + " unless their recording says another.")
	}
	for i := range g.Rows {
		for j := range g.Rows[i].Cells {
			cell := &g.Rows[i].Cells[j]
			quantity, name, _ := strings.Cut(cell.Name, "-")
			if id := run.Heard[name]; id != 0 && quantity == string(timing.Rate) {
				cell.Heard = view.DocketURL(number, "heard/"+page.Itoa64(id))
			}
		}
	}
}

// judgedView says what the docket is judged by and offers what may be judged by instead.
func (s *Room) judgedView(r *http.Request, sheet store.RegulationSheet, refused *page.Form) judgedView {
	viewer, _ := page.ViewerOf(r.Context())
	rule := runs.JudgingRule(viewer.Shop)
	d := sheet.Head.Docket
	v := judgedView{Rule: rule.String(), May: page.May(r, staff.TakeReadings) && d.JudgeProblem() == ""}
	grades := page.EmptyForm()
	grades.Values.Set("grade", sheet.Head.Calibre.GradeKey)
	if refused != nil {
		grades, v.Refused = refused, refused.Problems["why"] != ""
		v.Problem = cmp.Or(refused.Problems[""], refused.Problems["grade"])
	}
	v.Why = grades.View().Field("why", "Why another grade").WithMaxLength(2000).WithAttr("dir", "auto").
		WithHint("It stays beside the verdicts and in the journal.")
	v.Grades = grades.View().Field("grade", "Grade").WithWidth(view.Half).WithOptions(gradeOptions(sheet, false)...)
	kept, judged := sheet.LimitsByID(sheet.Head.RateLimitsID)
	if !judged {
		return v
	}
	v.By, v.ByHref = runs.VersionName(kept.Limits), runs.LimitsURL(kept.Limits)
	v.Asks, v.GradeWhy = true, sheet.GradeWhy
	if refused == nil {
		v.Grades = v.Grades.WithValue(kept.Limits.Grade)
	}
	newest, _ := sheet.NewestLimits(kept.Limits.Grade)
	if newest.ID != kept.ID {
		v.News = fmt.Sprintf("%s was published on %s. The docket keeps to its own version until somebody judges it again.",
			text.Capital(runs.VersionName(newest.Limits)), s.Moment(r, newest.MadeAt))
		v.Offer, v.OfferGrade = fmt.Sprintf("Judge every run by version %d", newest.Limits.Version), newest.Limits.Grade
		return v
	}
	if slices.ContainsFunc(sheet.Runs, func(run store.RunRecord) bool {
		return run.RateLimitsID != 0 && (run.Rule() != rule || run.RateLimitsID != kept.ID)
	}) {
		v.News = "Some runs were judged by another rule or version than the shop and the docket now have."
		v.Offer, v.OfferGrade = "Judge every run again", kept.Limits.Grade
		return v
	}
	if lift := sheet.Head.Calibre.LiftAngle(); lift.Determined() && slices.ContainsFunc(sheet.Runs, func(run store.RunRecord) bool {
		return run.RateLimitsID != 0 && run.Sheet.LiftAngle.Now(lift) != run.Sheet.LiftAngle
	}) {
		v.News = "The calibre’s lift angle is known better since some runs were judged: " + lift.Value().Format() + "."
		v.Offer, v.OfferGrade = "Judge every run again", kept.Limits.Grade
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
		options = append(options, view.Option{Value: g.Limits.Grade, Text: runs.VersionName(g.Limits)})
	}
	return options
}

func (s *Room) judgeRuns(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.ChangeForm(w, r)
	if err != nil {
		return err
	}
	c.Why = text.Lines(f.Raw("why"))
	return s.Settle(w, r, sheet.Ending{Form: f, Change: c, Err: s.store.JudgeRuns(r.Context(), c, f.Text("grade")),
		Said: "Every run of the docket is judged again.", To: view.DocketURL(c.Number.String(), "regulation"),
		Again: func(status int) error {
			sheet, err := runs.Read(r, s.store)
			if err != nil {
				return err
			}
			return s.renderRegulation(w, r, status, sheet, f)
		}})
}
