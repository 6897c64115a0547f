package timing

import (
	"errors"
	"math"

	"ledgerwheel/domain/metrology"
)

// A lift angle turns the time between the unlocking and the drop of one beat into an amplitude. About the point of rest
// the balance moves as a sine, A·sin(2π·F·τ), F its oscillations a second; it goes through the lift angle L, which lies
// evenly about that point, from −t/2 to +t/2, so that
//
//	L/2 = A·sin(π·F·t),  F = beats per hour / 7200.
//
// From it, and from nothing else, follows all that stands here.

// LiftAngle is a lift angle in degrees with its standard uncertainty; 0 for one that nobody determined.
type LiftAngle struct{ Deg, StdDeg float64 }

// What is taken of a lift angle that nobody determined, degrees: the usual one of lever watches, and a standard
// uncertainty of a degree (± 2° at 95 %). Common practice: published lift angles of one calibre differ by as much.
const (
	UsualLiftAngleDeg    = 52.0
	UsualLiftAngleStdDeg = 1.0
)

// Value is the angle with its uncertainty, the usual ones where they are not known.
func (l LiftAngle) Value() metrology.Value {
	v := metrology.Value{Value: l.Deg, StdUncertainty: l.StdDeg, Unit: UnitDegree}
	if !(v.Value > 0) {
		v.Value = UsualLiftAngleDeg
	}
	if !l.Determined() {
		v.StdUncertainty = UsualLiftAngleStdDeg
	}
	return v
}

// Determined reports whether somebody determined the angle.
func (l LiftAngle) Determined() bool { return l.Deg > 0 && l.StdDeg > 0 }

// Rel is the relative standard uncertainty, which every amplitude found with the angle shares.
func (l LiftAngle) Rel() float64 { v := l.Value(); return v.StdUncertainty / v.Value }

// sameLiftDeg is how far one angle may differ from itself by being written and read: far below any that is set.
const sameLiftDeg = 1e-6

// Now is what is known of an angle that amplitudes were found with, once their calibre says now. Amplitudes keep to the
// angle they were found with, so another angle of the calibre says nothing of them; the same one, better known, does.
func (l LiftAngle) Now(now LiftAngle) LiftAngle {
	if l.Deg > 0 && math.Abs(l.Deg-now.Deg) > sameLiftDeg {
		return l
	}
	return now
}

// LiftReading is the lift time of one amplitude: the time from the unlocking to the drop of one beat, in ms.
type LiftReading struct {
	TimeMs       metrology.Value
	BeatsPerHour int
}

// What a lift angle cannot be determined from.
var (
	ErrLiftAmplitude  = errors.New("the amplitude must lie above 60° and below 350°")
	ErrLiftTime       = errors.New("the lift time must be more than zero and less than half an oscillation")
	ErrLiftBeats      = errors.New("the beats per hour must be above zero")
	ErrLiftDifference = errors.New("the two amplitudes lie too close for what the times are known to: let the watch down further")
	ErrLiftImpossible = errors.New("no watch has such a lift angle: from 20° to 90° is possible")
)

// Bounds of a lift angle, and of the amplitudes at which one is determined, degrees.
const (
	leastLiftAngleDeg, greatestLiftAngleDeg         = 20, 90
	leastLiftAmplitudeDeg, greatestLiftAmplitudeDeg = 60, 350
)

// sine returns sin(π·F·t) with its standard uncertainty.
func (r LiftReading) sine() (metrology.Value, error) {
	w := math.Pi * float64(r.BeatsPerHour) / 7200 / 1000 // for each ms
	switch {
	case r.BeatsPerHour <= 0:
		return metrology.Value{}, ErrLiftBeats
	case r.TimeMs.Check() != nil || !(r.TimeMs.Value > 0) || !(w*r.TimeMs.Value < math.Pi/2):
		return metrology.Value{}, ErrLiftTime
	}
	sin, cos := math.Sincos(w * r.TimeMs.Value)
	return metrology.Value{Value: sin, StdUncertainty: cos * w * r.TimeMs.StdUncertainty}, nil
}

// LiftAngleAt is the lift angle of a watch whose amplitude was measured otherwise, by eye or camera at a mark on the
// balance, while the lift time was read:
//
//	L = 2·A·sin(π·F·t)
//
// in degrees, its uncertainty that of A and of t in quadrature. The usual way (common practice): an arm of the balance is
// marked and the watch wound until it swings 180° to each side by eye, where the arms seem to stand still opposite
// themselves. It fails with ErrLiftAmplitude, ErrLiftTime, ErrLiftBeats and ErrLiftImpossible.
func LiftAngleAt(amplitudeDeg metrology.Value, r LiftReading) (metrology.Value, error) {
	s, err := r.sine()
	if err != nil {
		return metrology.Value{}, err
	}
	if !possibleAmplitude(amplitudeDeg) {
		return metrology.Value{}, ErrLiftAmplitude
	}
	l := 2 * amplitudeDeg.Value * s.Value
	return possibleLift(l, l*math.Hypot(amplitudeDeg.StdUncertainty/amplitudeDeg.Value, s.StdUncertainty/s.Value))
}

// LiftAngleOfShown is LiftAngleAt where the instrument shows an amplitude instead of the lift time: what it shows is in
// proportion to the lift angle it was set to,
//
//	L = set·A/shown.
func LiftAngleOfShown(amplitudeDeg, shownDeg metrology.Value, setDeg float64) (metrology.Value, error) {
	if !possibleAmplitude(amplitudeDeg) || !possibleAmplitude(shownDeg) {
		return metrology.Value{}, ErrLiftAmplitude
	}
	l := setDeg * amplitudeDeg.Value / shownDeg.Value
	return possibleLift(l, l*math.Hypot(amplitudeDeg.StdUncertainty/amplitudeDeg.Value,
		shownDeg.StdUncertainty/shownDeg.Value))
}

// LiftAngleOfTwo is the lift angle from two states of amplitude of which only the difference is known, as when a mark is
// followed while the spring is let down. The first state is the greater. With s = sin(π·F·t) of each,
//
//	A1 − A2 = L/2·(1/s1 − 1/s2), so L = 2·(A1 − A2)/(1/s1 − 1/s2),
//
// the uncertainties of the difference and of both times in quadrature. Two near amplitudes tell little: where the
// difference is less than four times what the times leave open, it fails with ErrLiftDifference; else as LiftAngleAt.
func LiftAngleOfTwo(differenceDeg metrology.Value, greater, lesser LiftReading) (metrology.Value, error) {
	s1, err := greater.sine()
	if err != nil {
		return metrology.Value{}, err
	}
	s2, err := lesser.sine()
	if err != nil {
		return metrology.Value{}, err
	}
	span := 1/s1.Value - 1/s2.Value
	u := math.Hypot(s1.StdUncertainty/(s1.Value*s1.Value), s2.StdUncertainty/(s2.Value*s2.Value))
	return liftOfDifference(differenceDeg, 2, span, u)
}

// LiftAngleOfTwoShown is LiftAngleOfTwo where the instrument shows amplitudes: L = set·(A1 − A2)/(shown1 − shown2).
func LiftAngleOfTwoShown(differenceDeg, greaterShown, lesserShown metrology.Value, setDeg float64) (metrology.Value, error) {
	if !possibleAmplitude(greaterShown) || !possibleAmplitude(lesserShown) {
		return metrology.Value{}, ErrLiftAmplitude
	}
	return liftOfDifference(differenceDeg, setDeg, greaterShown.Value-lesserShown.Value,
		math.Hypot(greaterShown.StdUncertainty, lesserShown.StdUncertainty))
}

// leastLiftSpan is how many standard uncertainties of itself, and of the difference of the amplitudes, must lie in
// between: the quotient is then good to first order.
const leastLiftSpan = 4

func liftOfDifference(differenceDeg metrology.Value, factor, span, spanStd float64) (metrology.Value, error) {
	d := differenceDeg
	if d.Check() != nil || !(d.Value > 0) || !(span > 0) || span < leastLiftSpan*spanStd ||
		d.Value < leastLiftSpan*d.StdUncertainty {
		return metrology.Value{}, ErrLiftDifference
	}
	l := factor * d.Value / span
	return possibleLift(l, l*math.Hypot(d.StdUncertainty/d.Value, spanStd/span))
}

func possibleAmplitude(a metrology.Value) bool {
	return a.Check() == nil && a.Value > leastLiftAmplitudeDeg && a.Value < greatestLiftAmplitudeDeg
}

func possibleLift(deg, std float64) (metrology.Value, error) {
	if !(deg >= leastLiftAngleDeg && deg <= greatestLiftAngleDeg) {
		return metrology.Value{}, ErrLiftImpossible
	}
	return metrology.Value{Value: deg, StdUncertainty: std, Unit: "°"}, nil
}
