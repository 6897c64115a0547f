package fit

import (
	"math"

	"ledgerwheel/domain/metrology"
)

// Measured is what was measured at a pivot. Millimetres; 0 is not measured, where the field's comment says so.
type Measured struct {
	Place   Place
	Metal   bool    // the bearing is a hole in metal, not in a jewel
	PivotMm float64 // where it runs
	HoleMm  float64
	// SmallestMm is the diameter at the bottom of a worn groove; 0: no groove was found.
	SmallestMm float64
	// HalfWidthMm bounds the error of each diameter either way.
	HalfWidthMm float64

	// EndshakeMm is the play along the arbor; negative: not measured.
	EndshakeMm          float64
	EndshakeHalfWidthMm float64

	// BetweenMm is the distance between the two bearings, HoleLengthMm the length of the hole that the pivot touches,
	// RimRadiusMm the radius of the wheel or balance; 0: not measured. OtherClearanceMm is that of the other pivot of
	// the arbor; 0: taken to be the same.
	BetweenMm, HoleLengthMm, RimRadiusMm, OtherClearanceMm float64
}

// NotMeasured stands for an end shake that was not measured.
const NotMeasured = -1

// Bounds of what is believed.
const (
	maxPivotMm   = 5
	maxPlayMm    = 1
	maxBetweenMm = 50
	mostHalfMm   = 0.1
)

// Problems says, by form field, what stands against m.
func (m Measured) Problems() map[string]string {
	bad := map[string]string{}
	if _, known := m.Place.practice(); !known {
		bad["place"] = "Choose the pivot that was measured."
	}
	within := func(field string, x, low, high float64, sentence string) {
		if !(x >= low && x <= high) { // NaN too
			bad[field] = sentence
		}
	}
	within("pivot", m.PivotMm, 0.02, maxPivotMm, "Give the pivot’s diameter in mm, from 0.02 to 5.")
	within("hole", m.HoleMm, 0.02, maxPivotMm+maxPlayMm, "Give the hole’s diameter in mm, from 0.02 to 6.")
	within("half_width", m.HalfWidthMm, 0, mostHalfMm, "Give the gauge’s error either way in mm, from 0 to 0.1.")
	within("endshake_half_width", m.EndshakeHalfWidthMm, 0, mostHalfMm, "Give the error of the end shake either way in "+
		"mm, from 0 to 0.1.")
	within("between", m.BetweenMm, 0, maxBetweenMm, "Give the distance between the bearings in mm, at most 50.")
	within("hole_length", m.HoleLengthMm, 0, maxPivotMm, "Give the length of the hole in mm, at most 5.")
	within("rim_radius", m.RimRadiusMm, 0, maxBetweenMm, "Give the radius of the wheel in mm, at most 50.")
	within("other_clearance", m.OtherClearanceMm, 0, maxPlayMm, "Give the other pivot’s clearance in mm, at most 1.")
	if m.EndshakeMm != NotMeasured {
		within("endshake", m.EndshakeMm, 0, maxPlayMm, "Give the end shake in mm, from 0 to 1.")
	}
	if bad["pivot"] == "" && m.SmallestMm != 0 {
		within("smallest", m.SmallestMm, 0.01, m.PivotMm, "The groove is the pivot’s smallest diameter: give one not "+
			"above the pivot’s own.")
	}
	if bad["pivot"] == "" && bad["hole"] == "" && m.HoleMm-m.PivotMm > maxPlayMm {
		bad["hole"] = "This hole is over a millimetre wider than the pivot: check both figures."
	}
	return bad
}

// Judgement is what follows from what was measured.
type Judgement struct {
	Measured
	// Clearance is the hole's diameter less the pivot's: all the play sideways. Negative: the pivot does not enter.
	Clearance Play
	Endshake  *Play // nil: not measured

	// WearMm is the depth of a groove on the diameter; 0 without one. AfterPolish is the clearance once the pivot is
	// polished down to its bottom, nil without a groove.
	WearMm      float64
	AfterPolish *Play

	// TiltDeg is how far the arbor can lean either way from its upright line, RimPlayMm how far the rim then moves up
	// and down in all, HoleTiltDeg how far the pivot could lean in this hole alone before it binds at both edges. NaN
	// where what they need was not measured.
	TiltDeg, RimPlayMm, HoleTiltDeg float64
}

// Judge compares what was measured with what is usual. It is only for what has no Problems.
//
// The uncertainty of the clearance is that of two diameters, each anywhere within its half-width (JCGM 100:2008,
// 4.3.7). An arbor of length L between bearings with clearances c1 and c2 leans by atan((c1 + c2) / 2L) either way, and
// a pivot in a straight hole of length h binds at atan(c / h): plane geometry.
func (m Measured) Judge() Judgement {
	j := Judgement{Measured: m, TiltDeg: math.NaN(), RimPlayMm: math.NaN(), HoleTiltDeg: math.NaN()}
	u := metrology.Quadrature(metrology.FromHalfWidth(m.HalfWidthMm), metrology.FromHalfWidth(m.HalfWidthMm))
	clearance := m.HoleMm - m.PivotMm
	j.Clearance = judge(metrology.Value{Value: clearance, StdUncertainty: u, Unit: "mm"},
		m.Place.UsualClearance(m.PivotMm), FromMemory)
	if m.EndshakeMm != NotMeasured {
		usual, source := m.Place.UsualEndshake()
		play := judge(metrology.Value{Value: m.EndshakeMm, StdUncertainty: metrology.FromHalfWidth(m.EndshakeHalfWidthMm),
			Unit: "mm"}, usual, source)
		j.Endshake = &play
	}
	if m.SmallestMm > 0 && m.SmallestMm < m.PivotMm {
		j.WearMm = m.PivotMm - m.SmallestMm
		play := judge(metrology.Value{Value: m.HoleMm - m.SmallestMm, StdUncertainty: u, Unit: "mm"},
			m.Place.UsualClearance(m.PivotMm), FromMemory)
		j.AfterPolish = &play
	}
	if clearance <= 0 {
		return j
	}
	if m.BetweenMm > 0 {
		other := m.OtherClearanceMm
		if other == 0 {
			other = clearance
		}
		lean := (clearance + other) / (2 * m.BetweenMm)
		j.TiltDeg = degrees(math.Atan(lean))
		if m.RimRadiusMm > 0 {
			j.RimPlayMm = 2 * m.RimRadiusMm * math.Sin(math.Atan(lean))
		}
	}
	if m.HoleLengthMm > 0 {
		j.HoleTiltDeg = degrees(math.Atan(clearance / m.HoleLengthMm))
	}
	return j
}

func degrees(rad float64) float64 { return rad * 180 / math.Pi }

// Binds reports whether the arbor can lean further than this hole lets its pivot: it then binds before the play ends.
func (j Judgement) Binds() bool { return j.TiltDeg > j.HoleTiltDeg } // false where either is NaN

// Meaning says in sentences what the figures mean and what is usually done (common practice).
func (j Judgement) Meaning() []string {
	var said []string
	say := func(s string) { said = append(said, s) }
	switch c := j.Clearance; {
	case c.Value.Value <= 0:
		say("The pivot does not enter this hole: it is the wrong jewel or the wrong arbor, or a figure is mistaken.")
	case c.Verdict == TooTight:
		say("The pivot is tight in its hole: with thickened oil or a speck of dust it binds. Measure again after " +
			"cleaning; then polish the pivot or choose a larger hole.")
	case c.Verdict == Worn && j.Metal:
		say("The hole is worn, and a hole in metal wears oval: look which way it is drawn, then bush it or fit a jewel. A " +
			"worn hole moves the wheel out of depth.")
	case c.Verdict == Worn:
		say("The play is wider than usual. A jewel hardly wears, so look for a pivot polished too far, a jewel of the " +
			"wrong size, or one that is cracked.")
	default:
		say("The clearance is usual.")
	}
	if j.AfterPolish != nil {
		said = append(said, j.grooveSentence())
	}
	if j.Endshake != nil {
		said = append(said, j.endshakeSentence())
	}
	if j.Binds() {
		say("The arbor can lean further than this hole allows the pivot: it binds at the hole’s edges before the side " +
			"shake is used up. Look for a jewel out of upright, or a straight hole where a rounded one belongs.")
	}
	if !j.Clearance.Sure {
		say("The edge of the usual range lies within what the gauge may err by: measure with a finer gauge, or several " +
			"times, before a part is ordered on this.")
	}
	return said
}

func (j Judgement) grooveSentence() string {
	switch j.AfterPolish.Verdict {
	case TooTight:
		return "A groove is worn into the pivot; polish it out. The pivot stays tight in this hole even then."
	case Worn:
		return "A groove is worn into the pivot; polished out, the pivot would be too thin for this hole. Replace the " +
			"arbor, or polish and fit a smaller hole."
	}
	return "A groove is worn into the pivot; it can be polished out and the clearance stays usual. A groove left in " +
		"tears the oil away and cuts on."
}

func (j Judgement) endshakeSentence() string {
	switch j.Endshake.Verdict {
	case TooTight:
		return "There is too little end shake: the arbor may be pinched when the bridge screws are tightened or when it " +
			"warms. Look for dirt or a burr under the bridge, then set the jewel back."
	case Worn:
		return "There is too much end shake: depths and heights change between dial up and dial down. Look for a worn " +
			"shoulder or endstone and a jewel pushed out of place, then set the jewel in."
	}
	return "The end shake is usual."
}

// Verdict is the worse of the judgements of clearance and end shake: tight before worn before usual.
func (j Judgement) Verdict() Verdict {
	v := j.Clearance.Verdict
	if j.Endshake != nil && (v == Usual || j.Endshake.Verdict == TooTight) {
		v = j.Endshake.Verdict
	}
	if v == Usual && j.AfterPolish != nil {
		v = Worn
	}
	return v
}
