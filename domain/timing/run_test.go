package timing_test

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"ledgerwheel/domain/timing"
)

func TestReadingProblems(t *testing.T) {
	t.Parallel()
	good := func() timing.Reading {
		return timing.Reading{Position: timing.DialUp, HoursAfterWinding: 24, Instrument: "bench 1",
			RateSPerDay: &timing.Figure{Value: 3, Step: 1}, AmplitudeDeg: &timing.Figure{Value: 270, Step: 1},
			BeatErrorMs: &timing.Figure{Value: 0.2, Step: 0.1}}
	}
	if bad := good().Problems(); len(bad) != 0 {
		t.Fatalf("a good reading is refused: %v", bad)
	}
	cold := -60.0
	for name, tc := range map[string]struct {
		spoil func(*timing.Reading)
		field string
	}{
		"no position":      {func(r *timing.Reading) { r.Position = "" }, "position"},
		"hours below zero": {func(r *timing.Reading) { r.HoursAfterWinding = -1 }, "hours_after_winding"},
		"hours NaN":        {func(r *timing.Reading) { r.HoursAfterWinding = math.NaN() }, "hours_after_winding"},
		"hours beyond":     {func(r *timing.Reading) { r.HoursAfterWinding = 1001 }, "hours_after_winding"},
		"nothing measured": {func(r *timing.Reading) { r.RateSPerDay, r.AmplitudeDeg, r.BeatErrorMs = nil, nil, nil },
			"rate"},
		"rate NaN":             {func(r *timing.Reading) { r.RateSPerDay.Value = math.NaN() }, "rate"},
		"rate infinite":        {func(r *timing.Reading) { r.RateSPerDay.Value = math.Inf(-1) }, "rate"},
		"rate beyond":          {func(r *timing.Reading) { r.RateSPerDay.Value = 10000 }, "rate"},
		"step NaN":             {func(r *timing.Reading) { r.RateSPerDay.Step = math.NaN() }, "rate"},
		"uncertainty negative": {func(r *timing.Reading) { r.RateSPerDay.StdUncertainty = -1 }, "rate"},
		"uncertainty infinite": {func(r *timing.Reading) { r.RateSPerDay.StdUncertainty = math.Inf(1) }, "rate"},
		"amplitude zero":       {func(r *timing.Reading) { r.AmplitudeDeg.Value = 0 }, "amplitude"},
		"amplitude a turn":     {func(r *timing.Reading) { r.AmplitudeDeg.Value = 360 }, "amplitude"},
		"beat error signed":    {func(r *timing.Reading) { r.BeatErrorMs.Value = -0.1 }, "beat_error"},
		"beat error NaN":       {func(r *timing.Reading) { r.BeatErrorMs.Value = math.NaN() }, "beat_error"},
		"temperature":          {func(r *timing.Reading) { r.TemperatureC = &cold }, "temperature"},
		"instrument too long":  {func(r *timing.Reading) { r.Instrument = strings.Repeat("é", 121) }, "instrument"},
		"taker too long":       {func(r *timing.Reading) { r.TakenBy = strings.Repeat("é", 121) }, "taken_by"},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			r := good()
			tc.spoil(&r)
			if bad := r.Problems(); len(bad) != 1 || bad[tc.field] == "" {
				t.Errorf("got %v, want one problem at %s", bad, tc.field)
			}
		})
	}
}

func TestRunProblems(t *testing.T) {
	t.Parallel()
	good := func() timing.Run {
		return rateRun(map[timing.Position]float64{timing.DialUp: 3, timing.DialDown: 4})
	}
	if bad := good().Problems(); len(bad) != 0 {
		t.Fatalf("a good run is refused: %v", bad)
	}
	for name, tc := range map[string]struct {
		spoil func(*timing.Run)
		field string
	}{
		"unknown kind":          {func(r *timing.Run) { r.Kind = "later" }, "kind"},
		"adjustment unnumbered": {func(r *timing.Run) { r.Kind = timing.Adjustment }, "adjustment"},
		"final numbered":        {func(r *timing.Run) { r.Adjustment = 1 }, "adjustment"},
		"label too long":        {func(r *timing.Run) { r.Label = strings.Repeat("x", 121) }, "label"},
		"no crown":              {func(r *timing.Run) { r.CrownHour = 0 }, "crown_hour"},
		"crown at 13":           {func(r *timing.Run) { r.CrownHour = 13 }, "crown_hour"},
		"no readings":           {func(r *timing.Run) { r.Readings = nil }, "readings"},
		"a cell twice":          {func(r *timing.Run) { r.Readings[1].Position = timing.DialUp }, "cell-CH-0"},
		"a figure beyond":       {func(r *timing.Run) { r.Readings[1].RateSPerDay.Value = 1e9 }, "rate-FH-0"},
		"an instrument's name":  {func(r *timing.Run) { r.Readings[0].Instrument = strings.Repeat("x", 121) }, "cell-CH-0"},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			r := good()
			tc.spoil(&r)
			if bad := r.Problems(); len(bad) != 1 || bad[tc.field] == "" {
				t.Errorf("got %v, want one problem at %s", bad, tc.field)
			}
		})
	}
}

func TestRunNames(t *testing.T) {
	t.Parallel()
	run := timing.Run{Kind: timing.Adjustment, Adjustment: 2, Readings: []timing.Reading{
		{Position: timing.DialUp, HoursAfterWinding: 36.5}, {Position: timing.DialUp}, {Position: timing.SixUp},
		{Position: timing.SixUp, HoursAfterWinding: 24},
	}}
	if got := run.Title(); got != "after adjustment 2" {
		t.Errorf("title: %q", got)
	}
	if got := (timing.Run{Kind: timing.AsReceived}).Title(); got != "as received" {
		t.Errorf("title: %q", got)
	}
	if got := run.States(); !slices.Equal(got, []float64{0, 24, 36.5}) {
		t.Errorf("states: %v", got)
	}
	words := fmt.Sprint(timing.StateWords(0), ", ", timing.StateWords(36.5))
	if words != "full wind, after 36.5 h" {
		t.Errorf("words: %q", words)
	}
}
