package view

// BulletinView is the printed report of one or two runs.
type BulletinView struct {
	Shop, Address, Number string
	Date                  string
	Watch                 []TermView
	Mark                  MarkKind
	Verdict               string
	Judged, Rule          string
	Runs                  []BulletinRunView
	Charts                []ChartView
	Figures               DataView
	Notes                 []string
	Seal                  string
	Signatures            []string
}

// BulletinRunView is one run on the bulletin.
type BulletinRunView struct {
	Name  string
	Terms []TermView
	Grid  RunGridView
}
