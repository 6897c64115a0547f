package regulation

import (
	"maps"
	"net/http"
	"slices"
	"strconv"

	"ledgerwheel/domain/text"
	"ledgerwheel/domain/timing"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/runs"
	"ledgerwheel/web/view"
)

// typedFigures computes what could be read of the run as typed.
func (s *Room) typedFigures(r *http.Request, form runForm, sh timing.Sheet) runs.FiguresView {
	viewer, _ := page.ViewerOf(r.Context())
	by := runs.Judging{Rule: runs.JudgingRule(viewer.Shop)}
	limits, found := form.sheet.LimitsByID(form.sheet.Head.RateLimitsID)
	if !found {
		limits, found = form.sheet.NewestLimits(form.f.Text("grade"))
	}
	if found {
		by.Limits = &limits
	}
	grid := sh.Grid()
	var unread []view.Problem
	for row := range grid.Rows {
		for column := range grid.Columns {
			for n := range 1 + timing.MaxRepeats {
				name := timing.AgainName(grid.Field(row, column), n)
				if why := form.f.Problems[name]; why != "" {
					unread = append(unread, view.Problem{Name: name, Text: cellName(grid, row, column, n) + ": " + why})
				}
			}
		}
	}
	f := runs.FiguresOf(readable(sh, form.f.Problems), by)
	f.Unread, f.Compact = unread, true
	if len(sh.Run.Readings) > 0 {
		f.Chart = []view.ChartView{runs.RatesChart("chart-typed", readable(sh, form.f.Problems), by)}
	}
	return f
}

// readable leaves out of a sheet what can't be computed with: a clock without a figure.
func readable(sh timing.Sheet, problems map[string]string) timing.Sheet {
	if problems["clock_ppm"] != "" {
		sh.ClockPPM = timing.UncalibratedClockPPM
	}
	return sh
}

func cellName(g timing.Grid, row, column, again int) string {
	c := g.Columns[column]
	name := string(g.Rows[row]) + " " + c.Quantity.Label() + ", " + timing.StateWords(c.HoursAfterWinding)
	if again > 0 {
		name += ", reading " + strconv.Itoa(again+1)
	}
	return name
}

// runFormView draws the form from what is typed in it.
func (s *Room) runFormView(r *http.Request, form runForm) (view.Page, view.DocketView, runFormView) {
	p, d := s.DocketPage(r, form.sheet.Head, "regulation")
	p.Scripts = append(p.Scripts, "js/regulation.js")
	sh, _ := form.parse()
	base := view.DocketURL(d.Number, "regulation")
	v := runFormView{Form: form.f.View(), Action: base + "/new", Preview: base + "/preview", Save: "Save the run",
		Back:  base,
		Title: "A new run", Grid: runs.GridOf("grid", "Rate, amplitude and beat error in six positions", sh, form.f.Raw,
			form.f.Problems, form.f.Asked), Figures: s.typedFigures(r, form, sh)}
	v.Grid.Edit = true
	v.Again = runs.AgainGrids(sh, form.f.Raw, form.f.Problems, form.f.Asked)
	hidden := []string{"last_run", "version"}
	if form.run.ID != 0 {
		v.Action, v.Title = base+"/runs/"+page.Itoa64(form.run.ID), text.Capital(form.run.Sheet.Run.Title())
		v.KindText = form.run.Sheet.Run.Title()
		v.Hidden = append(v.Hidden, view.FieldValue{Name: "run_id", Value: page.Itoa64(form.run.ID)})
		v.Back += "?run=" + page.Itoa64(form.run.ID)
		hidden = append(hidden, "run_version")
		why := form.f.View().Field("why", "Why figures on record are corrected").WithMaxLength(2000).WithAttr("dir", "auto").
			WithHint("Asked for where a figure is changed or taken out, not where one is added.")
		v.Why = &why
	} else {
		v.Kinds = form.f.View().Field("kind", "Kind of run").WithOptions(kindOptions(r, form.sheet)...)
		p.Title = "A run of " + d.Number
	}
	if form.mayAdjust(r) {
		for _, t := range timing.Touches() {
			v.Touched = append(v.Touched, form.f.View().Field(timing.TouchField(t), text.Capital(t.Words())))
		}
	}
	for _, name := range hidden {
		v.Hidden = append(v.Hidden, view.FieldValue{Name: name, Value: form.f.Text(name)})
	}
	v.Hidden = append(v.Hidden, view.FieldValue{Name: "again", Value: "yes"}, view.FieldValue{Name: "columns", Value: timing.StatesText(sh.States)})
	if _, judged := form.sheet.LimitsByID(form.sheet.Head.RateLimitsID); !judged && form.run.ID == 0 {
		grade := form.f.View().Field("grade", "Judge it by").WithWidth(view.Half).WithOptions(gradeOptions(form.sheet,
			!hasGrade(form.sheet))...).
			WithHint("The docket keeps the version that first judges it.")
		v.Grade = &grade
	}
	v.Order, v.Summary = formOrder(sh), maps.Clone(form.f.Problems)
	for _, p := range v.Figures.Unread {
		v.Summary[p.Name] = p.Text
	}
	v.Paste = pasteView(form.f, sh)
	return p, d, v
}

// mayAdjust reports whether the run being typed is an adjustment, or may become one.
func (rf runForm) mayAdjust(r *http.Request) bool {
	if rf.run.ID != 0 {
		return rf.run.Sheet.Run.Kind == timing.Adjustment
	}
	return slices.Contains(runs.AllowedKinds(r, rf.sheet.Head.Docket), timing.Adjustment)
}

// hasGrade reports whether the watch's calibre names a grade that the shop has limits for.
func hasGrade(sheet store.RegulationSheet) bool {
	_, found := sheet.NewestLimits(sheet.Head.Calibre.GradeKey)
	return found
}

func kindOptions(r *http.Request, sheet store.RegulationSheet) []view.Option {
	var options []view.Option
	for _, k := range runs.AllowedKinds(r, sheet.Head.Docket) {
		options = append(options, view.Option{Value: string(k), Text: runs.KindTitle(k, sheet.NextAdjustment)})
	}
	return options
}

// formOrder is the order of the form's fields, for the summary of problems.
func formOrder(sh timing.Sheet) []string {
	order := []string{"kind", "instrument", "clock_ppm", "temperature", "grade", "readings"}
	grid := sh.Grid()
	for row := range grid.Rows {
		for column := range grid.Columns {
			order = append(order, grid.Field(row, column))
		}
	}
	for n := 1; n <= timing.MaxRepeats; n++ {
		for row := range grid.Rows {
			for column := range grid.Columns {
				order = append(order, timing.AgainName(grid.Field(row, column), n))
			}
		}
	}
	return append(order, "states", "label", "why", "paste", "paste_row", "paste_column")
}

// pasteView is the place to paste into without a script.
func pasteView(f *page.Form, sh timing.Sheet) pasteFoldView {
	var rows, columns []view.Option
	for i, p := range sh.Grid().Rows {
		rows = append(rows, view.Option{Value: strconv.Itoa(i), Text: string(p) + ", " + p.Words(sh.Run.CrownHour)})
	}
	for i, c := range sh.Grid().Columns {
		columns = append(columns, view.Option{Value: strconv.Itoa(i), Text: c.Quantity.Label(),
			Group: timing.StateWords(c.HoursAfterWinding)})
	}
	v := f.View()
	return pasteFoldView{
		Text: v.Field("paste", "Column or block, as copied from a spreadsheet").WithRows(6).
			WithHint("One position to a line, from the position chosen downwards or as named in the line; figures parted by tabs, semicolons or commas. A line of headings may stand first."),
		Row:    v.Field("paste_row", "Begins at position").WithWidth(view.Half).WithOptions(rows...),
		Column: v.Field("paste_column", "Begins at").WithWidth(view.Half).WithOptions(columns...),
		Open:   f.Text("paste") != "" || f.Problems["paste"] != "" || f.Problems["paste_row"] != "",
	}
}
