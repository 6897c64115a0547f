package heard_test

import (
	"encoding/json"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"ledgerwheel/domain/acoustic"
	"ledgerwheel/domain/heard"
	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/timing"
)

var at = time.Date(2026, 11, 24, 9, 30, 0, 0, time.UTC)

// result is what was heard of a watch in good order.
func result() acoustic.Result {
	amplitude := metrology.Value{Value: 281.4, StdUncertainty: 0.6, Unit: timing.UnitDegree}
	r := acoustic.Result{BeatsPerHour: 21600, LiftAngleDeg: 52, RateFitStdSPerDay: 0.05, BeatsUsed: 178, BeatsMissed: 2,
		SNRdB: 24.5, Seconds: 30,
		Rate: metrology.Value{Value: 3.25, StdUncertainty: 0.06, Unit: timing.UnitSPerDay}, Amplitude: &amplitude,
		BeatError: &metrology.Value{Value: -0.21, StdUncertainty: 0.01, Unit: timing.UnitMs},
		Notes:     []acoustic.Note{{Code: acoustic.NoteHum, Text: "A tone of 50 Hz is in the sound."}}}
	for i := range r.Voices {
		r.Voices[i] = acoustic.Voice{Envelope: []float64{0, 0.25, 1}, RateHz: 4000, StartMs: -20, UnlockingMs: -9.87,
			ImpulseMs: math.NaN(), Beats: 90}
	}
	for i := range 180 {
		r.Beats = append(r.Beats, acoustic.Beat{TimeS: float64(i) / 6, Number: int64(i), ResidualMs: 0.01, LiftMs: 9.8,
			Used: true})
	}
	return r
}

func TestReadingLeavesTheClockToTheInstrument(t *testing.T) {
	t.Parallel()
	r := heard.Reading(result(), timing.SixUp, 24, "Bench microphone", "Emrys Vale", at)
	want := timing.Reading{Position: timing.SixUp, HoursAfterWinding: 24, Instrument: "Bench microphone",
		TakenBy: "Emrys Vale", TakenAt: at,
		RateSPerDay: &timing.Figure{Value: 3.25, StdUncertainty: 0.05}, AmplitudeDeg: &timing.Figure{Value: 281.4,
			StdUncertainty: 0.6},
		BeatErrorMs: &timing.Figure{Value: 0.21, StdUncertainty: 0.01}}
	if diff := cmp.Diff(want, r); diff != "" {
		t.Error(diff)
	}
	if bad := r.Problems(); len(bad) > 0 {
		t.Error(bad)
	}
	without := result()
	without.Amplitude = nil
	if r := heard.Reading(without, timing.SixUp, 0, "m", "", at); r.AmplitudeDeg != nil {
		t.Errorf("amplitude %+v of a watch whose unlocking was not heard", r.AmplitudeDeg)
	}
}

func TestFactsSurviveTheirKeeping(t *testing.T) {
	t.Parallel()
	from := heard.Source{RecorderID: 3, Recorder: "Bench microphone", Clock: acoustic.Clock{PPM: 1.5, StdPPM: 0.2},
		SampleRateHz: 48000}
	set := heard.InstantsOf(result())
	moved := -9.5
	set[1].UnlockingMs = &moved
	_, f := heard.Correct(result(), from, set, "Emrys Vale", at)
	if bad := f.Problems(); len(bad) > 0 {
		t.Fatal(bad)
	}
	text, err := json.Marshal(f)
	if err != nil {
		t.Fatal(err)
	}
	var back heard.Facts
	if err := json.Unmarshal(text, &back); err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(f, back); diff != "" {
		t.Error(diff)
	}
	if back.Correction == nil || *back.Correction.FoundAmplitudeDeg != 281.4 ||
		*back.Correction.Set[1].UnlockingMs != -9.5 || *back.AmplitudeDeg == 281.4 {
		t.Errorf("correction %+v, amplitude now %v", back.Correction, *back.AmplitudeDeg)
	}
	if c := back.Corrected(result()); math.Abs(c.Amplitude.Value-*back.AmplitudeDeg) > 1e-9 {
		t.Errorf("corrected anew gives %v, kept %v", c.Amplitude.Value, *back.AmplitudeDeg)
	}
	f.SNRdB = math.NaN()
	if f.Problems()[""] == "" {
		t.Error("a figure that is no number is taken")
	}
}

// Instants that stand as they were found are no correction, and setting them back takes one away.
func TestInstantsAsFoundAreNoCorrection(t *testing.T) {
	t.Parallel()
	r, f := heard.Correct(result(), heard.Source{Recorder: "m"}, heard.InstantsOf(result()), "Emrys Vale", at)
	if f.Correction != nil || r.Amplitude.Value != 281.4 {
		t.Errorf("%+v, %v", f.Correction, r.Amplitude)
	}
}

func TestResultSurvivesItsKeeping(t *testing.T) {
	t.Parallel()
	r := result()
	data, err := heard.EncodeResult(r)
	if err != nil {
		t.Fatal(err)
	}
	back, err := heard.DecodeResult(data)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(r, back, cmpopts.EquateNaNs()); diff != "" {
		t.Error(diff)
	}
	for i := range 90000 {
		r.Beats = append(r.Beats, acoustic.Beat{Number: int64(180 + i), Used: true})
	}
	data, err = heard.EncodeResult(r)
	if err != nil {
		t.Fatal(err)
	}
	if back, err = heard.DecodeResult(data); err != nil || len(back.Beats) > 20000 || len(back.Beats) < 10000 ||
		back.BeatsUsed != 178 {
		t.Fatalf("%d beats kept, %v", len(back.Beats), err)
	}
	swings := map[acoustic.Swing]int{}
	for _, b := range back.Beats {
		swings[b.Swing()]++
	}
	if swings[acoustic.Tick] != swings[acoustic.Tock] {
		t.Errorf("swings kept %v", swings)
	}
	r.SNRdB = math.Inf(1)
	if _, err := heard.EncodeResult(r); err == nil {
		t.Error("an infinite figure is kept")
	}
}

func TestParseAsked(t *testing.T) {
	t.Parallel()
	parse := func(pairs ...string) (heard.Asked, map[string]string) {
		typed := map[string]string{}
		for i := 0; i < len(pairs); i += 2 {
			typed[pairs[i]] = pairs[i+1]
		}
		return heard.ParseAsked(func(field string) string { return typed[field] })
	}
	a, bad := parse("beats_per_hour", "28 800", "lift_angle", "52,5°", "position", "6h", "hours", "24")
	if len(bad) > 0 || a.BeatsPerHour != 28800 || a.LiftAngleDeg != 52.5 || a.Position != timing.SixUp || a.Hours != 24 {
		t.Errorf("%+v, %v", a, bad)
	}
	if a, bad = parse(); len(bad) > 0 || a.BeatsPerHour != 0 || a.LiftAngleDeg != acoustic.DefaultLiftAngleDeg ||
		a.Position != "" {
		t.Errorf("nothing typed: %+v, %v", a, bad)
	}
	for field, texts := range map[string][]string{"beats_per_hour": {"fast", "1", "1e9", "NaN", "-28800"},
		"lift_angle": {"9", "121", "x", strings.Repeat("5", 99)},
		"position":   {"4H", "up"}, "hours": {"-1", "x", "1001"}} {
		for _, text := range texts {
			if _, bad := parse(field, text); bad[field] == "" {
				t.Errorf("%s %q is taken", field, text)
			}
		}
	}
}

func TestParseInstants(t *testing.T) {
	t.Parallel()
	typed := map[string]string{"tick_unlocking": "−9,40 ms", "tick_drop": "0.10", "tock_unlocking": "",
		"tock_drop": "-0.05"}
	set, bad := heard.ParseInstants(func(field string) string { return typed[field] })
	if len(bad) > 0 || *set[0].UnlockingMs != -9.4 || set[0].DropMs != 0.1 || set[1].UnlockingMs != nil ||
		set[1].DropMs != -0.05 {
		t.Errorf("%+v, %v", set, bad)
	}
	for field, text := range map[string]string{"tick_drop": "", "tock_drop": "101", "tick_unlocking": "1",
		"tock_unlocking": "x"} {
		spoilt := map[string]string{"tick_unlocking": "-9", "tick_drop": "0", "tock_unlocking": "-9", "tock_drop": "0"}
		spoilt[field] = text
		if _, bad := heard.ParseInstants(func(field string) string { return spoilt[field] }); bad[field] == "" {
			t.Errorf("%s %q is taken: %v", field, text, bad)
		}
	}
}

func FuzzParse(f *testing.F) {
	for _, seed := range []string{"", "28800", "28 800", "52,5°", "−9.4 ms", "NaN", "1e400", "\xff", "+-3"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		a, bad := heard.ParseAsked(func(string) string { return text })
		if bad["beats_per_hour"] == "" && a.BeatsPerHour != 0 && !(a.BeatsPerHour >= heard.MinBeatsPerHour &&
			a.BeatsPerHour <= heard.MaxBeatsPerHour) {
			t.Errorf("%q gives %v beats per hour", text, a.BeatsPerHour)
		}
		set, bad := heard.ParseInstants(func(string) string { return text })
		if len(bad) == 0 && math.IsNaN(set[0].DropMs) {
			t.Errorf("%q gives %v", text, set)
		}
	})
}

func FuzzDecodeResult(f *testing.F) {
	data, err := heard.EncodeResult(result())
	if err != nil {
		f.Fatal(err)
	}
	f.Add(data)
	f.Add([]byte(`{"Voices":[{"Envelope":null}]}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		if r, err := heard.DecodeResult(data); err == nil {
			if _, err := heard.EncodeResult(r); err != nil {
				t.Errorf("%v", err)
			}
		}
	})
}
