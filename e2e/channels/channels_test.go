package main

import (
	"errors"
	"math"
	"os/exec"
	"testing"

	"ledgerwheel/domain/acoustic"
)

// TestChannels hears two dozen watches through each way and holds what is counted against what was measured of sixty: no
// figure much worse, and what is stated of what is given held in nine of ten. The encoders are ffmpeg's; verify installs
// it.
func TestChannels(t *testing.T) {
	t.Parallel()
	if _, err := exec.LookPath("ffmpeg"); err != nil {
		t.Fatal("ffmpeg makes the recordings: install it, or let verify do so")
	}
	const count = 24
	watches := draw(count, 13, 16, 30)
	var held, given [3]int
	for _, r := range rows {
		var of tally
		for _, h := range r.hear(watches, "") {
			if h.err != nil && !errors.Is(h.err, acoustic.ErrNoWatch) {
				t.Fatal(h.err)
			}
			of.add(h)
		}
		got := of.counted()
		t.Logf("%-22s %s", r.name, got)
		for i, list := range [][]float64{of.rates, of.amplitudes, of.beatErrs} {
			held[i] += of.held[i]
			given[i] += len(list)
			// Nine of ten, less two spreads of so many.
			if n := float64(len(list)); float64(of.held[i]) < 0.9*n-2*math.Sqrt(0.09*n) {
				t.Errorf("%s: what is stated of figure %d held in %d of %d", r.name, i, of.held[i], len(list))
			}
		}
		// The spread of an rms or a median of so many errors, as in the listener's own tests, times two.
		room := 1 + 2.7/math.Sqrt(count)
		for what, c := range map[string][2]float64{"rate": {got.rate, r.now.rate}, "amplitude": {got.amplitude, r.now.amplitude},
			"beat error": {got.beatError, r.now.beatError}} {
			if c[1] > 0 && !(c[0] <= c[1]*room) {
				t.Errorf("%s: %s is off by %.4f, where %.4f was measured", r.name, what, c[0], c[1])
			}
		}
		share := func(n int) float64 { return float64(n) / 60 * count }
		for what, c := range map[string][2]float64{"not heard": {float64(got.refused), share(r.now.refused)},
			"wrong beats":  {float64(got.wrongBeats), share(r.now.wrongBeats)},
			"no amplitude": {float64(got.noAmplitude), share(r.now.noAmplitude)}} {
			if c[0] > c[1]+2*math.Sqrt(c[1])+1 {
				t.Errorf("%s: %s %.0f, where %.1f were expected", r.name, what, c[0], c[1])
			}
		}
	}
	for i, n := range given {
		if share := float64(held[i]) / float64(n); share < 0.93 {
			t.Errorf("what is stated of figure %d held in %d of %d over all ways", i, held[i], n)
		}
	}
}
