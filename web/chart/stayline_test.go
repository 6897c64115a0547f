package chart_test

import (
	"errors"
	"strings"
	"testing"

	"ledgerwheel/web/chart"
)

func stay(at int) chart.StayLine {
	return chart.StayLine{ID: "stay", Title: "Where your watch is", Desc: "Done: taken in.", At: at,
		Stations: []string{"Taken in", "Looked at", "Estimate", "Parts", "Service", "Regulation", "Test", "Ready", "With you"}}
}

// TestStayLine counts what is behind the watch and what is before it.
func TestStayLine(t *testing.T) {
	t.Parallel()
	for at := range 9 {
		drawing, err := stay(at).SVG()
		if err != nil {
			t.Fatal(err)
		}
		behind := strings.Count(drawing, `class="chart-mark chart-series-1"`)
		ahead := strings.Count(drawing, "chart-hollow")
		if behind != at || ahead != 8-at || strings.Count(drawing, "chart-strap") != 1 {
			t.Errorf("at %d: %d behind, %d ahead", at, behind, ahead)
		}
		if !strings.Contains(drawing, ">"+stay(at).Stations[at]+"</text>") {
			t.Errorf("at %d the station is not named", at)
		}
	}
	for _, wrong := range []chart.StayLine{{ID: "x", Stations: []string{"one"}}, {ID: "x", Stations: []string{"a", "b"}, At: 2},
		{ID: "x", Stations: []string{"a", "b"}, At: -1}} {
		if _, err := wrong.SVG(); !errors.Is(err, chart.ErrSize) {
			t.Errorf("%+v: %v", wrong, err)
		}
	}
}
