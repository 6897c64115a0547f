package oscillator_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"ledgerwheel/domain/oscillator"
)

// poisingWatch is a balance with a heavy spot, read by Bessel's integral.
type poisingWatch struct{ x, y, spring, springAt float64 } // S towards 12 and 3; spring error, s/d, fastest with springAt up

func (w poisingWatch) round(random *rand.Rand, amplitude, noise float64, eight bool) []oscillator.HangingReading {
	var out []oscillator.HangingReading
	for _, up := range oscillator.PoisingUps(eight) {
		a := amplitude + 3*random.NormFloat64()
		rad := a * math.Pi / 180
		sin, cos := math.Sincos(up * math.Pi / 180)
		rate := 5 - 86400*(w.x*cos+w.y*sin)*besselJ1(rad)/rad + w.spring*math.Cos((up-w.springAt)*math.Pi/180)
		out = append(out, oscillator.HangingReading{UpDeg: up, RateSPerDay: rate + noise*random.NormFloat64(), AmplitudeDeg: a})
	}
	return out
}

// TestPoisingToTheEnd poises made-up balances round by round, each cut done as well as a hand does it: it ends by itself
// with the heavy spot a fraction of what it was, and hardly ever takes off too much.
func TestPoisingToTheEnd(t *testing.T) {
	t.Parallel()
	const watches = 500
	random := rand.New(rand.NewPCG(31, 7))
	b := oscillator.Balance{BeatsPerHour: 28800, InertiaMgCm2: 12, RimRadiusMm: 4}
	k, _ := b.StiffnessNmPerRad()
	stopped, turned, rounds := 0, 0, 0
	for range watches {
		angle, s := 2*math.Pi*random.Float64(), 0.0008+0.004*random.Float64()
		w := poisingWatch{x: s * math.Cos(angle), y: s * math.Sin(angle), spring: 3 * random.Float64(), springAt: 360 * random.Float64()}
		var before *oscillator.PoisingRound
		for range 12 {
			rounds++
			r := oscillator.Poise(w.round(random, 162, 1, random.IntN(2) == 0), b, before)
			if r.State == oscillator.PoisingStop {
				stopped++
				break
			}
			if r.State == oscillator.PoisingTurned {
				turned++
				break
			}
			if r.TakeOff == nil {
				before = nil
				continue
			}
			// µg·mm to S: m·g·r/k.
			cut := r.TakeOff.Value * 1e-12 * oscillator.StandardGravity / k * (1 + 0.15*random.NormFloat64())
			at := (r.HeavyAtDeg.Value + 5*random.NormFloat64()) * math.Pi / 180
			w.x, w.y = w.x-cut*math.Cos(at), w.y-cut*math.Sin(at)
			before = &r
		}
		if left := math.Hypot(w.x, w.y); left > s || left > 0.0009 {
			t.Errorf("of S = %.0f ppm %.0f stay", 1e6*s, 1e6*left)
		}
	}
	t.Logf("%d of %d stopped by themselves, %d went over to the other side, %.1f rounds each", stopped, watches, turned,
		float64(rounds)/watches)
	if stopped < watches*97/100 || turned > watches/100 {
		t.Errorf("stopped %d, turned %d of %d", stopped, turned, watches)
	}
}

// TestPoisingFirstRound holds the side: below the neutral amplitude the fastest position has the heavy spot lowest
// (Kleinlein 1920, section 28).
func TestPoisingFirstRound(t *testing.T) {
	t.Parallel()
	random := rand.New(rand.NewPCG(1, 1))
	w := poisingWatch{x: 0, y: 0.003} // towards 3 o'clock
	readings := w.round(random, 160, 0, true)
	fastest := readings[0]
	for _, r := range readings {
		if r.RateSPerDay > fastest.RateSPerDay {
			fastest = r
		}
	}
	if fastest.UpDeg != 270 { // 9 up, so 3 is lowest
		t.Fatalf("the fastest position has %.0f° up", fastest.UpDeg)
	}
	r := oscillator.Poise(readings, oscillator.Balance{}, nil)
	near(t, "heavy at", r.HeavyAtDeg.Value, 90, 2)
	near(t, "size", r.Size.Value, 3000, 100)
	if r.State != oscillator.PoisingLighten || r.TakeOff != nil {
		t.Errorf("%s, %v", r.State, r.TakeOff)
	}
}

// TestPoisingRefuses: no metal at the wrong amplitude, on too few readings, or where no heavy spot is behind the rates.
func TestPoisingRefuses(t *testing.T) {
	t.Parallel()
	random := rand.New(rand.NewPCG(2, 2))
	w := poisingWatch{x: 0.003}
	odd := w.round(random, 160, 0, true)
	for i := range odd {
		odd[i].RateSPerDay += 40 * math.Cos(math.Pi*float64(i)) // every other position
	}
	for _, c := range []struct {
		name     string
		readings []oscillator.HangingReading
		want     oscillator.PoisingState
	}{
		{"nothing", nil, oscillator.PoisingRead},
		{"three", w.round(random, 160, 0, false)[:3], oscillator.PoisingRead},
		{"one side", w.round(random, 160, 0, true)[:4], oscillator.PoisingRead},
		{"neutral", w.round(random, 215, 0, false), oscillator.PoisingSwing},
		{"full wind", w.round(random, 270, 0, false), oscillator.PoisingSwing},
		{"almost still", w.round(random, 110, 0, false), oscillator.PoisingSwing},
		{"no one spot", odd, oscillator.PoisingDoubt},
		{"in poise", poisingWatch{x: 0.0002}.round(random, 160, 0, false), oscillator.PoisingStop},
	} {
		r := oscillator.Poise(c.readings, oscillator.Balance{BeatsPerHour: 28800, InertiaMgCm2: 12, RimRadiusMm: 4}, nil)
		if r.State != c.want || r.Text == "" || r.TakeOff != nil {
			t.Errorf("%s: %s, take off %v: %s", c.name, r.State, r.TakeOff, r.Text)
		}
	}
}

// TestPoisingOvershot tells a heavy spot that went over to the other side from one that is still there.
func TestPoisingOvershot(t *testing.T) {
	t.Parallel()
	random := rand.New(rand.NewPCG(4, 2))
	b := oscillator.Balance{BeatsPerHour: 28800, InertiaMgCm2: 12, RimRadiusMm: 4}
	first := oscillator.Poise(poisingWatch{x: 0.003}.round(random, 160, 0.5, true), b, nil)
	over := oscillator.Poise(poisingWatch{x: -0.002}.round(random, 160, 0.5, true), b, &first)
	if over.State != oscillator.PoisingTurned || over.TakeOff != nil {
		t.Errorf("overshot: %s, %v", over.State, over.TakeOff)
	}
	less := oscillator.Poise(poisingWatch{x: 0.0008}.round(random, 160, 0.5, true), b, &first)
	if less.State != oscillator.PoisingLast || less.TakeOff == nil || less.TakeOff.Value >= first.TakeOff.Value/2 {
		t.Errorf("less: %s, %v after %v", less.State, less.TakeOff, first.TakeOff)
	}
}
