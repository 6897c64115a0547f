package recorder

import (
	"math"
	"testing"
	"time"

	"ledgerwheel/domain/acoustic"
)

var noon = time.Date(2026, 11, 24, 12, 0, 0, 0, time.UTC)

func calibrationAt(at time.Time, ppm, std float64) Calibration {
	return Calibration{PPM: ppm, StdPPM: std, Method: ByPulses, At: at, RedoBy: DefaultRedoBy(at)}
}

// TestClockAges holds the growing uncertainty against √(u² + (3 ppm·years)²/3 + (1 ppm)²/3) done by hand.
func TestClockAges(t *testing.T) {
	t.Parallel()
	c := calibrationAt(noon, 12, 0.2)
	r := Recorder{Calibration: &c}
	year := time.Duration(365.25 * 24 * float64(time.Hour))
	for _, tc := range []struct {
		after time.Duration
		ppm   float64
		want  float64
	}{
		{0, 12, 0.6110},             // √(0.04 + 0.3333)
		{year, 12, 1.8366},          // √(0.04 + 3 + 0.3333)
		{-year, 12, 1.8366},         // a reading taken before, which a calibration found later describes no better
		{2 * year, 12, 3.5176},      // √(0.04 + 12 + 0.3333): overdue, and still worth that
		{5*year + 1e12, 0, 28.8675}, // too old: ±50 ppm
	} {
		got := r.Clock(noon.Add(tc.after))
		if got.PPM != tc.ppm || math.Abs(got.StdPPM-tc.want) > 1e-4 {
			t.Errorf("after %v: %+v, want %v ± %v", tc.after, got, tc.ppm, tc.want)
		}
	}
	if got := (Recorder{}).Clock(noon); got != acoustic.UncalibratedClock() {
		t.Errorf("never calibrated: %+v", got)
	}
}

func TestStanding(t *testing.T) {
	t.Parallel()
	c := calibrationAt(noon, 0, 1)
	r := Recorder{Calibration: &c}
	last := time.Date(2027, 11, 24, 0, 0, 0, 0, time.UTC)
	for day, want := range map[time.Time]Standing{noon: Calibrated, last: Calibrated, last.AddDate(0, 0, 1): Overdue} {
		if got := r.Standing(day); got != want {
			t.Errorf("on %s: %s, want %s", day.Format(time.DateOnly), got, want)
		}
	}
	if got := (Recorder{}).Standing(noon); got != NeverCalibrated {
		t.Errorf("none: %s", got)
	}
}

func TestInForce(t *testing.T) {
	t.Parallel()
	day := func(n int) time.Time { return noon.AddDate(0, 0, n) }
	old, new, retired, late := calibrationAt(day(0), 1, 1), calibrationAt(day(10), 2, 1), calibrationAt(day(20), 3, 1),
		calibrationAt(day(5), 4, 1)
	old.ID, new.ID, retired.ID, late.ID = 1, 2, 3, 4
	retired.RetiredAt = day(25)
	late.KeptAt = day(40) // found early, written down late
	all := []Calibration{retired, late, new, old}
	for _, tc := range []struct {
		at   time.Time
		want int64 // 0 for none
	}{{day(-1), 0}, {day(0), 1}, {day(9), 1}, {day(10), 2}, {day(20), 3}, {day(24), 3}, {day(25), 2}, {day(50), 2}} {
		var got int64
		if c := InForce(all, tc.at); c != nil {
			got = c.ID
		}
		if got != tc.want {
			t.Errorf("on day %v: %d, want %d", tc.at.Sub(noon).Hours()/24, got, tc.want)
		}
	}
}

func TestProblems(t *testing.T) {
	t.Parallel()
	good := Recorder{Name: "Desk microphone", UsualRateHz: 48000}
	if bad := good.Problems(); len(bad) > 0 {
		t.Errorf("a good one: %v", bad)
	}
	for field, r := range map[string]Recorder{"name": {Name: " \t", UsualRateHz: 48000},
		"usual_rate": {Name: "x", UsualRateHz: 7999},
		"note":       {Name: "x", UsualRateHz: 48000, Note: string(make([]byte, 501))}} {
		if bad := r.Problems(); len(bad) != 1 || bad[field] == "" {
			t.Errorf("%s: %v", field, bad)
		}
	}
	change := func(f func(*Calibration)) Calibration {
		c := calibrationAt(noon, 12, 0.2)
		c.KeptAt = noon
		f(&c)
		return c
	}
	if bad := change(func(*Calibration) {}).Problems(); len(bad) > 0 {
		t.Errorf("a good one: %v", bad)
	}
	for _, tc := range []struct {
		field string
		f     func(*Calibration)
	}{
		{"ppm", func(c *Calibration) { c.PPM = math.Inf(1) }},
		{"ppm", func(c *Calibration) { c.PPM = -1001 }},
		{"uncertainty", func(c *Calibration) { c.StdPPM = 0 }},
		{"uncertainty", func(c *Calibration) { c.StdPPM = math.NaN() }},
		{"uncertainty", func(c *Calibration) { c.StdPPM = 29 }}, // 50/√3 = 28.9
		{"method", func(c *Calibration) { c.Method = "guess" }},
		{"made_on", func(c *Calibration) { c.KeptAt = noon.Add(-time.Hour) }},
		{"made_on", func(c *Calibration) { c.KeptAt = noon.AddDate(6, 0, 0) }},
		{"redo_by", func(c *Calibration) { c.RedoBy = noon.AddDate(0, 0, -2) }},
		{"redo_by", func(c *Calibration) { c.RedoBy = noon.AddDate(6, 0, 0) }},
		{"redo_by", func(c *Calibration) { c.RedoBy = time.Time{} }},
		{"note", func(c *Calibration) { c.Method = Typed }},
	} {
		if bad := change(tc.f).Problems(); len(bad) != 1 || bad[tc.field] == "" {
			t.Errorf("%s: %v", tc.field, bad)
		}
	}
	for field, r := range map[string]Reference{"reference_rate": {RateSPerDay: math.NaN()},
		"reference_u95": {U95SPerDay: -1}} {
		if bad := r.Problems(); len(bad) != 1 || bad[field] == "" {
			t.Errorf("%s: %v", field, bad)
		}
	}
}

func TestParseRate(t *testing.T) {
	t.Parallel()
	for text, want := range map[string]int{"48000": 48000, " 48 000 Hz": 48000, "44.1 kHz": 44100, "44,1k": 44100, "": 0,
		"fast": 0, "-3": 0, "1e300": 0, "NaN": 0} {
		if got := ParseRate(text); got != want {
			t.Errorf("%q: %d, want %d", text, got, want)
		}
	}
}
