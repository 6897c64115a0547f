package acoustic

import (
	"math"

	"ledgerwheel/domain/metrology"
)

// Instants are the places of the sounds of one swing, relative to the drop as it was found, as a watchmaker sees them
// in the averaged sound.
type Instants struct{ UnlockingMs, DropMs float64 }

// markStdS is the standard uncertainty of an instant set by hand: a watchmaker tells the onset in the averaged sound to
// about a twentieth of a millisecond.
const markStdS = 50e-6

// WithInstants returns r with the instants of the two swings as corrected by hand: amplitude and beat error follow from
// them, and the voices are marked so. The rate does not: it needs only that the same place is taken in every beat. NaN
// leaves an instant as it was found. Where no drop could be told, saying both gives the beat error. Of a watch that is
// heard in one swing alone the lift is that swing's, and there is no beat error. Amplitudes of stretches found with other
// instants are scaled alike.
func (r Result) WithInstants(tick, tock Instants) Result {
	c := r.clone()
	var liftS, moved [2]float64
	said := r.BeatError == nil
	for i, at := range [2]Instants{tick, tock} {
		v := &c.Voices[i]
		was := v.DropMs
		if !math.IsNaN(at.DropMs) {
			v.DropMs = at.DropMs
		}
		said = said && !math.IsNaN(at.DropMs)
		if !math.IsNaN(at.UnlockingMs) {
			v.UnlockingMs = at.UnlockingMs
		}
		moved[i] = v.DropMs - was
		liftS[i] = (v.DropMs - v.UnlockingMs) * 1e-3
	}
	alone, one := r.inOneSwing()
	if !one && (said || moved[Tick] != 0 || moved[Tock] != 0) {
		// The interval from tick to tock grows as the tock's drop is set later.
		if c.BeatError != nil {
			c.SplitMs = c.BeatError.Value
		}
		c.SplitMs += moved[Tock] - moved[Tick]
		c.BeatError = &metrology.Value{Value: c.SplitMs, StdUncertainty: math.Sqrt2 * markStdS * 1e3, Unit: "ms"}
	}
	mean := (liftS[Tick] + liftS[Tock]) / 2
	if one {
		mean = liftS[alone]
	}
	if !(mean > 0) {
		return c
	}
	x := math.Pi * r.BeatsPerHour / 7200 * mean
	a := amplitudeDeg(mean, r.LiftAngleDeg, r.BeatsPerHour)
	c.Amplitude = &metrology.Value{Value: a, StdUncertainty: a * markStdS / mean * x / math.Tan(x), Unit: "°"}
	for i, s := range c.Stretches {
		if s.Amplitude != nil && r.Amplitude != nil {
			scaled := *s.Amplitude
			scaled.Value *= a / r.Amplitude.Value
			c.Stretches[i].Amplitude = &scaled
		}
	}
	return c
}

// inOneSwing reports whether one swing alone was heard, and which.
func (r *Result) inOneSwing() (Swing, bool) {
	tick, tock := r.Voices[Tick].Beats > 0, r.Voices[Tock].Beats > 0
	if tock && !tick {
		return Tock, true
	}
	return Tick, tick && !tock
}
