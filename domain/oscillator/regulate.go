package oscillator

import (
	"errors"
	"math"

	"ledgerwheel/domain/metrology"
)

// lengthChange returns dL/L that takes a rate (s/d) away, from T ∝ √L: (1 + rate/86400)² − 1, in first order
// 2·rate/86400. A watch that gains needs a longer spring.
func lengthChange(rate metrology.Value) metrology.Value { return squared(rate) }

// InertiaChange returns dI/I that takes a rate (s/d) away, from T ∝ √I: (1 + rate/86400)² − 1. A watch that gains
// needs a heavier balance or its weights further out.
func InertiaChange(rate metrology.Value) metrology.Value { return squared(rate) }

func squared(rate metrology.Value) metrology.Value {
	x := rate.Value / SecondsPerDay
	return metrology.Value{Value: x * (2 + x), StdUncertainty: 2 * math.Abs(1+x) * rate.StdUncertainty / SecondsPerDay}
}

// Way is which way to go.
type Way int

// Ways to set a watch.
const (
	Nowhere Way = iota
	Slower      // it gains
	Faster      // it loses
)

// String is "slower", "faster" or "".
func (w Way) String() string { return [...]string{"", "slower", "faster"}[w] }

// wayFor returns which way takes a rate away.
func wayFor(rateSPerDay float64) Way {
	switch {
	case rateSPerDay > 0:
		return Slower
	case rateSPerDay < 0:
		return Faster
	}
	return Nowhere
}

// mostRateSPerDay bounds the rates these sums are for; beyond it something else is wrong.
const mostRateSPerDay = 3600

// RateProblem says what is wrong with a rate to be taken away, or "".
func RateProblem(rate metrology.Value) string {
	if rate.Check() != nil || math.Abs(rate.Value) > mostRateSPerDay {
		return "Give the rate from −3600 to +3600 s/d; a watch further off has another fault."
	}
	return ""
}

// Index is what is known of a regulator and its pins. A figure that is zero is not known.
type Index struct {
	LengthMm    float64 // working length of the spring, collet to pins
	PinRadiusMm float64 // from the staff to the pins
	StepSPerDay float64 // of one division
}

// Problems says, by form field, what cannot be right: "hairspring_length", "pin_radius", "regulator_step".
func (r Index) Problems() map[string]string {
	bad := map[string]string{}
	if r.LengthMm != 0 && !(r.LengthMm >= 5 && r.LengthMm <= 2000) {
		bad["hairspring_length"] = "Give the working length from 5 to 2000 mm, or leave it empty."
	}
	if r.PinRadiusMm != 0 && !(r.PinRadiusMm >= 0.3 && r.PinRadiusMm <= 50) {
		bad["pin_radius"] = "Give the radius of the pins from 0.3 to 50 mm, or leave it empty."
	}
	if !(r.StepSPerDay >= 0 && r.StepSPerDay <= 1000) {
		bad["regulator_step"] = "Give the seconds a day for one division, 0 to 1000, or leave it empty."
	}
	if len(bad) == 0 && r.PinRadiusMm > 0 && r.LengthMm > 0 && r.LengthMm < 2*math.Pi*r.PinRadiusMm {
		bad["hairspring_length"] = "A spring of this length would not go once round at the pins' radius."
	}
	return bad
}

// IndexMove is how to move the pins. Lengths and angles are positive towards the stud, where the working spring
// grows and the watch loses.
type IndexMove struct {
	Way       Way
	Change    metrology.Value  // dL/L
	AlongMm   *metrology.Value // along the spring; nil when the length is not known
	AngleDeg  *metrology.Value // of the index; nil when length or radius is not known
	Divisions *metrology.Value // nil when the division is not known
}

// For returns the move that takes a rate away: dL = L·((1 + rate/86400)² − 1), dL/r as an angle, rate/step in
// divisions. It supposes that the pins hold the spring without play; play makes the true move larger and different from
// position to position.
func (r Index) For(rate metrology.Value) IndexMove {
	out := IndexMove{Way: wayFor(rate.Value), Change: lengthChange(rate)}
	scaled := func(v metrology.Value, c float64, unit string) *metrology.Value {
		return &metrology.Value{Value: v.Value * c, StdUncertainty: v.StdUncertainty * c, Unit: unit}
	}
	if r.LengthMm > 0 {
		out.AlongMm = scaled(out.Change, r.LengthMm, "mm")
		if r.PinRadiusMm > 0 {
			out.AngleDeg = scaled(*out.AlongMm, 180/math.Pi/r.PinRadiusMm, "°")
		}
	}
	if r.StepSPerDay > 0 {
		out.Divisions = scaled(rate, 1/r.StepSPerDay, "divisions")
	}
	return out
}

// TimingScrews are the screws turned together: opposite pairs, so that the poise stays (Kleinlein, Rules and Practice
// for Adjusting Watches, 1920, section 75).
type TimingScrews struct {
	Count         int     // an even number
	MassMicrogram float64 // of one
	RadiusMm      float64 // from the staff to a screw's centre of mass, as it stands
	TravelMm      float64 // for one turn: the pitch of the thread
}

// Problems says, by form field, what cannot be right: "screw_count", "screw_mass", "screw_radius", "screw_travel".
func (s TimingScrews) Problems() map[string]string {
	bad := map[string]string{}
	evenCount(bad, "screw_count", s.Count)
	if !(s.MassMicrogram >= 1 && s.MassMicrogram <= 1e6) {
		bad["screw_mass"] = "Give the mass of one screw from 1 to 1000000 µg."
	}
	if !(s.RadiusMm >= 0.5 && s.RadiusMm <= 50) {
		bad["screw_radius"] = "Give the radius from the staff to the screw's centre of mass, 0.5 to 50 mm."
	}
	if !(s.TravelMm >= 0.01 && s.TravelMm <= 2) {
		bad["screw_travel"] = "Give the travel for one turn from 0.01 to 2 mm."
	}
	return bad
}

func evenCount(bad map[string]string, field string, n int) {
	if n < 2 || n > 24 || n%2 != 0 {
		bad[field] = "Give an even number from 2 to 24: they are changed in opposite pairs, or the poise is lost."
	}
}

// ErrScrewsCannot reports a rate that the screws cannot take away: they would have to stand in the staff.
var ErrScrewsCannot = errors.New("the screws are too light for this rate: even at the staff they would not do it")

// ErrHeavierThanBalance reports weights whose own inertia is more than that of the balance they are part of.
var ErrHeavierThanBalance = errors.New("the screws alone would have more inertia than the whole balance; look at " +
	"mass, radius and inertia again")

// ScrewsMove is how far to turn the screws.
type ScrewsMove struct {
	Way        Way
	ToRadiusMm float64
	OutMm      metrology.Value // each, positive outward
	Turns      metrology.Value // each, positive outward
	TooFar     bool            // more than farTurns
}

// farTurns is how many turns are held to be too many: a whole one generally corrects what a watch needs (Kleinlein,
// 1920, section 75), and a screw far out is loose or touches.
const farTurns = 2

// For returns the turn that takes a rate away on a balance of that inertia (mg·cm², screws as they stand): moving n
// screws of mass m from r₁ to r₂ changes the inertia by n·m·(r₂² − r₁²), since a screw's inertia about its own centre
// stays (Steiner). Its uncertainty is that of rate and inertia; the screws' own figures count as exact. It fails with
// ErrScrewsCannot or ErrHeavierThanBalance.
func (s TimingScrews) For(rate, inertiaMgCm2 metrology.Value) (ScrewsMove, error) {
	nm := float64(s.Count) * s.MassMicrogram / 1000
	total := inertiaMgCm2.Value * 100 // mg·mm²
	if nm*s.RadiusMm*s.RadiusMm >= total {
		return ScrewsMove{}, ErrHeavierThanBalance
	}
	change := InertiaChange(rate)
	square := s.RadiusMm*s.RadiusMm + change.Value*total/nm
	if square <= 0 {
		return ScrewsMove{}, ErrScrewsCannot
	}
	to := math.Sqrt(square)
	out := metrology.Value{Value: to - s.RadiusMm, StdUncertainty: inertiaNeeded(change,
		inertiaMgCm2) * 100 / (2 * nm * to), Unit: "mm"}
	turns := metrology.Value{Value: out.Value / s.TravelMm, StdUncertainty: out.StdUncertainty / s.TravelMm, Unit: "turn"}
	return ScrewsMove{Way: wayFor(rate.Value), ToRadiusMm: to, OutMm: out, Turns: turns,
		TooFar: math.Abs(turns.Value) > farTurns}, nil
}

// inertiaNeeded returns the standard uncertainty of dI = I·change in the unit of I.
func inertiaNeeded(change, inertia metrology.Value) float64 {
	return math.Hypot(inertia.Value*change.StdUncertainty, inertia.StdUncertainty*change.Value)
}

// RateOfTurns returns the s/d that turning each screw outward by so many turns brings to a balance of that inertia.
func (s TimingScrews) RateOfTurns(turns, inertiaMgCm2 float64) float64 {
	r := s.RadiusMm + turns*s.TravelMm
	di := float64(s.Count) * s.MassMicrogram * (r*r - s.RadiusMm*s.RadiusMm) / 1e5
	return Change{Inertia: di / inertiaMgCm2}.RateSPerDay()
}

// Washers are washers under opposite screws. ScrewMassMicrogram and ThicknessMm are of the screw and the washer and
// count for the screw standing further out by the washer's thickness; either zero leaves that out.
type Washers struct {
	Count              int     // an even number
	RadiusMm           float64 // from the staff to the washer
	ScrewMassMicrogram float64
	ThicknessMm        float64
}

// Problems says, by form field, what cannot be right: "washer_count", "washer_radius", "washer_screw_mass",
// "washer_thickness".
func (w Washers) Problems() map[string]string {
	bad := map[string]string{}
	evenCount(bad, "washer_count", w.Count)
	if !(w.RadiusMm >= 0.5 && w.RadiusMm <= 50) {
		bad["washer_radius"] = "Give the radius from the staff to the washer, 0.5 to 50 mm."
	}
	if !(w.ScrewMassMicrogram >= 0 && w.ScrewMassMicrogram <= 1e6) {
		bad["washer_screw_mass"] = "Give the mass of the screw up to 1000000 µg, or leave it empty."
	}
	if !(w.ThicknessMm >= 0 && w.ThicknessMm <= 1) {
		bad["washer_thickness"] = "Give the thickness of a washer up to 1 mm, or leave it empty."
	}
	return bad
}

// ErrWasherTooThick reports a washer whose thickness alone, by moving the screw, does more than is wanted.
var ErrWasherTooThick = errors.New("a washer of this thickness moves the screw out by more than the rate asks for; " +
	"take a thinner one")

// WasherMass is the mass of washers to add, or to take off.
type WasherMass struct {
	Way  Way             // Slower: add; Faster: take off, from washers or from the screws
	Each metrology.Value // µg, never negative
	All  metrology.Value // µg, of all of them
}

// For returns the washers that take a rate away on a balance of that inertia (mg·cm²): n·m·r² + n·m_s·((r±t)² − r²)
// = I·((1 + rate/86400)² − 1). It fails with ErrWasherTooThick.
func (w Washers) For(rate, inertiaMgCm2 metrology.Value) (WasherMass, error) {
	change := InertiaChange(rate)
	n, r2 := float64(w.Count), w.RadiusMm*w.RadiusMm
	moved := w.RadiusMm + math.Copysign(w.ThicknessMm, rate.Value)
	spaced := w.ScrewMassMicrogram * math.Abs(moved*moved-r2)
	each := (math.Abs(change.Value)*inertiaMgCm2.Value*1e5/n - spaced) / r2 // 1 mg·cm² is 1e5 µg·mm²
	if each < 0 {
		return WasherMass{}, ErrWasherTooThick
	}
	u := inertiaNeeded(change, inertiaMgCm2) * 1e5 / (n * r2)
	return WasherMass{
		Way:  wayFor(rate.Value),
		Each: metrology.Value{Value: each, StdUncertainty: u, Unit: "µg"},
		All:  metrology.Value{Value: n * each, StdUncertainty: n * u, Unit: "µg"},
	}, nil
}

// UsualWasherRatesSPerDay is by how much a pair of timing washers slows the balance it is sold for, as sets are
// usually graded: one, two or three minutes a day. Common practice, and only a rough guide: the same washer does less
// on a heavier balance.
func UsualWasherRatesSPerDay() []float64 { return []float64{60, 120, 180} }
