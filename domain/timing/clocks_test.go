package timing_test

import (
	"math"
	"testing"
	"time"

	"ledgerwheel/domain/timing"
)

// heardSheet is a run in CH by the sheet's own instrument and in FH by a recorder.
func heardSheet() timing.Sheet {
	taken := time.Date(2026, 11, 24, 9, 0, 0, 0, time.UTC)
	return timing.Sheet{Instrument: "Bench 2", ClockPPM: 3, States: []float64{0}, ClockStdPPM: map[string]float64{
		"Desk microphone": 0.5},
		Run: timing.Run{Kind: timing.Final, CrownHour: 3, Readings: []timing.Reading{
			{Position: timing.DialUp, Instrument: "Bench 2", RateSPerDay: &timing.Figure{Value: 4, Step: 1}},
			{Position: timing.DialDown, Instrument: "Desk microphone", TakenAt: taken, RateSPerDay: &timing.Figure{Value: 5.25,
				StdUncertainty: 0.02}}}}}
}

// Each reading is given the clock of the instrument that took it; 1 ppm is 0.0864 s/d.
func TestASheetKnowsSeveralClocks(t *testing.T) {
	t.Parallel()
	sh := heardSheet()
	known := sh.Instruments()
	for _, tc := range []struct {
		reading timing.Reading
		want    float64
	}{
		{sh.Run.Readings[0], math.Sqrt(1.0/12 + math.Pow(3*0.0864, 2)/3)},
		{sh.Run.Readings[1], math.Hypot(0.02, 0.5*0.0864)},
		{timing.Reading{Instrument: "unheard of", RateSPerDay: &timing.Figure{}}, 50 * 0.0864 / math.Sqrt(3)},
	} {
		v, ok := known.Value(tc.reading, timing.Rate)
		if !ok || math.Abs(v.StdUncertainty-tc.want) > 1e-12 { // arithmetic only
			t.Errorf("%s: u = %v, want %v", tc.reading.Instrument, v.StdUncertainty, tc.want)
		}
	}
	if err := known.Check(); err != nil {
		t.Error(err)
	}
}

// A form shows figures only: what another instrument than the sheet's took stays that instrument's when it is saved
// again.
func TestKeepingWhatARecorderTook(t *testing.T) {
	t.Parallel()
	before := heardSheet()
	now := heardSheet()
	for i := range now.Run.Readings {
		r := &now.Run.Readings[i]
		r.Instrument, r.TakenAt = now.Instrument, time.Time{}
		r.RateSPerDay = &timing.Figure{Value: r.RateSPerDay.Value, Step: 0.01}
	}
	now.Run.Readings[0].RateSPerDay.Value = 7 // typed anew
	now.Keep(before)
	heard := now.Run.Readings[1]
	if heard.Instrument != "Desk microphone" || !heard.TakenAt.Equal(before.Run.Readings[1].TakenAt) ||
		heard.RateSPerDay.StdUncertainty != 0.02 {
		t.Errorf("heard reading is kept as %+v", heard)
	}
	if typed := now.Run.Readings[0]; typed.Instrument != "Bench 2" || typed.RateSPerDay.Value != 7 {
		t.Errorf("typed reading is kept as %+v", typed)
	}
	now.Run.Readings[1].RateSPerDay = &timing.Figure{Value: 9, Step: 1}
	now.Run.Readings[1].Instrument = "Bench 2"
	if now.Keep(before); now.Run.Readings[1].Instrument != "Bench 2" {
		t.Error("a figure typed over a heard one is still the recorder's")
	}
}

// Two sheets set side by side keep the clocks of all their instruments apart.
func TestComparingSheetsOfSeveralClocks(t *testing.T) {
	t.Parallel()
	before, after := heardSheet(), heardSheet()
	after.ClockStdPPM = map[string]float64{"Desk microphone": 2}
	after.Run.Readings[1].RateSPerDay = &timing.Figure{Value: 6.25, StdUncertainty: 0.02}
	want := math.Sqrt(2*0.02*0.02 + math.Pow(0.5*0.0864, 2) + math.Pow(2*0.0864, 2))
	found := false
	for _, c := range timing.CompareSheets(before, after).Figures {
		if c.Position == timing.DialDown && c.Quantity == timing.Rate {
			found = true
			if v := c.Change.Value; math.Abs(v.Value-1) > 1e-12 || math.Abs(v.StdUncertainty-want) > 1e-12 {
				t.Errorf("difference %+v, want 1 with u = %v", v, want)
			}
		}
	}
	if !found {
		t.Error("the position was not compared")
	}
}
