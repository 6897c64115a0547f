package chart_test

import (
	"math"
	"strings"
	"testing"

	"ledgerwheel/web/chart"
)

func poisingWay(spreads ...float64) chart.PoisingWay {
	c := chart.PoisingWay{ID: "way", Title: "The heavy spot, round by round", StopSPerDay: 12}
	for i, x := range spreads {
		c.Rounds = append(c.Rounds, chart.PoisingPoint{Name: string(rune('1' + i)), AngleDeg: 90, SpreadSPerDay: x,
			Text: "towards 3 o’clock"})
	}
	return c
}

// TestPoisingWayShrinks: each round stands at its own size, on one scale, and the drawing keeps inside its frame.
func TestPoisingWayShrinks(t *testing.T) {
	t.Parallel()
	for _, spreads := range [][]float64{{72, 20, 6}, {0}, {5e-324}, {9e9, 1}, {1, 2, 3, 4, 5, 6, 7, 8, 9}} {
		drawing, err := poisingWay(spreads...).SVG()
		if err != nil {
			t.Fatal(err)
		}
		inside(t, parse(t, drawing))
		if strings.Contains(drawing, "NaN") {
			t.Errorf("%v: a coordinate is no number", spreads)
		}
	}
	drawing, err := poisingWay(80, 40).SVG()
	if err != nil {
		t.Fatal(err)
	}
	// The rim (52 units) stands for 100 s/d, so the first round lies 41.6 right of the centre (176) and the newest,
	// the end of the spoke, 20.8.
	for _, want := range []string{`M217.6 112L196.8 112`, `M176 112L196.8 112`, `r="6.24"`, "Round 2: towards 3"} {
		if !strings.Contains(drawing, want) {
			t.Errorf("the drawing lacks %q", want)
		}
	}
	if _, err := poisingWay(math.NaN()).SVG(); err == nil {
		t.Error("a size that is no number was drawn")
	}
	if empty, err := poisingWay().SVG(); err != nil || !strings.Contains(empty, "No round yet.") {
		t.Errorf("no rounds: %v", err)
	}
}
