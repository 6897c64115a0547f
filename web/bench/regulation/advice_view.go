package view

// AdviceView is what the readings of a docket say about its watch.
type AdviceView struct {
	Basis    string // what the fit rests on, in a sentence
	Empty    string // why there is no advice at all; the rest is then empty
	Runs     []TabView
	Next     string // the first of the list in a line
	Items    []AdviceItemView
	All      *OutcomeView // with everything of the list done
	Cautions []string
	Poise    *PoiseView
	Charts   []ChartView
	Model    []TermView // what the fit found
	Check    *PredictionView
	Outliers []string
	Unknown  []WhyView
	Paper    LinkView // back to the regulation sheet
	Taken    string   // of the newest run, for the print
}

// AdviceItemView is one line of the short list.
type AdviceItemView struct {
	Slug       string // its kind: "poise", "beat-error"
	Title      string
	Suspicion  bool
	Seen       []string
	Figures    []FigureView
	Cause      string
	Correction string
	Expected   *DataView
	Outcome    *OutcomeView
	Open       bool // the expected rates stand open, not folded
}

func (a AdviceItemView) testID() string    { return "advice-" + a.Slug }
func (a AdviceItemView) headingID() string { return "advice-" + a.Slug + "-heading" }

// OutcomeView says whether a run would pass once the correction is made.
type OutcomeView struct {
	Mark MarkKind
	Word string // beside the lozenge
	Text string
}

// PoiseView is the balance's heavy spot, drawn and said.
type PoiseView struct {
	Dial  ChartView
	Text  string
	Terms []TermView
}

// PredictionView sets a run beside what was expected of it.
type PredictionView struct {
	Text  string
	Note  string // how the comparison was made
	Mark  MarkKind
	Word  string
	Table DataView
	Chart ChartView
}
