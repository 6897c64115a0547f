package recorder_test

import (
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"ledgerwheel/domain/recorder"
)

var typedAt = time.Date(2026, 11, 29, 9, 0, 0, 0, time.UTC)

// typedPair is a plausible recorder calibrated twice, as typed: it is known as well as certificates and counters know
// it, has aged by as much as quartzes do, and was warmer or colder the second time.
func typedPair(r *rand.Rand) (last, c recorder.Calibration) {
	years := 0.1 + 2*r.Float64()
	truth := 25 * r.NormFloat64()
	make := func(at time.Time, ppm float64) recorder.Calibration {
		std := 0.02 + r.ExpFloat64()
		return recorder.Calibration{Method: recorder.Typed, At: at, PPM: ppm + std*r.NormFloat64() + 2*r.Float64() - 1, StdPPM: std,
			Note: "certificate"}
	}
	return make(typedAt.Add(-time.Duration(years*365.25*24)*time.Hour), truth),
		make(typedAt, truth+years*3*(2*r.Float64()-1))
}

// Nothing plausible is slowed: fewer than one calibration in two hundred is asked about. Slips are, as often as stated.
func TestCalibrationsAreAskedAbout(t *testing.T) {
	t.Parallel()
	const tried = 20000
	for n, slip := range []struct {
		name, field string
		least, most float64
		spoil       func(*recorder.Calibration)
	}{
		{"plausible", "", 0, 1.0 / 200, func(*recorder.Calibration) {}},
		{"37 ppm from the last", "ppm", 0.99, 1, func(c *recorder.Calibration) { c.PPM += 37 }},
		{"the sign", "ppm", 0.7, 1, func(c *recorder.Calibration) { c.PPM = -c.PPM }},
		{"the decimal mark left out", "ppm", 0.9, 1, func(c *recorder.Calibration) { c.PPM *= 10 }},
		{"± 0.000079 ppm", "uncertainty", 1, 1, func(c *recorder.Calibration) { c.StdPPM = 0.000079 / 2 }},
		{"parts per billion for parts per million", "uncertainty", 0.95, 1, func(c *recorder.Calibration) { c.StdPPM /= 1000 }},
	} {
		r := rand.New(rand.NewPCG(3, uint64(n)))
		asked := 0
		for range tried {
			last, c := typedPair(r)
			slip.spoil(&c)
			doubts := c.Doubts(&last)
			if slip.field == "" && len(doubts) > 0 || doubts[slip.field] != "" {
				asked++
			}
		}
		share := float64(asked) / tried
		t.Logf("%s: asked about in %.2f %%", slip.name, 100*share)
		if share < slip.least || share > slip.most {
			t.Errorf("%s: asked about in %.2f %%, want from %.1f to %.1f %%", slip.name, 100*share, 100*slip.least, 100*slip.most)
		}
	}
}

// Another quartz of the same sound card, the first calibration of all, and one too old to be used say nothing.
func TestCalibrationsThatAreNotCompared(t *testing.T) {
	t.Parallel()
	last := recorder.Calibration{Method: recorder.ByPulses, At: typedAt.AddDate(-1, 0, 0), PPM: 12, StdPPM: 0.1, RateHz: 48000}
	c := recorder.Calibration{Method: recorder.ByPulses, At: typedAt, PPM: -25, StdPPM: 0.1, RateHz: 48000}
	asked := c.Doubts(&last)
	if why := asked["ppm"]; len(asked) != 1 || !strings.Contains(why, "37 ppm from") {
		t.Errorf("37 ppm off: %v", asked)
	}
	other, old := c, last
	other.RateHz = 44100
	old.At = typedAt.AddDate(-6, 0, 0)
	for name, asked := range map[string]map[string]string{"another quartz": other.Doubts(&last), "the first": c.Doubts(nil),
		"too old": c.Doubts(&old)} {
		if len(asked) > 0 {
			t.Errorf("%s: %v", name, asked)
		}
	}
}

// A calibration is never surer than its sound can be counted, however clean the pulses: five minutes at 48 kHz leave two
// ends of 21 µs in 300 s.
func TestCalibrationHasAFloor(t *testing.T) {
	t.Parallel()
	var times []float64
	for n := range 301 {
		times = append(times, float64(n)*(1+11.6e-6))
	}
	e, err := recorder.FromPulses(times, recorder.Reference{})
	if err != nil {
		t.Fatal(err)
	}
	c := e.Calibration(recorder.ByPulses, 48000, typedAt)
	const want = 0.02835 // √2 · (20.833 µs / √12) / 300 s, by hand
	if c.StdPPM < want*0.999 || c.StdPPM > want*1.001 || c.RateHz != 48000 {
		t.Errorf("u = %v ppm, want %v", c.StdPPM, want)
	}
	c.StdPPM = 0.000079 / 2
	if why := c.Problems()["uncertainty"]; !strings.Contains(why, "0.057") {
		t.Errorf("± 0.000079 ppm from five minutes is kept: %q", why)
	}
}
