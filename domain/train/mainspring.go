package train

import (
	"fmt"
	"math"
)

// The limits of what a watch's barrel and mainspring may measure, in millimetres: from the smallest lady's wristwatch
// to a deck watch (common practice). They catch inches and hundredths typed for millimetres.
const (
	minBarrelInsideMm, maxBarrelInsideMm           = 2, 80
	minMainspringThicknessMm, maxMainspringThickMm = 0.02, 1
	minMainspringWidthMm, maxMainspringWidthMm     = 0.2, 20
	minMainspringLengthMm, maxMainspringLengthMm   = 20, 6000
	maxBarrelHeightMm                              = 25
	MaxMainspringTurns                             = 40
)

// mainspringClearanceMm is what a mainspring is narrower than the barrel is high inside, floor to lid (common
// practice).
const mainspringClearanceMm = 0.1

// The share of the free space within which a spring is neither too short nor too long. The most turns are at a half;
// at the ends of this band less than a twentieth of them is lost (derived; TestFillBand counts it).
const (
	ShortFill = 0.4
	LongFill  = 0.6
)

// The barrel's inside diameter to the thickness of its spring: 87 by the rule of the bench, 100 by that of the schools
// (common practice; both from memory). A spring outside the two is checked before it is ordered.
const (
	ThickRatio = 87
	ThinRatio  = 100
)

// Barrel is the space in which a mainspring works.
type Barrel struct {
	InsideDiameterMm float64
	ArborDiameterMm  float64 // of the core on which the spring winds, hook left out
	HeightMm         float64 // from floor to lid; 0 is not known
}

// Mainspring is the strip. A width of 0 is not known; turns don't depend on it.
type Mainspring struct {
	WidthMm, ThicknessMm, LengthMm float64
}

// Problems says, by form field, why no mainspring can work in b.
func (b Barrel) Problems() map[string]string {
	bad := map[string]string{}
	if !within(b.InsideDiameterMm, minBarrelInsideMm, maxBarrelInsideMm) {
		bad["barrel_inside_diameter"] = fmt.Sprintf("Give the barrel's inside diameter from %d to %d mm.", minBarrelInsideMm,
			maxBarrelInsideMm)
	}
	switch {
	case !(b.ArborDiameterMm > 0) || math.IsInf(b.ArborDiameterMm, 0):
		bad["arbor_diameter"] = "Give the arbor's diameter, above 0 mm."
	case bad["barrel_inside_diameter"] == "" && b.ArborDiameterMm >= b.InsideDiameterMm:
		bad["arbor_diameter"] = fmt.Sprintf("An arbor of %s mm leaves no room for a spring in a barrel of %s mm.",
			figureWords(b.ArborDiameterMm), figureWords(b.InsideDiameterMm))
	}
	if b.HeightMm != 0 && !within(b.HeightMm, minMainspringWidthMm+mainspringClearanceMm, maxBarrelHeightMm) {
		bad["barrel_height"] = fmt.Sprintf("Give the barrel's inside height from %s to %d mm, or leave it empty.",
			figureWords(minMainspringWidthMm+mainspringClearanceMm), maxBarrelHeightMm)
	}
	return bad
}

// Problems says, by form field, why s can't work in b. A barrel that is itself impossible is not looked at again.
func (s Mainspring) Problems(b Barrel) map[string]string {
	bad := map[string]string{}
	if !within(s.ThicknessMm, minMainspringThicknessMm, maxMainspringThickMm) {
		bad["mainspring_thickness"] = fmt.Sprintf("Give the spring's thickness from %v to %d mm.", minMainspringThicknessMm,
			maxMainspringThickMm)
	}
	if !within(s.LengthMm, minMainspringLengthMm, maxMainspringLengthMm) {
		bad["mainspring_length"] = fmt.Sprintf("Give the spring's length from %d to %d mm.", minMainspringLengthMm,
			maxMainspringLengthMm)
	}
	if s.WidthMm != 0 && !within(s.WidthMm, minMainspringWidthMm, maxMainspringWidthMm) {
		bad["mainspring_width"] = fmt.Sprintf("Give the spring's width from %v to %d mm.", minMainspringWidthMm,
			maxMainspringWidthMm)
	}
	if len(bad) > 0 || len(b.Problems()) > 0 {
		return bad
	}
	if why := b.thicknessProblem(s.ThicknessMm); why != "" {
		bad["mainspring_thickness"] = why
		return bad
	}
	if longest := b.FreeAreaMm2() / s.ThicknessMm; s.LengthMm >= longest {
		bad["mainspring_length"] = fmt.Sprintf("No more than %.0f mm of a spring %s mm thick can lie between arbor and "+
			"wall, and then it "+
			"can't move; half of that gives the most turns.", longest, figureWords(s.ThicknessMm))
	}
	if b.HeightMm != 0 && s.WidthMm >= b.HeightMm {
		bad["mainspring_width"] = fmt.Sprintf("A spring %s mm wide is held fast in a barrel %s mm high inside.",
			figureWords(s.WidthMm), figureWords(b.HeightMm))
	}
	return bad
}

// thicknessProblem says why a spring of that thickness can't work in b; "" where it can. Two coils, one on the arbor
// and one on the wall, are the least.
func (b Barrel) thicknessProblem(thicknessMm float64) string {
	if space := b.outer() - b.inner(); 2*thicknessMm >= space {
		return fmt.Sprintf("There are %.2f mm between arbor and wall: two coils of %s mm don't go in.", space,
			figureWords(thicknessMm))
	}
	return ""
}

func within(v, low, high float64) bool { return v >= low && v <= high } // refuses NaN

// figure writes a measure without needless noughts.
func figureWords(v float64) string { return fmt.Sprintf("%.4g", v) }

func (b Barrel) outer() float64 { return b.InsideDiameterMm / 2 }
func (b Barrel) inner() float64 { return b.ArborDiameterMm / 2 }

// FreeAreaMm2 is the ring between arbor and wall, π(R² − r²), in mm².
func (b Barrel) FreeAreaMm2() float64 {
	return math.Pi * (b.outer()*b.outer() - b.inner()*b.inner())
}

// Development is how a mainspring lies in its barrel, run down and wound, and the turns between.
type Development struct {
	FillShare      float64 // of the free area
	WoundDepthMm   float64 // of the coils on the arbor when wound
	RunDownDepthMm float64 // of the coils on the wall when run down
	WoundCoils     float64
	RunDownCoils   float64
	Turns          float64 // of the barrel, from fully wound to run down, counted by areas; see PracticeTurns
}

// PracticeTurns are the turns that a round arbor and wall, hooks and bridle take from those counted by areas. The tests
// of Develop integrate the coils: round ends alone take 0.34 to 0.56.
const PracticeTurns = 0.5

// TurnsInPractice are the turns less PracticeTurns, and not below 0: what the barrel can be expected to make.
func (d Development) TurnsInPractice() float64 { return max(0, d.Turns-PracticeTurns) }

// WoundDiameterMm is the outside diameter of the wound spring in b.
func (d Development) WoundDiameterMm(b Barrel) float64 { return b.ArborDiameterMm + 2*d.WoundDepthMm }

// RunDownDiameterMm is the inside diameter of the run-down spring in b.
func (d Development) RunDownDiameterMm(b Barrel) float64 {
	return b.InsideDiameterMm - 2*d.RunDownDepthMm
}

// Develop counts the coils of s wound on the arbor and run down on the wall. The edge of the strip, its length L times
// its thickness e, covers the same area in both, coil on coil without gaps:
//
//	ρw² = r² + L·e/π   coils wound    (ρw − r)/e
//	ρd² = R² − L·e/π   coils run down (R − ρd)/e
//
// and the turns are the difference. Source: derived from areas; the same counting as in Daniels, Watchmaking, ch. 9, as
// quoted at watchmaking.weebly.com/mainspring. Limits: an arbor and a wall that are round, not cut as a snail, cost
// about half a turn (the tests integrate the coils); hooks, a bridle and oil between the coils take a little more. It
// panics unless b and s have no problems.
func Develop(b Barrel, s Mainspring) Development {
	if len(b.Problems())+len(s.Problems(b)) > 0 {
		panic("train: a mainspring that can't lie in its barrel")
	}
	return develop(b, s)
}

func develop(b Barrel, s Mainspring) Development {
	area := s.LengthMm * s.ThicknessMm
	d := Development{
		FillShare:      area / b.FreeAreaMm2(),
		WoundDepthMm:   math.Sqrt(b.inner()*b.inner()+area/math.Pi) - b.inner(),
		RunDownDepthMm: b.outer() - math.Sqrt(b.outer()*b.outer()-area/math.Pi),
	}
	d.WoundCoils, d.RunDownCoils = d.WoundDepthMm/s.ThicknessMm, d.RunDownDepthMm/s.ThicknessMm
	d.Turns = TurnsOfDepths(d.WoundDepthMm, d.RunDownDepthMm, s.ThicknessMm)
	return d
}

// TurnsOfDepths is the turns of a barrel whose spring, of the given thickness, lies so deep when wound and when run
// down, all in millimetres and on one side of the arbor: the difference of coils. Source: Daniels, Watchmaking, ch. 9,
// as quoted at watchmaking.weebly.com/mainspring.
func TurnsOfDepths(woundMm, runDownMm, thicknessMm float64) float64 {
	return (woundMm - runDownMm) / thicknessMm
}

// MostTurns is the turns of a spring of that thickness that fills half the free space, the most any length gives:
//
//	N = (√(2(R² + r²)) − (R + r)) / e
//
// Source: derived, by setting the turns' derivative by the filled area to nothing.
func (b Barrel) MostTurns(thicknessMm float64) float64 {
	r, R := b.inner(), b.outer()
	return (math.Sqrt(2*(R*R+r*r)) - (R + r)) / thicknessMm
}

// HalfFillLengthMm is the length of a spring of that thickness that fills half the free space, π(R² − r²)/(2e).
// Source: as quoted at watchmaking.weebly.com/mainspring, whose printed example slips in halving the arbor.
func (b Barrel) HalfFillLengthMm(thicknessMm float64) float64 {
	return b.FreeAreaMm2() / (2 * thicknessMm)
}

// ThicknessForTurnsMm is the thickest spring that gives so many turns in practice: MostTurns turned round, with
// PracticeTurns more wanted than are to be had. It then fills half the free space. Turns are 0 or more.
func (b Barrel) ThicknessForTurnsMm(turns float64) float64 {
	return b.MostTurns(1) / (turns + PracticeTurns)
}

// UsualThicknessMm is the thinnest and the thickest spring that the rules of ThinRatio and ThickRatio put into b.
func (b Barrel) UsualThicknessMm() (thinnest, thickest float64) {
	return b.InsideDiameterMm / ThinRatio, b.InsideDiameterMm / ThickRatio
}

// ratioSlack is what a ratio may miss ThickRatio and ThinRatio by: a thickness is read to ThicknessReadingMm only.
func (b Barrel) ratioSlack(thicknessMm float64) float64 {
	return b.InsideDiameterMm / thicknessMm * ThicknessReadingMm / thicknessMm
}

// ThicknessStanding holds a thickness to UsualThicknessMm: -1 thinner, 1 thicker by more than a thickness can be
// misread, or 0.
func (b Barrel) ThicknessStanding(thicknessMm float64) int {
	ratio, slack := b.InsideDiameterMm/thicknessMm, b.ratioSlack(thicknessMm)
	switch {
	case ratio > ThinRatio+slack:
		return -1
	case ratio < ThickRatio-slack:
		return 1
	}
	return 0
}

// WidthWantedMm is the widest spring that moves freely under the lid: the inside height less mainspringClearanceMm;
// 0 where the height is not known.
func (b Barrel) WidthWantedMm() float64 {
	if b.HeightMm == 0 {
		return 0
	}
	return b.HeightMm - mainspringClearanceMm
}

// SpringForTurns is the strongest spring that gives the turns in b in practice: as thick as they allow, as long as fills half the
// free space, as wide as the barrel lets it be, or of width 0 where the barrel's height is not known. The problems are
// by form field; "turns" is the turns asked for.
func SpringForTurns(b Barrel, turns float64) (Mainspring, map[string]string) {
	bad := b.Problems()
	if !(turns > 0 && turns <= MaxMainspringTurns) {
		bad["turns"] = fmt.Sprintf("Give the turns wanted, above 0 and up to %d.", MaxMainspringTurns)
	}
	if len(bad) > 0 {
		return Mainspring{}, bad
	}
	s := Mainspring{WidthMm: b.WidthWantedMm(), ThicknessMm: b.ThicknessForTurnsMm(turns)}
	s.LengthMm = b.HalfFillLengthMm(s.ThicknessMm)
	switch {
	case s.ThicknessMm < minMainspringThicknessMm:
		bad["turns"] = fmt.Sprintf("So many turns in this barrel take a spring %.3f mm thick; none thinner than %v mm is "+
			"made. It gives "+
			"at most %.1f turns.", s.ThicknessMm, minMainspringThicknessMm, b.MostTurns(minMainspringThicknessMm)-PracticeTurns)
	case s.ThicknessMm > maxMainspringThickMm:
		bad["turns"] = fmt.Sprintf("So few turns in this barrel take a spring %.2f mm thick, more than the %d mm of any watch.", s.ThicknessMm, maxMainspringThickMm)
	case b.thicknessProblem(s.ThicknessMm) != "":
		bad["turns"] = fmt.Sprintf("So few turns take a spring %.2f mm thick. %s", s.ThicknessMm,
			b.thicknessProblem(s.ThicknessMm))
	case !within(s.LengthMm, minMainspringLengthMm, maxMainspringLengthMm):
		bad["turns"] = fmt.Sprintf("The spring would be %.0f mm long, outside the %d to %d mm of any watch.", s.LengthMm,
			minMainspringLengthMm, maxMainspringLengthMm)
	}
	if len(bad) > 0 {
		return Mainspring{}, bad
	}
	return s, bad
}

// Specification is s as it is ordered, with the barrel it is for: width × thickness × length, barrel.
func (s Mainspring) Specification(b Barrel) string {
	width := "width to measure"
	if s.WidthMm > 0 {
		width = fmt.Sprintf("%.2f", s.WidthMm)
	}
	return fmt.Sprintf("%s × %.3f × %.0f mm, barrel %s mm inside", width, s.ThicknessMm, s.LengthMm,
		figureWords(b.InsideDiameterMm))
}
