package main

import (
	"bytes"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"ledgerwheel/domain/acoustic"
	"ledgerwheel/domain/acoustic/simulate"
	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/recording"
)

// listenRun runs the command as the shell does.
func listenRun(stdin []byte, args ...string) (code int, stdout, stderr string) {
	var out, complaints bytes.Buffer
	code = run(append([]string{"listen"}, args...), bytes.NewReader(stdin), &out, &complaints)
	return code, out.String(), complaints.String()
}

// soundFile keeps the sound of a watch in a quiet workshop, or of the workshop alone where the watch has no beats.
func soundFile(t *testing.T, name string, w simulate.Watch, clockPPM float64) (path string, truth simulate.Truth) {
	t.Helper()
	const rateHz, seconds, seed = 48000, 15, 7
	samples, truth := simulate.Sound(w, simulate.Room{SNRdB: 30, PeakDBFS: -12, Bits: 16, ClockPPM: clockPPM}, rateHz,
		seconds, seed)
	var wav bytes.Buffer
	if err := recording.WriteWAV(&wav, rateHz, samples); err != nil {
		t.Fatal(err)
	}
	path = filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(path, wav.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
	return path, truth
}

// silentWatch is no watch: the sound is the room's.
func silentWatch() simulate.Watch {
	w := simulate.Lever()
	w.BeatsPerHour = 0
	return w
}

// listenFields are the promised fields of an answer.
var listenFields = []string{"amplitude_deg", "amplitude_u95_deg", "beat_error_ms", "beat_error_signed_ms",
	"beat_error_u95_ms", "beats_missed",
	"beats_per_hour", "beats_used", "file", "lift_angle_assumed", "lift_angle_deg", "notes", "rate_fit_u95_s_per_day", "rate_s_per_day",
	"rate_u95_s_per_day",
	"seconds", "snr_db"}

func TestListenJSON(t *testing.T) {
	t.Parallel()
	path, truth := soundFile(t, "watch.wav", simulate.Lever(), 0)
	code, stdout, stderr := listenRun(nil, "--json", path)
	if code != 0 || stderr != "" {
		t.Fatalf("exit %d: %s", code, stderr)
	}
	var got map[string]any
	if err := json.Unmarshal([]byte(stdout), &got); err != nil {
		t.Fatal(err)
	}
	if fields := sortedKeys(got); !slices.Equal(fields, listenFields) {
		t.Errorf("fields %v\nwant %v", fields, listenFields)
	}
	if got["file"] != path || got["beats_per_hour"] != 28800.0 || got["lift_angle_deg"] != 52.0 || got["lift_angle_assumed"] != true || got["seconds"] != 15.0 {
		t.Errorf("got %s", stdout)
	}
	if _, ok := got["notes"].([]any); !ok {
		t.Errorf("notes: %v, want a list even when it is empty", got["notes"])
	}
	// An uncalibrated clock is true to within ±50 ppm (rectangular): U = 2·50/√3 ppm, of which 1 ppm is 0.0864 s/d.
	clock := 2 * 50 / math.Sqrt(3) * 0.0864
	fit := number(t, got, "rate_fit_u95_s_per_day")
	if u := number(t, got, "rate_u95_s_per_day"); math.Abs(u-math.Hypot(clock, fit)) > 0.005 {
		t.Errorf("U of the rate %v with %v of the fit, want the clock's %v in it", u, fit, clock)
	}
	// Five times the rms errors that a clean recording allows.
	for field, want := range map[string][2]float64{
		"rate_s_per_day": {truth.RateSPerDay, 0.4}, "amplitude_deg": {truth.AmplitudeDeg, 5},
		"beat_error_ms": {truth.BeatErrorMagnitudeMs, 0.1},
	} {
		if x := number(t, got, field); math.Abs(x-want[0]) > want[1] {
			t.Errorf("%s = %v, want %v ± %v", field, x, want[0], want[1])
		}
	}
	if signed := number(t, got, "beat_error_signed_ms"); math.Abs(signed) != number(t, got, "beat_error_ms") {
		t.Errorf("signed beat error %v beside its magnitude %v", signed, got["beat_error_ms"])
	}
	// Standard input says the same.
	wav, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	code, piped, _ := listenRun(wav, "--json", "-")
	if want := strings.Replace(stdout, path, "-", 1); code != 0 || piped != want {
		t.Errorf("from standard input: exit %d\n%s", code, piped)
	}
}

func sortedKeys(m map[string]any) []string {
	var keys []string
	for k := range m {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}

func number(t *testing.T, m map[string]any, field string) float64 {
	t.Helper()
	x, ok := m[field].(float64)
	if !ok {
		t.Errorf("%s is %v, want a number", field, m[field])
	}
	return x
}

func TestListenTakesTheClockIntoAccount(t *testing.T) {
	t.Parallel()
	path, truth := soundFile(t, "fast-clock.wav", simulate.Lever(), 40)
	answer := func(args ...string) (rate, u, fit float64) {
		code, stdout, stderr := listenRun(nil, append(args, "--json", path)...)
		if code != 0 {
			t.Fatalf("%v: exit %d, %s", args, code, stderr)
		}
		var got map[string]any
		if err := json.Unmarshal([]byte(stdout), &got); err != nil {
			t.Fatal(err)
		}
		return number(t, got, "rate_s_per_day"), number(t, got, "rate_u95_s_per_day"),
			number(t, got, "rate_fit_u95_s_per_day")
	}
	plain, _, _ := answer()
	if math.Abs(plain-truth.ApparentRateSPerDay) > 0.4 {
		t.Errorf("without --clock-ppm %v s/d, want the apparent %v", plain, truth.ApparentRateSPerDay)
	}
	// A clock that runs 40 ppm fast makes every watch seem to lose 40·0.0864 s/d.
	rate, u, fit := answer("--clock-ppm", "40")
	if math.Abs(rate-plain-40*0.0864) > 0.01 {
		t.Errorf("%v with --clock-ppm 40 and %v without: want +3.456", rate, plain)
	}
	if want := math.Hypot(fit, 2*0.5/math.Sqrt(3)*0.0864); math.Abs(u-want) > 0.003 {
		t.Errorf("U %v, want %v: 40 is known to ±0.5 ppm", u, want)
	}
	slow, _, _ := answer("--clock-ppm", "-12.5", "--beats-per-hour", "28800", "--lift-angle=52")
	if math.Abs(slow-plain+12.5*0.0864) > 0.01 {
		t.Errorf("%v with --clock-ppm -12.5 and %v without: want −1.08", slow, plain)
	}
}

func TestListenExitCodes(t *testing.T) {
	t.Parallel()
	watch, _ := soundFile(t, "watch.wav", simulate.Lever(), 0)
	room, _ := soundFile(t, "room.wav", silentWatch(), 0)
	letter := filepath.Join(t.TempDir(), "letter.wav")
	if err := os.WriteFile(letter, []byte("Dear shop, my watch loses.\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	missing := filepath.Join(t.TempDir(), "missing.flac")
	for name, tc := range map[string]struct {
		args   []string
		code   int
		stderr []string // one line each, with this in it
	}{
		"a watch":              {[]string{watch}, 0, nil},
		"two of a watch":       {[]string{watch, watch}, 0, nil},
		"no watch":             {[]string{room}, 3, []string{room + ": no watch heard"}},
		"no watch, JSON":       {[]string{"--json", room}, 3, []string{"room.wav: no watch heard"}},
		"no watch, told beats": {[]string{"--beats-per-hour", "28800", room}, 3, []string{"no watch heard"}},
		"no recording": {[]string{letter}, 2,
			[]string{"letter.wav: The file is neither a WAV nor a FLAC, MP3 or Ogg Opus recording"}},
		"no file":              {[]string{missing}, 2, []string{"missing.flac: no such file"}},
		"a folder":             {[]string{t.TempDir()}, 2, []string{"directory"}},
		"empty standard input": {[]string{"-"}, 2, []string{"standard input: The file is empty"}},
		"watch, room":          {[]string{watch, room}, 3, []string{"room.wav: no watch heard"}},
		"room, watch, letter": {[]string{room, watch, letter}, 2, []string{"room.wav: no watch heard",
			"letter.wav: The file"}},
		"letter, room": {[]string{"--json", letter, room}, 2, []string{"letter.wav: The file",
			"room.wav: no watch heard"}},
		"no argument": {nil, 2, []string{"FILE"}},
		"lift angle too small": {[]string{"--lift-angle", "19.9", watch}, 2,
			[]string{"--lift-angle takes 20 to 90 degrees"}},
		"lift angle too great": {[]string{"--lift-angle", "90.1", watch}, 2,
			[]string{"--lift-angle takes 20 to 90 degrees"}},
		"lift angle NaN":    {[]string{"--lift-angle", "NaN", watch}, 2, []string{"--lift-angle: “NaN” is not a figure"}},
		"lift angle a word": {[]string{"--lift-angle", "wide", watch}, 2, []string{"--lift-angle"}},
		"beats too few": {[]string{"--beats-per-hour", "3599", watch}, 2,
			[]string{"--beats-per-hour takes 3600 to 72000"}},
		"beats too many": {[]string{"--beats-per-hour", "72001", watch}, 2,
			[]string{"--beats-per-hour takes 3600 to 72000"}},
		"beats zero": {[]string{"--beats-per-hour", "0", watch}, 2,
			[]string{"--beats-per-hour takes 3600 to 72000"}},
		"beats infinite": {[]string{"--beats-per-hour", "Inf", watch}, 2,
			[]string{"--beats-per-hour: “Inf” is not a figure"}},
		"clock NaN":            {[]string{"--clock-ppm", "NaN", watch}, 2, []string{"--clock-ppm"}},
		"clock beyond":         {[]string{"--clock-ppm", "10001", watch}, 2, []string{"--clock-ppm"}},
		"clock without figure": {[]string{watch, "--clock-ppm"}, 2, []string{"--clock-ppm"}},
		"clock as an option":   {[]string{"--clock-ppm", "--json", watch}, 2, []string{"--clock-ppm"}},
		"clock's U below zero": {[]string{"--clock-u95-ppm", "-1", watch}, 2,
			[]string{"--clock-u95-ppm takes zero or more"}},
		"an option of no known": {[]string{"--swing", watch}, 2, []string{"--swing"}},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			code, stdout, stderr := listenRun(nil, tc.args...)
			lines := strings.FieldsFunc(stderr, func(r rune) bool { return r == '\n' })
			if code != tc.code || len(lines) != len(tc.stderr) {
				t.Fatalf("exit %d, want %d; standard error:\n%s", code, tc.code, stderr)
			}
			for i, line := range lines {
				if !strings.HasPrefix(line, "ledgerwheel: ") || !strings.Contains(line, tc.stderr[i]) {
					t.Errorf("line %d is %q, want %q in it", i+1, line, tc.stderr[i])
				}
			}
			if figures := slices.Contains(tc.args, watch) && tc.code != 2 || len(tc.stderr) > 1 && len(stdout) > 0; !figures &&
				stdout != "" {
				t.Errorf("standard output: %s", stdout)
			}
		})
	}
}

func TestListenJSONOfSeveral(t *testing.T) {
	t.Parallel()
	watch, _ := soundFile(t, "watch.wav", simulate.Lever(), 0)
	room, _ := soundFile(t, "room.wav", silentWatch(), 0)
	code, stdout, _ := listenRun(nil, "--json", room, watch, watch)
	var got []map[string]any
	if err := json.Unmarshal([]byte(stdout), &got); err != nil || code != 3 || len(got) != 3 {
		t.Fatalf("exit %d, %v: %s", code, err, stdout)
	}
	if !slices.Equal(sortedKeys(got[0]), []string{"error", "file"}) || got[0]["file"] != room ||
		!strings.Contains(got[0]["error"].(string), "no watch heard") {
		t.Errorf("the room: %v", got[0])
	}
	for _, answer := range got[1:] {
		if !slices.Equal(sortedKeys(answer), listenFields) || answer["file"] != watch {
			t.Errorf("the watch: %v", answer)
		}
	}
}

// heard is a result as the listener gives it.
func heard() acoustic.Result {
	return acoustic.Result{
		BeatsPerHour: 19800, LiftAngleDeg: 44, Rate: metrology.Value{Value: -3.45678, StdUncertainty: 2.5, Unit: "s/d"},
		RateFitStdSPerDay: 0.0311,
		Amplitude:         &metrology.Value{Value: 261.4219, StdUncertainty: 0.32, Unit: "°"},
		BeatError:         &metrology.Value{Value: -0.70004, StdUncertainty: 0.0061, Unit: "ms"},
		BeatsUsed:         108, BeatsMissed: 2, SNRdB: 23.96, Seconds: 20,
		Notes: []acoustic.Note{{Code: acoustic.NoteHum, Text: "A tone of 50 Hz hums in the recording."}},
	}
}

func TestListenPrintsFigures(t *testing.T) {
	t.Parallel()
	var out bytes.Buffer
	none := heard()
	none.Amplitude, none.BeatsPerHourStated, none.Notes = nil, true, nil
	if err := writeListenTables(&out, []heardFile{{name: "bench.wav", result: heard()},
		{name: "gone.wav", err: errNothingHeard}, {name: "weak.flac", result: none}}); err != nil {
		t.Fatal(err)
	}
	want := `bench.wav, 20.0 s

quantity         figure         unit  remark
beats per hour   19800          1/h   found
rate             −3.5 ± 5.0     s/d   ± 0.062 without the clock
amplitude        261.42 ± 0.64  °     lift angle 44°
beat error       0.700 ± 0.012  ms
beats used       108                  2 missed
signal to noise  24.0           dB

- A tone of 50 Hz hums in the recording.

weak.flac, 20.0 s

quantity         figure         unit  remark
beats per hour   19800          1/h   as told
rate             −3.5 ± 5.0     s/d   ± 0.062 without the clock
amplitude        not found            lift angle 44°
beat error       0.700 ± 0.012  ms
beats used       108                  2 missed
signal to noise  24.0           dB

The figure after ± is the expanded uncertainty (k = 2). The rate's includes the recorder's clock.
`
	if got := out.String(); got != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
}

func TestListenRoundsFigures(t *testing.T) {
	t.Parallel()
	var out bytes.Buffer
	r := heard()
	if err := writeListenJSON(&out, []heardFile{{name: "a&b.wav", result: r}}); err != nil {
		t.Fatal(err)
	}
	want := `{
  "file": "a&b.wav",
  "beats_per_hour": 19800,
  "rate_s_per_day": -3.457,
  "rate_u95_s_per_day": 5,
  "rate_fit_u95_s_per_day": 0.063,
  "amplitude_deg": 261.42,
  "amplitude_u95_deg": 0.64,
  "beat_error_ms": 0.7,
  "beat_error_signed_ms": -0.7,
  "beat_error_u95_ms": 0.0122,
  "lift_angle_deg": 44,
  "lift_angle_assumed": false,
  "beats_used": 108,
  "beats_missed": 2,
  "snr_db": 24,
  "seconds": 20,
  "notes": [
    "A tone of 50 Hz hums in the recording."
  ]
}
`
	if got := out.String(); got != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
	// What JSON has no numbers for is null, and an amplitude that was not found is.
	r.Amplitude, r.SNRdB, r.Rate.Value, r.Notes = nil, math.Inf(1), -0.0001, nil
	out.Reset()
	if err := writeListenJSON(&out, []heardFile{{name: "x", result: r}}); err != nil {
		t.Fatal(err)
	}
	for _, part := range []string{`"amplitude_deg": null`, `"amplitude_u95_deg": null`, `"snr_db": null`,
		`"rate_s_per_day": 0,`, `"notes": []`} {
		if !strings.Contains(out.String(), part) {
			t.Errorf("no %s in\n%s", part, out.String())
		}
	}
}

func TestParsePPM(t *testing.T) {
	t.Parallel()
	for word, want := range map[string]typedPPM{
		"40": {40, 1, true}, "40.0": {40, 0.1, true}, "-12.50": {-12.5, 0.01, true}, "+3": {3, 1, true},
		"−0,5": {-0.5, 0.1, true}, "0": {0, 1, true}, "40ppm": {40, 1, true},
	} {
		got, err := parsePPM(word)
		if err != nil || got.value != want.value || math.Abs(got.step-want.step) > 1e-12 || !got.given {
			t.Errorf("%q: %v, %v", word, got, err)
		}
	}
	for _, word := range []string{"", "NaN", "Inf", "1e3", "0x10", "1_000", "40 ms", "4 0", ".", "--json", "10000.1",
		"1.2.3"} {
		if got, err := parsePPM(word); err == nil {
			t.Errorf("%q was read as %v", word, got)
		}
	}
}

func TestClockOf(t *testing.T) {
	t.Parallel()
	root3 := math.Sqrt(3)
	for name, tc := range map[string]struct {
		ppm, u95     string
		want, stdPPM float64
	}{
		// JCGM 100, 4.3.7: a/√3 of a half-width a.
		"nothing known":     {"", "", 0, 50 / root3},
		"to the whole":      {"40", "", 40, 0.5 / root3},
		"to the tenth":      {"40.0", "", 40, 0.05 / root3},
		"with a stated U":   {"40.0", "0.4", 40, math.Hypot(0.05/root3, 0.2)},
		"a disciplined one": {"", "0.02", 0, 0.01},
	} {
		var ppm, u95 typedPPM
		for text, to := range map[string]*typedPPM{tc.ppm: &ppm, tc.u95: &u95} {
			if text == "" {
				continue
			}
			var err error
			if *to, err = parsePPM(text); err != nil {
				t.Fatal(err)
			}
		}
		if got := clockOf(ppm, u95); got.PPM != tc.want || math.Abs(got.StdPPM-tc.stdPPM) > 1e-12 {
			t.Errorf("%s: %+v, want %v ± %v", name, got, tc.want, tc.stdPPM)
		}
	}
}

func TestListenShowsItsProgress(t *testing.T) {
	t.Parallel()
	var out bytes.Buffer
	info := recording.Info{RateHz: 48000, Frames: 48000 * 3600}
	if advance, end := soundProgress(&out, "night.wav", info); advance != nil {
		end()
		t.Error("a bar is drawn where nobody looks on")
	}
	bar := newSoundBar(&out, "night.wav", info)
	bar.Set64(heardSeconds(48000*1800, info))
	if got := out.String(); !strings.Contains(got, "night.wav") || !strings.Contains(got, "50%") {
		t.Errorf("drawn: %q", got)
	}
	// A header may say nothing, or too little.
	for _, frames := range []int64{-1, 0, 48000} {
		short := newSoundBar(&out, "x", recording.Info{RateHz: 48000, Frames: frames})
		short.Set64(7200)
		short.Finish()
	}
}
