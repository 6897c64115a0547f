package chart_test

import (
	"bytes"
	"context"
	"errors"
	"flag"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/timing"
	"ledgerwheel/web/chart"
)

var update = flag.Bool("update", false, "rewrite the golden drawings")

// run returns a run of six positions at the given states of wind, in grid order.
func run(kind timing.Kind, rates, amplitudes []float64, hours ...float64) timing.Run {
	r := timing.Run{Kind: kind, CrownHour: timing.CrownAtThree}
	for _, h := range hours {
		for i, p := range timing.Positions() {
			r.Readings = append(r.Readings, timing.Reading{
				Position: p, HoursAfterWinding: h, Instrument: "bench 1",
				RateSPerDay:  &timing.Figure{Value: rates[i] + h*(rates[i]-2)/40, Step: 1, StdUncertainty: 0.4},
				AmplitudeDeg: &timing.Figure{Value: amplitudes[i] - 1.6*h, Step: 1, StdUncertainty: 1},
			})
		}
	}
	return r
}

var (
	before = run(timing.AsReceived, []float64{14, 9, -6, 21, 3, -18}, []float64{268, 262, 229, 224, 231, 226}, 0)
	after  = run(timing.Final, []float64{4, 3, 0, 6, 2, -3}, []float64{291, 288, 256, 252, 259, 254}, 0, 24)
	bench  = timing.Instruments{OtherClockStdSPerDay: 0.3}
)

func byPosition() chart.RateByPosition {
	return chart.RateByPosition{
		ID: "rates", Title: "Rate by position, before and after", CrownHour: timing.CrownAtThree,
		Series: []chart.RateSeries{chart.RatesOf(before.Title(), before, 0, bench), chart.RatesOf(after.Title(), after, 0,
			bench)},
		Limits: metrology.Between(-3, 12), LimitsLabel: "limits of the mean, −3 to +12 s/d",
	}
}

func againstAmplitude() chart.RateAgainstAmplitude {
	return chart.RateAgainstAmplitude{ID: "isochronism", Title: "Rate against amplitude",
		States: chart.AmplitudesOf(after, bench), MarkNeutral: true}
}

// drawings are the charts that have a golden drawing, by file name.
func drawings() map[string]interface{ SVG() (string, error) } {
	single := byPosition()
	single.ID, single.CrownHour = "single", 4
	single.Series = single.Series[1:]
	single.Limits, single.LimitsLabel = metrology.AtMost(500), "limit of the mean, at most +500 s/d"
	gaps := byPosition()
	gaps.ID, gaps.CrownHour = "gaps", timing.CrownAtTwelve
	gaps.LimitsLabel = strings.Repeat("limits with a long reason ", 6)
	gaps.Series = append([]chart.RateSeries{{Name: "before <cleaning> & “oiling”, as far as it ran at all",
		Rates: map[timing.Position]metrology.Value{
			timing.DialUp: {Value: -345.6, StdUncertainty: 4, Unit: "s/d"}, timing.SixUp: {Value: 120, Unit: "s/d"}}}},
		gaps.Series...)
	wild := byPosition()
	wild.ID, wild.LimitsLabel = "wild", ""
	wild.Series = append(wild.Series, wild.Series[1], chart.RateSeries{Name: "slipping",
		Rates: map[timing.Position]metrology.Value{
			timing.DialUp: {Value: -9999, StdUncertainty: 0.25, Unit: "s/d"}, timing.NineUp: {Value: 1234.5, StdUncertainty: 300,
				Unit: "s/d"}}})
	crowded := againstAmplitude()
	crowded.ID = "crowded"
	for i := range crowded.States[0].Points {
		crowded.States[0].Points[i].Amplitude.Value = 270 + float64(i%2)
		crowded.States[0].Points[i].Rate.Value = 2 + float64(i%3)/4
	}
	all := map[string]interface{ SVG() (string, error) }{
		"rate-by-position": byPosition(), "rate-by-position-single": single, "rate-by-position-gaps": gaps,
		"rate-by-position-wild":  wild,
		"rate-by-position-empty": chart.RateByPosition{ID: "none", Title: "Rate by position"},
		"rate-against-amplitude": againstAmplitude(), "rate-against-amplitude-crowded": crowded,
		"rate-against-amplitude-empty": chart.RateAgainstAmplitude{ID: "none", Title: "Rate against amplitude"},
	}
	for name, drawing := range judgementDrawings() {
		all[name] = drawing
	}
	for name, drawing := range listeningDrawings() {
		all[name] = drawing
	}
	for name, drawing := range benchDrawings() {
		all[name] = drawing
	}
	return all
}

func TestGoldenDrawings(t *testing.T) {
	t.Parallel()
	for name, c := range drawings() {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			got, err := c.SVG()
			if err != nil {
				t.Fatal(err)
			}
			path := filepath.Join("testdata", name+".svg")
			if *update {
				if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
					t.Fatal(err)
				}
			}
			want, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			if got != string(want) {
				t.Errorf("the drawing differs from %s; run with -update and look at it", path)
			}
		})
	}
}

func TestDrawingsAreAccessibleAndWhole(t *testing.T) {
	t.Parallel()
	for name, c := range drawings() {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			drawing, err := c.SVG()
			if err != nil {
				t.Fatal(err)
			}
			root := parse(t, drawing)
			if root.XMLName.Local != "svg" || root.attr("role") != "img" || root.attr("viewBox") == "" {
				t.Errorf("root element: %v %v", root.XMLName, root.Attrs)
			}
			ids := map[string]string{}
			for _, n := range root.Nodes {
				if id := n.attr("id"); id != "" {
					if ids[id] != "" {
						t.Errorf("the id %s stands twice", id)
					}
					ids[id] = strings.TrimSpace(n.Text)
				}
			}
			if root.Nodes[0].XMLName.Local != "title" || root.Nodes[1].XMLName.Local != "desc" {
				t.Error("title and desc do not come first")
			}
			for _, id := range strings.Fields(root.attr("aria-labelledby")) {
				if ids[id] == "" {
					t.Errorf("aria-labelledby names %s, which says nothing", id)
				}
			}
			inside(t, root)
			apart(t, root)
			for _, banned := range []string{"style=", "fill=", "stroke=", "<script", "<style", "onload"} {
				if strings.Contains(drawing, banned) {
					t.Errorf("the drawing contains %s", banned)
				}
			}
		})
	}
}

// Every class drawn has its ink in the stylesheet, and the stylesheet inks no class that is never drawn.
func TestStylesheetKnowsEveryClass(t *testing.T) {
	t.Parallel()
	css, err := os.ReadFile("../static/css/chart.css")
	if err != nil {
		t.Fatal(err)
	}
	inked := map[string]bool{}
	for _, c := range regexp.MustCompile(`\.(chart[a-z0-9-]*)`).FindAllSubmatch(css, -1) {
		inked[string(c[1])] = true
	}
	many := againstAmplitude()
	for len(many.States) < 6 {
		many.States = append(many.States, many.States[0])
	}
	all := drawings()
	all["six states"] = many
	drawn := map[string]bool{}
	for _, c := range all {
		drawing, err := c.SVG()
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range regexp.MustCompile(`class="([^"]*)"`).FindAllStringSubmatch(drawing, -1) {
			for _, class := range strings.Fields(m[1]) {
				drawn[class] = true
				if !inked[class] {
					t.Errorf("no ink for class %s", class)
				}
			}
		}
	}
	for class := range inked {
		if !drawn[class] && class != "chart" {
			t.Errorf("class %s is inked but never drawn", class)
		}
	}
}

// A mark stands at its figure: the vertical places of the marks are in proportion to the rates.
func TestMarksStandAtTheirFigures(t *testing.T) {
	t.Parallel()
	c := byPosition()
	c.Series, c.LimitsLabel = c.Series[:1], ""
	drawing, err := c.SVG()
	if err != nil {
		t.Fatal(err)
	}
	var ys []float64
	for _, n := range parse(t, drawing).Nodes {
		if strings.HasPrefix(n.attr("class"), "chart-mark") {
			ys = append(ys, atof(t, numbers.FindAllString(n.attr("transform"), 2)[1]))
		}
	}
	rates := []float64{14, 9, -6, 21, 3, -18}
	if len(ys) != len(rates)+1 { // and the one of the legend, last
		t.Fatalf("%d marks, want six and the legend's", len(ys))
	}
	perSecond := (ys[0] - ys[1]) / (rates[0] - rates[1])
	if perSecond >= 0 {
		t.Fatalf("a gaining rate does not stand higher: %v units per s/d", perSecond)
	}
	for i := range rates {
		if want := ys[0] + perSecond*(rates[i]-rates[0]); math.Abs(ys[i]-want) > 0.1 { // coordinates are to 0.01
			t.Errorf("position %d stands at %v, want %v", i, ys[i], want)
		}
	}
}

func TestDescriptionsCarryTheFigures(t *testing.T) {
	t.Parallel()
	drawing, err := byPosition().SVG()
	if err != nil {
		t.Fatal(err)
	}
	desc := parse(t, drawing).Nodes[1].Text
	for _, want := range []string{"as received: CH (dial up) +14.0 ± 1.2 s/d", "9H (crown down) +3.0 ± 1.2 s/d",
		"12H (crown right) −18.0 ± 1.2 s/d", "final: CH", "limits of the mean, −3 to +12 s/d"} {
		if !strings.Contains(desc, want) {
			t.Errorf("%q is not in %q", want, desc)
		}
	}
	drawing, err = againstAmplitude().SVG()
	if err != nil {
		t.Fatal(err)
	}
	desc = parse(t, drawing).Nodes[1].Text
	for _, want := range []string{"full wind: CH +4.0 ± 1.2 s/d at 291.0° ± 2.1°", "after 24 h: CH"} {
		if !strings.Contains(desc, want) {
			t.Errorf("%q is not in %q", want, desc)
		}
	}
}

func TestTextIsEscaped(t *testing.T) {
	t.Parallel()
	c := byPosition()
	evil := `</title><script>alert("x")</script>` + "\x00&"
	c.Title, c.LimitsLabel = evil, evil
	c.Series[0].Name = evil
	drawing, err := c.SVG()
	if err != nil {
		t.Fatal(err)
	}
	if strings.Contains(drawing, "<script") {
		t.Error("text was not escaped")
	}
	root := parse(t, drawing)
	if got, want := root.Nodes[0].Text, strings.ReplaceAll(evil, "\x00", "\uFFFD"); got != want {
		t.Errorf("the title reads %q, want %q", got, want)
	}
}

func TestRefusals(t *testing.T) {
	t.Parallel()
	for _, id := range []string{"", "1st", "a b", `a"onload="x`} {
		c := byPosition()
		c.ID = id
		if _, err := c.SVG(); !errors.Is(err, chart.ErrID) {
			t.Errorf("ID %q: got %v, want ErrID", id, err)
		}
	}
	for _, x := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		c := byPosition()
		c.Series[0].Rates[timing.DialUp] = metrology.Value{Value: x}
		if _, err := c.SVG(); !errors.Is(err, chart.ErrNotFinite) {
			t.Errorf("%v: got %v, want ErrNotFinite", x, err)
		}
		a := againstAmplitude()
		a.States[0].Points[0].Amplitude.Value = x
		if _, err := a.SVG(); !errors.Is(err, chart.ErrNotFinite) {
			t.Errorf("%v: got %v, want ErrNotFinite", x, err)
		}
	}
	c, a := byPosition(), againstAmplitude()
	for range 6 {
		c.Series = append(c.Series, c.Series[0])
		a.States = append(a.States, a.States[0])
	}
	if _, err := c.SVG(); !errors.Is(err, chart.ErrTooMany) {
		t.Errorf("eight series: got %v, want ErrTooMany", err)
	}
	if _, err := a.SVG(); !errors.Is(err, chart.ErrTooMany) {
		t.Errorf("eight states: got %v, want ErrTooMany", err)
	}
}

func TestRenderWritesAllOrNothing(t *testing.T) {
	t.Parallel()
	var b bytes.Buffer
	if err := byPosition().Render(context.Background(), &b); err != nil {
		t.Fatal(err)
	}
	if want, _ := byPosition().SVG(); b.String() != want {
		t.Error("Render and SVG differ")
	}
	b.Reset()
	if err := (chart.RateAgainstAmplitude{ID: "9"}).Render(context.Background(), &b); err == nil || b.Len() > 0 {
		t.Errorf("got %v and %d bytes, want an error and none", err, b.Len())
	}
	cancelled, cancel := context.WithCancel(context.Background())
	cancel()
	if err := againstAmplitude().Render(cancelled, &b); !errors.Is(err, context.Canceled) || b.Len() > 0 {
		t.Errorf("got %v and %d bytes, want cancelled and none", err, b.Len())
	}
}

// Whatever the figures, the drawing is whole: well formed, with all points inside.
func TestAnyFiguresAreDrawnInside(t *testing.T) {
	t.Parallel()
	value := func(t *rapid.T, low, high float64, unit string) metrology.Value {
		return metrology.Value{Value: rapid.Float64Range(low, high).Draw(t, "value"),
			StdUncertainty: rapid.Float64Range(0, 50).Draw(t, "u"), Unit: unit}
	}
	rapid.Check(t, func(t *rapid.T) {
		c := chart.RateByPosition{ID: "x", Title: "x", CrownHour: rapid.IntRange(0, 12).Draw(t, "crown"),
			LimitsLabel: "limits"}
		if rapid.Bool().Draw(t, "limited") {
			c.Limits = metrology.Between(-rapid.Float64Range(0, 99).Draw(t, "lower"), rapid.Float64Range(0, 9999).Draw(t,
				"upper"))
		}
		a := chart.RateAgainstAmplitude{ID: "x", Title: "x", MarkNeutral: true}
		for range rapid.IntRange(1, 6).Draw(t, "series") {
			s := chart.RateSeries{Name: "a run", Rates: map[timing.Position]metrology.Value{}}
			state := chart.AmplitudeSeries{Name: "a state"}
			for _, p := range rapid.SliceOfDistinct(rapid.SampledFrom(timing.Positions()), rapid.ID).Draw(t, "positions") {
				s.Rates[p] = value(t, -9999, 9999, "s/d")
				state.Points = append(state.Points, chart.AmplitudePoint{Position: p,
					Rate: value(t, -9999, 9999, "s/d"), Amplitude: value(t, 1, 359, "°")})
			}
			c.Series, a.States = append(c.Series, s), append(a.States, state)
		}
		for _, d := range []interface{ SVG() (string, error) }{c, a} {
			drawing, err := d.SVG()
			if err != nil {
				t.Fatal(err)
			}
			inside(t, parse(t, drawing))
		}
	})
}

func BenchmarkRateByPosition(b *testing.B) {
	c := byPosition()
	b.ReportAllocs()
	for b.Loop() {
		if _, err := c.SVG(); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkRateAgainstAmplitude(b *testing.B) {
	c := againstAmplitude()
	b.ReportAllocs()
	for b.Loop() {
		if _, err := c.SVG(); err != nil {
			b.Fatal(err)
		}
	}
}
