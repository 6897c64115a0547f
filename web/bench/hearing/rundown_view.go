package hearing

import "ledgerwheel/web/view"

// runDownFormView asks where the readings of a run-down go.
type runDownFormView struct {
	Form      view.Form
	Action    string
	Positions []view.Option
	None      string         // why none can be kept, "" when they can
	Of        string         // which run it becomes a part of
	Clash     string         // as that of the form for one reading
	Preview   *view.DataView // what would be kept by what stands in the form; nil when nothing would
}
