package madeup

import (
	"maps"
	"math/cmplx"
	"math/rand/v2"

	"ledgerwheel/domain/timing"
)

// Correction is what a watchmaker does to a watch.
type Correction struct {
	// TakenPPM is the moment of the metal taken off the rim at TakenAtDeg (clockwise from 12, balance at rest), as m·g·r
	// over the stiffness; negative is metal added there.
	TakenPPM, TakenAtDeg float64
	RegulatorSPerDay     float64 // added to every rate; + is faster
	// MeanSPerDay, where it is given, is what the mean of the six positions at full wind is set to after all else, the
	// watch being read again till it is.
	MeanSPerDay     *float64
	PinsSPerDay     float64 // added to IsochronismSPerDay: the rate at 210° less that at 270°
	EvenDial        bool    // pivots and endshake put right: dial up and down agree
	SpringCentred   bool    // the spring's own error is gone
	BeatSet         bool
	Demagnetised    bool
	MainspringRight bool    // knocking is gone: the lying amplitude is 305° at most, hanging with it
	HangingDeg      float64 // cleaned: hanging amplitude at full wind, lying 25° more; 0 leaves both
}

// Hand is how exactly a correction is carried out, as standard deviations. The zero Hand is exact.
type Hand struct {
	TakenRel         float64 // of the moment
	TakenDeg         float64 // of its place
	RegulatorSPerDay float64 // of a move, and of a mean that is set
}

// Corrected is the watch after a correction by an exact hand.
func (w Watch) Corrected(c Correction) Watch { return w.CorrectedBy(Hand{}, c, nil) }

// CorrectedBy is the watch after a correction. rng may be nil for the zero Hand.
func (w Watch) CorrectedBy(h Hand, c Correction, rng *rand.Rand) Watch {
	setBy := 0.0
	if h != (Hand{}) {
		setBy = h.RegulatorSPerDay * rng.NormFloat64()
		c.TakenPPM *= 1 + h.TakenRel*rng.NormFloat64()
		c.TakenAtDeg += h.TakenDeg * rng.NormFloat64()
		c.RegulatorSPerDay += h.RegulatorSPerDay * rng.NormFloat64()
	}
	w.OffsetDeg = maps.Clone(w.OffsetDeg)
	w.Poise = w.Poise.without(c.TakenPPM, c.TakenAtDeg)
	w.BaseSPerDay += c.RegulatorSPerDay
	w.IsochronismSPerDay += c.PinsSPerDay
	if c.EvenDial {
		w.DialUpLessDownSPerDay = 0
		w.OffsetDeg[timing.DialUp], w.OffsetDeg[timing.DialDown] = 0, 0
	}
	if c.SpringCentred {
		w.Spring = Spring{}
	}
	if c.BeatSet {
		w.BeatErrorMs = 0
	}
	if c.Demagnetised {
		w.Magnetism = Magnetism{}
	}
	if over := w.LyingDeg - 305; c.MainspringRight && over > 0 {
		w.LyingDeg, w.HangingDeg, w.KnocksSPerDay = w.LyingDeg-over, w.HangingDeg-over, 0
	}
	if c.HangingDeg > 0 {
		w.HangingDeg, w.LyingDeg = c.HangingDeg, c.HangingDeg+25
	}
	if c.MeanSPerDay != nil {
		w.BaseSPerDay += *c.MeanSPerDay - w.MeanSPerDay() + setBy
	}
	return w
}

// without is the heavy spot that is left when a moment is taken off.
func (p Poise) without(ppm, atDeg float64) Poise {
	left := cmplx.Rect(p.SizePPM, p.HeavyAtDeg*rad) - cmplx.Rect(ppm, atDeg*rad)
	return Poise{SizePPM: cmplx.Abs(left), HeavyAtDeg: turned(cmplx.Phase(left) / rad)}
}

// turned brings an angle into 0 to 360°.
func turned(deg float64) float64 {
	for deg < 0 {
		deg += 360
	}
	for deg >= 360 {
		deg -= 360
	}
	return deg
}

// Apart is the angle between two bearings, 0 to 180°.
func Apart(aDeg, bDeg float64) float64 {
	d := turned(aDeg - bDeg)
	return min(d, 360-d)
}
