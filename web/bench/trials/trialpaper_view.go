package view

// TrialBulletinView is the printed report of a trial.
type TrialBulletinView struct {
	Shop, Address, Number string
	Date                  string
	Watch                 []TermView
	Mark                  MarkKind
	Verdict, Simple, Rule string
	Criteria, Days        DataView
	Notes                 []string
	Seal                  string
	Signatures            []string
}
