package main

import (
	"fmt"
	"math"
	"slices"
)

const heading = `Of each way, before and now: rate, rms in s/d; amplitude, median in degrees, and how many lie beyond 5 degrees or
are withheld; beat error, median in ms, and how many are withheld; shares held by the stated 95 % of what is given;
watches not heard, and heard with the wrong beats.`

// String is the row's line of the table; - stands where nothing is given.
func (c counted) String() string {
	figure := func(format string, x float64) string {
		if x == 0 || math.IsNaN(x) {
			return "-"
		}
		return fmt.Sprintf(format, x)
	}
	return fmt.Sprintf("%.3f | %5s %2d off %2d none | %6s %2d none | held %4s %4s %4s | %d not heard, %d wrong beats", c.rate,
		figure("%.2f", c.amplitude), c.amplitudeOff, c.noAmplitude, figure("%.4f", c.beatError), c.noError,
		figure("%.2f", c.heldRate), figure("%.2f", c.heldAmp), figure("%.2f", c.heldError), c.refused, c.wrongBeats)
}

// tally counts a row.
type tally struct {
	counts                      counted
	rates, amplitudes, beatErrs []float64 // errors
	held                        [3]int    // within what is stated
}

func (t *tally) add(o outcome) {
	if o.err != nil {
		t.counts.refused++
		return
	}
	r, truth := o.result, o.truth
	if math.Abs(r.BeatsPerHour/truth.BeatsPerHour-1) > 0.004 {
		t.counts.wrongBeats++
		return
	}
	hold := func(i int, list *[]float64, err, std float64) {
		*list = append(*list, math.Abs(err))
		if math.Abs(err) <= 2*std {
			t.held[i]++
		}
	}
	if r.BeatsPerHour == truth.BeatsPerHour { // of an odd calibre the nominal beat can't be told from the rate
		hold(0, &t.rates, r.Rate.Value-truth.ApparentRateSPerDay, r.RateFitStdSPerDay)
	}
	if r.Amplitude == nil {
		t.counts.noAmplitude++
	} else {
		hold(1, &t.amplitudes, r.Amplitude.Value-truth.AmplitudeDeg, r.Amplitude.StdUncertainty)
	}
	if r.BeatError == nil {
		t.counts.noError++
	} else {
		hold(2, &t.beatErrs, math.Abs(r.BeatError.Value)-truth.BeatErrorMagnitudeMs, r.BeatError.StdUncertainty)
	}
}

func (t *tally) counted() counted {
	c := t.counts
	square := 0.0
	for _, e := range t.rates {
		square += e * e
	}
	for _, e := range t.amplitudes {
		if e > 5 {
			c.amplitudeOff++
		}
	}
	c.rate = math.Sqrt(square / float64(len(t.rates)))
	c.amplitude, c.beatError = middle(t.amplitudes), middle(t.beatErrs)
	c.heldRate = float64(t.held[0]) / float64(len(t.rates))
	c.heldAmp = float64(t.held[1]) / float64(len(t.amplitudes))
	c.heldError = float64(t.held[2]) / float64(len(t.beatErrs))
	return c
}

// middle is the median; NaN of nothing.
func middle(x []float64) float64 {
	if len(x) == 0 {
		return math.NaN()
	}
	c := slices.Sorted(slices.Values(x))
	return (c[len(c)/2] + c[(len(c)-1)/2]) / 2
}
