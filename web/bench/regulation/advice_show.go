package regulation

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/oscillator"
	"ledgerwheel/domain/text"
	"ledgerwheel/domain/timing"
	"ledgerwheel/web/runs"
	"ledgerwheel/web/view"
)

// view is the sheet of advice, but for what only the request knows.
func (a advised) view(number string, next *view.NextView) adviceView {
	v := adviceView{Paper: view.LinkView{Text: "To the regulation sheet", Href: view.DocketURL(number, "regulation"),
		TestID: "to-regulation"}}
	switch {
	case !a.found:
		v.Empty = "Advice is taken from the readings of a run. None is recorded on this docket."
		return v
	case a.Why != "":
		v.Empty = "The readings cannot be fitted: " + a.Why
		return v
	}
	v.Next, v.Basis = a.shows(next), a.basis()
	v.On = a.on()
	v.Cautions = cautionsOf(a.Report.Advice)
	for _, x := range a.Report.Advice {
		item := a.item(x)
		for _, c := range x.Cautions {
			if !slices.Contains(v.Cautions, c) {
				item.Cautions = append(item.Cautions, c)
			}
		}
		if x.Kind == oscillator.OutOfPoise {
			item.Tool = &view.LinkView{Text: "Poise it step by step", Href: view.DocketURL(number, "poising"), TestID: "to-poising"}
		}
		v.Items = append(v.Items, item)
	}
	if all := a.Report.All; all != nil && len(v.Items) > 1 {
		v.All = outcomeOf(*all)
	}
	v.Poise, v.Poising = a.poise(), view.DocketURL(number, "poising")
	v.Check = a.prediction()
	v.Model = a.modelTerms()
	v.Charts = []view.ChartView{a.ratesChart(), a.amplitudeChart()}
	v.Outliers, v.Unknown = a.outliers(), a.unknown()
	about := make([]string, len(v.Unknown))
	for i, w := range v.Unknown {
		about[i] = text.Uncapital(w.What)
	}
	v.UnknownSay = strings.Join(about, ", ")
	return v
}

// firstForecast is the place of the first advice that foretells rates, -1 for none.
func (a advised) firstForecast() int {
	return slices.IndexFunc(a.Report.Advice, func(x oscillator.Advice) bool {
		return x.Forecast != nil &&
			len(x.Forecast.Rates) > 0
	})
}

// item is one piece of advice.
func (a advised) item(x oscillator.Advice) adviceItemView {
	v := adviceItemView{Slug: rowSlug(x.Row), Title: x.Title, Suspicion: x.Suspicion, Cause: x.Cause,
		Correction: x.Correction}
	if x.After != "" {
		v.After = "after: " + text.Uncapital(nameOf(x.After))
	}
	for _, text := range append([]string{x.Seen}, x.Evidence...) {
		if text != "" {
			v.Seen = append(v.Seen, text)
		}
	}
	for _, f := range x.Figures {
		p := f.Value.Print(f.Signed)
		v.Figures = append(v.Figures, view.FigureView{Label: f.Label, Value: p.Value, Uncertainty: p.Uncertainty,
			Unit: p.Unit})
	}
	if x.Forecast != nil {
		v.Outcome = outcomeOf(*x.Forecast)
		if len(x.Forecast.Rates) > 0 {
			t := a.expectedTable("expected-"+v.Slug, *x.Forecast)
			v.Expected = &t
		}
	}
	return v
}

// rowSlug is a row of the steps as an id.
func rowSlug(row string) string { return strings.NewReplacer(" ", "-", "_", "-").Replace(row) }

// nameOf is what a step is called.
func nameOf(k oscillator.Kind) string {
	for _, s := range oscillator.Steps() {
		if s.Kind == k {
			return s.Name
		}
	}
	return ""
}

// Probabilities beyond which a run is said to be likely to pass, or not to.
const (
	likelyPass = 0.95
	likelyFail = 0.05
)

func outcomeOf(f oscillator.Forecast) *outcomeView {
	o := outcomeView{Mark: view.NotMeasured, Word: "not known", Text: f.PassText}
	if p := f.PassProbability; p != nil {
		switch {
		case *p >= likelyPass:
			o.Mark, o.Word = view.Pass, "pass expected"
		case *p <= likelyFail:
			o.Mark, o.Word = view.Fail, "fail expected"
		default:
			o.Mark, o.Word = view.Undecided, "undecided"
		}
	}
	return &o
}

// expectedTable sets the rates by the fit beside those to be expected, position by position and state by state.
func (a advised) expectedTable(id string, f oscillator.Forecast) view.DataView {
	t := view.DataView{TableView: view.TableView{ID: id, Caption: "Rates by the fit, now and to be expected",
		HideCaption: true, Dense: true, TestID: id},
		Columns: []view.Column{{Text: "position"}}}
	var states []float64
	for _, r := range f.Rates {
		if !slices.Contains(states, r.Hours) {
			states = append(states, r.Hours)
			words := timing.StateWords(r.Hours)
			t.Columns = append(t.Columns, view.Column{Text: "now, " + words, Unit: timing.UnitSPerDay, Numeric: true},
				view.Column{Text: "expected, " + words, Unit: timing.UnitSPerDay, Numeric: true})
		}
	}
	for _, p := range timing.Positions() {
		row := view.Row{Head: true, Cells: []view.Cell{{Text: string(p), Note: p.Words(a.run.Sheet.Run.CrownHour)}}}
		for _, hours := range states {
			now, then := view.Txt("–"), view.Txt("–")
			for _, r := range f.Rates {
				if r.Position == p && r.Hours == hours {
					now, then = rateCell(r.Now), rateCell(r.Rate)
				}
			}
			row.Cells = append(row.Cells, now, then)
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

// rateCell is a rate with its uncertainty, the unit standing in the heading.
func rateCell(v metrology.Value) view.Cell {
	p := v.Brief(true)
	return view.Show(runs.Stat(runs.StatView{Value: p.Value, Uncertainty: p.Uncertainty}))
}

// usualCautions stand before every advice, each in the words of the advice where it says it; the word tells.
var usualCautions = []struct{ word, text string }{
	{"let down", "The mainspring is let down before balance or fork is lifted."},
	{"magnetism", "Any magnetism is taken out first: it imitates almost every other fault."},
	{"local rules", "Local rules and licensed practice come before this page, above all where dial or hands may hold " +
		"radium, and for solvents and lamps."},
}

// cautionsOf are the usual cautions, as the advice says them.
func cautionsOf(list []oscillator.Advice) []string {
	var said []string
	for _, x := range list {
		for _, c := range x.Cautions {
			if !slices.Contains(said, c) {
				said = append(said, c)
			}
		}
	}
	var out []string
	for _, usual := range usualCautions {
		at := slices.IndexFunc(said, func(c string) bool { return strings.Contains(c, usual.word) })
		if at < 0 {
			out = append(out, usual.text)
			continue
		}
		out = append(out, said[at])
	}
	return out
}

// degreesPerHour is the angle between two hour marks of the dial.
const degreesPerHour = 30

// shown is what the fit says of the run the advice is on.
func (a advised) shown() oscillator.RunFit { return a.Report.Fit.Runs[a.Report.Run] }

// basis says what the fit rests on.
func (a advised) basis() string {
	readings := 0
	for _, run := range a.Report.Fit.Runs {
		readings += run.Readings
	}
	return fmt.Sprintf("from %s and %s of this docket", counted(readings, "reading", "readings"),
		counted(len(a.Report.Fit.Runs), "run", "runs"))
}

// on names the run that the advice is on, and what judges it.
func (a advised) on() string {
	said := "Run " + a.run.Sheet.Run.Title()
	if a.by.Limits != nil {
		said += ", judged by " + runs.VersionName(a.by.Limits.Limits)
	}
	return said + "."
}

func counted(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

// modelTerms are the figures of the fit for the run; what the readings cannot tell is said to be open.
func (a advised) modelTerms() []view.TermView {
	run := a.shown()
	signed := func(v metrology.Value, known bool) string {
		if !known {
			return "open: see what cannot be concluded"
		}
		return v.FormatSigned()
	}
	have := map[bool]bool{}
	for _, r := range run.Run.Readings {
		have[r.Position.Horizontal()] = have[r.Position.Horizontal()] || r.RateSPerDay != nil && r.AmplitudeDeg != nil
	}
	poise := "open: see what cannot be concluded"
	if run.PoiseKnown {
		poise = run.Poise.Size.Format()
		if !run.Poise.Significant {
			poise = fmt.Sprintf("not significant, likely below %.0f ppm", run.Poise.UpperPPM)
		}
	}
	terms := []view.TermView{
		view.Term("A rate laid again, standard deviation", a.Report.Fit.Repeatability().Format()),
		view.Term("Hanging rate at 270°, poise apart", signed(run.Base, have[false])),
		view.Term("Lying less hanging at equal amplitude", signed(run.Horizontal, have[true] && have[false])),
		view.Term("Dial up less dial down", signed(run.Side, run.SideKnown)),
		view.Term("Isochronism", signed(run.Slope, run.SlopeKnown)),
		view.Term("Heavy spot, m·g·r/k", poise),
	}
	if a.Report.Fit.DegreesOfFreedom > 0 {
		agreement := fmt.Sprintf("χ² = %.1f with %s of freedom", a.Report.Fit.ChiSquare,
			counted(a.Report.Fit.DegreesOfFreedom, "degree", "degrees"))
		terms = append(terms, view.Term("Agreement of the readings", agreement))
	}
	return terms
}

// outliers name the readings that stand off, of every run.
func (a advised) outliers() []string {
	var out []string
	for _, w := range a.Report.Fit.Wild {
		text := w.Text
		if len(a.Report.Fit.Runs) > 1 {
			text = "Run " + a.Report.Fit.Runs[w.Run].Run.Title() + ": " + text
		}
		out = append(out, text)
	}
	return out
}

// topicWords name what a gap is about.
var topicWords = map[string]string{"poise": "Poise", "isochronism": "Isochronism", "reading": "A reading left out",
	"side":       "Dial up against dial down",
	"horizontal": "Lying against hanging", "scatter": "How well the readings agree"}

func (a advised) unknown() []runs.WhyView {
	var out []runs.WhyView
	for _, g := range a.Report.Gaps {
		out = append(out, runs.WhyView{What: cmp.Or(topicWords[g.Topic], text.Capital(g.Topic)), Why: g.Text})
	}
	return out
}

// standsOff reports whether the fit found a reading of the run wild.
func (a advised) standsOff(p timing.Position, hours float64) bool {
	for _, w := range a.Report.Fit.Wild {
		if w.Run == a.Report.Run && w.Position == p && timing.HoursText(w.Hours) == timing.HoursText(hours) {
			return true
		}
	}
	return false
}
