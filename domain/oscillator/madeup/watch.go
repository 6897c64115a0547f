package madeup

import (
	"math"
	"math/cmplx"

	"ledgerwheel/domain/timing"
)

// Poise is the heavy spot of the balance.
type Poise struct {
	SizePPM    float64 // m·g·r over the stiffness of the spring
	HeavyAtDeg float64 // clockwise from 12 o'clock, balance at rest
}

// Spring is the spring's own error in the vertical positions.
type Spring struct {
	Kind              SpringKind
	PeakToPeakSPerDay float64 // over all vertical positions at 220°
	GainsWithUpDeg    float64 // at 220° the watch gains most with this bearing of the dial uppermost
	Spiral            int     // which of the spirals, 0 to Spirals()-1
}

// Spirals is how many hairsprings a made-up watch may be fitted with.
func Spirals() int { return len(spirals) }

// Magnetism moves the rate of each position, whatever the amplitude, and moves it anew between readings.
type Magnetism struct {
	MeanSPerDay     float64                     // shift of all positions
	PositionSPerDay map[timing.Position]float64 // nil for a watch that is not magnetised
	JumpSPerDay     float64                     // standard deviation from one state of wind to the next
	ScatterSPerDay  float64                     // standard deviation from one reading to the next, beside the bench's
	jumps           map[jump]float64            // as drawn, so that a repeat finds the same
}

type jump struct {
	position timing.Position
	hours    float64
}

// knocksFromDeg is the amplitude from which a watch knocks (common practice: about 330°).
const knocksFromDeg = 330

// referenceDeg is the amplitude at which the base rate and the beat error are stated.
const referenceDeg = 270

// Watch is a watch whose truth is known.
type Watch struct {
	CrownHour int

	BaseSPerDay           float64 // lying, at 270°
	HangingLessSPerDay    float64 // what hanging adds to the rate apart from poise, spring and amplitude
	DialUpLessDownSPerDay float64 // half of it is added dial up, half taken off dial down
	// IsochronismSPerDay is the rate at 210° less that at 270°: QuarticShare of it by the spring's torque, which goes
	// with the square of the amplitude, the rest by the escapement, which goes with its inverse square.
	IsochronismSPerDay float64
	QuarticShare       float64
	Poise              Poise
	Spring             Spring
	Magnetism          Magnetism
	KnocksSPerDay      float64 // gained at 330°; half as much again for each 10° more

	LyingDeg, HangingDeg float64                     // amplitude at full wind
	OffsetDeg            map[timing.Position]float64 // of one position's amplitude from those
	LossDeg              float64                     // of amplitude over 24 h
	BeatErrorMs          float64                     // at 270°; it goes with the inverse of the amplitude
}

// State is a state of wind that readings are taken at.
type State struct {
	HoursAfterWinding float64
	// HangingDeg is what the hanging amplitude is let down to; 0 leaves it to the hours.
	HangingDeg float64
}

// AmplitudeDeg is the true amplitude in a position.
func (w Watch) AmplitudeDeg(p timing.Position, s State) float64 {
	a := w.HangingDeg
	if p.Horizontal() {
		a = w.LyingDeg
	}
	a += w.OffsetDeg[p]
	if s.HangingDeg > 0 {
		return a - (w.HangingDeg - s.HangingDeg)
	}
	return a - w.LossDeg*s.HoursAfterWinding/24
}

// RateSPerDay is the true rate in a position.
func (w Watch) RateSPerDay(p timing.Position, s State) float64 {
	a := w.AmplitudeDeg(p, s)
	return w.sound(p, a) + w.knocking(a) + w.Magnetism.at(p, s)
}

// MeanSPerDay is the mean of the six true rates at full wind, knocking and magnetism cured.
func (w Watch) MeanSPerDay() float64 {
	sum := 0.0
	for _, p := range timing.Positions() {
		sum += w.sound(p, min(w.AmplitudeDeg(p, State{}), knocksFromDeg-1))
	}
	return sum / float64(len(timing.Positions()))
}

// DeltaSPerDay is the greatest less the least of the six true rates at full wind.
func (w Watch) DeltaSPerDay() float64 {
	least, greatest := math.Inf(1), math.Inf(-1)
	for _, p := range timing.Positions() {
		r := w.RateSPerDay(p, State{})
		least, greatest = min(least, r), max(greatest, r)
	}
	return greatest - least
}

// sound is the rate without knocking and magnetism.
func (w Watch) sound(p timing.Position, amplitudeDeg float64) float64 {
	s := swing{quartic: w.quartic()}
	rate := w.BaseSPerDay - s.rateSPerDay(referenceDeg)
	switch hour, vertical := p.UppermostHour(); {
	case vertical:
		up := 30 * float64(hour) * rad
		s.heavy, s.heavyUp = w.Poise.SizePPM*ppm, w.Poise.HeavyAtDeg*rad-up
		if w.Spring.Kind != NoSpringError && w.Spring.PeakToPeakSPerDay != 0 {
			s.shape = w.Spring.Kind.shape(w.Spring.Spiral)
			s.spring, s.springUp = w.Spring.scaled(up)
		}
		rate += w.HangingLessSPerDay
	case p == timing.DialUp:
		rate += w.DialUpLessDownSPerDay / 2
	default:
		rate -= w.DialUpLessDownSPerDay / 2
	}
	return rate + s.rateSPerDay(amplitudeDeg) + w.escapement(amplitudeDeg)
}

// scaled is the factor and turn of the spring's term with a bearing of the dial uppermost (rad), so that it has its
// size and direction at 220°.
func (s Spring) scaled(up float64) (factor, turned float64) {
	z := s.Kind.firstAt220(s.Spiral)
	return s.PeakToPeakSPerDay / 2 / (secondsPerDay * cmplx.Abs(z)), s.GainsWithUpDeg*rad - cmplx.Phase(z) - up
}

// SpringSPerDay is the first-order rate of the spring's own error with the hour uppermost.
func (s Spring) SpringSPerDay(hour int, amplitudeDeg float64) float64 {
	shape := s.Kind.shape(s.Spiral)
	if shape == nil {
		return 0
	}
	factor, turned := s.scaled(30 * float64(hour) * rad)
	return secondsPerDay * factor * real(shape.first(amplitudeDeg*rad)*cmplx.Rect(1, turned))
}

// quartic is the share of the isochronism error that the spring makes, as its torque's term: to first order a torque of
// θ(1 + q·θ²) moves the rate by 3/8·q·A² (Duffing).
func (w Watch) quartic() float64 {
	long, short := 270*rad, 210*rad
	return w.QuarticShare * w.IsochronismSPerDay / secondsPerDay * 8 / 3 / (short*short - long*long)
}

// escapement is the rest of the isochronism error.
func (w Watch) escapement(amplitudeDeg float64) float64 {
	shape := func(a float64) float64 { return referenceDeg*referenceDeg/(a*a) - 1 }
	return (1 - w.QuarticShare) * w.IsochronismSPerDay * shape(amplitudeDeg) / shape(210)
}

func (w Watch) knocking(amplitudeDeg float64) float64 {
	if amplitudeDeg < knocksFromDeg {
		return 0
	}
	return w.KnocksSPerDay * (1 + (amplitudeDeg-knocksFromDeg)/20)
}

// Knocks reports whether any position knocks at a state of wind.
func (w Watch) Knocks(s State) bool {
	for _, p := range timing.Positions() {
		if w.KnocksSPerDay != 0 && w.AmplitudeDeg(p, s) >= knocksFromDeg {
			return true
		}
	}
	return false
}

func (m Magnetism) at(p timing.Position, s State) float64 {
	if m.PositionSPerDay == nil {
		return 0
	}
	return m.MeanSPerDay + m.PositionSPerDay[p] + m.jumps[jump{p, s.HoursAfterWinding}]
}

// BeatError is the beat error at an amplitude, ms.
func (w Watch) BeatError(amplitudeDeg float64) float64 {
	return w.BeatErrorMs * referenceDeg / amplitudeDeg
}
