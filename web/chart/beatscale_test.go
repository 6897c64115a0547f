package chart_test

import (
	"errors"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"ledgerwheel/web/chart"
)

var usualBeats = []int{14400, 16200, 18000, 19800, 21600, 25200, 28800, 36000}

func TestBeatScaleShowsTheCountAmongItsNeighbours(t *testing.T) {
	t.Parallel()
	drawing, err := chart.BeatScale{ID: "scale", Title: "The count", Best: 19800, Low: 19300, High: 20300,
		Usual:   usualBeats,
		Allowed: []int{19800}, Facts: []chart.Fact{{Name: "by the train", Value: "18000"}}}.SVG()
	if err != nil {
		t.Fatal(err)
	}
	root := parse(t, drawing)
	inside(t, root)
	for _, want := range []string{"from 19300 to 20300", "Usual beat 19800: allowed by the count.",
		"Usual beat 18000: not allowed.", "by the train"} {
		if !strings.Contains(drawing, want) {
			t.Errorf("no %q", want)
		}
	}
	if n := strings.Count(drawing, `class="chart-verdict"`); n != 1 {
		t.Errorf("%d full lozenges", n)
	}
	if strings.Contains(drawing, "16200") || strings.Contains(drawing, "25200") {
		t.Error("beats are shown that are not near")
	}
}

func TestBeatScaleHoldsAnyCount(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(rt *rapid.T) {
		low := rapid.Float64Range(0, 90000).Draw(rt, "low")
		best := low + rapid.Float64Range(0, 30000).Draw(rt, "to best")
		d := chart.BeatScale{ID: "scale", Title: "The count", Low: low, Best: best, High: best + rapid.Float64Range(0,
			30000).Draw(rt, "to high"),
			Usual: usualBeats}
		drawing, err := d.SVG()
		if err != nil {
			rt.Fatal(err)
		}
		inside(rt, parse(rt, drawing))
	})
}

func TestBeatScaleRefuses(t *testing.T) {
	t.Parallel()
	for _, d := range []chart.BeatScale{
		{ID: "scale", Best: math.NaN()}, {ID: "scale", Best: 1, Low: 2, High: 3}, {ID: "scale", Low: 1, Best: 3, High: 2},
		{ID: "scale", High: math.Inf(1)},
	} {
		if _, err := d.SVG(); !errors.Is(err, chart.ErrSize) {
			t.Errorf("%+v: %v", d, err)
		}
	}
	if _, err := (chart.BeatScale{ID: "1 2", Low: 1, Best: 1, High: 1}).SVG(); !errors.Is(err, chart.ErrID) {
		t.Error(err)
	}
}
