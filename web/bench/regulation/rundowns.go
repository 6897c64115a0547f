package regulation

import (
	"fmt"
	"net/http"

	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/text"
	"ledgerwheel/domain/timing"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/runs"
	"ledgerwheel/web/view"
)

// runDownsOf shows the run-downs of a run, and those of none.
func (s *Room) runDownsOf(r *http.Request, sheet store.RegulationSheet, run store.RunRecord, number string) []runDownView {
	viewer, _ := page.ViewerOf(r.Context())
	rule := runs.JudgingRule(viewer.Shop)
	limits, _ := sheet.LimitsByID(sheet.Head.RateLimitsID)
	downs := sheet.RunDownsOf(0)
	if run.ID != 0 {
		downs = append(downs, sheet.RunDownsOf(run.ID)...)
	}
	var out []runDownView
	for _, down := range downs {
		out = append(out, s.runDown(r, down, limits.Limits, rule, number))
	}
	return out
}

func (s *Room) runDown(r *http.Request, down store.RunRecord, limits timing.RateLimits, rule metrology.Rule,
	number string) runDownView {
	readings := down.Sheet.Run.Readings
	id := "run-down-" + page.Itoa64(down.ID)
	v := runDownView{ID: id, Taken: s.Moment(r, down.TakenAt) + ", " + down.TakenBy, Table: runDownTable(id, down, number)}
	if len(readings) > 0 {
		v.Heading = "Run-down in " + string(readings[0].Position)
	}
	if d, ok := timing.LetDownOf(readings, limits, rule, down.Sheet.Instruments()); ok {
		v.Mark, v.Text = runs.MarkOf(d.Verdict), text.Capital("power: "+d.Text)
		v.Drift = fmt.Sprintf("The rate went by %s meanwhile.", d.RateDrift.FormatSigned())
	}
	if down.PowerReserveH > 0 {
		v.Reserve = fmt.Sprintf("The watch stopped %.1f h after winding.", down.PowerReserveH)
	}
	return v
}

// runDownTable is short: a line for each state of wind.
func runDownTable(id string, down store.RunRecord, number string) view.DataView {
	t := view.DataView{TableView: view.TableView{ID: id + "-table", Caption: "Readings of the run-down", HideCaption: true, Dense: true,
		TestID: "run-down-readings"},
		Columns: []view.Column{{Text: "hours after winding", Unit: "h"}, {Text: "rate", Unit: timing.UnitSPerDay, Numeric: true},
			{Text: "amplitude", Unit: timing.UnitDegree, Numeric: true}, {Text: "beat error", Unit: timing.UnitMs, Numeric: true}}}
	for _, reading := range down.Sheet.Run.Readings {
		row := view.Row{Head: true, Cells: []view.Cell{view.Txt(timing.HoursText(reading.HoursAfterWinding))}}
		if kept := down.Heard[timing.CellName(reading.Position, reading.HoursAfterWinding)]; kept != 0 {
			row.Cells[0] = view.Lnk(timing.HoursText(reading.HoursAfterWinding), view.DocketURL(number, "heard/"+page.Itoa64(kept)))
		}
		for _, q := range timing.Quantities() {
			f := reading.Figure(q)
			if f == nil {
				row.Cells = append(row.Cells, view.Txt("–"))
				continue
			}
			p := metrology.Value{Value: f.Value, StdUncertainty: f.Independent()}.Print(q == timing.Rate)
			row.Cells = append(row.Cells, view.Txt(p.Value+" ± "+p.Uncertainty))
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}
