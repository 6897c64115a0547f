package view

// RunDownForm asks where the readings of a run-down go.
type RunDownForm struct {
	Form      Form
	Action    string
	Runs      []Option
	Positions []Option
	None      string    // why none can be kept, "" when they can
	Preview   *DataView // what would be kept by what stands in the form; nil when nothing would
}
