package train

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// TestWheelAddendum holds the computed addenda against the published table of BS 978-2 (driving wheels; columns by
// leaves of the pinion, rows by ratio). The standard's own text was not seen; the figures are as others give them.
// Tolerance: the table's last place and, once, a rounding at the half.
func TestWheelAddendum(t *testing.T) {
	t.Parallel()
	table := map[int]map[float64]float64{
		6:  {3: 1.259, 4: 1.280, 5: 1.293, 6: 1.303, 7: 1.310, 8: 1.315, 9: 1.320, 10: 1.322, 12: 1.328},
		7:  {3: 1.335, 5: 1.374, 7: 1.393, 8: 1.399, 10: 1.408, 12: 1.414},
		8:  {3: 1.403, 5: 1.447, 7.5: 1.471, 8: 1.475, 10: 1.484, 12: 1.491},
		9:  {3: 1.465, 6: 1.526, 8: 1.543, 10: 1.554, 12: 1.561},
		10: {3: 1.523, 6.5: 1.594, 7.5: 1.603, 8: 1.607, 10: 1.618, 12: 1.626},
		12: {3: 1.626, 6: 1.700, 8: 1.721, 12: 1.743},
		14: {3: 1.718, 7: 1.812, 12: 1.847},
		15: {3: 1.760, 8: 1.869, 12: 1.895},
		16: {3: 1.801, 8: 1.914, 12: 1.940},
	}
	for leaves, column := range table {
		for ratio, want := range column {
			teeth := ratio * float64(leaves)
			if teeth != math.Trunc(teeth) {
				continue
			}
			if got := (Mesh{Wheel: int(teeth), Pinion: leaves}).WheelAddendum(); math.Abs(got-want) > 0.0011 {
				t.Errorf("%d leaves, ratio %g: addendum %.4f modules, want %.3f", leaves, ratio, got, want)
			}
		}
	}
}

// TestWheelPoint solves the same tooth another way: the epicycloid itself is drawn and cut by the tooth's middle line.
func TestWheelPoint(t *testing.T) {
	t.Parallel()
	for _, m := range []Mesh{{80, 10, false}, {75, 10, false}, {60, 8, false}, {70, 7, false}, {60, 6, false},
		{36, 12, false}} {
		// Pitch radius z/2 modules; describing circle a quarter of the pinion's count. The curve starts on the pitch
		// circle; its middle line is half a tooth, π/(2z), further on.
		big, small := float64(m.Wheel)/2, float64(m.Pinion)/4
		half := math.Pi / (2 * float64(m.Wheel))
		lo, hi := 0.0, math.Pi*small/big // of the rolling angle about the wheel's centre
		radius := 0.0
		for range 100 {
			mid := (lo + hi) / 2
			x := (big+small)*math.Cos(mid) - small*math.Cos((big+small)/small*mid)
			y := (big+small)*math.Sin(mid) - small*math.Sin((big+small)/small*mid)
			radius = math.Hypot(x, y)
			if math.Atan2(y, x) < half {
				lo = mid
			} else {
				hi = mid
			}
		}
		if got, want := m.WheelAddendum(), 0.95*(radius-big); math.Abs(got-want) > 1e-9 { // both are solved to 1e-12
			t.Errorf("%d:%d: addendum %.9f, by the drawn epicycloid %.9f", m.Wheel, m.Pinion, got, want)
		}
	}
}

// TestOutsideDiameter: a wheel of 75 and a pinion of 10 at module 0.12 mm. A learner's worked question of April 2025 on
// the older Swiss form (NHS 56703, ogive of one third) finds 1.36 mm over the pinion's tips from the drawing, with an
// addendum of 0.67 module; ours is form A of BS 978-2, 0.525, so both must agree within the stated uncertainty.
func TestOutsideDiameter(t *testing.T) {
	t.Parallel()
	s := (Mesh{Wheel: 75, Pinion: 10}).Size(Estimate{Value: 0.12})
	for name, c := range map[string][2]float64{
		"pinion's pitch diameter":     {s.PinionPitchMm.Value, 1.2},
		"wheel's pitch diameter":      {s.WheelPitchMm.Value, 9},
		"distance of centres":         {s.CentreDistanceMm.Value, 5.1},
		"circular pitch":              {s.CircularPitchMm.Value, 0.376991},
		"wheel over the tips":         {s.WheelOutsideMm.Value, 9 + 2*1.603*0.12}, // table: 10 leaves, ratio 7.5
		"pinion over the tips, B":     {s.PinionOutsideMm.Value + 2*(0.67-0.525)*0.12, 1.3608},
		"uncertainty over the pinion": {s.PinionOutsideMm.U, 0.024},
	} {
		if math.Abs(c[0]-c[1]) > 0.0005 {
			t.Errorf("%s: %.4f mm, want %.4f", name, c[0], c[1])
		}
	}
	if d := math.Abs(s.PinionOutsideMm.Value - 1.36); d > 2*s.PinionOutsideMm.U {
		t.Errorf("the published drawing's 1.36 mm lies %.3f mm away, beyond twice the uncertainty %.3f", d,
			s.PinionOutsideMm.U)
	}
}

// TestLedAfterCentres: common teaching has it that pinions of 6 to 9 leaves are led well before the line of centres and
// those of 12 and more not at all.
func TestLedAfterCentres(t *testing.T) {
	t.Parallel()
	before := 0.0
	for leaves := MinLeaves; leaves <= 16; leaves++ {
		m := Mesh{Wheel: 8 * leaves, Pinion: leaves}
		led := m.LedAfterCentres()
		if led <= before {
			t.Errorf("%d leaves are led for %.3f of a pitch, no more than with one leaf fewer", leaves, led)
		}
		before = led
		if leaves <= 9 && led > 0.9 || leaves >= 12 && led < 1 {
			t.Errorf("%d leaves are led for %.3f of a pitch after the line of centres", leaves, led)
		}
		if notes := strings.Join(m.Notes(), " "); strings.Contains(notes, "before it") != (led < 0.995) ||
			strings.Contains(notes, "undercut") != (leaves < 18) {
			t.Errorf("%d leaves, led %.3f: notes %q", leaves, led, notes)
		}
	}
}

// TestModule: whatever module a mesh was cut to comes back from each measurement and from all together; a law of scale:
// all lengths twice as large make the module twice as large.
func TestModule(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		m := Mesh{Wheel: rapid.IntRange(40, 120).Draw(t, "wheel"), Pinion: rapid.IntRange(6, 16).Draw(t, "pinion"),
			PinionDrives: rapid.Bool().Draw(t, "motion")}
		module := rapid.Float64Range(0.05, 0.3).Draw(t, "module")
		s := m.Size(Estimate{Value: module})
		d := Measured{s.CentreDistanceMm.Value, s.WheelOutsideMm.Value, s.PinionOutsideMm.Value}
		r := m.Module(d, 0.01)
		for name, got := range map[string]float64{"centres": r.FromCentres.Value, "wheel": r.FromWheel.Value,
			"pinion": r.FromPinion.Value, "all": r.Value} {
			if math.Abs(got-module) > 1e-12 {
				t.Fatalf("module by %s: %g, want %g", name, got, module)
			}
		}
		if r.Ways != 3 || r.ChiSquared > 1e-9 || !r.fits() || r.Finer() != "" {
			t.Fatalf("agreeing figures: %+v", r)
		}
		if r.U >= r.FromCentres.U || r.FromPinion.U <= r.FromWheel.U {
			t.Fatalf("uncertainties: all %g, centres %g, wheel %g, pinion %g", r.U, r.FromCentres.U, r.FromWheel.U,
				r.FromPinion.U)
		}
		if twice := m.Module(Measured{2 * d.CentreDistanceMm, 2 * d.WheelOutsideMm, 2 * d.PinionOutsideMm},
			0.02); math.Abs(twice.Value-2*module) > 1e-12 {
			t.Fatalf("twice the lengths: %g, want %g", twice.Value, 2*module)
		}
	})
}

// TestFiner: a pinion of another module can't mesh, and it is said which way it differs.
func TestFiner(t *testing.T) {
	t.Parallel()
	m := Mesh{Wheel: 75, Pinion: 10}
	wheel, pinion := m.Size(Estimate{Value: 0.12}).WheelOutsideMm.Value,
		m.Size(Estimate{Value: 0.12}).PinionOutsideMm.Value
	for _, tt := range []struct {
		scale float64
		want  string
	}{{1, ""}, {0.97, ""}, {0.85, "finer"}, {1.2, "coarser"}} {
		r := m.Module(Measured{WheelOutsideMm: wheel, PinionOutsideMm: pinion * tt.scale}, defaultLengthUMm)
		if says := r.Finer(); (says == "") != (tt.want == "") || !strings.Contains(says, tt.want) {
			t.Errorf("pinion %g times as large: %q, want %q", tt.scale, says, tt.want)
		}
	}
}
