package view

// GradesView is the list of grades that runs are judged by.
type GradesView struct {
	Grades []GradeRowView
	Rule   string // the shop's decision rule
	May    bool   // publish
}

// GradeRowView is one grade in the list.
type GradeRowView struct {
	Name, Href, Version, Made, Reasons, TestID string
	Limits                                     []TermView // label and bounds
}

// GradeView is one version of a grade, explained.
type GradeView struct {
	Name, Version, Made, Reasons string
	Newest                       string // of the newest version, "" when this is it
	NewestHref                   string
	Positions                    string
	Limits                       []GradeLimitView
	Versions                     DataView
	Publish                      *LinkView
	Shipped                      bool
}

// GradeLimitView is one limit with the reason for its figure.
type GradeLimitView struct{ Label, Bounds, Reason, TestID string }

// PublishView is the form for a grade's next version.
type PublishView struct {
	Form      Form
	Name      string
	Version   string
	Action    string
	Back      string
	Positions Field
	Criteria  []CriterionView
	Order     []string
	Changed   string // said when somebody else published meanwhile
}

// CriterionView is the three fields of one criterion.
type CriterionView struct {
	Label                string
	Lower, Upper, Reason Field
}
