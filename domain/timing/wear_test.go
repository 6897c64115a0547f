package timing_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"ledgerwheel/domain/timing"
)

// worn is a run with those rates, dial up first, then dial down, then hanging; NaN is not read.
func worn(step float64, rates ...float64) timing.Run {
	run := timing.Run{Kind: timing.Final, CrownHour: timing.CrownAtThree}
	for i, p := range timing.Positions() {
		if i < len(rates) && !math.IsNaN(rates[i]) {
			run.Readings = append(run.Readings, timing.Reading{Position: p, Instrument: "bench 1",
				RateSPerDay: &timing.Figure{Value: rates[i], Step: step}})
		}
	}
	return run
}

func TestInWear(t *testing.T) {
	t.Parallel()
	exact := timing.Instruments{ClockStdSPerDay: map[string]float64{"bench 1": 0}}
	nan := math.NaN()
	for name, c := range map[string]struct {
		run     timing.Run
		mean    float64
		leaning timing.Leaning
		least   float64
		ok      bool
	}{
		// The mean of five is a sum of the schoolroom; dial down is left out, however far off it is.
		"all six":              {worn(1, 5, 90, 3, 4, 1, 2), 3, timing.Gains, 1, true},
		"loses":                {worn(1, -5, 0, -3, -4, -1, -2), -3, timing.Loses, -5, true},
		"no telling":           {worn(1, 0.2, 0, -0.1, 0.1, 0, 0), 0.04, timing.NoTelling, -0.1, true},
		"three are enough":     {worn(1, 6, nan, 3, 3), 4, timing.Gains, 3, true},
		"no dial up":           {worn(1, nan, 4, 3, 4, 1, 2), 0, 0, 0, false},
		"flat only":            {worn(1, 5, 5), 0, 0, 0, false},
		"nothing read":         {timing.Run{}, 0, 0, 0, false},
		"one hanging position": {worn(1, 5, 5, 4), 0, 0, 0, false},
	} {
		w, ok := timing.InWear(c.run, exact)
		if ok != c.ok || ok && (math.Abs(w.Mean.Value-c.mean) > 1e-9 || w.Leaning() != c.leaning || w.Least != c.least) {
			t.Errorf("%s: %+v, %t", name, w, ok)
		}
		if ok && slices.Contains(w.Over, timing.DialDown) {
			t.Errorf("%s: dial down counts as worn", name)
		}
	}
}

// TestWearCounted counts, on made-up watches read by an instrument whose clock is off within its stated uncertainty, how
// often the stated mean ± U holds the true one, and how often gain or loss is said wrongly. With k = 2 some 95 in a
// hundred should hold (JCGM 100, G.6.6), and a wrong word is the tail beyond, at most some 2.5.
func TestWearCounted(t *testing.T) {
	t.Parallel()
	const watches, clockStd, step = 4000, 0.5, 1.0
	random := rand.New(rand.NewPCG(15, 3))
	held, wrong := 0, 0
	for range watches {
		level, clock := 4*random.NormFloat64(), clockStd*random.NormFloat64()
		var read []float64
		truth := 0.0
		for _, p := range timing.Positions() {
			rate := level + 5*random.NormFloat64()
			if p != timing.DialDown {
				truth += rate / 5
			}
			read = append(read, math.Round((rate+clock)/step)*step)
		}
		w, ok := timing.InWear(worn(step, read...), timing.Instruments{ClockStdSPerDay: map[string]float64{"bench 1": clockStd}})
		if !ok {
			t.Fatal("six readings say nothing of wear")
		}
		if math.Abs(w.Mean.Value-truth) <= w.Mean.Expanded() {
			held++
		}
		if truth > 0 && w.Leaning() == timing.Loses || truth < 0 && w.Leaning() == timing.Gains {
			wrong++
		}
	}
	t.Logf("of %d watches the stated mean held in %d, gain or loss was said wrongly of %d", watches, held, wrong)
	if share := float64(held) / watches; share < 0.94 || share > 0.97 {
		t.Errorf("the stated uncertainty holds in %.1f %%", 100*share)
	}
	if wrong*40 > watches {
		t.Errorf("gain or loss is said wrongly of %d", wrong)
	}
}
