package regulation

import (
	"ledgerwheel/web/runs"
	"ledgerwheel/web/view"
)

// bulletinView is the printed report of one or two runs.
type bulletinView struct {
	Shop, Address, Number string
	Date                  string
	Watch                 []view.TermView
	Mark                  view.MarkKind
	Verdict               string
	Judged, Rule          string
	Runs                  []bulletinRunView
	Charts                []view.ChartView
	Figures               view.DataView
	Notes                 []string
	Seal                  string
	Signatures            []string
}

// bulletinRunView is one run on the bulletin.
type bulletinRunView struct {
	Name  string
	Terms []view.TermView
	Grid  runs.GridView
}
