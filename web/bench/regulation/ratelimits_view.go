package regulation

import "ledgerwheel/web/view"

// gradesView is the list of grades that runs are judged by.
type gradesView struct {
	Grades []gradeRowView
	Rule   string // the shop's decision rule
	May    bool   // publish
}

// gradeRowView is one grade in the list.
type gradeRowView struct {
	Name, Href, Version, Made, Reasons, TestID string
	Limits                                     []view.TermView // label and bounds
}

// gradeView is one version of a grade, explained.
type gradeView struct {
	Name, Version, Made, Reasons string
	Newest                       string // of the newest version, "" when this is it
	NewestHref                   string
	Positions                    string
	Limits                       []gradeLimitView
	Versions                     view.DataView
	Publish, From                *view.LinkView
	Shipped                      bool
}

// gradeLimitView is one limit with the reason for its figure.
type gradeLimitView struct{ Label, Bounds, Reason, TestID string }

// publishView is the form for a grade's next version, or for a new grade.
type publishView struct {
	Form      view.Form
	Over      string
	Title     string
	Lede      string
	Save      string // the button
	Version   string
	Action    string
	Back      string
	Positions view.Field
	Criteria  []criterionView
	Order     []string
	Changed   string // said when somebody else published meanwhile
}

// criterionView is the three fields of one criterion.
type criterionView struct {
	Label                string
	Lower, Upper, Reason view.Field
}
