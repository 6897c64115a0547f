package acoustic

import "math"

// The amplitudes between which the unlocking is sought: below the lower a watch stops, above the upper the impulse pin
// knocks at the back of the lever.
const (
	leastAmplitudeDeg    = 90
	greatestAmplitudeDeg = 350
)

// liftTimeS returns the time from unlocking to drop at an amplitude: the balance passes through the lift angle about
// its point of rest, A·sin(π·f·t) = lift/2, f being half the beats a second.
func liftTimeS(amplitudeDeg, liftAngleDeg, beatsPerHour float64) float64 {
	return math.Asin(liftAngleDeg/2/amplitudeDeg) / (math.Pi * beatsPerHour / 7200)
}

// amplitudeDeg is the inverse of liftTimeS.
func amplitudeDeg(liftS, liftAngleDeg, beatsPerHour float64) float64 {
	return liftAngleDeg / 2 / math.Sin(math.Pi*beatsPerHour/7200*liftS)
}

// What amplitudes are usual, as a normal distribution: weak evidence for an onset where a watch would hardly swing so
// far or so little has to be stronger. Common practice: 200 to 310 degrees between full wind and a day after.
const (
	usualAmplitudeDeg    = 255
	usualAmplitudeStdDeg = 45
)

// unlockingLeast is the log-likelihood ratio from which a burst in the averaged sound counts: some thousand places
// are tried, and noise passes this once in several thousand averages.
const unlockingLeast = 14
