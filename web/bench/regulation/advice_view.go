package regulation

import (
	"ledgerwheel/web/runs"
	"ledgerwheel/web/view"
)

// adviceView is what the readings of a docket say about its watch.
type adviceView struct {
	On         string // the run, and what judges it, in a sentence
	Basis      string // what the fit rests on, in a phrase
	Empty      string // why there is no advice at all; the rest is then empty
	Runs       []view.TabView
	RunsSay    string
	Then       *view.LinkView // the run that is taken once it is done; nil where none may be
	Next       string         // the first of the list in a line
	Items      []adviceItemView
	All        *outcomeView // with everything of the list done
	Cautions   []string
	Poise      *poiseView
	Poising    string // where it is poised step by step
	Charts     []view.ChartView
	Model      []view.TermView // what the fit found
	Check      *predictionView
	Outliers   []string
	Unknown    []runs.WhyView
	UnknownSay string        // what they are about, in a phrase
	Paper      view.LinkView // back to the regulation sheet
	Taken      string        // of the newest run, for the print
}

// adviceItemView is one line of the short list.
type adviceItemView struct {
	Slug       string // its row among the steps: "out-of-poise"
	Title      string
	Suspicion  bool
	After      string // what has to be settled first, "" for nothing
	Seen       []string
	Figures    []view.FigureView
	Cause      string
	Correction string
	Cautions   []string // of this step alone
	Expected   *view.DataView
	Outcome    *outcomeView
	Tool       *view.LinkView // where it is done step by step; nil for nowhere
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
	Says  string // in a phrase
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
