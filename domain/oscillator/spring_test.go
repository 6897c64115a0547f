package oscillator_test

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"
	"pgregory.net/rapid"

	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/oscillator"
)

var made = oscillator.Strip{Modulus: metrology.Value{Value: 205}, Width: metrology.Value{Value: 0.12},
	Thickness: metrology.Value{Value: 0.03}, Length: metrology.Value{Value: 110}}

// sectionNmm2 integrates E·y² over the strip's section by slices across its thickness: the bending stiffness E·I in
// N·mm², without b·h³/12.
func sectionNmm2(s oscillator.Strip) float64 {
	const slices = 2000
	h := s.Thickness.Value
	sum := 0.0
	for i := range slices {
		y := (float64(i)+0.5)/slices*h - h/2
		sum += s.Modulus.Value * 1e3 * y * y * s.Width.Value * h / slices
	}
	return sum
}

// TestStripAgainstBending bends a straight strip and a spiral by a couple, step by step along their length: the end
// turns by M/k, whatever the shape and however far it is wound.
func TestStripAgainstBending(t *testing.T) {
	t.Parallel()
	ei := sectionNmm2(made)
	k := made.Stiffness().Value * 1e-3 // µN·m/rad in N·mm/rad
	for _, turns := range []float64{0.01, 0.25, 0.75} {
		moment := k * 2 * math.Pi * turns
		const steps = 4000
		ds := made.Length.Value / steps
		start := oscillator.Spiral{InnerRadiusMm: 0.6, OuterRadiusMm: 2.2, Coils: 12.5}
		straight, coiled, plain := 0.0, 0.0, 0.0
		for i := range steps {
			curvature := 1 / (start.InnerRadiusMm + (start.OuterRadiusMm-start.InnerRadiusMm)*float64(i)/steps)
			straight += moment / ei * ds
			coiled += (curvature + moment/ei) * ds
			plain += curvature * ds
		}
		near(t, "straight", straight, 2*math.Pi*turns, 1e-5*turns)
		near(t, "coiled", coiled-plain, 2*math.Pi*turns, 1e-5*turns)
	}
}

// heldSpiral returns the stiffness of a flat spiral over that of the formula when stud and staff also hold the ends
// in place: the compliance of the inner end, with a rigid arm to the centre, is summed along the spring (unit loads:
// a couple and two forces at the centre), and the centre does not move. Small angles.
func heldSpiral(s oscillator.Spiral) float64 {
	const steps = 40000
	c := mat.NewSymDense(3, nil)
	p := s.PitchMm() / (2 * math.Pi)
	whole := 0.0
	for i := range steps {
		dphi := 2 * math.Pi * s.Coils / steps
		phi := (float64(i) + 0.5) * dphi
		r := s.InnerRadiusMm + p*phi
		ds := math.Hypot(r, p) * dphi
		arm := []float64{1, r * math.Cos(phi), r * math.Sin(phi)}
		for a := range arm {
			for b := a; b < len(arm); b++ {
				c.SetSym(a, b, c.At(a, b)+arm[a]*arm[b]*ds)
			}
		}
		whole += ds
	}
	var inverse mat.Dense
	if err := inverse.Inverse(c); err != nil {
		panic(err)
	}
	return inverse.At(0, 0) * whole
}

func TestSpiralHeldAtBothEnds(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct{ coils, most float64 }{{2.5, 0.2}, {10, 0.01}, {13.25, 0.01}} {
		s := oscillator.Spiral{InnerRadiusMm: 0.6, OuterRadiusMm: 2.6, Coils: tt.coils}
		got := heldSpiral(s) - 1
		t.Logf("%v coils: stiffer by %.3f %%", tt.coils, 100*got)
		if !(got >= 0 && got < tt.most) {
			t.Errorf("%v coils: stiffer by %v, want at most %v", tt.coils, got, tt.most)
		}
	}
}

// TestSpiralLength sums chords along the spiral, and holds the bench sum π·N·(r₁+r₂) against it.
func TestSpiralLength(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		s := oscillator.Spiral{InnerRadiusMm: rapid.Float64Range(0.3, 2).Draw(t, "inner"), Coils: rapid.Float64Range(1,
			20).Draw(t, "coils")}
		s.OuterRadiusMm = s.InnerRadiusMm + s.Coils*rapid.Float64Range(0.05, 0.3).Draw(t, "pitch")
		const steps = 20000
		sum, x0, y0 := 0.0, s.InnerRadiusMm, 0.0
		for i := 1; i <= steps; i++ {
			phi := 2 * math.Pi * s.Coils * float64(i) / steps
			r := s.InnerRadiusMm + (s.OuterRadiusMm-s.InnerRadiusMm)*float64(i)/steps
			x, y := r*math.Cos(phi), r*math.Sin(phi)
			sum += math.Hypot(x-x0, y-y0)
			x0, y0 = x, y
		}
		got := s.LengthMm()
		if math.Abs(got-sum) > 1e-4*sum { // chords of 1/1000 coil
			t.Fatalf("%+v: %v, chords %v", s, got, sum)
		}
		// The sum takes the coils for circles: to half a per cent from four coils on.
		if bench := math.Pi * s.Coils * (s.InnerRadiusMm + s.OuterRadiusMm); s.Coils >= 4 && math.Abs(bench-got) > 0.005*got {
			t.Fatalf("%+v: %v, bench sum %v", s, got, bench)
		}
	})
}

// TestScalingLaws: k ∝ E·b·h³/L, f ∝ √(k/I), and the answers to "how long, how thick" give the stiffness asked for.
func TestScalingLaws(t *testing.T) {
	t.Parallel()
	figure := func(v, u float64) metrology.Value { return metrology.Value{Value: v, StdUncertainty: v * u} }
	rapid.Check(t, func(t *rapid.T) {
		u := rapid.Float64Range(0, 0.02).Draw(t, "u")
		s := oscillator.Strip{Modulus: figure(rapid.Float64Range(100, 250).Draw(t, "E"), u),
			Width:     figure(rapid.Float64Range(0.05, 0.3).Draw(t, "b"), u),
			Thickness: figure(rapid.Float64Range(0.01, 0.06).Draw(t, "h"), u),
			Length:    figure(rapid.Float64Range(40, 300).Draw(t, "L"), u)}
		x := rapid.Float64Range(0.5, 2).Draw(t, "x")
		k := s.Stiffness().Value
		scaled := func(change func(*oscillator.Strip)) float64 { c := s; change(&c); return c.Stiffness().Value / k }
		same(t, "E", scaled(func(c *oscillator.Strip) { c.Modulus.Value *= x }), x)
		same(t, "b", scaled(func(c *oscillator.Strip) { c.Width.Value *= x }), x)
		same(t, "h", scaled(func(c *oscillator.Strip) { c.Thickness.Value *= x }), x*x*x)
		same(t, "L", scaled(func(c *oscillator.Strip) { c.Length.Value *= x }), 1/x)
		same(t, "u", s.Stiffness().StdUncertainty/k, u*math.Sqrt(12)) // 1 + 1 + 9 + 1

		want := metrology.Value{Value: k * x}
		c := s
		c.Length = s.LengthFor(want)
		same(t, "length for", c.Stiffness().Value, k*x)
		c = s
		c.Thickness = s.ThicknessFor(want)
		same(t, "thickness for", c.Stiffness().Value, k*x)

		inertia := metrology.Value{Value: rapid.Float64Range(1, 100).Draw(t, "I")}
		beats := oscillator.BeatsFor(inertia, s.Stiffness())
		same(t, "there", oscillator.StiffnessFor(inertia, beats).Value, k)
		same(t, "and back", oscillator.InertiaFor(s.Stiffness(), beats).Value, inertia.Value)
		same(t, "f ∝ √k", oscillator.BeatsFor(inertia, want).Value/beats.Value, math.Sqrt(x))
		same(t, "f ∝ 1/√I", oscillator.BeatsFor(metrology.Value{Value: inertia.Value * x}, s.Stiffness()).Value/beats.Value,
			1/math.Sqrt(x))

		for _, d := range s.Sensitivities() {
			if h := d.SPerStep * d.Of.Value / d.Step / 100; math.Abs(h-d.SPerPercent) > 0.06*math.Abs(d.SPerPercent) {
				t.Fatalf("%s: %v for a step, %v for a percent", d.Dimension, d.SPerStep, d.SPerPercent)
			}
		}
	})
}

func same(t *rapid.T, what string, got, want float64) {
	if math.Abs(got-want) > 1e-9*math.Abs(want) {
		t.Fatalf("%s: %v, want %v", what, got, want)
	}
}

func TestStripProblems(t *testing.T) {
	t.Parallel()
	if bad := made.Problems(); len(bad) != 0 || len(made.Missing()) != 0 {
		t.Fatal(bad)
	}
	if got := (oscillator.Strip{Width: made.Width, Length: made.Length}); len(got.Problems()) != 0 ||
		len(got.Missing()) != 2 {
		t.Fatal(got.Problems(), got.Missing())
	}
	for field, change := range map[string]func(*oscillator.Strip){
		"modulus":              func(s *oscillator.Strip) { s.Modulus.Value = -2 },
		"hairspring_width":     func(s *oscillator.Strip) { s.Width.Value = -0.1 },
		"hairspring_thickness": func(s *oscillator.Strip) { s.Thickness.Value = 0.45 },
		"hairspring_length":    func(s *oscillator.Strip) { s.Length.Value = math.NaN() },
	} {
		s := made
		change(&s)
		if bad := s.Problems(); len(bad) != 1 || bad[field] == "" {
			t.Errorf("%s: %v", field, bad)
		}
	}
}
