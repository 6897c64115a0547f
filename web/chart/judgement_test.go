package chart_test

import (
	"errors"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/timing"
	"ledgerwheel/web/chart"
)

func sPerDay(rate, u float64) *metrology.Value {
	return &metrology.Value{Value: rate, StdUncertainty: u, Unit: "s/d"}
}

func poise() chart.PoiseDial {
	jewel := 95.0
	c := chart.PoiseDial{ID: "poise", Title: "Poise of the balance", Significant: true,
		AngleDeg: 130, AngleU95Deg: 14, Size: 32, SizeLow: 24, SizeHigh: 40, Unit: "µg·mm",
		DirectionText: "towards 4 h 20, 130° ± 14°", SizeText: "32 ± 8 µg·mm", JewelDeg: &jewel}
	for i, deg := range []float64{10, 40, 75, 105, 135, 160, 190, 220, 255, 285, 315, 340} {
		m := chart.PoiseMark{AngleDeg: deg, Name: string(rune('a' + i))}
		if i == 4 {
			m.Turn, m.Action = true, "about half a turn out"
		}
		c.Marks = append(c.Marks, m)
	}
	return c
}

// trial is a trial of the fifteen days of ISO 3159 (positions and temperatures as digests of the standard give them)
// of which the first so many are taken.
func trial(taken int) chart.TrialStrip {
	positions := []timing.Position{"6H", "6H", "3H", "3H", "9H", "9H", "FH", "FH", "CH", "CH", "CH", "CH", "CH", "6H",
		"6H"}
	rates := []float64{2.1, 2.6, -1.4, -0.9, 3.8, 3.1, 4.4, 4.9, 0.8, 1.2, 3.5, 1.1, -2.4, 2.2, 2.9}
	c := chart.TrialStrip{ID: "trial", Title: "Chronometer trial", CrownHour: timing.CrownAtThree, MeanDays: 10,
		MeanLimits: metrology.Between(-4, 6), MeanLimitsLabel: "limits of the mean rate, −4 to +6 s/d",
		ReachSPerDay: 10, ReachLabel: "greatest deviation from the mean, 10 s/d"}
	for i, p := range positions {
		day := chart.TrialDay{Number: i + 1, Position: p, ChamberC: 23}
		switch i {
		case 10:
			day.ChamberC = 8
		case 12:
			day.ChamberC = 38
		}
		switch {
		case i < taken:
			day.State, day.Rate = chart.DayTaken, sPerDay(rates[i], 0.25)
		case i == taken:
			day.State = chart.DayToday
		}
		c.Days = append(c.Days, day)
	}
	if taken >= 10 {
		c.Mean = sPerDay(2.06, 0.09)
	}
	return c
}

func spoiltTrial() chart.TrialStrip {
	c := trial(8)
	c.ID = "spoilt"
	c.Days[4].State, c.Days[4].Rate, c.Days[4].Reason = chart.DayMissed, nil, "the shop was closed"
	c.Days[6].State = chart.DaySpoilt
	c.Days[6].Reason = "lay dial up instead of dial down, and the chamber stood at 26.5 °C for most of the night " +
		"before the reading"
	return c
}

// fitted is the isochronism chart with the fit of a sagging curve, and one reading that stands off.
func fitted() chart.RateAgainstAmplitude {
	c := againstAmplitude()
	c.ID = "fitted"
	c.States[0].Points[3].Rate.Value += 9
	c.States[0].Points[3].StandsOff = true
	curve := chart.FittedCurve{Name: "fit, all positions", Remark: "−0.6 ± 0.2 s/d per 10°"}
	second := chart.FittedCurve{Name: "fit without the heavy spot"}
	third := chart.FittedCurve{Name: "as expected"}
	for a := 200.0; a <= 320; a += 5 {
		mid := 2 + 0.03*(a-255) - 0.0006*(a-255)*(a-255)
		half := 0.6 + 0.0004*(a-255)*(a-255)
		curve.Points = append(curve.Points, chart.CurvePoint{AmplitudeDeg: a, RateSPerDay: mid, LowerSPerDay: mid - half,
			UpperSPerDay: mid + half})
		second.Points = append(second.Points, chart.CurvePoint{AmplitudeDeg: a, RateSPerDay: 6 + 0.4*(a-255),
			LowerSPerDay: 5 + 0.4*(a-255), UpperSPerDay: 7 + 0.4*(a-255)})
	}
	third.Points = []chart.CurvePoint{{AmplitudeDeg: 225, RateSPerDay: -3, LowerSPerDay: -4, UpperSPerDay: -2},
		{AmplitudeDeg: 300, RateSPerDay: -2, LowerSPerDay: -3, UpperSPerDay: -1}}
	c.Curves = []chart.FittedCurve{curve, second, third}
	return c
}

func predicted() chart.RateByPosition {
	c := byPosition()
	c.ID = "predicted"
	expected := chart.RateSeries{Name: "expected", Predicted: true, Rates: map[timing.Position]metrology.Value{}}
	for i, p := range timing.Positions() {
		if p != timing.DialDown {
			expected.Rates[p] = *sPerDay([]float64{4.5, 0, 1, 5, 1.5, -2}[i], 1.4)
		}
	}
	c.Series = []chart.RateSeries{c.Series[0], expected, c.Series[1]}
	return c
}

func room(id string, value *metrology.Value, limits metrology.Limits, verdict metrology.Verdict,
	words string) chart.CriterionRoom {
	return chart.CriterionRoom{ID: id, Title: "Mean daily rate", Value: value, Limits: limits, Verdict: verdict,
		RoomText: words}
}

// judgementDrawings are the charts of the regulator's judgement that have a golden drawing.
func judgementDrawings() map[string]interface{ SVG() (string, error) } {
	none := poise()
	none.ID, none.Significant, none.SizeHigh, none.SizeText = "none", false, 9, "less than 9 µg·mm, 95 %"
	none.Marks = nil
	missing := poise()
	missing.ID, missing.JewelDeg = "missing", nil
	missing.Missing = "Two hanging positions were read; at least three are needed before anything can be said about " +
		"the poise of the balance."
	missing.Marks = []chart.PoiseMark{{AngleDeg: 0}, {AngleDeg: 180}}
	wide := poise()
	wide.ID, wide.AngleDeg, wide.AngleU95Deg, wide.SizeLow, wide.Unit = "wide", -350, 110, 0, ""
	wide.JewelText = "towards 3 h 10"
	wide.Marks = []chart.PoiseMark{{AngleDeg: 0, Turn: true}, {AngleDeg: 5, Name: "b"},
		{AngleDeg: 180, Name: "a long name"}}
	round := poise()
	round.ID, round.AngleU95Deg = "round", 180
	return map[string]interface{ SVG() (string, error) }{
		"poise-dial": poise(), "poise-dial-none": none, "poise-dial-missing": missing, "poise-dial-wide": wide,
		"poise-dial-round": round,
		"trial-strip":      trial(15), "trial-strip-open": trial(6), "trial-strip-new": trial(0),
		"trial-strip-spoilt":            spoiltTrial(),
		"trial-strip-wide":              wideTrial(),
		"trial-strip-empty":             chart.TrialStrip{ID: "none", Title: "Trial"},
		"rate-against-amplitude-fitted": fitted(), "rate-by-position-predicted": predicted(),
		"criterion-room-pass": room("pass", sPerDay(2.06, 0.09), metrology.Between(-4, 6), metrology.Pass, "3.9 left"),
		"criterion-room-fail": room("fail", sPerDay(7.3, 0.2), metrology.Between(-4, 6), metrology.Fail, "over by 1.3"),
		"criterion-room-undecided": room("undecided", sPerDay(1.95, 0.2), metrology.AtMost(2), metrology.Undecided,
			"0.05 left"),
		"criterion-room-far": room("far", sPerDay(-480, 2), metrology.Between(-4, 6), metrology.Fail, "over by 476"),
		"criterion-room-open": room("open", nil, metrology.Between(-0.6, 0.6), metrology.NotMeasured,
			"known from day 13"),
		"criterion-room-least": room("least", &metrology.Value{Value: 251, StdUncertainty: 2, Unit: "°"},
			metrology.AtLeast(220), metrology.Pass, "31 left"),
		"criterion-room-unjudged": room("unjudged", sPerDay(1, 0), metrology.AtMost(2), metrology.NotMeasured, ""),
	}
}

// The two sides mirror each other: a heavy spot at three o'clock lies right on the dial side, left on the other.
func TestPoiseDialIsMirrored(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ deg, right, up float64 }{{0, 0, 1}, {90, 1, 0}, {180, 0, -1}, {270, -1, 0}, {-90, -1, 0}} {
		dial := poise()
		dial.AngleDeg, dial.Marks, dial.JewelDeg = c.deg, nil, nil
		drawing, err := dial.SVG()
		if err != nil {
			t.Fatal(err)
		}
		var marks, centres [][2]float64
		for _, n := range parse(t, drawing).Nodes {
			switch {
			case strings.HasPrefix(n.attr("class"), "chart-mark"):
				at := numbers.FindAllString(n.attr("transform"), 2)
				marks = append(marks, [2]float64{atof(t, at[0]), atof(t, at[1])})
			case n.attr("class") == "chart-pivot":
				centres = append(centres, [2]float64{atof(t, n.attr("cx")), atof(t, n.attr("cy"))})
			}
		}
		const out = 32.0 / 50 * 52 // the size, of the next round figure, which the rim stands for
		for side, hand := range []float64{1, -1} {
			dx, dy := marks[side][0]-centres[side][0], centres[side][1]-marks[side][1]
			// Coordinates are to 0.01.
			if math.Abs(dx-hand*c.right*out) > 0.02 || math.Abs(dy-c.up*out) > 0.02 {
				t.Errorf("at %v°, side %d: the mark lies %.2f right and %.2f up of the centre", c.deg, side, dx, dy)
			}
		}
	}
}

// The rates of a strip stand at heights in proportion, over their days in order.
func TestTrialStripMarksStandAtTheirFigures(t *testing.T) {
	t.Parallel()
	c := trial(15)
	drawing, err := c.SVG()
	if err != nil {
		t.Fatal(err)
	}
	var xs, ys []float64
	for _, n := range parse(t, drawing).Nodes {
		if strings.HasPrefix(n.attr("class"), "chart-mark") {
			at := numbers.FindAllString(n.attr("transform"), 2)
			xs, ys = append(xs, atof(t, at[0])), append(ys, atof(t, at[1]))
		}
	}
	if len(ys) != 15 {
		t.Fatalf("%d marks, want fifteen", len(ys))
	}
	perSecond := (ys[12] - ys[7]) / (c.Days[12].Rate.Value - c.Days[7].Rate.Value)
	if perSecond >= 0 {
		t.Fatalf("a gaining rate does not stand higher: %v units per s/d", perSecond)
	}
	for i, day := range c.Days {
		if want := ys[0] + perSecond*(day.Rate.Value-c.Days[0].Rate.Value); math.Abs(ys[i]-want) > 0.1 { // to 0.01 each
			t.Errorf("day %d stands at %v, want %v", i+1, ys[i], want)
		}
		if i > 0 && xs[i] <= xs[i-1] {
			t.Errorf("day %d does not stand right of the day before", i+1)
		}
	}
}

func TestJudgementDescriptionsCarryTheFigures(t *testing.T) {
	t.Parallel()
	all := judgementDrawings()
	for name, wants := range map[string][]string{
		"poise-dial": {"towards 4 h 20, 130° ± 14°", "from the balance side it lies 230° clockwise", "32 ± 8 µg·mm",
			"Impulse jewel at rest: at 95°", "e at 135°, the one to turn: about half a turn out"},
		"poise-dial-none":    {"no significant poise error: less than 9 µg·mm"},
		"poise-dial-missing": {"at least three are needed"},
		"poise-dial-round":   {"all the way round"},
		"trial-strip": {"Day 1, 6H (crown left), 23 °C: +2.10 ± 0.50 s/d",
			"Day 11, CH (dial up), 8 °C: +3.50 ± 0.50 s/d", "Mean of the first 10 days: +2.06 ± 0.18 s/d"},
		"trial-strip-open": {"Day 7, FH (dial down), 23 °C: to be read next", "Day 15, 6H (crown left), 23 °C: still open"},
		"trial-strip-spoilt": {"Day 5, 9H (crown down), 23 °C: missed (the shop was closed)",
			"s/d, spoilt (lay dial up instead of dial down"},
		"rate-against-amplitude-fitted": {"6H +15.0 ± 1.2 s/d at 252.0° ± 2.1°, stands off the fit",
			"Fitted curve, fit, all positions (−0.6 ± 0.2 s/d per 10°), with its 95 % band: at 200°",
			"at 320°"},
		"rate-by-position-predicted": {"expected (predicted, not measured): CH (dial up) +4.5 ± 2.8 s/d",
			"not predicted: FH"},
		"criterion-room-fail":      {"+7.30 ± 0.40 s/d. Limits: −4 s/d to +6 s/d. over by 1.3. Verdict: fail."},
		"criterion-room-open":      {"No value yet", "Limits: −0.6 to +0.6", "known from day 13"},
		"criterion-room-undecided": {"Limit: at most 2 s/d", "undecided"},
	} {
		drawing, err := all[name].SVG()
		if err != nil {
			t.Fatal(err)
		}
		desc := parse(t, drawing).Nodes[1].Text
		for _, want := range wants {
			if !strings.Contains(desc, want) {
				t.Errorf("%s: %q is not in %q", name, want, desc)
			}
		}
	}
}

// wideTrial is a trial drawn for a wide screen.
func wideTrial() chart.TrialStrip {
	c := spoiltTrial()
	c.ID, c.Wide = "wide", true
	return c
}

// States are said by word in the drawing too, not only in its description.
func TestStatesAreWrittenOut(t *testing.T) {
	t.Parallel()
	all := judgementDrawings()
	for name, wants := range map[string][]string{
		"trial-strip-spoilt": {"Day 5 missed: the shop was closed",
			"Day 7 spoilt: lay dial up instead of dial down,", "today", "still open"},
		"rate-against-amplitude-fitted": {"6H stands off"},
		"poise-dial-none":               {"no significant poise error"},
		"poise-dial":                    {"from the dial side", "from the balance side", "turn: e at 135°"},
		"criterion-room-fail":           {"over by 1.3", "−4", "+6"},
	} {
		drawing, err := all[name].SVG()
		if err != nil {
			t.Fatal(err)
		}
		var texts []string
		for _, n := range parse(t, drawing).Nodes {
			if n.XMLName.Local == "text" {
				texts = append(texts, n.Text)
			}
		}
		for _, want := range wants {
			if !strings.Contains("|"+strings.Join(texts, "|")+"|", "|"+want+"|") {
				t.Errorf("%s: no text %q among %q", name, want, texts)
			}
		}
	}
}

func TestJudgementRefusals(t *testing.T) {
	t.Parallel()
	nan := math.NaN()
	for name, c := range map[string]struct {
		drawing interface{ SVG() (string, error) }
		want    error
	}{
		"dial ID":     {chart.PoiseDial{ID: "1"}, chart.ErrID},
		"dial angle":  {chart.PoiseDial{ID: "x", AngleDeg: nan}, chart.ErrNotFinite},
		"dial jewel":  {chart.PoiseDial{ID: "x", JewelDeg: &nan}, chart.ErrNotFinite},
		"dial screw":  {chart.PoiseDial{ID: "x", Marks: []chart.PoiseMark{{AngleDeg: math.Inf(1)}}}, chart.ErrNotFinite},
		"dial region": {chart.PoiseDial{ID: "x", Significant: true, SizeLow: 2, SizeHigh: 1}, chart.ErrNotFinite},
		"strip ID":    {chart.TrialStrip{ID: "", Days: trial(3).Days}, chart.ErrID},
		"strip rate": {chart.TrialStrip{ID: "x", Days: []chart.TrialDay{{State: chart.DayTaken, Rate: sPerDay(nan, 0)}}},
			chart.ErrNotFinite},
		"strip chamber": {chart.TrialStrip{ID: "x", Days: []chart.TrialDay{{ChamberC: nan}}}, chart.ErrNotFinite},
		"strip days":    {chart.TrialStrip{ID: "x", Days: make([]chart.TrialDay, 17)}, chart.ErrTooMany},
		"room value":    {room("x", sPerDay(nan, 0), metrology.AtMost(2), metrology.Fail, ""), chart.ErrNotFinite},
		"room ID":       {room(" ", sPerDay(1, 0), metrology.AtMost(2), metrology.Pass, ""), chart.ErrID},
		"curve": {chart.RateAgainstAmplitude{ID: "x",
			Curves: []chart.FittedCurve{{Points: []chart.CurvePoint{{UpperSPerDay: nan}}}}}, chart.ErrNotFinite},
		"curves": {chart.RateAgainstAmplitude{ID: "x", Curves: make([]chart.FittedCurve, 4)}, chart.ErrTooMany},
		"two predictions": {chart.RateByPosition{ID: "x", Series: []chart.RateSeries{{Predicted: true}, {Predicted: true}}},
			chart.ErrTooMany},
	} {
		if _, err := c.drawing.SVG(); !errors.Is(err, c.want) {
			t.Errorf("%s: got %v, want %v", name, err, c.want)
		}
	}
	if _, err := room("x", nil, metrology.Limits{}, metrology.NotMeasured, "").SVG(); err == nil {
		t.Error("a criterion without limits was drawn")
	}
}

// Whatever the figures, the drawings are whole: well formed, with all points inside.
func TestAnyJudgementIsDrawnInside(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		number := rapid.Float64Range(-9999, 9999)
		spread := rapid.Float64Range(0, 99)
		dial := chart.PoiseDial{ID: "x", Title: "x", Significant: rapid.Bool().Draw(t, "significant"),
			AngleDeg: rapid.Float64Range(-720, 720).Draw(t, "angle"), AngleU95Deg: rapid.Float64Range(0, 400).Draw(t, "sector"),
			Size: rapid.Float64Range(0, 1e6).Draw(t, "size")}
		dial.SizeLow = dial.Size * rapid.Float64Range(0, 1).Draw(t, "low")
		dial.SizeHigh = dial.Size * rapid.Float64Range(1, 9).Draw(t, "high")
		for range rapid.IntRange(0, 20).Draw(t, "screws") {
			dial.Marks = append(dial.Marks, chart.PoiseMark{AngleDeg: rapid.Float64Range(0, 360).Draw(t, "at"), Name: "9",
				Turn: rapid.Bool().Draw(t, "turn")})
		}
		strip := trial(15)
		for i := range strip.Days {
			strip.Days[i].State = chart.DayState(rapid.IntRange(0, 4).Draw(t, "state"))
			strip.Days[i].Rate = sPerDay(number.Draw(t, "rate"), spread.Draw(t, "u"))
			strip.Days[i].Position = rapid.SampledFrom(timing.Positions()).Draw(t, "position")
		}
		strip.Mean = sPerDay(number.Draw(t, "mean"), spread.Draw(t, "u"))
		low := number.Draw(t, "lower")
		limits := rapid.SampledFrom([]metrology.Limits{metrology.AtLeast(low), metrology.AtMost(low),
			metrology.Between(low, low+spread.Draw(t, "wide"))}).Draw(t, "limits")
		bar := room("x", sPerDay(number.Draw(t, "value"), spread.Draw(t, "u")), limits,
			metrology.Verdict(rapid.IntRange(0, 3).Draw(t, "verdict")), "some room left")
		curve := fitted()
		for i := range curve.Curves[1].Points {
			curve.Curves[1].Points[i].RateSPerDay = number.Draw(t, "curve")
		}
		for _, d := range []interface{ SVG() (string, error) }{dial, strip, bar, curve} {
			drawing, err := d.SVG()
			if err != nil {
				t.Fatal(err)
			}
			if strings.Contains(drawing, "NaN") || strings.Contains(drawing, "Inf") {
				t.Fatalf("a coordinate is not a number: %s", drawing)
			}
			inside(t, parse(t, drawing))
		}
	})
}

// BenchmarkDocket draws all the charts of a docket of twenty runs: two charts a run, the dial, the trial and its
// seven criteria.
func BenchmarkDocket(b *testing.B) {
	var all []interface{ SVG() (string, error) }
	for range 20 {
		all = append(all, predicted(), fitted())
	}
	all = append(all, poise(), trial(15))
	for range 7 {
		all = append(all, room("x", sPerDay(2.06, 0.09), metrology.Between(-4, 6), metrology.Pass, "3.9 left"))
	}
	b.ReportAllocs()
	for b.Loop() {
		for _, c := range all {
			if _, err := c.SVG(); err != nil {
				b.Fatal(err)
			}
		}
	}
}
