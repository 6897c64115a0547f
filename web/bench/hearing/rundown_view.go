package hearing

import "ledgerwheel/web/view"

// runDownFormView asks where the readings of a run-down go.
type runDownFormView struct {
	Form      view.Form
	Action    string
	Runs      []view.Option
	Positions []view.Option
	None      string         // why none can be kept, "" when they can
	Clash     string         // as that of the form for one reading
	Preview   *view.DataView // what would be kept by what stands in the form; nil when nothing would
}
