package regulation

import (
	"fmt"
	"strings"

	"ledgerwheel/domain/figure"
	"ledgerwheel/domain/text"
	"ledgerwheel/domain/timing"
	"ledgerwheel/web/view"
)

// readAgain lists every reading of the positions that were read more than once, and says how well they repeat.
func readAgain(run timing.Run) (list []view.TermView, note string) {
	for _, x := range run.Readings {
		more := false
		for _, again := range run.Again() {
			more = more || timing.CellName(again.Position, again.HoursAfterWinding) == timing.CellName(x.Position,
				x.HoursAfterWinding)
		}
		if more {
			list = append(list, view.Term(text.Capital(x.Cell()), text.TrueMinus(x.Text())+", "+x.TakenBy))
		}
	}
	return list, scatterNote(run)
}

// scatterNote says by how much the readings of a run differ, and what comes of it.
func scatterNote(run timing.Run) string {
	var parts []string
	few := false
	for _, q := range timing.Quantities() {
		s, free := run.Repeatability(q)
		if free == 0 {
			continue
		}
		few = few || free == 1
		unit := q.Unit()
		if unit != timing.UnitDegree {
			unit = " " + unit
		}
		parts = append(parts, fmt.Sprintf("%s %s%s", q.Label(), figure.Plain(figure.Significant(s, 2)), unit))
	}
	note := "Standard deviation of one reading, by all that were taken again: " + strings.Join(parts, ", ") +
		". Where it is more than what is stated it stands in every uncertainty of the run, widened for few readings."
	if few {
		note += " One reading more says little: read two positions again, or one of them twice."
	}
	return note
}
