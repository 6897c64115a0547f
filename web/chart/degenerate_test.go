package chart_test

import (
	"strings"
	"testing"

	"ledgerwheel/domain/metrology"
	"ledgerwheel/web/chart"
)

// TestFiguresAtTheEdgeOfNoughtAreDrawn draws figures of nought, alike, and so small that a scale made from them would
// be nought. An integer that a coordinate overflowed into begins with the digits looked for.
func TestFiguresAtTheEdgeOfNoughtAreDrawn(t *testing.T) {
	t.Parallel()
	const leastFloat, subnormal = 5e-324, 1e-310
	drawn := func(d interface{ SVG() (string, error) }) {
		t.Helper()
		drawing, err := d.SVG()
		if err != nil {
			t.Fatal(err)
		}
		if strings.Contains(drawing, "922337203") || strings.Contains(drawing, "NaN") {
			t.Errorf("a coordinate is not a number: %s", drawing)
			return
		}
		inside(t, parse(t, drawing))
	}
	for _, size := range []float64{0, leastFloat, subnormal, 1e-199, 1} {
		for _, significant := range []bool{true, false} {
			drawn(chart.PoiseDial{ID: "x", Title: "x", Significant: significant, Size: size, SizeHigh: 9 * size,
				Marks: []chart.PoiseMark{{Name: "9", Turn: true}}})
		}
		for _, value := range []float64{0, leastFloat, subnormal, -9999, 9999} {
			strip, curve := trial(15), fitted()
			for i := range strip.Days {
				strip.Days[i].Rate = sPerDay(value, size)
			}
			strip.Mean = sPerDay(value, size)
			for i := range curve.Curves[1].Points {
				curve.Curves[1].Points[i].RateSPerDay = value
			}
			drawn(strip)
			drawn(curve)
			for _, limits := range []metrology.Limits{metrology.AtLeast(value), metrology.AtMost(value),
				metrology.Between(value, value+size)} {
				drawn(room("x", sPerDay(value, size), limits, metrology.Pass, "some room left"))
			}
		}
	}
}
