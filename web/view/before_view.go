package view

// BeforeView is what stands on a comeback's docket of the docket that it returns from. The zero value is a docket that is no
// comeback.
type BeforeView struct {
	Number, Left string
	Readings     DataView // a line a run
	Terms        []TermView
	Work         string // what was done, with the time that it took
	// Said is what was said of the comeback, Say the link to saying or correcting it; nil where that is the page itself.
	Said string
	Open bool // nobody has said all of it
	Say  *LinkView
}

// Any reports whether there is something to show.
func (v BeforeView) Any() bool { return v.Number != "" }
