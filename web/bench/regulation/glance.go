package regulation

import (
	"fmt"

	"ledgerwheel/domain/text"
	"ledgerwheel/web/runs"
	"ledgerwheel/web/view"
)

// againstWords head the limits that keep a run from passing, in order.
var againstWords = []struct {
	mark  view.MarkKind
	words string
}{{view.Fail, "Not met"}, {view.Undecided, "Within the uncertainty"}, {view.NotMeasured, "Not measured"}}

// glanceOf says how a run stands, what keeps it from passing, what the docket's next action is, if it is the reader's,
// and what the readings show.
func glanceOf(f runs.FiguresView, next *view.NextView, a advised) glanceView {
	g := glanceView{Mark: f.Mark, Text: f.Text, Advice: a.shows(next)}
	if next != nil {
		g.Next = "Next: " + text.Uncapital(next.Text) + "."
	}
	if len(f.Limits) == 0 {
		return g
	}
	met := 0
	for _, l := range f.Limits {
		if l.Mark == view.Pass {
			met++
		}
	}
	g.Count = fmt.Sprintf("%d of %d met", met, len(f.Limits))
	g.Text = f.Judged + ": " + g.Count + "."
	for _, kind := range againstWords {
		group := againstView{Words: kind.words}
		for _, l := range f.Limits {
			if l.Mark == kind.mark {
				group.Limits = append(group.Limits, againstLimit{Label: l.Label, Bounds: l.Bounds, Figure: l.Figure})
			}
		}
		if len(group.Limits) > 0 {
			g.Against = append(g.Against, group)
		}
	}
	return g
}
