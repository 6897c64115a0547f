package train_test

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"ledgerwheel/domain/published"
	"ledgerwheel/domain/train"
)

// TestPublishedSprings holds the package to the check values of mainspring and power reserve.
func TestPublishedSprings(t *testing.T) {
	t.Parallel()
	published.Hold(t, "testdata/check-mainspring.json", map[string]published.Check{
		"MS-LEN-2": checkLength, "MS-THK-1": checkThickness, "MS-TURN-1": checkTurns,
		"MS-N-[345]": checkMostTurns, "MS-NMAX": checkHalfFilled,
		"MS-N-THIRD": checkThirdArbor, "MS-N-OPT": checkBestFill, "MS-RES-D?": checkHours,
		"MS-RES-1": checkDesign, "MS-TORQUE": checkTorque,
	}, nil)
}

func near(t published.T, what string, got, want, tolerance float64) {
	t.Helper()
	published.Near(t, what, got, want, tolerance)
}

type barrelInputs struct {
	Inside    float64 `json:"barrel_inner_diameter"`
	Arbor     float64 `json:"arbor_diameter"`
	Thickness float64 `json:"thickness"`
}

func (i barrelInputs) barrel() train.Barrel {
	return train.Barrel{InsideDiameterMm: i.Inside, ArborDiameterMm: i.Arbor}
}

// The source of MS-LEN-2 halves 7.1 to 3.65 and prints 619.04 mm; the row holds the right figure, and the wrong one
// must come out where the slip is made.
func checkLength(t published.T, row published.Row) {
	var in barrelInputs
	var want float64
	row.Read(t, &in, &want)
	near(t, "length, mm", in.barrel().HalfFillLengthMm(in.Thickness), want, 0.05)
	in.Arbor = 2 * 3.65
	near(t, "length with the source's slip, mm", in.barrel().HalfFillLengthMm(in.Thickness), 619.04, 0.05)
}

// The source's depths of 41 and 26 parts of the barrel's diameter are the exact ones of a spring that fills half,
// rounded to whole parts (the second up): 41.2 and 25.5.
func checkThickness(t published.T, row published.Row) {
	var in struct {
		Inside float64   `json:"barrel_inner_diameter"`
		Parts  []float64 `json:"space_parts"`
		Turns  float64
	}
	var want struct {
		Part, Inner, Outer, Thickness float64
		OneSide                       float64 `json:"one_side"`
	}
	row.Read(t, &in, &want)
	near(t, "a part, mm", in.Inside/100, want.Part, 5e-4)
	near(t, "26 parts, mm", in.Parts[0]*in.Inside/100, want.Inner, 5e-4)
	near(t, "41 parts, mm", in.Parts[1]*in.Inside/100, want.Outer, 5e-4)
	runDown, wound := want.Inner/2, want.Outer/2
	near(t, "one side, mm", train.TurnsOfDepths(wound, runDown, 1), want.OneSide, 5e-5)
	near(t, "thickness for 6 turns, mm", train.TurnsOfDepths(wound, runDown, in.Turns), want.Thickness, 5e-5)

	b := train.Barrel{InsideDiameterMm: in.Inside, ArborDiameterMm: in.Inside / 3}
	s := train.Mainspring{ThicknessMm: want.Thickness, LengthMm: b.HalfFillLengthMm(want.Thickness)}
	d := train.Develop(b, s)
	near(t, "wound depth, parts", 2*d.WoundDepthMm/want.Part, in.Parts[1], 0.5)
	near(t, "run-down depth, parts", 2*d.RunDownDepthMm/want.Part, in.Parts[0], 1)
}

func checkTurns(t published.T, row published.Row) {
	var in struct {
		OneSide   float64 `json:"one_side_space"`
		Thickness float64
	}
	var turns float64
	row.Read(t, &in, &turns)
	near(t, "turns", train.TurnsOfDepths(in.OneSide, 0, in.Thickness), turns, 5e-4)
}

func checkMostTurns(t published.T, row published.Row) {
	var in barrelInputs
	var want float64
	row.Read(t, &in, &want)
	b := in.barrel()
	near(t, "turns", b.MostTurns(in.Thickness), want, 5e-4)
	s := train.Mainspring{ThicknessMm: in.Thickness, LengthMm: b.HalfFillLengthMm(in.Thickness)}
	d := train.Develop(b, s)
	// MS-NMAX: the same by counting coils; rounding only.
	near(t, "by coils", d.Turns, b.MostTurns(in.Thickness), 1e-9)
	near(t, "coils' difference", d.WoundCoils-d.RunDownCoils, d.Turns, 1e-9)
	near(t, "fill", d.FillShare, 0.5, 1e-12)
	near(t, "diameters meet", d.WoundDiameterMm(b), d.RunDownDiameterMm(b), 1e-9)
	near(t, "thickness back, mm", b.ThicknessForTurnsMm(d.TurnsInPractice()), in.Thickness, 1e-9)
}

// checkHalfFilled transcribes the row's formula, R and r the radii of barrel and arbor and e the thickness.
func checkHalfFilled(t published.T, row published.Row) {
	var in struct{ Formula string }
	var want string
	row.Read(t, &in, &want)
	if in.Formula != "N = [sqrt(2(R^2+r^2)) - (R+r)]/e" || want != "turns at half-filled free area" {
		t.Fatalf("another formula: %q, %q", in.Formula, want)
	}
	for _, c := range [][3]float64{{5, 1.6667, 0.11}, {6, 2, 0.13}, {4, 1.2, 0.08}} {
		R, r, e := c[0], c[1], c[2]
		n := (math.Sqrt(2*(R*R+r*r)) - (R + r)) / e
		b := train.Barrel{InsideDiameterMm: 2 * R, ArborDiameterMm: 2 * r}
		near(t, "turns", train.Develop(b, train.Mainspring{ThicknessMm: e, LengthMm: b.HalfFillLengthMm(e)}).Turns, n, 1e-9)
	}
}

func checkThirdArbor(t published.T, row published.Row) {
	var want struct {
		Factor float64 `json:"N_times_e_over_R"`
		At87   float64 `json:"N_at_e_D_over_87"`
		At100  float64 `json:"N_at_e_D_over_100"`
	}
	row.Read(t, nil, &want)
	b := train.Barrel{InsideDiameterMm: 12, ArborDiameterMm: 4}
	near(t, "N·e/R", b.MostTurns(1)/6, want.Factor, 5e-7)
	near(t, "turns at D/87", b.MostTurns(12./87), want.At87, 5e-4)
	near(t, "turns at D/100", b.MostTurns(12./100), want.At100, 5e-4)
	// The rules' own thicknesses, and what the page says of them: 6.3 to 7.4 turns in practice.
	thinnest, thickest := b.UsualThicknessMm()
	near(t, "thickest, in practice", b.MostTurns(thickest)-train.PracticeTurns, 6.3, 0.05)
	near(t, "thinnest, in practice", b.MostTurns(thinnest)-train.PracticeTurns, 7.4, 0.05)
}

// TestThicknessStanding: a spring is called thick or thin for its barrel only beyond what its thickness can be misread.
func TestThicknessStanding(t *testing.T) {
	t.Parallel()
	b := train.Barrel{InsideDiameterMm: 10, ArborDiameterMm: 3.3}
	for _, c := range []struct {
		thickness float64
		want      int
	}{{0.11, 0}, {0.1, 0}, {0.115, 0}, {0.119, 0}, {0.125, 1}, {0.15, 1}, {0.096, 0}, {0.09, -1}, {0.07, -1}} {
		if got := b.ThicknessStanding(c.thickness); got != c.want {
			t.Errorf("%v mm, 1:%.0f: got %d, want %d", c.thickness, 10/c.thickness, got, c.want)
		}
	}
}

// bestFill scans the share of the free space in steps of a thousandth for the most turns.
func bestFill(b train.Barrel, thickness float64) (share, turns float64) {
	whole := 2 * b.HalfFillLengthMm(thickness)
	for i := 1; i < 1000; i++ {
		s := train.Mainspring{ThicknessMm: thickness, LengthMm: whole * float64(i) / 1000}
		if len(s.Problems(b)) > 0 {
			continue
		}
		if n := train.Develop(b, s).Turns; n > turns {
			share, turns = float64(i)/1000, n
		}
	}
	return share, turns
}

func checkBestFill(t published.T, row published.Row) {
	var in struct {
		Outer float64 `json:"R"`
		Inner float64 `json:"r"`
	}
	var want float64
	row.Read(t, &in, &want)
	b := train.Barrel{InsideDiameterMm: 2 * in.Outer, ArborDiameterMm: 2 * in.Inner}
	share, turns := bestFill(b, 0.06)
	near(t, "best fill", share, want, 0.002)
	near(t, "turns there", turns, b.MostTurns(0.06), 1e-9)
}

// TestFillBand counts what the page says of the band of fills: at its ends less than a twentieth of the turns is lost,
// for arbors from a quarter to two fifths of the barrel.
func TestFillBand(t *testing.T) {
	t.Parallel()
	for _, arbor := range []float64{2.5, 3.333, 4} {
		b := train.Barrel{InsideDiameterMm: 10, ArborDiameterMm: arbor}
		for _, fill := range []float64{train.ShortFill, train.LongFill} {
			s := train.Mainspring{ThicknessMm: 0.1, LengthMm: 2 * fill * b.HalfFillLengthMm(0.1)}
			lost := 1 - train.Develop(b, s).Turns/b.MostTurns(0.1)
			t.Logf("arbor %v mm, fill %v: %.1f %% of the turns lost", arbor, fill, 100*lost)
			if !(lost > 0.01 && lost < 0.05) {
				t.Errorf("arbor %v mm, fill %v: %.3f of the turns lost", arbor, fill, lost)
			}
		}
	}
}

// coilLength integrates the length of an Archimedean coil whose middle line begins at radius from and opens by pitch a
// turn, by Simpson's rule on the arc element √(ρ² + (dρ/dφ)²).
func coilLength(from, pitch, turns float64) float64 {
	const steps = 4000
	opening := pitch / (2 * math.Pi)
	arc := func(angle float64) float64 { return math.Hypot(from+opening*angle, opening) }
	h := turns * 2 * math.Pi / steps
	sum := arc(0) + arc(turns*2*math.Pi)
	for i := 1; i < steps; i++ {
		sum += arc(float64(i)*h) * float64(2+2*(i%2))
	}
	return sum * h / 3
}

// coilsOf finds the turns of a coil of a given length by halving.
func coilsOf(from, pitch, length float64) float64 {
	low, high := 0.0, 200.0
	if pitch < 0 {
		high = from / -pitch
	}
	for range 60 {
		if mid := (low + high) / 2; coilLength(from, pitch, mid) < length {
			low = mid
		} else {
			high = mid
		}
	}
	return low
}

// The areas are held against the coils themselves, laid as spirals and integrated. An arbor cut as a snail lets the
// first coil rise without a gap, and a wall likewise: the formula then misses only the coil's slope. Round ones leave a
// gap of half a strip on either side, which costs about half a turn, as Develop says.
func TestDevelopmentAgainstIntegratedCoils(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ inside, arbor, thickness, fill float64 }{
		{10, 3.3333, 0.11, 0.5}, {12, 4, 0.13, 0.4}, {21.3, 7.1, 0.254, 0.5}, {8, 2.5, 0.08, 0.6}, {30, 9, 0.2, 0.45},
	} {
		b := train.Barrel{InsideDiameterMm: c.inside, ArborDiameterMm: c.arbor}
		s := train.Mainspring{ThicknessMm: c.thickness, LengthMm: 2 * c.fill * b.HalfFillLengthMm(c.thickness)}
		d := train.Develop(b, s)
		// The slope adds (e/2πρ)²/2 of the length, at the arbor at most 1.5e-4 for these.
		wound := coilsOf(c.arbor/2, c.thickness, s.LengthMm)
		runDown := coilsOf(c.inside/2, -c.thickness, s.LengthMm)
		near(t, "coils wound, snail", wound, d.WoundCoils, 2e-3)
		near(t, "coils run down, snail", runDown, d.RunDownCoils, 2e-3)
		near(t, "turns, snail", wound-runDown, d.Turns, 2e-3)

		round := coilsOf(c.arbor/2+c.thickness/2, c.thickness, s.LengthMm) - coilsOf(c.inside/2-c.thickness/2, -c.thickness,
			s.LengthMm)
		t.Logf("%+v: %.3f turns by areas, %.3f with round arbor and wall", c, d.Turns, round)
		near(t, "turns lost to round ends", d.Turns-round, 0.45, 0.11)
	}
}

// Laws of scale: all lengths k times give the same turns and fill; twice the thickness at half the length the same
// space.
func TestScaling(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(r *rapid.T) {
		inside := rapid.Float64Range(6, 20).Draw(r, "inside")
		b := train.Barrel{InsideDiameterMm: inside, ArborDiameterMm: inside * rapid.Float64Range(0.2, 0.45).Draw(r, "arbor")}
		s := train.Mainspring{WidthMm: inside / 8, ThicknessMm: inside / rapid.Float64Range(70, 120).Draw(r, "thin")}
		s.LengthMm = 2 * rapid.Float64Range(0.3, 0.7).Draw(r, "fill") * b.HalfFillLengthMm(s.ThicknessMm)
		k := rapid.Float64Range(0.6, 3).Draw(r, "k")
		bk := train.Barrel{InsideDiameterMm: k * b.InsideDiameterMm, ArborDiameterMm: k * b.ArborDiameterMm}
		sk := train.Mainspring{WidthMm: k * s.WidthMm, ThicknessMm: k * s.ThicknessMm, LengthMm: k * s.LengthMm}
		d, dk := train.Develop(b, s), train.Develop(bk, sk)
		// Rounding only: the turns are differences of square roots, a few thousand times the last bit.
		if math.Abs(dk.Turns-d.Turns) > 1e-9 || math.Abs(dk.FillShare-d.FillShare) > 1e-12 {
			r.Fatalf("%v times: %+v, before %+v", k, dk, d)
		}
		m, mk := s.TorqueMNm(200, 5), sk.TorqueMNm(200, 5)
		if math.Abs(mk/m/(k*k*k)-1) > 1e-12 {
			r.Fatalf("%v times: torque %v, before %v", k, mk, m)
		}
		thick := s
		thick.ThicknessMm *= 2
		if math.Abs(thick.TorqueMNm(200, 5)/m-8) > 1e-12 {
			r.Fatalf("twice as thick: %v times the torque", thick.TorqueMNm(200, 5)/m)
		}
		if d.Turns > b.MostTurns(s.ThicknessMm)+1e-9 || d.Turns <= 0 {
			r.Fatalf("%v turns, at most %v", d.Turns, b.MostTurns(s.ThicknessMm))
		}
	})
}

func TestSpringForTurns(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(r *rapid.T) {
		inside := rapid.Float64Range(6, 20).Draw(r, "inside")
		b := train.Barrel{InsideDiameterMm: inside, ArborDiameterMm: inside / 3, HeightMm: 1.6}
		turns := rapid.Float64Range(5, 10).Draw(r, "turns")
		s, bad := train.SpringForTurns(b, turns)
		if len(bad) > 0 || len(s.Problems(b)) > 0 {
			r.Fatal(bad, s.Problems(b))
		}
		d := train.Develop(b, s)
		if math.Abs(d.TurnsInPractice()-turns) > 1e-9 || math.Abs(d.FillShare-0.5) > 1e-12 ||
			math.Abs(s.WidthMm-1.5) > 1e-12 {
			r.Fatalf("%+v develops %+v, want %v turns in practice", s, d, turns)
		}
		// Held against the coils themselves, laid on a round arbor and wall: they give the turns wanted to a fifth of one.
		round := coilsOf(b.ArborDiameterMm/2+s.ThicknessMm/2, s.ThicknessMm, s.LengthMm) -
			coilsOf(b.InsideDiameterMm/2-s.ThicknessMm/2, -s.ThicknessMm, s.LengthMm)
		if math.Abs(round-turns) > 0.2 {
			r.Fatalf("%+v gives %v turns on round arbor and wall, want %v", s, round, turns)
		}
	})
	got, _ := train.SpringForTurns(train.Barrel{InsideDiameterMm: 10, ArborDiameterMm: 3.3333, HeightMm: 1.5}, 6.6536)
	if want := "1.40 × 0.110 × 317 mm, barrel 10 mm inside"; got.Specification(train.Barrel{
		InsideDiameterMm: 10}) != want {
		t.Errorf("got %q, want %q", got.Specification(train.Barrel{InsideDiameterMm: 10}), want)
	}
}

func TestImpossibleBarrelsAreRefused(t *testing.T) {
	t.Parallel()
	good, spring := train.Barrel{InsideDiameterMm: 10, ArborDiameterMm: 3.3, HeightMm: 1.5}, train.Mainspring{WidthMm: 1.4,
		ThicknessMm: 0.1, LengthMm: 340}
	for name, c := range map[string]struct {
		b             train.Barrel
		s             train.Mainspring
		field, reason string
	}{
		"nothing": {train.Barrel{ArborDiameterMm: 3}, spring, "barrel_inside_diameter", "from 2 to 80"},
		"not a number": {train.Barrel{InsideDiameterMm: math.NaN(), ArborDiameterMm: 3}, spring, "barrel_inside_diameter",
			"from 2 to 80"},
		"arbor negative":  {train.Barrel{InsideDiameterMm: 10, ArborDiameterMm: -3}, spring, "arbor_diameter", "above 0"},
		"arbor too large": {train.Barrel{InsideDiameterMm: 10, ArborDiameterMm: 10}, spring, "arbor_diameter", "no room"},
		"height": {train.Barrel{InsideDiameterMm: 10, ArborDiameterMm: 3, HeightMm: 0.2}, spring, "barrel_height",
			"0.3"},
		"no thickness": {good, train.Mainspring{LengthMm: 300}, "mainspring_thickness", "from 0.02"},
		"too thick": {train.Barrel{InsideDiameterMm: 3, ArborDiameterMm: 2.5}, train.Mainspring{ThicknessMm: 0.2,
			LengthMm: 30}, "mainspring_thickness", "two coils"},
		"too long": {good, train.Mainspring{ThicknessMm: 0.1, LengthMm: 700}, "mainspring_length",
			"No more than 700 mm"},
		"too wide": {good, train.Mainspring{WidthMm: 1.5, ThicknessMm: 0.1, LengthMm: 300}, "mainspring_width",
			"held fast"},
		"width negative": {good, train.Mainspring{WidthMm: -1, ThicknessMm: 0.1, LengthMm: 300}, "mainspring_width",
			"from 0.2"},
		"endless": {good, train.Mainspring{ThicknessMm: 0.1, LengthMm: math.Inf(1)}, "mainspring_length", "from 20"},
	} {
		bad := c.b.Problems()
		for field, why := range c.s.Problems(c.b) {
			bad[field] = why
		}
		if !strings.Contains(bad[c.field], c.reason) || len(bad) != 1 {
			t.Errorf("%s: got %v, want %s: ...%s...", name, bad, c.field, c.reason)
		}
	}
	if bad := spring.Problems(good); len(bad) > 0 || len(good.Problems()) > 0 {
		t.Error("a usual spring is refused:", bad)
	}
	for turns, reason := range map[float64]string{0: "above 0", math.NaN(): "above 0", 0.3: "16 mm long", 0.5: "20 mm long",
		39: "none thinner"} {
		b := train.Barrel{InsideDiameterMm: 4, ArborDiameterMm: 1.5}
		if _, bad := train.SpringForTurns(b, turns); !strings.Contains(bad["turns"], reason) {
			t.Errorf("%v turns: got %v, want ...%s...", turns, bad, reason)
		}
	}
	// About a thin arbor, where few turns ask for the thickest spring of all.
	thin := train.Barrel{InsideDiameterMm: 3, ArborDiameterMm: 0.3}
	if _, bad := train.SpringForTurns(thin, 0.05); !strings.Contains(bad["turns"], "two coils") {
		t.Errorf("a twentieth of a turn: got %v", bad)
	}
	defer func() {
		if recover() == nil {
			t.Error("developing an impossible spring doesn't panic")
		}
	}()
	train.Develop(train.Barrel{}, spring)
}
