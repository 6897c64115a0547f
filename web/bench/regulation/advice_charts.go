package regulation

import (
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

// poise draws and says the heavy spot, or why the readings cannot tell it.
func (a advised) poise() *poiseView {
	h := a.shown().Poise
	v := &poiseView{Text: h.Text(), Dial: view.ChartView{Caption: "Where the heavy spot lies, the balance at rest",
		TestID: "chart-poise"}}
	if !a.shown().PoiseKnown || h.Significant && !a.Report.PoiseGiven {
		v.Text = "The readings do not tell the poise of the balance."
		if h.Significant && a.Report.PoiseWithheld != "" {
			v.Text = a.Report.PoiseWithheld
		}
		if at := slices.IndexFunc(a.Report.Gaps, func(g oscillator.Gap) bool { return g.Topic == "poise" }); at >= 0 {
			v.Text = a.Report.Gaps[at].Text
		}
		v.Dial.Drawing = chart.PoiseDial{ID: "advice-poise-drawing", Title: "Poise of the balance", Missing: v.Text}
		v.Says = "not told by the readings"
		return v
	}
	v.Dial.Drawing = poiseDial(h, a.balance)
	v.Says = "not significant"
	if h.Significant {
		v.Says = "heavy towards " + h.DialHour().String() + " o’clock, " + h.BearingDeg.Format()
	}
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
	for _, turn := range screwTurns(h) {
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
		for _, turn := range screwTurns(h) {
			if turn.Screw.Label == screw.Label {
				m.Turn, m.Action = true, strings.TrimPrefix(turn.String(), screw.Label+" ")
			}
		}
		d.Marks = append(d.Marks, m)
	}
	return d
}

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

// amplitudeChart is rate against amplitude with the fitted curve of the hanging positions.
func (a advised) amplitudeChart() view.ChartView {
	sh := a.run.Sheet
	c := chart.RateAgainstAmplitude{ID: "advice-amplitude", Title: "Rate against amplitude with the fit, " +
		sh.Run.Title(), MarkNeutral: true}
	for _, hours := range sh.Run.States() {
		for _, s := range chart.AmplitudesOf(only(sh.Run.Averaged(), hours), sh.Instruments()) {
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
		expected := chart.RateSeries{Name: "expected: " + text.Uncapital(nameOf(a.Report.Advice[at].Kind)),
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

// screwTurns are the turns that make up for a heavy spot, none where the screws cannot.
func screwTurns(h oscillator.HeavySpot) []oscillator.ScrewTurn {
	if h.Screws == nil {
		return nil
	}
	return h.Screws.Turns
}
