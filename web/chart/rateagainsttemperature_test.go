package chart_test

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"ledgerwheel/domain/metrology"
	"ledgerwheel/web/chart"
)

// temperaturesDrawn parses the chart of the points, which must lie inside it and have one mark each.
func temperaturesDrawn(t fataler, points []chart.TemperaturePoint) string {
	t.Helper()
	drawing, err := chart.RateAgainstTemperature{ID: "warmth", Title: "Rate against temperature", Points: points}.SVG()
	if err != nil {
		t.Fatalf("%v: %v", points, err)
	}
	inside(t, parse(t, drawing))
	if got := strings.Count(drawing, "chart-mark "); got != len(points) {
		t.Fatalf("%d marks for %d points", got, len(points))
	}
	return drawing
}

func TestTemperaturesAreDrawnInside(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		points := make([]chart.TemperaturePoint, rapid.IntRange(1, 3).Draw(t, "n"))
		for i := range points {
			points[i] = chart.TemperaturePoint{TemperatureC: rapid.Float64Range(-40, 80).Draw(t, "°C"),
				Rate: metrology.Value{Value: rapid.Float64Range(-3600, 3600).Draw(t, "rate"), StdUncertainty: rapid.Float64Range(0,
					50).Draw(t, "u"), Unit: "s/d"}}
		}
		temperaturesDrawn(t, points)
	})
}

func TestTemperaturesAreSaid(t *testing.T) {
	t.Parallel()
	at := func(c, r float64) chart.TemperaturePoint {
		return chart.TemperaturePoint{TemperatureC: c, Rate: metrology.Value{Value: r, StdUncertainty: 0.5, Unit: "s/d"}}
	}
	drawing := temperaturesDrawn(t, []chart.TemperaturePoint{at(38, 3), at(8, -6), at(23, 2)})
	if !strings.Contains(drawing, "8 °C: −6.0 ± 1.0 s/d. 23 °C: +2.0 ± 1.0 s/d. 38 °C: +3.0 ± 1.0 s/d.") {
		t.Errorf("it says %s", drawing)
	}
	if strings.Count(drawing, `class="chart-link"`) != 1 {
		t.Error("one straight line joins the outermost two")
	}
	if _, err := (chart.RateAgainstTemperature{ID: "warmth", Points: []chart.TemperaturePoint{
		at(math.NaN(), 1)}}).SVG(); err == nil {
		t.Error("no temperature was drawn")
	}
	if _, err := (chart.RateAgainstTemperature{ID: "no good", Points: []chart.TemperaturePoint{
		at(8, 1)}}).SVG(); err == nil {
		t.Error("an unusable id was taken")
	}
}
