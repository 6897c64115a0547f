package trials

import "ledgerwheel/web/view"

// trialBulletinView is the printed report of a trial.
type trialBulletinView struct {
	Shop, Address, Number string
	Date                  string
	Watch                 []view.TermView
	Mark                  view.MarkKind
	Verdict, Simple, Rule string
	Criteria, Days        view.DataView
	Notes                 []string
	Seal                  string
	Signatures            []string
}
