package heard_test

import (
	"math"
	"strings"
	"testing"
	"time"

	"ledgerwheel/domain/acoustic"
	"ledgerwheel/domain/heard"
	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/timing"
)

// runDownResult is a recording of so many hours in pieces of ten minutes: the amplitude falls by 2° an hour from 290°,
// and the rate by 0.05 s/d with each degree, from +5 s/d.
func runDownResult(hours float64) acoustic.Result {
	r := acoustic.Result{BeatsPerHour: 21600, LiftAngleDeg: 52, Seconds: hours * 3600, EndS: hours*3600 - 1,
		Rate: metrology.Value{Value: 3, StdUncertainty: 0.2, Unit: timing.UnitSPerDay}}
	for at := 0.0; at+600 <= r.Seconds; at += 600 {
		amplitude := metrology.Value{Value: 290 - 2*(at+300)/3600, StdUncertainty: 0.5, Unit: timing.UnitDegree}
		r.Stretches = append(r.Stretches, acoustic.Stretch{StartS: at, EndS: at + 600, Beats: 3600, Amplitude: &amplitude,
			Rate:      metrology.Value{Value: 5 + 0.05*(amplitude.Value-290), StdUncertainty: 0.1, Unit: timing.UnitSPerDay},
			BeatError: &metrology.Value{Value: 0.2, StdUncertainty: 0.01, Unit: timing.UnitMs}})
	}
	return r
}

var runDownFrom = heard.Source{Recorder: "Bench microphone", Clock: acoustic.Clock{PPM: 1.5, StdPPM: 0.2},
	SampleRateHz: 48000}

func TestRunDownOf(t *testing.T) {
	t.Parallel()
	at := time.Date(2026, 11, 20, 9, 0, 0, 0, time.UTC)
	for name, tc := range map[string]struct {
		hours, start float64
		most         int
		states       string
	}{
		"a day and a half": {36, 0, 6, "3, 9, 15, 21, 27, 33"},
		"wound before":     {36, 4.25, 6, "7.5, 13.5, 19.5, 25.5, 31.5, 37.5"},
		"little room":      {36, 0, 2, "9, 27"},
		"three hours":      {3, 0.01, 6, "0.3, 0.8, 1.3, 1.8, 2.3, 2.8"},
		"half an hour":     {0.5, 0, 6, "0.08, 0.25, 0.42"},
	} {
		r := runDownResult(tc.hours)
		d, bad := heard.RunDownOf(r, heard.FactsOf(r, runDownFrom), heard.StartOf{Position: timing.DialUp, Hours: tc.start,
			TakenBy: "Emrys Vale", At: at}, tc.most)
		if len(bad) != 0 {
			t.Errorf("%s: %v", name, bad)
			continue
		}
		run := timing.Run{Readings: d.Readings}
		if got := timing.StatesText(run.States()); got != tc.states || len(d.Facts) != len(d.Readings) {
			t.Errorf("%s: read at %s, want %s", name, got, tc.states)
		}
		if d.PowerReserveH != 0 {
			t.Errorf("%s: a watch that runs on has a power reserve of %v h", name, d.PowerReserveH)
		}
		for i, g := range d.Readings {
			f := d.Facts[i]
			truth := 5 - 0.05*2*f.Piece.AtS/3600
			// Rounded to the second digit of U = 2u.
			if math.Abs(g.RateSPerDay.Value-truth) > 0.1*g.RateSPerDay.StdUncertainty || g.Instrument != "Bench microphone" ||
				g.BeatErrorMs == nil {
				t.Errorf("%s: reading %d is %+v, want a rate of %v", name, i, g, truth)
			}
			if want := math.Hypot(f.RateFitStdSPerDay, 0.2*timing.SPerDayPerPPM); f.RateStdSPerDay != want {
				t.Errorf("%s: u = %v with the clock, want %v", name, f.RateStdSPerDay, want)
			}
		}
	}
}

func TestNoRunDown(t *testing.T) {
	t.Parallel()
	still := runDownResult(24)
	for i := range still.Stretches {
		if i != 7 {
			still.Stretches[i].Amplitude = nil
		}
	}
	brief := runDownResult(24)
	brief.Seconds = 40
	for name, tc := range map[string]struct {
		result acoustic.Result
		start  heard.StartOf
		most   int
		field  string
		says   string
	}{
		"one amplitude": {still, heard.StartOf{Position: timing.DialUp}, 6, "run", "too few parts"},
		"nothing heard": {acoustic.Result{Seconds: 4000}, heard.StartOf{Position: timing.DialUp}, 6, "run",
			"too few parts"},
		"a short recording": {brief, heard.StartOf{Position: timing.DialUp}, 6, "run", "too short"},
		"no position":       {runDownResult(24), heard.StartOf{}, 6, "position", "Say"},
		"hours beyond":      {runDownResult(24), heard.StartOf{Position: timing.DialUp, Hours: 990}, 6, "hours", "0 to 1000"},
		"hours before":      {runDownResult(24), heard.StartOf{Position: timing.DialUp, Hours: -30}, 6, "hours", "0 to 1000"},
		"no hours": {runDownResult(24), heard.StartOf{Position: timing.DialUp, Hours: math.NaN()}, 6, "hours",
			"0 to 1000"},
	} {
		_, bad := heard.RunDownOf(tc.result, heard.FactsOf(tc.result, runDownFrom), tc.start, tc.most)
		if !strings.Contains(bad[tc.field], tc.says) || len(bad) != 1 {
			t.Errorf("%s: %v, want %q beside %s", name, bad, tc.says, tc.field)
		}
	}
}

func TestPowerReserve(t *testing.T) {
	t.Parallel()
	r := runDownResult(45)
	r.StartS, r.EndS = 10, 10+41.5*3600
	r.Notes = []acoustic.Note{{Code: acoustic.NoteStops, Text: "The watch stops in the recording."}}
	if h, stopped := heard.PowerReserveH(r, 0.5); !stopped || math.Abs(h-42) > 1e-9 {
		t.Errorf("%v h, stopped %v; want 42 h", h, stopped)
	}
	d, bad := heard.RunDownOf(r, heard.FactsOf(r, runDownFrom), heard.StartOf{Position: timing.DialUp, Hours: 0.5}, 6)
	if len(bad) != 0 || math.Abs(d.PowerReserveH-42) > 1e-9 {
		t.Errorf("the run-down says %v h, %v", d.PowerReserveH, bad)
	}
	r.EndS = 40 // taken off the microphone
	if h, stopped := heard.PowerReserveH(r, 0); stopped {
		t.Errorf("a watch heard for half a minute ran down after %v h", h)
	}
	r.Notes = nil
	r.EndS = 41 * 3600
	if _, stopped := heard.PowerReserveH(r, 0); stopped {
		t.Error("a watch that runs on stopped")
	}
}
