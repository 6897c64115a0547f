package oscillator

import (
	"errors"
	"math"

	"ledgerwheel/domain/metrology"
)

// What BeatAngle refuses.
var (
	errBeat      = errors.New("the beats per hour must be above zero")
	errAmplitude = errors.New("the amplitude must lie above 0° and below 360°")
	errBeatError = errors.New("the beat error must be zero or more and below a quarter of an oscillation")
)

// BeatAngle returns the angle in degrees by which collet or stud has to be turned to put the watch in beat:
//
//	angle = A · sin(π · f · e)
//
// A the amplitude in degrees, f = beats per hour / 7200 in Hz, e the beat error in seconds as half the difference of
// successive beat intervals (given here in ms). It is the angle between the point of rest and the line of centres: a
// swing A·sin(2πft) about a point of rest off by β passes the line at t = asin(β/A)/(2πf) late on one beat and early
// on the next, so that half the difference of the intervals is asin(β/A)/(πf). It fails for figures no watch has.
func BeatAngle(amplitudeDeg, beatErrorMs metrology.Value, beatsPerHour int) (metrology.Value, error) {
	a, e := amplitudeDeg.Value, beatErrorMs.Value/1000
	if beatsPerHour <= 0 {
		return metrology.Value{}, errBeat
	}
	w := math.Pi * float64(beatsPerHour) / 7200
	switch {
	case amplitudeDeg.Check() != nil || !(a > 0 && a < 360):
		return metrology.Value{}, errAmplitude
	case beatErrorMs.Check() != nil || !(e >= 0 && w*e < math.Pi/2):
		return metrology.Value{}, errBeatError
	}
	sin, cos := math.Sincos(w * e)
	u := math.Hypot(sin*amplitudeDeg.StdUncertainty, a*cos*w*beatErrorMs.StdUncertainty/1000)
	return metrology.Value{Value: a * sin, StdUncertainty: u, Unit: "°"}, nil
}
