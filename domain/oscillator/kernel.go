package oscillator

import "math"

// SecondsPerDay turns a relative change of frequency into a daily rate.
const SecondsPerDay = 86400

// NeutralAmplitudeDeg is the amplitude at which a heavy spot changes no rate: the first zero of J1, 3.831706 rad
// (Abramowitz and Stegun, table 9.5). Bench rules say 220° (Jendritzki) or 225° (Kleinlein, 1920, section 28).
const NeutralAmplitudeDeg = 3.8317059702075125 * 180 / math.Pi

// PoiseFactor returns J1(A)/A for an amplitude in degrees: 1/2 at rest, 0 at NeutralAmplitudeDeg, negative above it.
func PoiseFactor(amplitudeDeg float64) float64 {
	a := radians(amplitudeDeg)
	if math.Abs(a) < 1e-8 { // J1(a)/a = 1/2 − a²/16 + …
		return 0.5
	}
	return math.J1(a) / a
}

// poiseFactorSlope returns the derivative of J1(A)/A per degree: −J2(A)/A per radian, with J2(A) = 2·J1(A)/A − J0(A)
// (Abramowitz and Stegun, 9.1.27).
func poiseFactorSlope(amplitudeDeg float64) float64 {
	a := radians(amplitudeDeg)
	if math.Abs(a) < 1e-3 { // −a/8, where the difference would cancel
		return -a / 8 * math.Pi / 180
	}
	return -(2*math.J1(a)/a - math.J0(a)) / a * math.Pi / 180
}

func radians(deg float64) float64 { return deg * math.Pi / 180 }
func degrees(rad float64) float64 { return rad * 180 / math.Pi }

// turn brings an angle into 0 ≤ a < 360 degrees.
func turn(deg float64) float64 {
	a := math.Mod(deg, 360)
	if a < 0 {
		a += 360
	}
	if a >= 360 { // a tiny negative angle rounds up
		return 0
	}
	return a
}
