package positions

import (
	"strings"

	"ledgerwheel/web/view"
)

// headView is the line above: which watch, which run, and the way back.
type headView struct{ Number, Watch, Run, Regulation string }

// benchView is the bench view of a run.
type benchView struct {
	head             headView
	Action           string
	Listen           string // the address below which the watch is listened to
	RunKey           string // the run, as the listening page names it
	Form             view.Form
	Hidden           []view.FieldValue
	At               string // the key of the stop in sight
	AtEnd, Opened    bool
	OnRecord         bool
	States           []stateView
	Stops            []stopView
	Places           []placeView
	Summary          map[string]string // what is wrong with fields that are not in sight
	Order            []string
	Changed          string
	Differs          []view.TermView
	Runs             view.Field
	Recorders        []view.Option
	Prefix, TestWord string
	TestCode         string // SVG
}

// stateView is a state of wind that can be chosen. Word is that of its code.
type stateView struct {
	Hours, Words, Word string
	Here               bool
}

// placeView is a position that can be chosen, with its rate as typed.
type placeView struct {
	view.PositionView
	Rate        string
	Here, Wrong bool
}

// stopView is one position in one state of wind, or the end of a state with its Ledger.
type stopView struct {
	Key, State, StateWords string
	Here                   bool
	Position               view.PositionView
	Number                 string // of six
	Figures                []figureView
	Ledger                 []ledgerRow
}

// says is where the stop is, in as few words as a voice needs.
func (s stopView) says() string {
	if len(s.Ledger) > 0 {
		return "All positions passed"
	}
	return s.Position.Symbol + ", " + s.Position.Words
}

// figureView is one figure that is typed or heard.
type figureView struct {
	Name, Quantity, Label, Unit, Value, Error string
	Asked                                     view.Question
}

func (f figureView) id() string { return view.FieldID(f.Name) }

// ledgerRow is a position with its three figures as typed, by their fields' names.
type ledgerRow struct {
	view.PositionView
	Cells []view.FieldValue
}

// keptView is what is said of a run that was kept.
type keptView struct {
	head               headView
	Mark               view.MarkKind
	By                 string // what it was judged by, "" for nothing
	Judged             bool
	Measured           []string
	Advice, Again, New string
}

func (k keptView) judged() bool { return k.By != "" && k.Judged }

// word stands beside the mark, in place of the mark's own.
func (k keptView) word() string {
	if !k.judged() {
		return "not judged yet"
	}
	return ""
}

// says is the verdict in as few words as a voice needs.
func (k keptView) says() string {
	if !k.judged() {
		return "Run kept, not judged yet"
	}
	return "Run kept: " + strings.ToLower(k.Mark.Word())
}

// conditionsWrong reports whether something is wrong with what the fold of conditions hides.
func (v benchView) conditionsWrong() bool {
	for _, name := range []string{"instrument", "clock_ppm", "temperature", "label", "why", "recorder", "settle"} {
		if v.Form.Problems[name] != "" {
			return true
		}
	}
	return false
}

func pressed(is bool) string {
	if is {
		return "true"
	}
	return "false"
}
