package oscillator

import (
	"errors"
	"math"

	"ledgerwheel/domain/metrology"
)

// The range of beats per hour that the sums of balance and spring take: from slow clock balances to the fastest
// stop watches (common practice).
const (
	leastBeatsPerHour = 3600
	mostBeatsPerHour  = 360000
)

// What a balance's moment of inertia, mass and radius of gyration may be, wherever they are typed: from the smallest
// lady's watch to a table clock with room (common practice). The sentences say so beside the field.
const (
	LeastInertiaMgCm2, MostInertiaMgCm2 = 0.01, 10000
	LeastMassMg, MostMassMg             = 0.1, 20000
	LeastGyrationMm, MostGyrationMm     = 0.3, 25

	InertiaSentence  = "Give the moment of inertia from 0.01 to 10000 mg·cm², or leave it empty."
	MassSentence     = "Give the mass from 0.1 to 20000 mg, or leave it empty."
	GyrationSentence = "Give the radius from 0.3 to 25 mm, or leave it empty."
)

// Units of the results below.
const (
	unitStiffness = "µN·m/rad"
	unitInertia   = "mg·cm²"
	unitRate      = "s/d"
)

const microNewton = 1e-6 // µN·m/rad in N·m/rad

// FrequencyHz returns f = beats per hour / 7200: two beats to an oscillation.
func FrequencyHz(beatsPerHour float64) float64 { return beatsPerHour / 7200 }

// PeriodS returns T = 7200 / beats per hour, in seconds.
func PeriodS(beatsPerHour float64) float64 { return 7200 / beatsPerHour }

// RateOfBeats returns the s/d of a balance that makes so many beats an hour in a movement meant for others:
// 86400·(f/f₀ − 1), positive where it gains.
func RateOfBeats(beatsPerHour, meantFor float64) float64 {
	return SecondsPerDay * (beatsPerHour/meantFor - 1)
}

// relative returns a value with the relative standard uncertainty √Σ(pᵢ·uᵢ/xᵢ)² of a product of powers (JCGM 100,
// 5.1.6); a term is a figure and its power.
func relative(value float64, unit string, terms ...powerTerm) metrology.Value {
	u := 0.0
	for _, t := range terms {
		u = math.Hypot(u, t.power*t.of.StdUncertainty/t.of.Value)
	}
	return metrology.Value{Value: value, StdUncertainty: math.Abs(value) * u, Unit: unit}
}

type powerTerm struct {
	of    metrology.Value
	power float64
}

// StiffnessFor returns the spring, in µN·m/rad, that gives a balance of that inertia (mg·cm²) that beat:
// k = I·(2πf)², from T = 2π·√(I/k) (any text on vibrations).
func StiffnessFor(inertiaMgCm2, beatsPerHour metrology.Value) metrology.Value {
	w := 2 * math.Pi * FrequencyHz(beatsPerHour.Value)
	k := inertiaMgCm2.Value * mgCm2InKgM2 * w * w / microNewton
	return relative(k, unitStiffness, powerTerm{inertiaMgCm2, 1}, powerTerm{beatsPerHour, 2})
}

// InertiaFor returns the balance, in mg·cm², that a spring (µN·m/rad) brings to that beat: I = k/(2πf)².
func InertiaFor(stiffness, beatsPerHour metrology.Value) metrology.Value {
	w := 2 * math.Pi * FrequencyHz(beatsPerHour.Value)
	i := stiffness.Value * microNewton / (w * w) / mgCm2InKgM2
	return relative(i, unitInertia, powerTerm{stiffness, 1}, powerTerm{beatsPerHour, 2})
}

// BeatsFor returns the beats per hour of a balance (mg·cm²) on a spring (µN·m/rad): 7200·√(k/I)/2π.
func BeatsFor(inertiaMgCm2, stiffness metrology.Value) metrology.Value {
	f := math.Sqrt(stiffness.Value*microNewton/(inertiaMgCm2.Value*mgCm2InKgM2)) / (2 * math.Pi)
	return relative(7200*f, "beats per hour", powerTerm{inertiaMgCm2, 0.5}, powerTerm{stiffness, 0.5})
}

// RingInertia returns m·r² in mg·cm² for mass in mg and radius in mm: a thin ring, or a whole balance with its radius
// of gyration.
func RingInertia(massMg, radiusMm metrology.Value) metrology.Value {
	return relative(massMg.Value*radiusMm.Value*radiusMm.Value/100, unitInertia, powerTerm{massMg, 1},
		powerTerm{radiusMm, 2})
}

// Ring is a balance as a mass at a radius. A figure whose Value is zero is not known.
type Ring struct{ MassMg, RadiusMm metrology.Value }

// Problems says, by form field, what cannot be right: "balance_mass", "balance_gyration_radius". One without the other
// is no inertia.
func (r Ring) Problems() map[string]string {
	bad := map[string]string{}
	within(bad, "balance_mass", r.MassMg, LeastMassMg, MostMassMg, MassSentence)
	within(bad, "balance_gyration_radius", r.RadiusMm, LeastGyrationMm, MostGyrationMm, GyrationSentence)
	switch mass, radius := r.MassMg.Value != 0, r.RadiusMm.Value != 0; {
	case mass && !radius && bad["balance_gyration_radius"] == "":
		bad["balance_gyration_radius"] = "Give the radius too: mass alone is no inertia."
	case radius && !mass && bad["balance_mass"] == "":
		bad["balance_mass"] = "Give the mass too: a radius alone is no inertia."
	}
	return bad
}

// BalanceAndSpring is what is known of a balance and its spring. A figure whose Value is zero is not known.
type BalanceAndSpring struct {
	BeatsPerHour metrology.Value // the beat the movement is made for
	Inertia      metrology.Value // mg·cm²
	Stiffness    metrology.Value // µN·m/rad
}

// ErrTooLittleKnown reports that fewer than two of beat, inertia and stiffness are known.
var ErrTooLittleKnown = errors.New("give at least two of beat, inertia and spring: the third follows")

// Problems says, by form field, what cannot be right: "beats_per_hour", "balance_inertia", "stiffness".
func (b BalanceAndSpring) Problems() map[string]string {
	bad := map[string]string{}
	within(bad, "beats_per_hour", b.BeatsPerHour, leastBeatsPerHour, mostBeatsPerHour, "Give the beats per hour from "+
		"3600 to 360000, or leave it empty.")
	within(bad, "balance_inertia", b.Inertia, LeastInertiaMgCm2, MostInertiaMgCm2, InertiaSentence)
	within(bad, "stiffness", b.Stiffness, 0.001, 10000,
		"Give the stiffness from 0.001 to 10000 µN·m/rad, or leave it empty.")
	return bad
}

// within complains of a known figure outside its limits, or with an uncertainty as large as itself.
func within(bad map[string]string, field string, v metrology.Value, least, most float64, says string) {
	switch {
	case v == metrology.Value{} || v.Value == 0 && v.StdUncertainty == 0:
	case v.Check() != nil || v.Value < least || v.Value > most:
		bad[field] = says
	case v.Expanded() >= v.Value:
		bad[field] = "The uncertainty is as large as the figure itself; nothing can follow from it."
	}
}

// Oscillation is a balance and its spring worked out.
type Oscillation struct {
	BalanceAndSpring // all three known; the beat is that of the balance, not that of the movement
	PeriodS          metrology.Value
	// Rate is what the balance would show in the movement's beat, s/d; nil unless all three figures were given.
	Rate *metrology.Value
	// Wanted is the stiffness that the movement's beat asks for; nil unless all three figures were given.
	Wanted *metrology.Value
}

// Solve works out the third of beat, inertia and stiffness from two, or holds all three against one another. It fails
// with ErrTooLittleKnown; b must have no Problems.
func (b BalanceAndSpring) Solve() (Oscillation, error) {
	out := Oscillation{BalanceAndSpring: b}
	beat, inertia, spring := b.BeatsPerHour.Value > 0, b.Inertia.Value > 0, b.Stiffness.Value > 0
	switch {
	case beat && inertia && spring:
		got := BeatsFor(b.Inertia, b.Stiffness)
		u := SecondsPerDay * got.StdUncertainty / b.BeatsPerHour.Value
		out.Rate = &metrology.Value{Value: RateOfBeats(got.Value, b.BeatsPerHour.Value), StdUncertainty: u, Unit: unitRate}
		wanted := StiffnessFor(b.Inertia, b.BeatsPerHour)
		out.Wanted, out.BeatsPerHour = &wanted, got
	case beat && inertia:
		out.Stiffness = StiffnessFor(b.Inertia, b.BeatsPerHour)
	case beat && spring:
		out.Inertia = InertiaFor(b.Stiffness, b.BeatsPerHour)
	case inertia && spring:
		out.BeatsPerHour = BeatsFor(b.Inertia, b.Stiffness)
	default:
		return Oscillation{}, ErrTooLittleKnown
	}
	out.PeriodS = relative(PeriodS(out.BeatsPerHour.Value), "s", powerTerm{out.BeatsPerHour, -1})
	return out, nil
}
