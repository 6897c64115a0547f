package fit_test

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"ledgerwheel/domain/fit"
)

// balanceStaff is a usual balance pivot in a usual jewel.
func balanceStaff() fit.Measured {
	return fit.Measured{Place: fit.Balance, PivotMm: 0.10, HoleMm: 0.11, HalfWidthMm: 0.001, EndshakeMm: 0.03,
		EndshakeHalfWidthMm: 0.005}
}

// The end shake of the escapement as its source gives it: small but present, 0.01 to 0.05 mm; balance staff and pallet
// arbor the same, the escape wheel a little more (American Watchmakers-Clockmakers Institute, The Escapement: Endshakes
// and Division, read on the institute's site).
func TestEndshakeAsPublished(t *testing.T) {
	t.Parallel()
	published := fit.Range{LowMm: 0.01, HighMm: 0.05}
	for _, p := range []fit.Place{fit.Balance, fit.PalletArbor} {
		if got, source := p.UsualEndshake(); got != published || !strings.Contains(source, "Endshakes") {
			t.Errorf("%s: %v from %q, want %v", p, got, source, published)
		}
	}
	if got, _ := fit.EscapeWheel.UsualEndshake(); got.LowMm <= published.LowMm || got.HighMm <= published.HighMm ||
		got.HighMm > 0.07 {
		t.Errorf("escape wheel: %v, want a little more than %v", got, published)
	}
}

// Common practice, from memory: a balance pivot of 0.10 mm goes in a hole about 0.01 mm wider, a train pivot of 0.20 mm
// in one 0.01 to 0.025 mm wider; heavier pivots take more, and what is usual never shrinks as the pivot grows.
func TestUsualClearances(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		place         fit.Place
		pivot, within float64
	}{{fit.Balance, 0.10, 0.01}, {fit.Balance, 0.12, 0.01}, {fit.FourthWheel, 0.20, 0.015}, {fit.ThirdWheel, 0.25, 0.02},
		{fit.CentreWheel, 1.0, 0.03}, {fit.BarrelArbor, 1.5, 0.04}} {
		if r := c.place.UsualClearance(c.pivot); c.within < r.LowMm || c.within > r.HighMm {
			t.Errorf("%s of %v: %v is not within %v", c.place, c.pivot, c.within, r)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		p := rapid.SampledFrom(fit.Places()).Draw(t, "place")
		d := rapid.Float64Range(p.UsualPivot().LowMm, p.UsualPivot().HighMm).Draw(t, "pivot")
		r, wider := p.UsualClearance(d), p.UsualClearance(d*1.2)
		if !(0 < r.LowMm && r.LowMm < r.HighMm && r.HighMm < d/2) || wider.LowMm < r.LowMm || wider.HighMm < r.HighMm {
			t.Fatalf("%s of %v: %v, a fifth thicker: %v", p, d, r, wider)
		}
	})
	if small, stout := fit.Balance.UsualClearance(0.1), fit.CentreWheel.UsualClearance(1); small.HighMm >= stout.LowMm {
		t.Errorf("the balance's %v reaches into the centre wheel's %v", small, stout)
	}
}

func TestVerdicts(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		change    func(*fit.Measured)
		clearance fit.Verdict
		all       fit.Verdict
		says      string
	}{
		"usual":       {func(*fit.Measured) {}, fit.Usual, fit.Usual, "The clearance is usual"},
		"at the edge": {func(m *fit.Measured) { m.HoleMm = 0.114 }, fit.Usual, fit.Usual, "The edge of the usual range"},
		"tight":       {func(m *fit.Measured) { m.HoleMm = 0.102 }, fit.TooTight, fit.TooTight, "tight in its hole"},
		"does not go": {func(m *fit.Measured) { m.HoleMm = 0.1 }, fit.TooTight, fit.TooTight, "does not enter"},
		"wide jewel":  {func(m *fit.Measured) { m.HoleMm = 0.14 }, fit.Worn, fit.Worn, "A jewel hardly wears"},
		"wide hole":   {func(m *fit.Measured) { m.HoleMm, m.Metal = 0.14, true }, fit.Worn, fit.Worn, "bush it"},
		"pinched":     {func(m *fit.Measured) { m.EndshakeMm = 0 }, fit.Usual, fit.TooTight, "too little end shake"},
		"loose":       {func(m *fit.Measured) { m.EndshakeMm = 0.09 }, fit.Usual, fit.Worn, "too much end shake"},
		"not measured": {func(m *fit.Measured) { m.EndshakeMm = fit.NotMeasured }, fit.Usual, fit.Usual,
			"The clearance is usual"},
		"groove stays": {func(m *fit.Measured) { m.SmallestMm = 0.098 }, fit.Usual, fit.Worn, "can be polished out"},
		"groove too":   {func(m *fit.Measured) { m.SmallestMm = 0.09 }, fit.Usual, fit.Worn, "Replace the arbor"},
		"groove, tight": {func(m *fit.Measured) { m.HoleMm, m.SmallestMm = 0.102, 0.099 }, fit.TooTight, fit.TooTight,
			"stays tight in this hole even then"},
		"worn, pinched": {func(m *fit.Measured) { m.HoleMm, m.EndshakeMm = 0.14, 0 }, fit.Worn, fit.TooTight,
			"too little end shake"},
	} {
		m := balanceStaff()
		c.change(&m)
		if bad := m.Problems(); len(bad) > 0 {
			t.Fatalf("%s: %v", name, bad)
		}
		j := m.Judge()
		if j.Clearance.Verdict != c.clearance || j.Verdict() != c.all {
			t.Errorf("%s: clearance %v, in all %v; want %v and %v", name, j.Clearance.Verdict, j.Verdict(), c.clearance, c.all)
		}
		if said := strings.Join(j.Meaning(), " "); !strings.Contains(said, c.says) {
			t.Errorf("%s: %q is not in %q", name, c.says, said)
		}
	}
}

// The uncertainty is that of two rectangular errors (JCGM 100:2008, 4.3.7): a·√(2/3).
func TestClearanceUncertainty(t *testing.T) {
	t.Parallel()
	m := balanceStaff()
	m.HalfWidthMm = 0.003
	if got, want := m.Judge().Clearance.Value.StdUncertainty, 0.003*math.Sqrt(2./3); math.Abs(got-want) > 1e-12 {
		t.Errorf("got %v, want %v", got, want)
	}
	m.HalfWidthMm = 0
	if j := m.Judge(); !j.Clearance.Sure || j.Clearance.Probability != 1 {
		t.Errorf("an exact figure inside is not sure: %+v", j.Clearance)
	}
}

// By the intercept theorem a lean of 0.02 mm over 2.5 mm lifts a rim four millimetres out by 0.032 mm either way.
func TestLean(t *testing.T) {
	t.Parallel()
	m := fit.Measured{Place: fit.ThirdWheel, PivotMm: 0.2, HoleMm: 0.22, EndshakeMm: fit.NotMeasured, BetweenMm: 2.5,
		RimRadiusMm: 4, HoleLengthMm: 0.15}
	j := m.Judge()
	const tolerance = 1e-5 // the sine of so small an angle is less than its tangent by this part
	if math.Abs(j.RimPlayMm-0.064) > 0.064*1e-4 || math.Abs(math.Tan(j.TiltDeg*math.Pi/180)-0.008) > tolerance {
		t.Errorf("rim %v mm, lean %v°", j.RimPlayMm, j.TiltDeg)
	}
	if want := math.Atan(0.02/0.15) * 180 / math.Pi; math.Abs(j.HoleTiltDeg-want) > tolerance || j.Binds() {
		t.Errorf("hole allows %v°, want %v; binds %t", j.HoleTiltDeg, want, j.Binds())
	}
	m.OtherClearanceMm, m.HoleLengthMm = 0.9, 0.4
	if j := m.Judge(); !j.Binds() || !strings.Contains(strings.Join(j.Meaning(), " "), "binds at the hole’s edges") {
		t.Errorf("a wide lean in a long hole must bind: %+v", j)
	}
	m.BetweenMm = 0
	if j := m.Judge(); !math.IsNaN(j.TiltDeg) || !math.IsNaN(j.RimPlayMm) || j.Binds() {
		t.Errorf("nothing follows from a distance that was not measured: %+v", j)
	}
}

func TestMeasuredProblems(t *testing.T) {
	t.Parallel()
	nan := math.NaN()
	for field, change := range map[string]func(*fit.Measured){
		"place":               func(m *fit.Measured) { m.Place = "crown" },
		"pivot":               func(m *fit.Measured) { m.PivotMm = 0 },
		"hole":                func(m *fit.Measured) { m.HoleMm = 3 },
		"smallest":            func(m *fit.Measured) { m.SmallestMm = 0.12 },
		"half_width":          func(m *fit.Measured) { m.HalfWidthMm = -0.1 },
		"endshake":            func(m *fit.Measured) { m.EndshakeMm = nan },
		"endshake_half_width": func(m *fit.Measured) { m.EndshakeHalfWidthMm = 2 },
		"between":             func(m *fit.Measured) { m.BetweenMm = math.Inf(1) },
		"hole_length":         func(m *fit.Measured) { m.HoleLengthMm = -1 },
		"rim_radius":          func(m *fit.Measured) { m.RimRadiusMm = 1000 },
		"other_clearance":     func(m *fit.Measured) { m.OtherClearanceMm = 2 },
	} {
		m := balanceStaff()
		change(&m)
		if bad := m.Problems(); len(bad) != 1 || bad[field] == "" {
			t.Errorf("%s: got %v", field, bad)
		}
	}
	if bad := balanceStaff().Problems(); len(bad) > 0 {
		t.Error(bad)
	}
}
