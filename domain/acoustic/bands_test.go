package acoustic_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"ledgerwheel/domain/acoustic"
	"ledgerwheel/domain/acoustic/simulate"
	"ledgerwheel/domain/published"
)

// TestChartBandsHold counts what the charts of a recording say: 95 % of single beats lie within twice their scatter, and
// the mean of each beat of the escape wheel's turn within twice its standard uncertainty, in watches with and without
// a wheel that is out of round.
func TestChartBandsHold(t *testing.T) {
	t.Parallel()
	beats, beatsHeld, teethHeld, teethAll := map[bool]int{}, map[bool]int{}, 0, 0
	for seed := range uint64(24) {
		teeth := []int{12, 15, 20, 21}[seed%4]
		pattern := simulate.RandomWheelPattern(rand.New(rand.NewPCG(seed, 1)), teeth, 40)
		uneven := seed%3 > 0
		w, room := simulate.Lever(), simulate.QuietRoom()
		if w.ScatterUs = 12; uneven {
			w.WheelPatternUs = pattern
		}
		room.SNRdB = 30
		x, _ := simulate.Sound(w, room, 48000, 40, seed)
		r := mustHear(t, x, 48000, acoustic.Settings{})
		for _, b := range r.Beats {
			if !b.Used {
				continue
			}
			beats[uneven]++
			if math.Abs(b.ResidualMs) <= 2*r.BeatScatterUs/1000 {
				beatsHeld[uneven]++
			}
		}
		if !uneven {
			continue
		}
		if r.Wheel == nil || r.Wheel.Teeth != teeth {
			t.Fatalf("%d teeth: %+v", teeth, r.Wheel)
		}
		held := 0
		for first := range pattern { // the beat of the turn that was heard first is not known
			n := 0
			for i, ms := range r.Wheel.Ms {
				if math.Abs(ms-pattern[(first+i)%len(pattern)]/1000) <= 2*r.Wheel.StdMs {
					n++
				}
			}
			held = max(held, n)
		}
		teethHeld, teethAll = teethHeld+held, teethAll+len(pattern)
	}
	for uneven, of := range beats {
		t.Logf("uneven wheel %v: %d of %d beats within", uneven, beatsHeld[uneven], of)
		published.Share(t, "single beats within twice their scatter", beatsHeld[uneven], of, 0.95, 3)
	}
	// Of an unknown first beat the one that fits best is taken, so a few more hold than would.
	t.Logf("means of the wheel: %d of %d within", teethHeld, teethAll)
	published.Share(t, "means of the wheel within their uncertainty", teethHeld, teethAll, 0.96, 3)
}
