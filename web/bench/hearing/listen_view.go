package view

// ListenView is the page on which a watch is listened to live.
type ListenView struct {
	Base       string // of the page's own addresses
	Docket     bool
	Version    string // of the docket
	Form       Form
	Problem    string
	Recorders  []Option
	Positions  []ListenPosition
	Runs       []Option // to which what is heard may go
	NoRun      string   // why nothing can be kept
	JudgedBy   string   // the rate limits; "" for none
	JudgedHref string
	MayClock   bool
	Upload     SoundUploadForm
}

// ListenPosition is one of the six, as a choice.
type ListenPosition struct {
	PositionView
	Chosen bool
}

// Upload stands on the same page and asks by the same names, so these fields have ids of their own.
func (v ListenView) field(name, label string) Field {
	f := v.Form.Field(name, label)
	f.ID = "live-" + name
	return f
}

func (v ListenView) modes() Field {
	return v.field("mode", "Positions").WithOptions(
		Option{Value: "one", Text: "one, until I stop"},
		Option{Value: "six", Text: "all six in turn, called out"})
}

// listenLozenge is the lozenge that fills as the figures settle; the script sets how far.
const listenLozenge = "M12 2 21 12 12 22 3 12Z"
