// Package fit judges how a pivot fits its jewel or hole, from a watchmaker's measurements, and says how places of a
// movement are usually oiled.
//
// The figures are common practice of watch repair, not a standard: makers' sheets go before them wherever they exist.
// Where one was read it is named beside it; the others are from memory of bench practice and say so.
package fit

import (
	"fmt"
	"math"

	"ledgerwheel/domain/metrology"
)

// Place is a pivot of a movement.
type Place string

// The places, from the balance to the barrel.
const (
	Balance     Place = "balance"
	PalletArbor Place = "pallet-arbor"
	EscapeWheel Place = "escape-wheel"
	FourthWheel Place = "fourth-wheel"
	ThirdWheel  Place = "third-wheel"
	CentreWheel Place = "centre-wheel"
	BarrelArbor Place = "barrel-arbor"
)

// Range is a usual range in millimetres, both ends included.
type Range struct{ LowMm, HighMm float64 }

// practice is what is usual at a place. Clearance is the hole's diameter less the pivot's; it grows with the pivot, but
// not below a least amount that oil and dust need.
type practice struct {
	place             Place
	words             string
	pivot             Range
	lowPart, lowMm    float64 // least clearance: this part of the pivot's diameter, but at least lowMm
	highPart, highMm  float64 // greatest: this part, but at least highMm
	endshake          Range
	endshakeSource    string
	conical, metalled bool // the usual pivot runs on an endstone; the usual bearing is a hole in metal
}

// Sources of the figures.
const (
	FromMemory     = "common practice of the bench, from memory"
	FromEscapement = "American Watchmakers-Clockmakers Institute, The Escapement, Endshakes and Division: 0.01 to 0.05 " +
		"mm in the escapement, balance staff and pallet arbor alike, the escape wheel a little more"
)

// practices is the table that everything here is judged by. The clearances are from memory of bench practice: about a
// tenth of a fine pivot's diameter, a twentieth of a stout one's.
var practices = []practice{
	{Balance, "balance staff", Range{0.07, 0.14}, 0.06, 0.005, 0.14, 0.012, Range{0.01, 0.05}, FromEscapement, true,
		false},
	{PalletArbor, "pallet arbor", Range{0.08, 0.16}, 0.06, 0.005, 0.14, 0.014, Range{0.01, 0.05}, FromEscapement, false,
		false},
	{EscapeWheel, "escape wheel", Range{0.08, 0.18}, 0.06, 0.006, 0.15, 0.016, Range{0.015, 0.06}, FromEscapement, false,
		false},
	{FourthWheel, "fourth wheel", Range{0.12, 0.30}, 0.05, 0.008, 0.10, 0.020, Range{0.02, 0.06}, FromMemory, false,
		false},
	{ThirdWheel, "third wheel", Range{0.14, 0.40}, 0.05, 0.008, 0.10, 0.022, Range{0.02, 0.07}, FromMemory, false, false},
	{CentreWheel, "centre wheel", Range{0.40, 1.50}, 0.02, 0.010, 0.05, 0.030, Range{0.03, 0.08}, FromMemory, false, true},
	{BarrelArbor, "barrel arbor", Range{0.60, 2.50}, 0.015, 0.010, 0.03, 0.040, Range{0.03, 0.10}, FromMemory, false,
		true},
}

// Places lists every place.
func Places() []Place {
	list := make([]Place, len(practices))
	for i, p := range practices {
		list[i] = p.place
	}
	return list
}

func (p Place) practice() (practice, bool) {
	for _, known := range practices {
		if known.place == p {
			return known, true
		}
	}
	return practice{}, false
}

// Words says p in plain words: "balance staff"; "" for an unknown place.
func (p Place) Words() string {
	known, _ := p.practice()
	return known.words
}

// UsualPivot is the usual diameter of a pivot at p (common practice, from memory).
func (p Place) UsualPivot() Range {
	known, _ := p.practice()
	return known.pivot
}

// UsualClearance is the usual difference of the diameters of hole and pivot at p, for a pivot of this diameter (common
// practice, from memory).
func (p Place) UsualClearance(pivotMm float64) Range {
	known, _ := p.practice()
	return Range{math.Max(known.lowMm, known.lowPart*pivotMm), math.Max(known.highMm, known.highPart*pivotMm)}
}

// UsualEndshake is the usual play along the arbor at p, and where that is from.
func (p Place) UsualEndshake() (Range, string) {
	known, _ := p.practice()
	return known.endshake, known.endshakeSource
}

// Verdict says how a play compares with what is usual.
type Verdict uint8

// The verdicts.
const (
	Usual Verdict = iota
	TooTight
	Worn // wider than usual: worn, or never right
)

// String says v in plain words.
func (v Verdict) String() string {
	return [...]string{"usual", "too tight", "worn"}[v]
}

// Play is a play that was measured, against what is usual.
type Play struct {
	Value   metrology.Value // mm, with its standard uncertainty
	Usual   Range
	Source  string // of the usual range
	Verdict Verdict
	// Probability that the true play is within the usual range (JCGM 106:2012, 7.2, with a normal distribution).
	Probability float64
	// Sure says that the verdict holds anywhere within the expanded uncertainty (k = 2).
	Sure bool
}

// judge compares a play with a usual range by its figure alone (simple acceptance, JCGM 106:2012, 8.2): the usual
// ranges are themselves no sharper than a gauge.
func judge(y metrology.Value, usual Range, source string) Play {
	const rounding = 1e-9 // mm: differences of figures typed in decimals
	p := Play{Value: y, Usual: usual, Source: source}
	switch {
	case y.Value < usual.LowMm-rounding:
		p.Verdict = TooTight
		p.Sure = y.Value+y.Expanded() < usual.LowMm
	case y.Value > usual.HighMm+rounding:
		p.Verdict = Worn
		p.Sure = y.Value-y.Expanded() > usual.HighMm
	default:
		p.Sure = y.Value-y.Expanded() >= usual.LowMm-rounding && y.Value+y.Expanded() <= usual.HighMm+rounding
	}
	_, p.Probability = metrology.Decide(y, metrology.Between(usual.LowMm, usual.HighMm), metrology.Simple)
	return p
}

// String writes a range: "0.006 to 0.014 mm".
func (r Range) String() string { return fmt.Sprintf("%.3f to %.3f mm", r.LowMm, r.HighMm) }
