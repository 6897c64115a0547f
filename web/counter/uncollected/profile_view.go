package uncollected

import "ledgerwheel/web/view"

// profileView is the page on which the owner confirms the profile of the place.
type profileView struct {
	Problems           map[string]string
	NoAdvice, Standing string
	Choice             view.Field
	Own                []view.Field
	Checked            view.Field
}

// ownOpen says that the waits of one's own are in use, or were refused.
func (v profileView) ownOpen() bool { return v.Choice.Value == "own" }
