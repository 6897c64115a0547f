package timing_test

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/timing"
)

// liftTimeMs swings a balance by its equation of motion, φ″ = −(2πF)²·φ, in small steps (classical Runge-Kutta) and times
// how long it takes from half the lift angle before its point of rest to half the lift angle after: no sine is used.
func liftTimeMs(amplitudeDeg, liftDeg, oscillationsPerS float64) float64 {
	const h = 1e-6
	k := 2 * math.Pi * oscillationsPerS
	x, v := -amplitudeDeg, 0.0
	from := math.NaN()
	for t := 0.0; t < 1/oscillationsPerS; t += h {
		force := func(x float64) float64 { return -k * k * x }
		k1, l1 := v, force(x)
		k2, l2 := v+h/2*l1, force(x+h/2*k1)
		k3, l3 := v+h/2*l2, force(x+h/2*k2)
		k4, l4 := v+h*l3, force(x+h*k3)
		nx, nv := x+h/6*(k1+2*k2+2*k3+k4), v+h/6*(l1+2*l2+2*l3+l4)
		for _, edge := range []float64{-liftDeg / 2, liftDeg / 2} {
			if x < edge && nx >= edge {
				at := t + h*(edge-x)/(nx-x)
				if math.IsNaN(from) {
					from = at
				} else {
					return (at - from) * 1000
				}
			}
		}
		x, v = nx, nv
	}
	return math.NaN()
}

func value(v, u float64) metrology.Value { return metrology.Value{Value: v, StdUncertainty: u} }

// TestLiftAngleAgainstMotion finds the lift angles of swings whose truth is known, in each of the four ways.
func TestLiftAngleAgainstMotion(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		lift, high, low float64
		beats           int
	}{{52, 270, 180, 21600}, {44, 300, 150, 18000}, {38, 240, 120, 28800}, {60, 310, 200, 36000}} {
		f := float64(c.beats) / 7200
		high := timing.LiftReading{TimeMs: value(liftTimeMs(c.high, c.lift, f), 0.001), BeatsPerHour: c.beats}
		low := timing.LiftReading{TimeMs: value(liftTimeMs(c.low, c.lift, f), 0.001), BeatsPerHour: c.beats}
		one, err := timing.LiftAngleAt(value(c.low, 2), low)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "at a known amplitude", one.Value, c.lift, 0.001) // steps of a millionth of a second
		// 2° in the amplitude is the same share of the lift angle; the time adds little here.
		near(t, "its uncertainty", one.StdUncertainty, c.lift*2/c.low, 0.03)
		two, err := timing.LiftAngleOfTwo(value(c.high-c.low, 2), high, low)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "of two amplitudes", two.Value, c.lift, 0.005)
		// An instrument that is set to 50° shows amplitudes in proportion.
		shown := func(a float64) metrology.Value { return value(a*50/c.lift, 1) }
		set, err := timing.LiftAngleOfShown(value(c.low, 2), shown(c.low), 50)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "of an amplitude shown", set.Value, c.lift, 1e-9)
		pair, err := timing.LiftAngleOfTwoShown(value(c.high-c.low, 2), shown(c.high), shown(c.low), 50)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "of two shown", pair.Value, c.lift, 1e-9)
		if one.Unit != "°" || !(pair.StdUncertainty > two.StdUncertainty) {
			t.Errorf("%+v, %+v, %+v", one, two, pair)
		}
	}
}

// TestLiftAngleUncertaintyHolds reads made-up watches with the uncertainties stated, and counts how often the 95 % hold.
func TestLiftAngleUncertaintyHolds(t *testing.T) {
	t.Parallel()
	random := rand.New(rand.NewPCG(3, 9))
	const watches = 4000
	held := [2]int{}
	for range watches {
		lift, f := 45+12*random.Float64(), 3.0
		high, low := 250+50*random.Float64(), 120+30*random.Float64()
		time := func(a, u float64) timing.LiftReading {
			ms := math.Asin(lift/2/a) / (math.Pi * f) * 1000
			return timing.LiftReading{TimeMs: value(ms+u*random.NormFloat64(), u), BeatsPerHour: 21600}
		}
		one, err := timing.LiftAngleAt(value(low+3*random.NormFloat64(), 3), time(low, 0.1))
		if err != nil {
			t.Fatal(err)
		}
		two, err := timing.LiftAngleOfTwo(value(high-low+3*random.NormFloat64(), 3), time(high, 0.1), time(low, 0.1))
		if err != nil {
			t.Fatal(err)
		}
		for i, v := range []metrology.Value{one, two} {
			if math.Abs(v.Value-lift) <= v.Expanded() {
				held[i]++
			}
		}
	}
	for i, n := range held {
		share := float64(n) / watches
		t.Logf("way %d: within U in %.1f %% of %d", i+1, 100*share, watches)
		if share < 0.94 || share > 0.97 { // k = 2 is 95.4 %, and the count is good to ± 0.7 %
			t.Errorf("way %d: within U in %.1f %%", i+1, 100*share)
		}
	}
}

func TestLiftAngleRefuses(t *testing.T) {
	t.Parallel()
	r := func(ms float64, beats int) timing.LiftReading {
		return timing.LiftReading{TimeMs: value(ms, 0.05), BeatsPerHour: beats}
	}
	at := func(a metrology.Value, r timing.LiftReading) error { _, err := timing.LiftAngleAt(a, r); return err }
	two := func(d metrology.Value, a, b timing.LiftReading) error {
		_, err := timing.LiftAngleOfTwo(d, a, b)
		return err
	}
	for name, c := range map[string]struct{ got, want error }{
		"no beats":          {at(value(180, 2), r(15, 0)), timing.ErrLiftBeats},
		"no time":           {at(value(180, 2), r(0, 21600)), timing.ErrLiftTime},
		"half a swing":      {at(value(180, 2), r(170, 21600)), timing.ErrLiftTime},
		"not a number":      {at(value(180, 2), r(math.NaN(), 21600)), timing.ErrLiftTime},
		"no amplitude":      {at(value(0, 2), r(15, 21600)), timing.ErrLiftAmplitude},
		"too great":         {at(value(180, 2), r(35, 21600)), timing.ErrLiftImpossible},
		"alike":             {two(value(90, 2), r(15, 21600), r(15.1, 21600)), timing.ErrLiftDifference},
		"the wrong way":     {two(value(90, 2), r(15, 21600), r(10, 21600)), timing.ErrLiftDifference},
		"difference of ± 5": {two(value(15, 5), r(10, 21600), r(15, 21600)), timing.ErrLiftDifference},
	} {
		if !errors.Is(c.got, c.want) {
			t.Errorf("%s: %v, want %v", name, c.got, c.want)
		}
	}
	if _, err := timing.LiftAngleOfShown(value(180, 2), value(400, 2), 52); !errors.Is(err, timing.ErrLiftAmplitude) {
		t.Error(err)
	}
	if _, err := timing.LiftAngleOfTwoShown(value(90, 2), value(270, 2), value(40, 2), 52); !errors.Is(err,
		timing.ErrLiftAmplitude) {
		t.Error(err)
	}
}

// TestLiftAngleInEveryVerdict: what the lift angle is known to is in the uncertainty by which an amplitude limit is
// decided: a degree unless it was determined.
func TestLiftAngleInEveryVerdict(t *testing.T) {
	t.Parallel()
	near(t, "not determined", timing.LiftAngle{}.Rel(), 1.0/52, 1e-12)
	near(t, "set to 48", timing.LiftAngle{Deg: 48}.Rel(), 1.0/48, 1e-12)
	near(t, "determined", timing.LiftAngle{Deg: 50, StdDeg: 0.25}.Rel(), 0.005, 1e-12)
	least := 270.0
	limits := timing.RateLimits{Limits: []timing.Limit{{Key: timing.LeastHorizontalAmplitude,
		Limits: metrology.Limits{Lower: &least}}}}
	s := timing.Sheet{Run: timing.Run{Kind: timing.AsReceived, CrownHour: 3, Readings: []timing.Reading{
		{Position: timing.DialUp, AmplitudeDeg: &timing.Figure{Value: 276, Step: 1}},
		{Position: timing.DialDown, AmplitudeDeg: &timing.Figure{Value: 276, Step: 1}}}}}
	verdict := func(s timing.Sheet) metrology.Verdict {
		return timing.Judge(s.Run, limits, metrology.Guarded, s.Instruments()).Verdict
	}
	s.LiftAngle = timing.LiftAngle{Deg: 52}
	if got := verdict(s); got != metrology.Undecided {
		t.Errorf("276° by a lift angle good to a degree against 270°: %s", got)
	}
	s.LiftAngle = timing.LiftAngle{Deg: 52, StdDeg: 0.3}
	if got := verdict(s); got != metrology.Pass {
		t.Errorf("276° by a determined lift angle against 270°: %s", got)
	}
}
