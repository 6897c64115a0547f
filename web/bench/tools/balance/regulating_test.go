package balance_test

import (
	"net/http"
	"strings"
	"testing"

	"ledgerwheel/domain/watch"
	"ledgerwheel/web/bench/tools/balance"
	"ledgerwheel/web/webtest"
)

// TestRegulatingTool: figures by hand from the formulas that the page names; HS-45S is a check row of
// domain/oscillator.
func TestRegulatingTool(t *testing.T) {
	t.Parallel()
	checkBench(t, balance.RegulatingTool(), []benchCase{
		{name: "HS-45S", given: []string{"rate", "45 ± 0"}, rows: map[string]string{"To be taken away": "slower",
			"Or moment of inertia": "+0.104194 %", "Working length": "longer"},
			says: "+45 s/d to be taken away: set slower."},
		// 110 mm · 2·60/86400 = 0.153 mm; over 2.5 mm that is 3.5°.
		{name: "regulator", given: []string{"rate", "-60 ± 2", "hairspring_length", "110", "pin_radius", "2.5",
			"regulator_step", "20"},
			rows: map[string]string{"Pins along the spring": "0.1527 ± 0.0051 mm away from the stud",
				"Regulator turned by": "3.50° ± 0.12°", "Regulator by its divisions": "3.00 ± 0.10 divisions towards faster"},
			says: "set faster"},
		{name: "an aim", given: []string{"rate", "10 ± 1", "aim", "4"},
			rows: map[string]string{"To be taken away": "+6.0 ± 1.0 s/d"}},
		// dI = 12 mg·cm²·2·30/86400 = 0.834 mg·mm²; r₂² = 16 + 0.834/8, r₂ − r₁ = 0.013 mm, 0.065 turn of 0.2 mm.
		{name: "screws", given: []string{"rate", "30 ± 0", "balance_inertia", "12 ± 0", "screw_radius", "4", "screw_mass",
			"4000", "screw_travel", "0.2"},
			rows: map[string]string{"Each of 2 timing screws": "0.065", "A whole turn": "−"}, says: "out."},
		{name: "screws too far", given: []string{"rate", "900 ± 0", "balance_inertia", "12 ± 0", "screw_radius", "4",
			"screw_mass", "2000", "screw_travel", "0.2"},
			rows: map[string]string{"Each of 2 timing screws": "too far"}, says: "set slower"},
		// 12·1e5 µg·mm² · (2·60/86400)/(2·16 mm²) = 52.1 µg.
		{name: "washers", given: []string{"rate", "60 ± 0", "balance_inertia", "12 ± 0", "washer_radius", "4"},
			rows: map[string]string{"Each of 2 washers": "52.1", "To be taken away": "slower"}, part: "each 52.1"},
		{name: "lighter", given: []string{"rate", "-60 ± 0", "balance_inertia", "12 ± 0", "washer_radius", "4"},
			rows: map[string]string{"Taken off at each": "52.0"}, says: "taken off"},
		{name: "no inertia", given: []string{"rate", "-60", "washer_radius", "4", "screw_radius", "4", "screw_mass", "4000",
			"screw_travel", "0.2"},
			rows: map[string]string{"Timing screws": "not known", "Washers": "not known"}},
		// Kleinlein 1920, figure 10: left of the collet, developing upward, pendant at 12.
		{name: "pinning", given: []string{"rate", "0", "collet_hour", "9", "winding", "clockwise", "wanted_fast", "3",
			"inner_radius", "0.6", "outer_radius", "2.6"},
			rows: map[string]string{"Fast vertical position": "12 up", "Slow one": "6 up", "To make 3 up": "coil",
				"Taken at the collet": "+"}, says: "12 up is fast"},
	})
	checkRefusals(t, balance.RegulatingTool(), []benchRefusal{
		{nil, "rate", "Give the rate"},
		{[]string{"rate", "-5000"}, "rate", "another fault"},
		{[]string{"rate", "fast"}, "rate", "such as"},
		{[]string{"rate", "5", "hairspring_length", "0"}, "hairspring_length", "above zero"},
		{[]string{"rate", "5", "hairspring_length", "10", "pin_radius", "4"}, "hairspring_length", "once round"},
		{[]string{"rate", "5", "screw_radius", "4"}, "screw_mass", "mass of one screw"},
		{[]string{"rate", "5", "screw_radius", "4", "screw_count", "2.5"}, "screw_count", "whole number"},
		{[]string{"rate", "5", "screw_radius", "4", "screw_mass", "9000", "screw_travel", "0.2", "balance_inertia", "1 ± 0"},
			"screw_mass", "more inertia"},
		{[]string{"rate", "5", "washer_radius", "4", "washer_count", "3"}, "washer_count", "even"},
		{[]string{"rate", "5", "washer_radius", "4", "washer_thickness", "0.9", "washer_screw_mass", "5000",
			"balance_inertia", "12 ± 0"}, "washer_thickness", "thinner"},
		{[]string{"rate", "5", "collet_hour", "13"}, "collet_hour", "0 to 12"},
		{[]string{"rate", "5", "coils", "-3"}, "coils", "up to 40"},
	})
	v := balance.FillRegulating(watch.Calibre{HairspringLengthMm: 110, Balance: watch.Balance{InertiaMgCm2: 8.5,
		RegulatorStepSPerDay: 15, ScrewMassMicrogram: 4000}})
	for name, want := range map[string]string{"hairspring_length": "110", "balance_inertia": "8.5", "regulator_step": "15",
		"screw_mass": "4000", "pin_radius": ""} {
		if v.Get(name) != want {
			t.Errorf("%s is filled with %q, want %q", name, v.Get(name), want)
		}
	}
}

// TestRegulatingIsKeptWithADocket: the answer becomes a finding and a part to order, with what it was worked out from.
func TestRegulatingIsKeptWithADocket(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.Noted()
	bench := s.As(s.Watchmaker)
	at := "/dockets/" + number + "/bench/regulating"
	asked := askedOf(balance.RegulatingTool(), "rate", "60 ± 2", "balance_inertia", "12 ± 0", "washer_radius", "4")
	page := bench.Get(at + "?" + asked.Encode()).Want(http.StatusOK)
	page.One("keep-form-finding")
	page.One("keep-form-part")
	bench.Post(at+"/keep", webtest.KeptForm("finding", asked, "finding.component", "balance-staff", "finding.severity",
		"observe")).Want(http.StatusSeeOther)
	if findings := s.Findings(number); len(findings) != 1 || !strings.Contains(findings[0],
		"washers of 52.1 ± 1.7 µg each") {
		t.Errorf("kept: %q", findings)
	}
	if said := bench.Get(at).Want(http.StatusOK).Text("kept"); !strings.Contains(said, "60 ± 2") {
		t.Errorf("the docket says %q", said)
	}
}
