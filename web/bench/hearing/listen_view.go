package hearing

import "ledgerwheel/web/view"

// listenView is the page on which a watch is listened to live.
type listenView struct {
	Base       string // of the page's own addresses
	Docket     bool
	Version    string // of the docket
	Form       view.Form
	Problem    string
	Recorders  []view.Option
	Positions  []listenPosition
	Runs       []view.Option // to which what is heard may go
	NoRun      string        // why nothing can be kept
	JudgedBy   string        // the rate limits; "" for none
	JudgedHref string
	MayClock   bool
	Number     string // of the docket, with its watch
	Watch      string
	Upload     string // where a recording is sent in
	Back       view.LinkView
}

// keeps reports whether what is heard may be kept.
func (v listenView) keeps() bool { return v.Docket && v.NoRun == "" }

// listenPosition is one of the six, as a choice.
type listenPosition struct {
	view.PositionView
	Chosen bool
}

// lastColumn heads what a line ends with.
func (v listenView) lastColumn() string {
	if v.keeps() {
		return "keep"
	}
	return "verdict"
}

// field has an id of its own: the ledger's radios belong to the same form.
func (v listenView) field(name, label string) view.Field {
	f := v.Form.Field(name, label)
	f.ID = "live-" + name
	return f
}

func (v listenView) modes() view.Field {
	return v.field("mode", "Positions").WithOptions(
		view.Option{Value: "one", Text: "one, until I stop"},
		view.Option{Value: "six", Text: "all six in turn, called out"})
}

// listenLozenge is the lozenge that fills as the figures settle; the script sets how far.
const listenLozenge = "M12 2 21 12 12 22 3 12Z"
