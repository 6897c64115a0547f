package watch

import (
	"math"
	"strconv"
)

// Balance is what is known of a calibre's balance; a figure that is zero is not known. Nothing but advice needs it.
type Balance struct {
	InertiaMgCm2         float64 // moment of inertia, mg·cm²
	MassMg               float64 // of the whole balance
	GyrationRadiusMm     float64 // the radius at which that mass would have that moment of inertia
	DiameterMm           float64 // of the rim where weight is taken off
	ImpulseJewelHour     float64 // hour of the dial, seen from the dial side, to which the impulse jewel points at rest
	StudRadiusMm         float64 // from the staff to the stud
	RegulatorStepSPerDay float64 // for one division of the regulator

	// Timing screws or weights: so many equal ones, evenly spaced. All five are given or none.
	ScrewCount         int
	ScrewFirstDeg      float64 // the first, from the impulse jewel, clockwise seen from the balance side; may be 0
	ScrewRadiusMm      float64 // from the staff to a screw's centre of mass
	ScrewMassMicrogram float64
	ScrewTravelMm      float64 // outward, for one turn
}

// balanceFigure is one figure of a balance with its form field and the limits of what it may be, wide enough for
// the smallest wristwatch and the largest deck watch (common practice).
type balanceFigure struct {
	field    string
	of       func(*Balance) *float64
	max      float64
	from0    bool // 0 is a figure too
	sentence string
}

var balanceFigures = []balanceFigure{
	{"balance_inertia", func(b *Balance) *float64 { return &b.InertiaMgCm2 }, 10000, false,
		"Give the moment of inertia above 0 and up to 10000 mg·cm², or leave it empty."},
	{"balance_diameter", func(b *Balance) *float64 { return &b.DiameterMm }, 50, false,
		"Give the diameter above 0 and up to 50 mm, or leave it empty."},
	{"impulse_jewel_hour", func(b *Balance) *float64 { return &b.ImpulseJewelHour }, 12, false,
		"Give the hour of the dial, above 0 and up to 12, or leave it empty."},
	{"stud_radius", func(b *Balance) *float64 { return &b.StudRadiusMm }, 25, false,
		"Give the radius above 0 and up to 25 mm, or leave it empty."},
	{"regulator_step", func(b *Balance) *float64 { return &b.RegulatorStepSPerDay }, 600, false,
		"Give the seconds a day above 0 and up to 600, or leave it empty."},
	{"screw_first", func(b *Balance) *float64 { return &b.ScrewFirstDeg }, 359.99, true,
		"Give the angle from 0 to below 360 degrees."},
	{"screw_radius", func(b *Balance) *float64 { return &b.ScrewRadiusMm }, 25, false,
		"Give the radius above 0 and up to 25 mm."},
	{"screw_mass", func(b *Balance) *float64 { return &b.ScrewMassMicrogram }, 1e6, false,
		"Give the mass of one screw above 0 and up to 1000000 µg."},
	{"screw_travel", func(b *Balance) *float64 { return &b.ScrewTravelMm }, 5, false,
		"Give the travel above 0 and up to 5 mm."},
}

// BalanceFields names the form fields of a balance, in the order of the form.
func BalanceFields() []string {
	return []string{"balance_inertia", "balance_diameter", "impulse_jewel_hour", "stud_radius", "regulator_step",
		"screw_count", "screw_first", "screw_radius", "screw_mass", "screw_travel"}
}

// Problems says, by form field, what stops b being saved.
func (b Balance) Problems() map[string]string {
	bad := map[string]string{}
	for _, f := range balanceFigures {
		if v := *f.of(&b); v != 0 && !(v > 0 && v <= f.max) {
			bad[f.field] = f.sentence
		}
	}
	if b.ScrewCount != 0 && (b.ScrewCount < 2 || b.ScrewCount > 24) {
		bad["screw_count"] = "Give the number of screws from 2 to 24, or leave it empty."
	}
	screws := map[string]bool{"screw_radius": b.ScrewRadiusMm != 0, "screw_mass": b.ScrewMassMicrogram != 0, "screw_travel": b.ScrewTravelMm != 0}
	some := b.ScrewCount != 0 || b.ScrewFirstDeg != 0
	for _, given := range screws {
		some = some || given
	}
	if !some {
		return bad
	}
	screws["screw_count"] = b.ScrewCount != 0
	for field, given := range screws {
		if !given && bad[field] == "" {
			bad[field] = "Give number, radius, mass and travel of the screws, or none of them."
		}
	}
	return bad
}

// BalanceForm is a balance as typed, by form field.
type BalanceForm map[string]string

// Check reads f and returns the balance with what stops it being saved.
func (f BalanceForm) Check() (Balance, map[string]string) {
	var b Balance
	for _, figure := range balanceFigures {
		*figure.of(&b) = figureOrNaN(f[figure.field])
	}
	switch n := figureOrNaN(f["screw_count"]); {
	case n == math.Trunc(n) && math.Abs(n) < 1000:
		b.ScrewCount = int(n)
	default:
		b.ScrewCount = -1 // Problems says why
	}
	return b, b.Problems()
}

// Form returns b as it would be typed.
func (b Balance) Form() BalanceForm {
	f := BalanceForm{}
	for _, figure := range balanceFigures {
		if v := *figure.of(&b); v != 0 || figure.from0 && b.ScrewCount != 0 {
			f[figure.field] = strconv.FormatFloat(v, 'f', -1, 64)
		}
	}
	if b.ScrewCount != 0 {
		f["screw_count"] = strconv.Itoa(b.ScrewCount)
	}
	return f
}
