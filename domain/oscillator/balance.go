package oscillator

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"

	"ledgerwheel/domain/metrology"
)

// StandardGravity is in m/s² (ISO 80000-3, by convention).
const StandardGravity = 9.80665

// Balance is what is known of a calibre's balance. A field that is zero is not known.
type Balance struct {
	BeatsPerHour  int
	InertiaMgCm2  float64 // moment of inertia, mg·cm²
	RimRadiusMm   float64 // where weight is taken off
	ImpulseJewel  *Hour   // where the impulse jewel points at rest; nil when not known
	Screws        []Screw // timing screws or weights; nil when there are none
	RegulatorStep float64 // s/d for one division of the regulator; 0 when not known
}

// Hour is a direction on the dial as seen from the dial side, 0 ≤ h < 12, 12 o'clock being 0.
type Hour float64

// Screw is a timing screw or sliding weight on the rim.
type Screw struct {
	Label          string
	FromJewelDeg   float64 // from the impulse jewel, clockwise as seen from the balance side
	RadiusMm       float64 // of its centre of mass
	MassMicrogram  float64
	TravelMmAtTurn float64 // outward travel for one turn outward
}

const (
	mgCm2InKgM2      = 1e-10 // 1 mg·cm² in kg·m²
	kgMInMicrogramMm = 1e12  // 1 kg·m in µg·mm
)

// StiffnessNmPerRad returns k = I·(2πf)², f = beats per hour / 7200; ok is false when either is not known.
func (b Balance) StiffnessNmPerRad() (k float64, ok bool) {
	if !(b.InertiaMgCm2 > 0) || b.BeatsPerHour <= 0 {
		return 0, false
	}
	w := 2 * math.Pi * float64(b.BeatsPerHour) / 7200
	return b.InertiaMgCm2 * mgCm2InKgM2 * w * w, true
}

// MomentPerUnit returns the mass moment in µg·mm for S = m·g·r/k = 1: k/g.
func (b Balance) momentPerUnit() (float64, bool) {
	k, ok := b.StiffnessNmPerRad()
	return k / StandardGravity * kgMInMicrogramMm, ok
}

// Removal says how much mass taken off at a radius undoes a heavy spot, and what that does to the rate by itself.
type Removal struct {
	RadiusMm  float64
	Mass      metrology.Value // µg
	GainsRate metrology.Value // s/d: 43200·m·R²/I, since the balance gets lighter
}

// removal returns nil when the balance is not known well enough.
func (b Balance) removal(moment *metrology.Value) *Removal {
	if moment == nil || !(b.RimRadiusMm > 0) || !(b.InertiaMgCm2 > 0) {
		return nil
	}
	scale := func(v metrology.Value, c float64, unit string) metrology.Value {
		return metrology.Value{Value: v.Value * c, StdUncertainty: v.StdUncertainty * math.Abs(c), Unit: unit}
	}
	// m·R² in µg·mm² over I in mg·cm²: 1 µg·mm² = 1e-5 mg·cm².
	gain := SecondsPerDay / 2 * b.RimRadiusMm * 1e-5 / b.InertiaMgCm2
	return &Removal{
		RadiusMm: b.RimRadiusMm, Mass: scale(*moment, 1/b.RimRadiusMm, "µg"),
		GainsRate: scale(*moment, gain, "s/d"),
	}
}

// ScrewTurn is how far one screw is turned.
type ScrewTurn struct {
	Screw Screw
	Turns float64 // positive outward
}

// String says it in words.
func (t ScrewTurn) String() string {
	way := "out"
	if t.Turns < 0 {
		way = "in"
	}
	return fmt.Sprintf("%s %.2f turn %s", t.Screw.Label, math.Abs(t.Turns), way)
}

// leastTurnsShown leaves out screws that need not be touched.
const leastTurnsShown = 0.02

// screwTurns returns the smallest turns (least sum of squares) that cancel a heavy moment of the given size (µg·mm)
// and direction (from the jewel, clockwise from the balance side) and leave the moment of inertia as it is:
// Σ m·travel·turns·(cos, sin) = −moment, Σ m·R·travel·turns = 0. nil when the screws cannot do that.
func (b Balance) screwTurns(momentMicrogramMm, fromJewelDeg float64) []ScrewTurn {
	n := len(b.Screws)
	if n < 3 && !b.oppositePairFor(fromJewelDeg) {
		return nil
	}
	a := mat.NewDense(3, n, nil)
	meanRadius := 0.0
	for _, s := range b.Screws {
		meanRadius += s.RadiusMm / float64(n)
	}
	for j, s := range b.Screws {
		c := s.MassMicrogram * s.TravelMmAtTurn
		angle := radians(s.FromJewelDeg)
		a.Set(0, j, c*math.Cos(angle))
		a.Set(1, j, c*math.Sin(angle))
		a.Set(2, j, c*s.RadiusMm/meanRadius)
	}
	angle := radians(fromJewelDeg)
	want := mat.NewVecDense(3, []float64{
		-momentMicrogramMm * math.Cos(angle), -momentMicrogramMm * math.Sin(angle), 0})
	var svd mat.SVD
	if !svd.Factorize(a, mat.SVDThin) {
		return nil
	}
	rank := svd.Rank(1e-9)
	if rank == 0 {
		return nil
	}
	var turns mat.VecDense
	svd.SolveVecTo(&turns, want, rank)
	var got mat.VecDense
	got.MulVec(a, &turns)
	got.SubVec(&got, want)
	if mat.Norm(&got, 2) > residualShare*math.Abs(momentMicrogramMm) {
		return nil
	}
	var out []ScrewTurn
	for j, s := range b.Screws {
		if math.Abs(turns.AtVec(j)) >= leastTurnsShown {
			out = append(out, ScrewTurn{Screw: s, Turns: turns.AtVec(j)})
		}
	}
	return out
}

// residualShare is how much of the heavy moment the screws may leave.
const residualShare = 0.3

// oppositePairFor reports whether two screws face each other near the line of a heavy spot.
func (b Balance) oppositePairFor(fromJewelDeg float64) bool {
	if len(b.Screws) != 2 {
		return false
	}
	near := func(x float64) bool { return math.Abs(math.Sin(radians(x))) < residualShare }
	apart := b.Screws[0].FromJewelDeg - b.Screws[1].FromJewelDeg
	return near(apart) && math.Cos(radians(apart)) < 0 && near(fromJewelDeg-b.Screws[0].FromJewelDeg)
}
