package office

// ownerView is the owner's morning.
type ownerView struct {
	Backups, Record standingView
	Sealing         string // what stands against the newest seal; "" where nothing does
	Steps           firstStepsView
	Asks            []ownerAsk
	Figures         []morningFigure
}

// ownerAsk is what is to be looked after now, and where.
type ownerAsk struct{ Words, Link, Href string }

// morningFigure is one figure, the list that it leads to, and what it is of.
type morningFigure struct {
	ID, Label, Href, Value string
	Lines                  []morningLine
}

// morningLine is a line below a figure: a link, and what is said of it.
type morningLine struct{ Text, Href, Rest string }

// add puts an amount of another currency beside those before it.
func (f *morningFigure) add(amount string) {
	if f.Value != "" {
		f.Value += " and "
	}
	f.Value += amount
}

// quiet reports whether nothing needs the owner.
func (v ownerView) quiet() bool {
	return len(v.Asks) == 0 && !v.Backups.Alarming && !v.Record.Alarming && v.Sealing == ""
}
