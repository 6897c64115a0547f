package regulation

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/oscillator"
	"ledgerwheel/domain/text"
	"ledgerwheel/domain/timing"
	"ledgerwheel/web/chart"
	"ledgerwheel/web/runs"
	"ledgerwheel/web/view"
)

// view is the sheet of advice, but for what only the request knows.
func (a advised) view(number string) adviceView {
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
	v.Next, v.Basis = a.nextStep(), a.basis()
	for i, item := range a.Report.Advice {
		v.Items = append(v.Items, a.item(item, i == a.firstForecast()))
	}
	if all := a.Report.All; all != nil && len(v.Items) > 1 {
		v.All = outcomeOf(*all)
	}
	v.Cautions = cautionsOf(a.Report.Advice)
	v.Poise = a.poise()
	v.Check = a.prediction()
	v.Model = a.modelTerms()
	v.Charts = []view.ChartView{a.ratesChart(), a.amplitudeChart()}
	v.Outliers, v.Unknown = a.outliers(), a.unknown()
	return v
}

// firstForecast is the place of the first advice that foretells rates, -1 for none.
func (a advised) firstForecast() int {
	return slices.IndexFunc(a.Report.Advice, func(x oscillator.Advice) bool {
		return x.Forecast != nil &&
			len(x.Forecast.Rates) > 0
	})
}

// item is one piece of advice; the expected rates of the first are open, those of the rest folded.
func (a advised) item(x oscillator.Advice, open bool) adviceItemView {
	v := adviceItemView{Slug: slugOfKind(x.Kind), Title: x.Title, Suspicion: x.Suspicion, Cause: x.Cause,
		Correction: x.Correction, Open: open}
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

// slugOfKind is a kind of advice as an id.
func slugOfKind(k oscillator.Kind) string { return strings.ReplaceAll(string(k), " ", "-") }

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
	p := v.Print(true)
	return view.Show(runs.Stat(runs.StatView{Value: p.Value, Uncertainty: p.Uncertainty}))
}

// usualCautions stand beside every advice, each unless the advice itself says it; the word tells.
var usualCautions = []struct{ word, text string }{
	{"let down", "The mainspring is let down before balance or fork is lifted."},
	{"magnetism", "Any magnetism is taken out first: it imitates almost every other fault."},
	{"local rules", "Local rules and licensed practice come before this page, above all where dial or hands may hold " +
		"radium, and for solvents and lamps."},
}

// cautionsOf gathers what all advice asks to mind, each once.
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
		said = slices.Delete(said, at, at+1)
	}
	return append(out, said...)
}

// poise draws and says the heavy spot, or why the readings cannot tell it.
func (a advised) poise() *poiseView {
	h := a.shown().Poise
	v := &poiseView{Text: h.Text(), Dial: view.ChartView{Caption: "Where the heavy spot lies, the balance at rest",
		TestID: "chart-poise"}}
	if !a.shown().PoiseKnown {
		v.Text = "The readings do not tell the poise of the balance."
		if at := slices.IndexFunc(a.Report.Gaps, func(g oscillator.Gap) bool { return g.Topic == "poise" }); at >= 0 {
			v.Text = a.Report.Gaps[at].Text
		}
		v.Dial.Drawing = chart.PoiseDial{ID: "advice-poise-drawing", Title: "Poise of the balance", Missing: v.Text}
		return v
	}
	v.Dial.Drawing = poiseDial(h, a.balance)
	add := func(term string, value *metrology.Value) {
		if value != nil {
			v.Terms = append(v.Terms, view.Term(term, value.Format()))
		}
	}
	add("Size, m·g·r/k", &h.Size)
	if !h.Significant {
		return v
	}
	v.Terms = append(v.Terms, view.Term("Seen from the dial side, 12 up", h.DialHour().String()+" o’clock"),
		view.Term("Seen from the balance side, 12 up", h.BalanceHour().String()+" o’clock"))
	add("Direction, clockwise from 12 on the dial side", &h.BearingDeg)
	add("From the impulse jewel, clockwise on the balance side", h.FromJewelDeg)
	add("Heavy moment", h.Moment)
	if h.Removal != nil {
		v.Terms = append(v.Terms, view.Term("To take off at the rim", h.Removal.Mass.Format()),
			view.Term("Which by itself gains", h.Removal.GainsRate.FormatSigned()))
	}
	for _, turn := range h.Turns {
		v.Terms = append(v.Terms, view.Term("Or by the screws", turn.String()))
	}
	return v
}

// poiseDial draws a heavy spot in the unit in which it is known best.
func poiseDial(h oscillator.HeavySpot, b oscillator.Balance) chart.PoiseDial {
	size, upper := h.Size, h.UpperPPM
	if h.Moment != nil && h.Size.Value > 0 {
		upper *= h.Moment.Value / h.Size.Value
		size = *h.Moment
	}
	d := chart.PoiseDial{ID: "advice-poise-drawing", Title: "Poise of the balance", Significant: h.Significant,
		AngleDeg:    h.BearingDeg.Value,
		AngleU95Deg: min(h.BearingDeg.Expanded(), 180), Size: size.Value, SizeLow: max(0, size.Value-size.Expanded()),
		SizeHigh: size.Value + size.Expanded(),
		Unit:     size.Unit, SizeText: size.Format(), DirectionText: "towards " + h.DialHour().String() + " o’clock, " +
			h.BearingDeg.Format()}
	if !h.Significant {
		d.SizeLow, d.SizeHigh = 0, max(upper, size.Value)
		d.SizeText = metrology.Value{Value: math.Round(d.SizeHigh), Unit: size.Unit}.Format()
	}
	if b.ImpulseJewel == nil {
		return d
	}
	jewel := float64(*b.ImpulseJewel) * degreesPerHour
	d.JewelDeg = &jewel
	for i, screw := range b.Screws {
		m := chart.PoiseMark{AngleDeg: math.Mod(jewel-screw.FromJewelDeg+720, 360), Name: strconv.Itoa(i + 1)}
		for _, turn := range h.Turns {
			if turn.Screw.Label == screw.Label {
				m.Turn, m.Action = true, strings.TrimPrefix(turn.String(), screw.Label+" ")
			}
		}
		d.Marks = append(d.Marks, m)
	}
	return d
}

// degreesPerHour is the angle between two hour marks of the dial.
const degreesPerHour = 30

// prediction sets the run beside what the run before led to expect; nil when there is nothing to compare.
func (a advised) prediction() *predictionView {
	c := a.Report.Against
	if c == nil || len(c.Rates) == 0 {
		return nil
	}
	v := &predictionView{Text: c.Text, Mark: view.NotMeasured, Word: "not compared"}
	if c.DegreesOfFreedom > 0 {
		switch {
		case c.Probability >= 0.05:
			v.Mark, v.Word = view.Pass, "as expected"
		case c.Probability >= 0.001:
			v.Mark, v.Word = view.Undecided, "in doubt"
		default:
			v.Mark, v.Word = view.Fail, "otherwise"
		}
	}
	v.Table = view.DataView{TableView: view.TableView{ID: "predicted-table", Caption: "Expected after the run " + a.prior +
		" and measured", Dense: true, TestID: "predicted-table"},
		Columns: []view.Column{{Text: "position"}, {Text: "expected", Unit: timing.UnitSPerDay, Numeric: true},
			{Text: "measured", Unit: timing.UnitSPerDay, Numeric: true},
			{Text: "difference", Unit: timing.UnitSPerDay, Numeric: true}}}
	states := map[float64]bool{}
	expected := chart.RateSeries{Name: "expected after the run " + a.prior, Rates: map[timing.Position]metrology.Value{},
		Predicted: true}
	measured := chart.RateSeries{Name: "measured, " + a.run.Sheet.Run.Title(),
		Rates: map[timing.Position]metrology.Value{}}
	for _, r := range c.Rates {
		states[r.Hours] = true
	}
	for _, r := range c.Rates {
		label := string(r.Position)
		if len(states) > 1 {
			label += ", " + timing.StateWords(r.Hours)
		}
		v.Table.Rows = append(v.Table.Rows, view.Row{Head: true, Cells: []view.Cell{view.Txt(label), rateCell(r.Expected),
			rateCell(r.Measured), rateCell(r.Difference)}})
		if r.Hours == c.Rates[0].Hours {
			expected.Rates[r.Position], measured.Rates[r.Position] = r.Expected, r.Measured
		}
	}
	if c.DegreesOfFreedom > 0 {
		v.Note = fmt.Sprintf("Mean of the differences %s, which is how the watch was set; about it χ² = %.1f with %s of "+
			"freedom (probability by chance alone %s).",
			c.MeanShift.FormatSigned(), c.ChiSquare, counted(c.DegreesOfFreedom, "degree", "degrees"),
			timing.Percent(c.Probability))
	}
	drawing := chart.RateByPosition{ID: "advice-predicted", Title: "Rates expected and measured, " +
		timing.StateWords(c.Rates[0].Hours),
		CrownHour: a.run.Sheet.Run.CrownHour, Series: []chart.RateSeries{expected, measured}}
	drawing.Limits, drawing.LimitsLabel = runs.RateLimit(a.by)
	v.Chart = view.ChartView{Caption: "Expected and measured, " + timing.StateWords(c.Rates[0].Hours),
		TestID: "chart-advice-predicted", Drawing: drawing}
	return v
}

// shown is what the fit says of the run the advice is on.
func (a advised) shown() oscillator.RunFit { return a.Report.Fit.Runs[a.Report.Run] }

// basis says what the fit rests on.
func (a advised) basis() string {
	readings := 0
	for _, run := range a.Report.Fit.Runs {
		readings += run.Readings
	}
	text := fmt.Sprintf("Run %s, seen in one fit to %s and %s of this docket", a.run.Sheet.Run.Title(),
		counted(readings, "reading", "readings"), counted(len(a.Report.Fit.Runs), "run", "runs"))
	if a.by.Limits != nil {
		text += "; judged by " + runs.VersionName(a.by.Limits.Limits)
	}
	return text + "."
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
		view.Term("Hanging rate at 270°, poise apart", signed(run.Base, have[false])),
		view.Term("Lying less hanging at equal amplitude", signed(run.Horizontal, have[true] && have[false])),
		view.Term("Dial up less dial down", signed(run.Side, run.SideKnown)),
		view.Term("Isochronism", signed(run.Slope, run.SlopeKnown)),
		view.Term("Heavy spot, m·g·r/k", poise),
	}
	if a.Report.Fit.DegreesOfFreedom > 0 {
		agreement := fmt.Sprintf("χ² = %.1f with %s of freedom", a.Report.Fit.ChiSquare,
			counted(a.Report.Fit.DegreesOfFreedom, "degree", "degrees"))
		if a.Report.Fit.Scale > 1 {
			agreement += fmt.Sprintf("; uncertainties widened %.1f times", a.Report.Fit.Scale)
		}
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

// amplitudeChart is rate against amplitude with the fitted curve of the hanging positions.
func (a advised) amplitudeChart() view.ChartView {
	sh := a.run.Sheet
	c := chart.RateAgainstAmplitude{ID: "advice-amplitude", Title: "Rate against amplitude with the fit, " +
		sh.Run.Title(), MarkNeutral: true}
	for _, hours := range sh.Run.States() {
		for _, s := range chart.AmplitudesOf(only(sh.Run, hours), sh.Instruments()) {
			for i := range s.Points {
				s.Points[i].StandsOff = a.standsOff(s.Points[i].Position, hours)
			}
			c.States = append(c.States, s)
		}
	}
	c.Curves = a.curves()
	return view.ChartView{Caption: "Rate against amplitude", TestID: "chart-advice-amplitude", Drawing: c}
}

// curves are the fitted rates of dial up and of the two hanging positions that lie furthest apart: more would hide one
// another.
func (a advised) curves() []chart.FittedCurve {
	var lying, low, high *oscillator.Curve
	mid := func(c *oscillator.Curve) float64 { return c.Points[len(c.Points)/2].RateSPerDay }
	all := a.Report.Fit.Curves(a.Report.Run)
	for i := range all {
		c := &all[i]
		switch {
		case c.Position.Horizontal() && lying == nil:
			lying = c
		case c.Position.Horizontal():
		case low == nil:
			low, high = c, c
		case mid(c) < mid(low):
			low = c
		case mid(c) > mid(high):
			high = c
		}
	}
	if high == low {
		high = nil
	}
	var out []chart.FittedCurve
	for _, c := range []*oscillator.Curve{lying, high, low} {
		if c == nil {
			continue
		}
		curve := chart.FittedCurve{Name: "fit, " + string(c.Position) + " " + c.Position.Words(a.run.Sheet.Run.CrownHour)}
		for _, p := range c.Points {
			curve.Points = append(curve.Points, chart.CurvePoint{AmplitudeDeg: p.AmplitudeDeg, RateSPerDay: p.RateSPerDay,
				LowerSPerDay: p.RateSPerDay - p.BandSPerDay, UpperSPerDay: p.RateSPerDay + p.BandSPerDay})
		}
		out = append(out, curve)
	}
	return out
}

// only is the run at one state of wind.
func only(run timing.Run, hours float64) timing.Run {
	var kept []timing.Reading
	for _, r := range run.Readings {
		if timing.HoursText(r.HoursAfterWinding) == timing.HoursText(hours) {
			kept = append(kept, r)
		}
	}
	run.Readings = kept
	return run
}

// ratesChart is the run's rates at its fullest state with those to be expected after the first correction.
func (a advised) ratesChart() view.ChartView {
	sh := a.run.Sheet
	c := chart.RateByPosition{ID: "advice-rates", Title: "Rate by position, " + sh.Run.Title(),
		CrownHour: sh.Run.CrownHour}
	c.Limits, c.LimitsLabel = runs.RateLimit(a.by)
	caption := "Rate by position"
	if states := sh.Run.States(); len(states) > 0 {
		c.Series = append(c.Series, chart.RatesOf("measured, "+timing.StateWords(states[0]), sh.Run, states[0],
			sh.Instruments()))
	}
	if at := a.firstForecast(); at >= 0 {
		f := a.Report.Advice[at].Forecast
		expected := chart.RateSeries{Name: "expected: " + string(a.Report.Advice[at].Kind),
			Rates: map[timing.Position]metrology.Value{}, Predicted: true}
		for _, r := range f.Rates {
			if r.Hours == f.Rates[0].Hours {
				expected.Rates[r.Position] = r.Rate
			}
		}
		c.Series = append(c.Series, expected)
		caption += ", and to be expected"
	}
	return view.ChartView{Caption: caption, TestID: "chart-advice-rates", Drawing: c}
}
