package oscillator

import (
	"math"

	"ledgerwheel/domain/metrology"
)

// Alloy is what a hairspring or a balance is made of. Batches differ: the figures are nominal.
type Alloy struct {
	Key, Name           string
	ModulusGPa          float64 // Young's modulus; 0 for a balance's metal, where it does not count
	ModulusHalfWidthGPa float64 // it lies anywhere within this
	BetaPerC            float64 // relative change of the modulus for 1 °C
	ExpansionPerC       float64
	Source              string
}

// SpringAlloys lists what hairsprings are made of. The modulus of spring steel is from memory of tables of
// engineering; its other coefficients are the usual ones of carbon steel, from memory, and give the "about 11 s/d for
// each °C" of a steel spring with a brass balance (Boettcher, 2024). Those of the self-compensating alloys are from
// memory and depend on the makers' heat treatment, which sets the coefficient of the modulus near 2·α_balance −
// 3·α_spring.
func SpringAlloys() []Alloy {
	return []Alloy{
		{"steel", "Blued carbon steel", 205, 8, -240e-6, 11e-6, "tables of engineering, from memory"},
		{"nickel-steel", "Self-compensating nickel steel", 185, 15, 10e-6, 8e-6, "common figures, from memory; the " +
			"coefficient of the modulus is set by heat treatment"},
	}
}

// BalanceMetals lists what balances are made of, with expansions from memory of tables of physics; 19 and 11 parts in
// a million are also those of the Horological Science Newsletter's check values for brass and steel.
func BalanceMetals() []Alloy {
	return []Alloy{
		{Key: "brass", Name: "Brass", ExpansionPerC: 19e-6, Source: "tables of physics, from memory"},
		{Key: "beryllium-bronze", Name: "Beryllium bronze", ExpansionPerC: 17e-6, Source: "tables of physics, from memory"},
		{Key: "nickel-silver", Name: "Nickel silver", ExpansionPerC: 17e-6, Source: "tables of physics, from memory"},
		{Key: "steel", Name: "Steel", ExpansionPerC: 11e-6, Source: "tables of physics, from memory"},
	}
}

// AlloyOf returns the alloy of that key; ok is false when there is none.
func AlloyOf(list []Alloy, key string) (Alloy, bool) {
	for _, a := range list {
		if a.Key == key {
			return a, true
		}
	}
	return Alloy{}, false
}

// Modulus returns the alloy's modulus in GPa with its standard uncertainty (rectangular).
func (a Alloy) Modulus() metrology.Value {
	return metrology.Value{Value: a.ModulusGPa, StdUncertainty: metrology.FromHalfWidth(a.ModulusHalfWidthGPa),
		Unit: "GPa"}
}

// Strip is the strip a hairspring is coiled from. Width is its height as the spring lies, across the coils' plane;
// Thickness is in that plane; Length is the working length from collet to stud or regulator pins.
type Strip struct {
	Modulus   metrology.Value // GPa
	Width     metrology.Value // mm
	Thickness metrology.Value // mm
	Length    metrology.Value // mm
}

// Problems says, by form field, what cannot be right: "modulus", "hairspring_width", "hairspring_thickness",
// "hairspring_length". A figure of zero is not known, which is no fault; see Missing.
func (s Strip) Problems() map[string]string {
	bad := map[string]string{}
	for _, f := range []struct {
		field       string
		v           metrology.Value
		least, most float64
		says        string
	}{
		{"modulus", s.Modulus, 10, 1000, "Give the modulus from 10 to 1000 GPa; steel has about 200."},
		{"hairspring_width", s.Width, 0.01, 2, "Give the height of the strip from 0.01 to 2 mm."},
		{"hairspring_thickness", s.Thickness, 0.003, 0.5, "Give the thickness of the strip from 0.003 to 0.5 mm."},
		{"hairspring_length", s.Length, 5, 2000, "Give the working length from 5 to 2000 mm."},
	} {
		within(bad, f.field, f.v, f.least, f.most, f.says)
	}
	if len(bad) == 0 && s.Width.Value > 0 && s.Thickness.Value > 3*s.Width.Value {
		bad["hairspring_thickness"] = "The strip would be far thicker than it is high; height and thickness may be exchanged."
	}
	return bad
}

// Missing names, by form field, what is not known.
func (s Strip) Missing() []string {
	var out []string
	for i, v := range []metrology.Value{s.Modulus, s.Width, s.Thickness, s.Length} {
		if v.Value == 0 {
			out = append(out, []string{"modulus", "hairspring_width", "hairspring_thickness", "hairspring_length"}[i])
		}
	}
	return out
}

// Stiffness returns k = E·b·h³/(12·L) in µN·m/rad, b the width and h the thickness: a strip bent by a couple turns its
// end by M·L/(E·I) with I = b·h³/12 (Euler and Bernoulli; any text on strength of materials). It holds for any coiling
// as long as the end is turned by a couple alone; the sideways force of a real collet and stud makes a spring of ten
// coils or more stiffer by well under 1 %, and one of few coils by several (the tests integrate both).
func (s Strip) Stiffness() metrology.Value {
	h := s.Thickness.Value
	// GPa·mm·mm³/mm = 1e9·1e-9 N·m.
	k := s.Modulus.Value * s.Width.Value * h * h * h / (12 * s.Length.Value) / microNewton
	return relative(k, unitStiffness, powerTerm{s.Modulus, 1}, powerTerm{s.Width, 1}, powerTerm{s.Thickness, 3},
		powerTerm{s.Length, -1})
}

// LengthFor returns the working length in mm at which the strip has that stiffness (µN·m/rad): L·k/k′.
func (s Strip) LengthFor(stiffness metrology.Value) metrology.Value {
	one := s
	one.Length = metrology.Value{Value: 1}
	return relative(one.Stiffness().Value/stiffness.Value, "mm", powerTerm{s.Modulus, 1}, powerTerm{s.Width, 1},
		powerTerm{s.Thickness, 3}, powerTerm{stiffness, -1})
}

// ThicknessFor returns the thickness in mm at which the strip has that stiffness (µN·m/rad):
// ∛(12·k·L/(E·b)).
func (s Strip) ThicknessFor(stiffness metrology.Value) metrology.Value {
	h := math.Cbrt(12 * stiffness.Value * microNewton * s.Length.Value / (s.Modulus.Value * s.Width.Value))
	third := 1.0 / 3
	return relative(h, "mm", powerTerm{s.Modulus, -third}, powerTerm{s.Width, -third}, powerTerm{s.Length, third},
		powerTerm{stiffness, third})
}

// Change is a relative change of a balance and its spring: 0.01 is one percent more. None may be −1 or less.
type Change struct{ Inertia, Modulus, Width, Thickness, Length float64 }

// RateSPerDay returns what the change does to the rate, 86400·(T₀/T − 1) with T ∝ √(I·L/(E·b·h³)).
func (c Change) RateSPerDay() float64 {
	k := (1 + c.Modulus) * (1 + c.Width) * math.Pow(1+c.Thickness, 3) / (1 + c.Length)
	return SecondsPerDay * (math.Sqrt(k/(1+c.Inertia)) - 1)
}

// Sensitivity is how strongly the rate hangs on one dimension.
type Sensitivity struct {
	Dimension   string
	Of          metrology.Value
	SPerPercent float64 // s/d for one percent more, exact
	SPerStep    float64 // s/d for Step more of Of's unit, exact
	Step        float64
	StepText    string
}

// Sensitivities returns how the rate answers to each dimension of the strip.
func (s Strip) Sensitivities() []Sensitivity {
	row := func(name string, v metrology.Value, step float64, text string, of func(x float64) Change) Sensitivity {
		return Sensitivity{Dimension: name, Of: v, SPerPercent: of(0.01).RateSPerDay(),
			SPerStep: of(step / v.Value).RateSPerDay(), Step: step, StepText: text}
	}
	return []Sensitivity{
		row("thickness", s.Thickness, 1e-4, "0.1 µm thicker", func(x float64) Change { return Change{Thickness: x} }),
		row("height", s.Width, 1e-3, "1 µm higher", func(x float64) Change { return Change{Width: x} }),
		row("working length", s.Length, 0.1, "0.1 mm longer", func(x float64) Change { return Change{Length: x} }),
		row("modulus", s.Modulus, 1, "1 GPa more", func(x float64) Change { return Change{Modulus: x} }),
	}
}

// Spiral is how a flat hairspring is coiled: evenly (Archimedes) from the collet to its outer end.
type Spiral struct {
	InnerRadiusMm float64 // where the working spring leaves the collet
	OuterRadiusMm float64 // where it is held
	Coils         float64
}

// Problems says, by form field, what cannot be right: "inner_radius", "outer_radius", "coils".
func (s Spiral) Problems() map[string]string {
	bad := map[string]string{}
	if !(s.InnerRadiusMm >= 0.1 && s.InnerRadiusMm <= 20) {
		bad["inner_radius"] = "Give the radius at the collet from 0.1 to 20 mm."
	}
	if !(s.OuterRadiusMm > s.InnerRadiusMm && s.OuterRadiusMm <= 50) {
		bad["outer_radius"] = "Give the radius of the outer coil, more than that at the collet and up to 50 mm."
	}
	if !(s.Coils >= 1 && s.Coils <= 60) {
		bad["coils"] = "Give the number of coils from 1 to 60; parts of a coil count."
	}
	return bad
}

// LengthMm returns the length of the strip in the spiral r = r₀ + p·φ, exactly:
//
//	L = [r·√(r²+p²) + p²·asinh(r/p)] / (2p) between the two radii
//
// The bench sum π·N·(r₁+r₂) differs from it by less than the thickness of a line for a watch's pitch.
func (s Spiral) LengthMm() float64 {
	p := s.pitchPerRadian()
	part := func(r float64) float64 { return (r*math.Sqrt(r*r+p*p) + p*p*math.Asinh(r/p)) / (2 * p) }
	return part(s.OuterRadiusMm) - part(s.InnerRadiusMm)
}

// SpiralLength returns the length of a spiral whose radii (mm) and coils were measured, with its uncertainty by the
// bench sum's derivatives.
func SpiralLength(inner, outer, coils metrology.Value) metrology.Value {
	s := Spiral{InnerRadiusMm: inner.Value, OuterRadiusMm: outer.Value, Coils: coils.Value}
	both := metrology.Value{Value: inner.Value + outer.Value, StdUncertainty: math.Hypot(inner.StdUncertainty,
		outer.StdUncertainty)}
	return relative(s.LengthMm(), "mm", powerTerm{both, 1}, powerTerm{coils, 1})
}

// PitchMm returns the distance from coil to coil.
func (s Spiral) PitchMm() float64 { return (s.OuterRadiusMm - s.InnerRadiusMm) / s.Coils }

func (s Spiral) pitchPerRadian() float64 { return s.PitchMm() / (2 * math.Pi) }
