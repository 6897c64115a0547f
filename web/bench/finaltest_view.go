package bench

import (
	"ledgerwheel/web/view"
)

// finalTestView is the sheet of a docket's final test.
type finalTestView struct {
	Form                  view.Form
	May                   bool   // the form is shown
	Why                   string // why it is not
	Tests                 []testFieldsView
	Caution, WaterFigures string
	Moves                 []view.MoveView // where the docket goes from here, the likeliest first
	Run                   string          // how the final run stands, "" where the docket is at another stage
	RunMark               view.MarkKind
	Recorded              []recordedTest
	More                  bool // older recordings are not shown
}

// testFieldsView are the questions of one test; Figure, Medium and DryFirst have no name where they aren't asked.
type testFieldsView struct {
	Key, Title, Stated, Unit                string
	Outcome, Figure, Medium, DryFirst, Note view.Field
	Corrects                                view.Field
	MayCorrect                              bool     // a reason may be asked for
	Was                                     []string // how it came out before what stands
}

// recordedTest is what was known when results were recorded. Old ones no longer count.
type recordedTest struct {
	At, By, Note, Verdict string
	Mark                  view.MarkKind
	Old                   bool
	Results               []testResult
}

// testResult is how one test came out. Found says by whom and when, where that was earlier.
type testResult struct {
	Mark                               view.MarkKind
	Test, Outcome, Figure, Note, Found string
	Corrected                          string   // why what was recorded before was wrong, "" where it was not
	Was                                []string // how the test came out in earlier recordings
}

// how says what is done in a test (common practice).
func (t testFieldsView) how() string {
	switch t.Key {
	case "power-reserve":
		return "Wind it fully, leave it dial up, and note the hours until it stops."
	case "winding-and-setting":
		return "Wind by the crown and, if it has one, by the rotor. Set the hands forwards and back. The crown seats, and " +
			"screws home if it should."
	case "date-change":
		return "Turn twice through midnight: the date changes once each time, fully, near twelve."
	case "hands-clearance":
		return "Once round the dial, lying and standing: the hands clear each other, the dial and the crystal."
	case "case-and-strap":
		return "Closed, clean, crystal firm; spring bars or pins hold, the clasp closes."
	}
	return ""
}

// problemOrder is the order of the form, for the summary of problems.
func (v finalTestView) problemOrder() []string {
	order := []string{""}
	for _, t := range v.Tests {
		order = append(order, t.Outcome.Name, t.Figure.Name, t.Medium.Name, t.DryFirst.Name, t.Note.Name, t.Corrects.Name)
	}
	return append(order, "note")
}

// layout says how the questions stand on wide screens.
func (t testFieldsView) layout() string {
	switch {
	case t.Figure.Name == "":
		return "plain-test"
	case t.Medium.Name == "":
		return "figure-test"
	}
	return ""
}

// earlier are the recordings besides the one that stands at the head of the sheet.
func (v finalTestView) earlier() []recordedTest {
	if len(v.Recorded) > 0 && !v.Recorded[0].Old {
		return v.Recorded[1:]
	}
	return v.Recorded
}
