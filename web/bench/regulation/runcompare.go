package regulation

import (
	"net/http"
	"net/url"
	"slices"

	"ledgerwheel/domain/text"
	"ledgerwheel/domain/timing"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/runs"
	"ledgerwheel/web/view"
)

// pair is two runs to be set side by side.
type pair struct {
	before, after store.RunRecord
	names         [2]string
}

// usualPair is the run as received, or else the first, and another, or else the newest.
func usualPair(sheet store.RegulationSheet, after store.RunRecord) pair {
	p := pair{before: sheet.Runs[0], after: after}
	for _, run := range sheet.Runs {
		if run.Sheet.Run.Kind == timing.AsReceived {
			p.before = run
		}
	}
	if p.before.ID == p.after.ID {
		p.after, _ = sheet.Newest()
	}
	return p
}

// query names the pair in an address.
func (p pair) query() string {
	return url.Values{"before": {page.Itoa64(p.before.ID)}, "after": {page.Itoa64(p.after.ID)}}.Encode()
}

// chosenPair finds the two runs the query names; unnamed, they are the usual pair.
func (s *Room) chosenPair(r *http.Request, sheet store.RegulationSheet, after store.RunRecord) (pair, error) {
	p := usualPair(sheet, after)
	for _, chosen := range []struct {
		name string
		run  *store.RunRecord
	}{{"before", &p.before}, {"after", &p.after}} {
		run, found, err := chosenRun(r, sheet, chosen.name)
		if err != nil {
			return p, err
		}
		if found {
			*chosen.run = run
		}
	}
	p.names = s.pairNames(r, sheet, p)
	return p, nil
}

// pairNames are the names of two runs, with their times where names alone don't tell them apart.
func (s *Room) pairNames(r *http.Request, sheet store.RegulationSheet, p pair) [2]string {
	return [2]string{runs.Name(s.Host, r, p.before, sheet.Runs), runs.Name(s.Host, r, p.after, sheet.Runs)}
}

// compareView sets two runs side by side: what is computed, every figure, and the rates as a drawing.
func (s *Room) compareView(r *http.Request, sheet store.RegulationSheet, shown store.RunRecord,
	number string) (compareView, error) {
	p, err := s.chosenPair(r, sheet, shown)
	if err != nil {
		return compareView{}, err
	}
	f := page.EmptyForm()
	f.Values.Set("before", page.Itoa64(p.before.ID))
	f.Values.Set("after", page.Itoa64(p.after.ID))
	var options []view.Option
	for _, run := range sheet.Runs {
		options = append(options, view.Option{Value: page.Itoa64(run.ID),
			Text: text.Capital(runs.Name(s.Host, r, run, sheet.Runs))})
	}
	comparison := timing.CompareSheets(p.before.Sheet, p.after.Sheet)
	query := "?" + p.query()
	return compareView{
		Before: f.View().Field("before", "Before").WithWidth(view.Half).WithOptions(options...),
		After:  f.View().Field("after", "After").WithWidth(view.Half).WithOptions(options...),
		RunID:  page.Itoa64(shown.ID),
		Says:   p.names[0] + ", " + p.names[1], Asked: r.URL.Query().Has("before") || r.URL.Query().Has("after"),
		Changes: changesTable(comparison, p.names), Every: everyTable(comparison, p.names),
		Chart: runs.CompareChart("chart-compare", p.before, p.after, p.names, judgingOf(sheet, p.after)),
		Bulletin: []view.LinkView{
			{Text: "Bulletin of these runs", Href: view.DocketURL(number, "papers/bulletin") + query, TestID: "bulletin"}},
	}, nil
}

func compareColumns(names [2]string) []view.Column {
	return []view.Column{{Text: "figure"}, {Text: names[0], Numeric: true}, {Text: names[1], Numeric: true},
		{Text: "change", Numeric: true}}
}

// changesTable is what is computed of both runs, with the changes. What neither run has is left out.
func changesTable(c timing.Comparison, names [2]string) view.DataView {
	t := view.DataView{TableView: view.TableView{ID: "changes-table", Caption: "What changed", HideCaption: true,
		Dense: true, TestID: "changes"},
		Columns: compareColumns(names)}
	for _, key := range append(append([]timing.Key{}, runs.ShownStatistics...), timing.AmplitudeLoss24h,
		timing.Isochronism) {
		for _, s := range c.Statistics {
			if s.Before.Key != key || !s.Before.Computable() && !s.After.Computable() ||
				!s.OfRun && !slices.Contains(bulletinKeys(s.HoursAfterWinding), key) {
				continue
			}
			label := s.Before.Label
			if !s.OfRun && s.HoursAfterWinding != 0 {
				label += ", " + timing.StateWords(s.HoursAfterWinding)
			}
			row := compareRow(label, runs.StatisticUnit(key), s.Before, s.After, s.Change)
			row.TestID = "change-" + runs.KeySlug(key)
			if !s.OfRun && s.HoursAfterWinding != 0 {
				row.TestID += "-" + timing.HoursText(s.HoursAfterWinding)
			}
			t.Rows = append(t.Rows, row)
		}
	}
	return t
}

func compareRow(label, unit string, before, after, change timing.Statistic) view.Row {
	return view.Row{Head: true, Cells: []view.Cell{
		view.Show(runs.Labelled(label, unit)), view.Show(runs.Stat(runs.StatOf(before))),
		view.Show(runs.Stat(runs.StatOf(after))),
		view.Show(runs.Stat(runs.StatOf(change)))}}
}

// everyTable is every figure that either run has.
func everyTable(c timing.Comparison, names [2]string) view.DataView {
	t := view.DataView{TableView: view.TableView{ID: "every-table", Caption: "Every figure, before and after",
		HideCaption: true, Dense: true, TestID: "every"},
		Columns: compareColumns(names)}
	for _, f := range c.Figures {
		label := string(f.Position) + " " + f.Quantity.Label() + ", " + timing.StateWords(f.HoursAfterWinding)
		before, after := timing.Statistic{Why: "not measured", Signed: f.Quantity.Signed()},
			timing.Statistic{Why: "not measured", Signed: f.Quantity.Signed()}
		if f.Before != nil {
			before.Value, before.Why = *f.Before, ""
		}
		if f.After != nil {
			after.Value, after.Why = *f.After, ""
		}
		t.Rows = append(t.Rows, compareRow(label, f.Quantity.Unit(), before, after, f.Change))
	}
	return t
}
