package office

import (
	"fmt"

	"ledgerwheel/web/view"
)

// firstStepsView is what a new shop needs, and what of it is done.
type firstStepsView struct {
	Steps []stepRow
	Left  int  // not done yet
	Away  bool // put away by the owner
}

// stepRow is one of the first steps; Next is the first that is not done.
type stepRow struct {
	Key, Name, What, Href string
	Done, Next            bool
}

// verb is what the line's link says, and label the same with what it is about.
func (s stepRow) verb() string {
	if s.Done {
		return "Look again"
	}
	return "Open"
}

func (s stepRow) label() string { return s.verb() + ": " + s.Name }

func (v firstStepsView) shown() bool { return v.Left > 0 && !v.Away }

func (v firstStepsView) says() string {
	if v.Left == 0 {
		return "All is done."
	}
	return fmt.Sprintf("%d of %d done. Each is ticked by what the record holds.", len(v.Steps)-v.Left, len(v.Steps))
}

// testPrintView prints the sheet with the ruler and samples, and asks what was measured.
type testPrintView struct {
	Form   view.Form
	Papers []samplePaper
	Says   string // what was measured before, and what it asks for; "" for nothing yet
}

// placeHint says where time zone, currency and country come from.
func (v setupView) placeHint() string {
	if v.Found {
		return "Time zone, currency and country are what this browser says: correct what is wrong."
	}
	return ""
}
