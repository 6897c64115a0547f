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
	Screw   Screw
	Eighths int // of a turn, positive outward
}

// Turns is the turn, positive outward.
func (t ScrewTurn) Turns() float64 { return float64(t.Eighths) / eighthsPerTurn }

// eighthsPerTurn is the finest a screw is set by hand and eye (common practice: an eighth of a turn).
const eighthsPerTurn = 8

// String says it in words: "screw 2 ⅝ turn out".
func (t ScrewTurn) String() string {
	way := "out"
	n := t.Eighths
	if n < 0 {
		way, n = "in", -n
	}
	whole := ""
	if n >= eighthsPerTurn {
		whole = fmt.Sprint(n / eighthsPerTurn)
	}
	return fmt.Sprintf("%s %s%s turn %s", t.Screw.Label, whole, eighthWords[n%eighthsPerTurn], way)
}

var eighthWords = [eighthsPerTurn]string{"", "⅛", "¼", "⅜", "½", "⅝", "¾", "⅞"}

// ScrewSetting is what the screws can do about a heavy spot in eighths of a turn, and what stays.
type ScrewSetting struct {
	Turns       []ScrewTurn
	LeftShare   float64 // of the heavy moment, 0 to 1
	MeanSPerDay float64 // by which the mean rate moves; 0 where the balance's inertia is not known
}

// screwSetting returns the turns in eighths that cancel a heavy moment of the given size (µg·mm) and direction (from
// the jewel, clockwise from the balance side) and leave the mean rate as it is, both as nearly as eighths allow: the
// least squares solution of Σ m·travel·turns·(cos, sin) = −moment, Σ m·R·travel·turns = 0 is rounded, and then improved
// one eighth of one screw, or of two, at a time. nil when the screws cannot do that.
func (b Balance) screwSetting(momentMicrogramMm, fromJewelDeg float64) *ScrewSetting {
	n := len(b.Screws)
	if n < 3 && !b.oppositePairFor(fromJewelDeg) || momentMicrogramMm == 0 {
		return nil
	}
	rows, want := b.screwRows(momentMicrogramMm, fromJewelDeg)
	a := mat.NewDense(3, n, nil)
	for i, row := range rows {
		a.SetRow(i, row)
	}
	var svd mat.SVD
	if !svd.Factorize(a, mat.SVDThin) {
		return nil
	}
	rank := svd.Rank(1e-9)
	if rank == 0 {
		return nil
	}
	var exact mat.VecDense
	svd.SolveVecTo(&exact, mat.NewVecDense(3, want[:]), rank)
	eighths := make([]int, n)
	for j := range eighths {
		eighths[j] = int(math.Round(exact.AtVec(j) * eighthsPerTurn))
	}
	improve(eighths, func() float64 {
		left, mean := b.screwRest(rows, want, eighths)
		return left*left + mean*mean/(meanStepSPerDay*meanStepSPerDay)
	})
	out := &ScrewSetting{}
	out.LeftShare, out.MeanSPerDay = b.screwRest(rows, want, eighths)
	if out.LeftShare > residualShare {
		return nil
	}
	for j, s := range b.Screws {
		if eighths[j] != 0 {
			out.Turns = append(out.Turns, ScrewTurn{s, eighths[j]})
		}
	}
	return out
}

// meanStepSPerDay is the move of the mean rate that counts as much as the whole heavy moment left.
const meanStepSPerDay = 8

// screwRows are the share of each screw, for one turn out, in the moment towards the jewel, across it, and in half the
// moment of inertia over the mean radius; and what is wanted of each.
func (b Balance) screwRows(momentMicrogramMm, fromJewelDeg float64) (rows [3][]float64, want [3]float64) {
	meanRadius := 0.0
	for _, s := range b.Screws {
		meanRadius += s.RadiusMm / float64(len(b.Screws))
	}
	for _, s := range b.Screws {
		c := s.MassMicrogram * s.TravelMmAtTurn
		sin, cos := math.Sincos(radians(s.FromJewelDeg))
		rows[0], rows[1] = append(rows[0], c*cos), append(rows[1], c*sin)
		rows[2] = append(rows[2], c*s.RadiusMm/meanRadius)
	}
	sin, cos := math.Sincos(radians(fromJewelDeg))
	return rows, [3]float64{-momentMicrogramMm * cos, -momentMicrogramMm * sin, 0}
}

// screwRest returns what turns in eighths leave of the moment, as a share of it, and by how much they move the mean
// rate, s/d: −43200·ΔI/I with ΔI twice the sum of m·R·travel·turns. Where the inertia is not known, the move is that of
// a balance of 10 mg·cm².
func (b Balance) screwRest(rows [3][]float64, want [3]float64, eighths []int) (leftShare, meanSPerDay float64) {
	var got [3]float64
	meanRadius := 0.0
	for j, e := range eighths {
		for i := range got {
			got[i] += rows[i][j] * float64(e) / eighthsPerTurn
		}
		meanRadius += b.Screws[j].RadiusMm / float64(len(eighths))
	}
	inertia := b.InertiaMgCm2
	if !(inertia > 0) {
		inertia = 10
	}
	// µg·mm² over mg·cm²: 1e-5.
	return math.Hypot(got[0]-want[0], got[1]-want[1]) / math.Hypot(want[0], want[1]),
		-SecondsPerDay / 2 * 2 * got[2] * meanRadius * 1e-5 / inertia
}

// improve changes one or two of the numbers by one at a time as long as that lowers the cost.
func improve(numbers []int, cost func() float64) {
	least := cost()
	try := func(changes ...int) bool { // index and step in turn
		for i := 0; i < len(changes); i += 2 {
			numbers[changes[i]] += changes[i+1]
		}
		if c := cost(); c < least-1e-12 {
			least = c
			return true
		}
		for i := 0; i < len(changes); i += 2 {
			numbers[changes[i]] -= changes[i+1]
		}
		return false
	}
	const mostRounds = 100 // each round lowers the cost, so this only bounds the time
	for range mostRounds {
		better := false
		for i := range numbers {
			for _, step := range []int{1, -1} {
				better = try(i, step) || better
				for j := range i {
					better = try(i, step, j, step) || better
					better = try(i, step, j, -step) || better
				}
			}
		}
		if !better {
			return
		}
	}
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
