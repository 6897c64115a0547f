package regulation

import "ledgerwheel/web/view"

// runDownView is a run-down beside the run that it belongs to.
type runDownView struct {
	ID, Heading, Taken string
	Mark               view.MarkKind // of the power; "" when too little was heard
	Text, Drift        string
	Reserve            string // "" when it was not heard to stop
	Table              view.DataView
}
