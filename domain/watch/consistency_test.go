package watch_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"ledgerwheel/domain/watch"
)

// steady is a calibre without a remark. Its train and motion work are the ordinary ones of the trade's handbooks: 80,
// 75 and 80 into 10, 10 and 8 with an escape wheel of 15 give 18000 beats; 12 into 36 and 10 into 40 give 12:1. Its
// spring fills half of its barrel. Its balance follows from T = 2π·√(I/k).
func steady() watch.CalibreForm {
	f := fullForm()
	f["barrel_teeth"], f["centre_pinion_leaves"] = "72", "12"
	f["mainspring_thickness"], f["mainspring_length"] = "0.13", "330"
	f["hairspring_thickness"], f["hairspring_length"] = "0.032", "185"
	return f
}

func TestASteadyCalibreHasNoRemark(t *testing.T) {
	t.Parallel()
	if says := mustCheck(t, steady()).Remarks(); len(says) > 0 {
		t.Errorf("remarks %+v", says)
	}
	day := steady()
	day["motion_work"], day["dial_hours"] = "10:40,8:48", "24"
	if says := mustCheck(t, day).Remarks(); len(says) > 0 {
		t.Errorf("a dial of 24 hours: remarks %+v", says)
	}
	if says := (watch.Calibre{}).Remarks(); len(says) > 0 {
		t.Errorf("of nothing it says %+v", says)
	}
}

func TestRemarks(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		name        string
		change      watch.CalibreForm
		field       string
		contradicts bool
		says        string
	}{
		{"counts that don't give the beat", watch.CalibreForm{"beats_per_hour": "21600"}, "train", true, "18000"},
		{"an escape wheel miscounted by one", watch.CalibreForm{"train": "80:10,75:10,80:8,16"}, "train", true, "19200"},
		{"an exact fraction", watch.CalibreForm{"train": "80:10,75:10,80:7,15"}, "train", true, "20571 3/7"},
		{"a seconds hand that doesn't turn once a minute", watch.CalibreForm{"train": "75:10,75:10,80:8,16"}, "train", true,
			"56 1/4 times an hour"},
		{"motion work that isn't 12:1", watch.CalibreForm{"motion_work": "12:36,10:42"}, "motion_work", true, "12 3/5"},
		{"24 where 12 is stated", watch.CalibreForm{"motion_work": "10:40,8:48"}, "motion_work", true, "24 turns"},
		{"12 where 24 is stated", watch.CalibreForm{"dial_hours": "24"}, "motion_work", true, "24 hours"},
		{"a reserve that the barrel can't give", watch.CalibreForm{"power_reserve_hours": "60"}, "power_reserve_hours", true,
			"can't give 60 hours"},
		{"half of the reserve", watch.CalibreForm{"power_reserve_hours": "15"}, "power_reserve_hours", false,
			"less than half"},
		{"a spring too long", watch.CalibreForm{"mainspring_length": "450"}, "mainspring_length", false, "half"},
		{"a balance that beats otherwise", watch.CalibreForm{"hairspring_stiffness": "0.57"}, "hairspring_stiffness", true,
			"0.395"},
		{"mass and radius that give no such inertia", watch.CalibreForm{"balance_mass": "200"}, "balance_inertia", true,
			"32"},
		{"a hairspring measured wrongly", watch.CalibreForm{"hairspring_thickness": "0.05"}, "hairspring_thickness", true,
			"measure it first"},
		{"a barrel as large as the movement", watch.CalibreForm{"movement_diameter": "10.9"}, "barrel_inside_diameter", true,
			"larger than the movement"},
		{"screws heavier than the balance", watch.CalibreForm{"screw_mass": "30000"}, "screw_mass", true, "screws alone"},
		{"an unusual lift angle", watch.CalibreForm{"lift_angle_deg": "70"}, "lift_angle_deg", false,
			"36 to 60° (common practice)"},
		{"an unusual beat", watch.CalibreForm{"train": "", "beats_per_hour": "20222"}, "beats_per_hour", false,
			"none of the usual"},
		{"a thin arbor", watch.CalibreForm{"arbor_diameter": "2"}, "arbor_diameter", false, "about a third"},
		{"a pinion of five leaves", watch.CalibreForm{"train": "80:10,75:10,50:5,15"}, "train", false, "5 leaves"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			form := steady()
			for name, typed := range tt.change {
				form[name] = typed
			}
			c := mustCheck(t, form) // a remark stops nothing
			found := slices.ContainsFunc(c.Remarks(), func(r watch.Remark) bool {
				return r.Field == tt.field && r.Contradicts == tt.contradicts &&
					strings.Contains(strings.ReplaceAll(r.Text, "’", "'"), tt.says)
			})
			if !found {
				t.Errorf("no remark of %s says %q: %+v", tt.field, tt.says, c.Remarks())
			}
		})
	}
}

// TestPossibleReserve is by areas, independently of the program: the strip's area is the same on the arbor and on the
// wall.
func TestPossibleReserve(t *testing.T) {
	t.Parallel()
	c := mustCheck(t, steady())
	area := c.MainspringLengthMm * c.MainspringThicknessMm / math.Pi
	bigR, r := c.BarrelInsideDiameterMm/2, c.ArborDiameterMm/2
	turns := (math.Sqrt(r*r+area) - r - bigR + math.Sqrt(bigR*bigR-area)) / c.MainspringThicknessMm
	got, err := c.PossibleReserveHours()
	if want := turns * 72 / 12; err != nil || math.Abs(got-want) > 1e-9*want { // nothing but rounding
		t.Errorf("%v h, want %v, %v", got, want, err)
	}
	// A second arbor that turns once in two hours makes the same barrel run twice as long.
	c.Train = "80:10,75:10,80:8,15 minute=2/24:12"
	slow, err := c.PossibleReserveHours()
	if err != nil || math.Abs(slow-2*got) > 1e-9*got {
		t.Errorf("off the centre it runs %v h, want %v, %v", slow, 2*got, err)
	}
}
