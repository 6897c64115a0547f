package regulation

import (
	"ledgerwheel/web/runs"
	"ledgerwheel/web/view"
)

// adviceView is what the readings of a docket say about its watch.
type adviceView struct {
	Basis    string // what the fit rests on, in a sentence
	Empty    string // why there is no advice at all; the rest is then empty
	Runs     []view.TabView
	Next     string // the first of the list in a line
	Items    []adviceItemView
	All      *outcomeView // with everything of the list done
	Cautions []string
	Poise    *poiseView
	Charts   []view.ChartView
	Model    []view.TermView // what the fit found
	Check    *predictionView
	Outliers []string
	Unknown  []runs.WhyView
	Paper    view.LinkView // back to the regulation sheet
	Taken    string        // of the newest run, for the print
}

// adviceItemView is one line of the short list.
type adviceItemView struct {
	Slug       string // its kind: "poise", "beat-error"
	Title      string
	Suspicion  bool
	Seen       []string
	Figures    []view.FigureView
	Cause      string
	Correction string
	Expected   *view.DataView
	Outcome    *outcomeView
	Open       bool // the expected rates stand open, not folded
}

func (a adviceItemView) testID() string    { return "advice-" + a.Slug }
func (a adviceItemView) headingID() string { return "advice-" + a.Slug + "-heading" }

// outcomeView says whether a run would pass once the correction is made.
type outcomeView struct {
	Mark view.MarkKind
	Word string // beside the lozenge
	Text string
}

// poiseView is the balance's heavy spot, drawn and said.
type poiseView struct {
	Dial  view.ChartView
	Text  string
	Terms []view.TermView
}

// predictionView sets a run beside what was expected of it.
type predictionView struct {
	Text  string
	Note  string // how the comparison was made
	Mark  view.MarkKind
	Word  string
	Table view.DataView
	Chart view.ChartView
}
