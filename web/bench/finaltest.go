package bench

import (
	"errors"
	"net/http"
	"slices"
	"strconv"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/figure"
	"ledgerwheel/domain/finaltest"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/text"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/sheet"
	"ledgerwheel/web/view"
)

func (s *Room) finalTestRoutes() []page.Route {
	return []page.Route{
		page.Get("/dockets/{number}/final-test", page.Needs(staff.ViewDockets), s.showFinalTest),
		page.Post("/dockets/{number}/final-test", page.Needs(staff.DoFinalTest), s.recordFinalTest),
	}
}

func (s *Room) showFinalTest(w http.ResponseWriter, r *http.Request) error {
	return s.renderFinalTest(w, r, http.StatusOK, nil)
}

// openChoice stands in forms for a test still to be done: an empty value would be none chosen.
const openChoice = "open"

func (s *Room) recordFinalTest(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.ChangeForm(w, r)
	if err != nil {
		return err
	}
	if c.Version == 0 {
		return page.BadRequest(errors.New("a final test needs the version that was seen"))
	}
	record := readFinalTest(f)
	if !f.OK() {
		// What could not be read must not hide what else is wrong.
		kept, err := s.store.FinalTestSheet(r.Context(), c.Number)
		if err != nil {
			return err
		}
		f.FailAll(record.Problems(finaltest.StatedOf(kept.Head.Watch, kept.Head.Calibre), kept.Before(), f.Text("note")))
		return s.renderFinalTest(w, r, http.StatusUnprocessableEntity, f)
	}
	verdict, err := s.store.RecordFinalTest(r.Context(), c, record, text.Lines(f.Raw("note")))
	said := map[finaltest.Outcome]string{finaltest.OutcomePass: "The final test is recorded as passed.",
		finaltest.OutcomeFail: "The final test is recorded as failed.",
		finaltest.OutcomeOpen: "Recorded. The rest of the test is still to be done."}[verdict]
	return s.Settle(w, r, sheet.Ending{Form: f, Change: c, Err: err, Said: said, To: view.DocketURL(c.Number.String(),
		"final-test"),
		Again: func(status int) error { return s.renderFinalTest(w, r, status, f) }})
}

// readFinalTest reads every test of the form; a figure that can't be read is a problem of its field.
func readFinalTest(f *page.Form) finaltest.Sheet {
	var sheet finaltest.Sheet
	for _, t := range finaltest.Tests {
		id := string(t)
		typed := finaltest.Form{Test: id, Outcome: f.Text(id + "-outcome"), Figure: f.Text(id + "-figure"),
			Medium: f.Text(id + "-medium"),
			Note:   f.Raw(id + "-note"), DryFirst: f.Checked(id + "-dry_first")}
		if typed.Outcome == openChoice {
			typed.Outcome = string(finaltest.OutcomeOpen)
		}
		if _, _, err := finaltest.ParseFigure(typed.Figure, t.Unit()); err != nil {
			f.Fail(id+"-figure", "Give a figure such as 42.5.")
		}
		result, _ := typed.Check(finaltest.Stated{}) // judged with the whole sheet
		result.Corrects = text.Lines(f.Raw(id + "-corrects"))
		sheet.Results = append(sheet.Results, result)
	}
	return sheet
}

// finalTestForm is a sheet as it would be typed.
func finalTestForm(t store.FinalTest) *page.Form {
	f := page.EmptyForm()
	for _, test := range finaltest.Tests {
		id, typed := string(test), t.Sheet.Result(test).Form()
		if typed.Outcome == string(finaltest.OutcomeOpen) {
			typed.Outcome = openChoice
		}
		for field, value := range map[string]string{"outcome": typed.Outcome, "figure": typed.Figure, "medium": typed.Medium,
			"note": typed.Note} {
			f.Values.Set(id+"-"+field, value)
		}
		if typed.DryFirst {
			f.Values.Set(id+"-dry_first", "yes")
		}
	}
	f.Values.Set("note", t.Note)
	return f
}

// renderFinalTest shows the sheet with the form typed, or with what is recorded so far when typed is nil.
func (s *Room) renderFinalTest(w http.ResponseWriter, r *http.Request, status int, typed *page.Form) error {
	n, err := page.PathNumber(r)
	if err != nil {
		return err
	}
	sheet, err := s.store.FinalTestSheet(r.Context(), n)
	if err != nil {
		return err
	}
	p, d := s.DocketPage(r, sheet.Head, "final-test")
	if typed == nil {
		typed = finalTestForm(sheet.Now())
	}
	stated := finaltest.StatedOf(sheet.Head.Watch, sheet.Head.Calibre)
	v := finalTestView{Form: typed.View(), Caution: finaltest.Caution, WaterFigures: finaltest.WaterFigures,
		More: sheet.More,
		May:  page.May(r, staff.DoFinalTest) && sheet.Head.Docket.FinalTestOpen(), Why: finalTestClosed(r, sheet.Head.Docket)}
	before := sheet.Before()
	for _, t := range finaltest.Tests {
		fields := testFields(typed.View(), t, stated)
		fields.Was = s.wasLines(r, sheet.Tests, before.Standing.Result(t))
		fields.MayCorrect = before.Corrigible(t) || fields.Corrects.Value != "" || fields.Corrects.Error != ""
		v.Tests = append(v.Tests, fields)
	}
	for i, t := range sheet.Tests {
		v.Recorded = append(v.Recorded, s.testRecorded(r, t, sheet.Tests[i+1:]))
	}
	if sheet.Head.Docket.FinalTestOpen() {
		v.Run, v.RunMark = runWords(sheet.Head.Facts)
		v.Moves = s.afterFinalTest(r, sheet, stated)
	}
	return page.Render(w, r, status, finalTest(p, d, v))
}

// finalTestClosed says why there is no form, or nothing.
func finalTestClosed(r *http.Request, d docket.Docket) string {
	switch {
	case d.Closed():
		return sheet.ClosedSentence
	case !d.FinalTestOpen():
		return "A final test is recorded while the docket is at that stage. It is at " + d.Stage.Label() + "."
	case !page.May(r, staff.DoFinalTest):
		return "The final test is recorded by " + sheet.RoleNames(staff.DoFinalTest) + "."
	}
	return ""
}

func testFields(f view.Form, t finaltest.Test, stated finaltest.Stated) testFieldsView {
	id := string(t)
	v := testFieldsView{Key: id, Title: text.Capital(t.Words()), Unit: t.Unit(),
		Outcome: f.Field(id+"-outcome", text.Capital(t.Words())+": how it came out"),
		Note:    f.Field(id+"-note", "Note").Maybe().WithMaxLength(finaltest.MaxNote),
		Corrects: f.Field(id+"-corrects", "Typed wrongly? Say what happened").Maybe().WithMaxLength(finaltest.MaxNote).
			WithHint("Asked for where a recorded fail or figure is changed without work in between. It stays beside the line.")}
	v.Outcome.HideName = true
	for _, o := range []finaltest.Outcome{finaltest.OutcomePass, finaltest.OutcomeFail, finaltest.OutcomeNotApplicable,
		finaltest.OutcomeOpen} {
		value := string(o)
		if o == finaltest.OutcomeOpen {
			value = openChoice
		}
		v.Outcome.Options = append(v.Outcome.Options, view.Option{Value: value, Text: text.Capital(o.Words())})
	}
	if v.Outcome.Value == "" {
		v.Outcome.Value, v.Outcome.Values = openChoice, nil
	}
	switch t {
	case finaltest.PowerReserve:
		v.Figure = f.Field(id+"-figure", "Ran for").WithUnit("h")
		v.Stated = "The calibre's power reserve is not known."
		if stated.PowerReserveHours > 0 {
			v.Stated = "Stated by the calibre: " + figure.Plain(stated.PowerReserveHours) + "\u00a0h."
		}
	case finaltest.WaterResistance:
		v.Figure = f.Field(id+"-figure", "Overpressure").WithUnit("bar").WithSuggest(pressures(stated)...)
		v.Medium = f.Field(id+"-medium", "Tested in").WithOptions(view.Option{Value: string(finaltest.MediumAir),
			Text: "Air, dry"},
			view.Option{Value: string(finaltest.MediumWater), Text: "Water"})
		v.DryFirst = f.Field(id+"-dry_first", "It passed the dry test in air first")
		v.Stated = "No water resistance is marked."
		if stated.OverpressureBar > 0 {
			v.Stated = "Marked for " + figure.Plain(stated.OverpressureBar) + "\u00a0bar."
		}
	}
	return v
}

// pressures are the figures of ISO 22810 to offer for this watch: the dry test's, and what it is marked for.
func pressures(stated finaltest.Stated) []string {
	offered := []string{strconv.Itoa(finaltest.DryOverpressureBar)}
	if marked := figure.Plain(stated.OverpressureBar); stated.OverpressureBar > 0 && !slices.Contains(offered, marked) {
		offered = append(offered, marked)
	}
	return offered
}

// wasShown is how many earlier results stay in sight beside a line.
const wasShown = 3

// wasLines say how a test came out in earlier recordings, newest first, and when.
func (s *Room) wasLines(r *http.Request, recorded []store.FinalTest, now finaltest.Result) []string {
	sheets := make([]finaltest.Sheet, len(recorded))
	for i, t := range recorded {
		sheets[i] = t.Sheet
	}
	var lines []string
	for _, was := range finaltest.Earlier(sheets, now) {
		if len(lines) == wasShown {
			break
		}
		lines = append(lines, "was "+was.WasWords()+" at "+s.Moment(r, was.At)+", "+was.By)
	}
	return lines
}

// runWords say how the final run stands that the watch goes out on.
func runWords(f docket.Facts) (string, view.MarkKind) {
	switch {
	case !f.RunAfterWork:
		return "open: none taken since the watch was last worked on", view.NotMeasured
	case f.RunOutcome == docket.NotYet:
		return "taken, not judged", view.NotMeasured
	case f.RunOutcome == docket.Undecided:
		return f.RunOutcome.Words(), view.Undecided
	case f.RunOutcome == docket.NotMeasured:
		return "open: not all of it was measured", view.NotMeasured
	}
	return f.RunOutcome.Words(), testMark(finaltest.Outcome(f.RunOutcome))
}

func (s *Room) testRecorded(r *http.Request, t store.FinalTest, earlier []store.FinalTest) recordedTest {
	v := recordedTest{At: s.Moment(r, t.At), By: t.By, Note: t.Note, Old: !t.Counts}
	verdict := t.Sheet.Verdict()
	v.Mark, v.Verdict = testMark(verdict), verdict.Words()
	if verdict == finaltest.OutcomeOpen {
		v.Verdict = "not finished"
	}
	for _, test := range finaltest.Tests {
		result := t.Sheet.Result(test)
		line := testResult{Mark: testMark(result.Outcome), Outcome: result.Outcome.Words(), Test: text.Capital(test.Words()),
			Figure: result.FigureWords(), Note: result.Note, Corrected: result.Corrects}
		if result.Outcome != finaltest.OutcomeOpen || result.Corrects != "" {
			line.Was = s.wasLines(r, earlier, result)
		}
		if result.Medium == finaltest.MediumWater {
			line.Figure += ", after the dry test"
		}
		if result.ByID != 0 && result.Outcome != finaltest.OutcomeOpen && (result.By != t.By || !result.At.Equal(t.At)) {
			line.Found = "found by " + result.By + ", " + s.Moment(r, result.At)
		}
		v.Results = append(v.Results, line)
	}
	return v
}

func testMark(o finaltest.Outcome) view.MarkKind {
	switch o {
	case finaltest.OutcomePass:
		return view.Pass
	case finaltest.OutcomeFail:
		return view.Fail
	}
	return view.NotMeasured
}

// afterFinalTest offers where the docket goes from here: on to ready; or, where a test failed, back to any stage of the
// bench, the one that can mend it first.
func (s *Room) afterFinalTest(r *http.Request, record store.FinalTestSheet, stated finaltest.Stated) []view.MoveView {
	b := sheet.MoveBuilder{Viewer: page.Actor(r), Head: record.Head, Bench: record.Bench,
		Number: record.Head.Docket.Number.String()}
	stages := []docket.Stage{docket.StageReady}
	if mend := record.Now().Sheet.SuggestedStage(stated); mend != "" {
		stages = []docket.Stage{docket.Stage(mend)}
		for _, to := range []docket.Stage{docket.StageService, docket.StageRegulation, docket.StageParts,
			docket.StageDiagnosis} {
			if to != stages[0] {
				stages = append(stages, to)
			}
		}
		stages = append(stages, docket.StageReady)
	}
	var moves []view.MoveView
	for _, to := range stages {
		if m, err := docket.FindMove(docket.StageFinalTest, to); err == nil {
			moves = append(moves, b.Move(m))
		}
	}
	moves[0].Open = record.Now().ID != 0
	return moves
}
