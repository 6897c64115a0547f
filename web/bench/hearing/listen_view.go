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
	Upload     soundUploadForm
}

// listenPosition is one of the six, as a choice.
type listenPosition struct {
	view.PositionView
	Chosen bool
}

// Upload stands on the same page and asks by the same names, so these fields have ids of their own.
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
