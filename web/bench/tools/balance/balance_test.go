package balance_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/watch"
	"ledgerwheel/web/bench/tools/balance"
	"ledgerwheel/web/bench/tools/toolset"
	"ledgerwheel/web/webtest"
)

// askedOf is a tool's form as it is sent, with its defaults.
func askedOf(t toolset.Tool, given ...string) url.Values {
	v := url.Values{}
	for _, f := range t.Fields {
		v.Set(f.Name, f.Default)
	}
	for i := 0; i+1 < len(given); i += 2 {
		v.Set(given[i], given[i+1])
	}
	return v
}

// rowOf is the value and note of an answer's row; both are empty when there is none.
func rowOf(a toolset.Answer, label string) (value, note string) {
	for _, r := range a.Rows {
		if strings.HasPrefix(r.Label, label) {
			return r.Value, r.Note
		}
	}
	return "", ""
}

type benchCase struct {
	name   string
	given  []string
	rows   map[string]string // by the beginning of their label
	says   string            // within the finding
	part   string
	fields map[string]string // of the correction
}

func checkBench(t *testing.T, tool toolset.Tool, cases []benchCase) {
	t.Helper()
	for _, tt := range cases {
		a, bad := tool.Solve(askedOf(tool, tt.given...))
		if len(bad) > 0 {
			t.Errorf("%s: %v", tt.name, bad)
			continue
		}
		for label, want := range tt.rows {
			if got, note := rowOf(a, label); !strings.Contains(got+" "+note, want) {
				t.Errorf("%s: %s is %q (%s), want %q; %+v", tt.name, label, got, note, want, a.Rows)
			}
		}
		if !strings.Contains(a.Finding, tt.says) {
			t.Errorf("%s: finding %q, want %q", tt.name, a.Finding, tt.says)
		}
		if tt.part != "" && (a.Part == nil || !strings.Contains(a.Part.Specification, tt.part)) {
			t.Errorf("%s: part %+v, want %q", tt.name, a.Part, tt.part)
		}
		for field, want := range tt.fields {
			if a.Correction[field] != want {
				t.Errorf("%s: correction %v, want %s %s", tt.name, a.Correction, field, want)
			}
		}
		if a.Drawing == nil {
			t.Errorf("%s: no drawing", tt.name)
		}
	}
}

type benchRefusal struct {
	given        []string
	field, holds string
}

func checkRefusals(t *testing.T, tool toolset.Tool, cases []benchRefusal) {
	t.Helper()
	for _, tt := range cases {
		if _, bad := tool.Solve(askedOf(tool, tt.given...)); !strings.Contains(bad[tt.field], tt.holds) {
			t.Errorf("%v: %v, want %q beside %q", tt.given, bad, tt.holds, tt.field)
		}
	}
}

// TestBalanceTool: the figures of the first cases are check rows of domain/oscillator, whose sources stand there.
func TestBalanceTool(t *testing.T) {
	t.Parallel()
	checkBench(t, balance.BalanceTool(), []benchCase{
		{name: "HS-K-I4", given: []string{"beats_per_hour", "18 000", "balance_inertia", "30 ± 0"},
			rows: map[string]string{"Stiffness of the hairspring": "0.74022 µN·m/rad",
				"Beat": "2.5 Hz, one oscillation in 0.4 s"},
			says: "0.74022 µN·m/rad", part: "0.74022 µN·m/rad, for 18000 beats per hour on a balance of 30 mg·cm²",
			fields: map[string]string{"balance_inertia": "30", "hairspring_stiffness": "0.7402"}},
		{name: "HS-K-1", given: []string{"modulus", "200 ± 0", "hairspring_width", "0,1 ± 0", "hairspring_thickness",
			"0.03 ± 0", "hairspring_length", "100 ± 0"},
			rows: map[string]string{"Stiffness by the dimensions": "0.45 µN·m/rad"}, says: "0.45 µN·m/rad"},
		// I = k/(2πf)², by hand: 0.45e-6/(2π·3)² = 1.2666e-9 kg·m².
		{name: "inertia", given: []string{"beats_per_hour", "21600", "stiffness", "0.45 ± 0.01"},
			rows: map[string]string{"Moment of inertia": "12.67 ± 0.28 mg·cm²"}},
		// 2 % too strong a spring gains 86400·(√1.02 − 1) = 859.7 s/d, short of it by the last digit typed.
		{name: "all three", given: []string{"beats_per_hour", "18000", "balance_inertia", "30 ± 0", "stiffness",
			"0.755024 ± 0"},
			rows: map[string]string{"Rate in a movement of 18000": "+859.68 s/d",
				"Hairspring that this balance asks for": "0.74022"}, says: "+859.68 s/d", part: "0.74022"},
		{name: "a ring", given: []string{"beats_per_hour", "14400", "balance_mass", "900 ± 0", "balance_gyration_radius",
			"5.5 ± 0"},
			rows: map[string]string{"Moment of inertia": "272.25 mg·cm²", "Stiffness": "4.29"}},
		{name: "which length", given: []string{"beats_per_hour", "18000", "balance_inertia", "30 ± 0", "modulus", "200 ± 0",
			"hairspring_width", "0.1 ± 0", "hairspring_thickness", "0.035 ± 0"},
			rows: map[string]string{"Working length of this strip": "96.5"}}, // 200e3·0.1·0.035³/12/0.74022e-3
	})
	checkRefusals(t, balance.BalanceTool(), []benchRefusal{
		{nil, "", "at least two"},
		{[]string{"beats_per_hour", "18000"}, "", "at least two"},
		{[]string{"beats_per_hour", "0", "balance_inertia", "12"}, "beats_per_hour", "above zero"},
		{[]string{"beats_per_hour", "fast", "balance_inertia", "12"}, "beats_per_hour", "such as"},
		{[]string{"beats_per_hour", "18000", "balance_inertia", "-12"}, "balance_inertia", "from 0.01"},
		{[]string{"beats_per_hour", "18000", "balance_inertia", "0"}, "balance_inertia", "from 0.01"},
		{[]string{"beats_per_hour", "18000", "balance_mass", "60"}, "balance_gyration_radius", "mass alone"},
		{[]string{"hairspring_thickness", "3", "beats_per_hour", "18000"}, "hairspring_thickness", "from 0.003"},
		{[]string{"inner_radius", "2", "outer_radius", "1", "coils", "12"}, "outer_radius", "more than"},
	})
	v := balance.FillBalance(watch.Calibre{BeatsPerHour: 18000, HairspringStiffnessNmPerRad: 4.9e-7,
		Balance: watch.Balance{InertiaMgCm2: 8.5}})
	for name, want := range map[string]string{"beats_per_hour": "18000", "stiffness": "0.49", "balance_inertia": "8.5",
		"hairspring_length": ""} {
		if v.Get(name) != want {
			t.Errorf("%s is filled with %q, want %q", name, v.Get(name), want)
		}
	}
}

func TestBalancePage(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	bench := s.As(s.Watchmaker)
	asked := askedOf(balance.BalanceTool(), "beats_per_hour", "18000", "balance_inertia", "30", "alloy", "steel",
		"hairspring_width", "0.12", "hairspring_thickness", "0.030", "hairspring_length", "110", "coils", "12")
	page := bench.Get("/bench/balance?" + asked.Encode()).Want(http.StatusOK)
	for _, want := range []string{"Stiffness by the dimensions", "µN·m/rad", "working length", "0.1 mm longer",
		"dyn·cm/rad"} {
		if said := page.Text("bench-answer"); !strings.Contains(said, want) {
			t.Errorf("the answer lacks %q: %s", want, said)
		}
	}
	if drawing := page.Text("bench-drawing"); !strings.Contains(drawing, "A hairspring of 12 coils") {
		t.Errorf("the drawing says %q", drawing)
	}
	if said := page.Text("bench-cautions"); !strings.Contains(said, "Let the mainspring down") {
		t.Errorf("the cautions are %q", said)
	}
	asked.Set("hairspring_length", "long")
	refused := bench.Get("/bench/balance?" + asked.Encode()).Want(http.StatusUnprocessableEntity)
	if refused.Problem("hairspring_length") == "" || refused.Value("hairspring_length") != "long" ||
		refused.Value("balance_inertia") != "30" {
		t.Error("what was typed is lost, or nothing stands beside it")
	}
}

// TestBalanceCorrectsTheCalibre: from a docket the beat is filled in; the spring worked out goes into the calibre, and
// from then on stands in the form.
func TestBalanceCorrectsTheCalibre(t *testing.T) {
	t.Parallel()
	s := webtest.NewRegulation(t, docket.StageDiagnosis)
	at := "/dockets/" + s.Number.String() + "/bench/balance"
	fresh := s.Bench.Get(at).Want(http.StatusOK)
	if fresh.Value("beats_per_hour") != "21600" || !strings.Contains(fresh.Text("bench-filled"), "Gannet 40") {
		t.Errorf("filled in: %q", fresh.Value("beats_per_hour"))
	}
	asked := askedOf(balance.BalanceTool(), "beats_per_hour", "21600", "balance_inertia", "12 ± 0.1")
	page := s.Bench.Get(at + "?" + asked.Encode()).Want(http.StatusOK)
	version := page.Hidden("correction.version")
	s.Bench.Post(at+"/keep", webtest.KeptForm("correction", asked, "correction.version",
		version)).Want(http.StatusSeeOther)
	// HS-K-I2: 12 mg·cm² at 3 Hz asks for 4.26367e-7 N·m/rad.
	kept := s.Bench.Get(at).Want(http.StatusOK)
	if got := kept.Value("stiffness"); got != "0.4264" {
		t.Errorf("the calibre now fills in %q", got)
	}
	if got := kept.Value("balance_inertia"); got != "12" {
		t.Errorf("and an inertia of %q", got)
	}
	if said := kept.Text("kept"); !strings.Contains(said, "12 ± 0.1") || !strings.Contains(said, "µN·m/rad") {
		t.Errorf("the docket says %q", said)
	}
}
