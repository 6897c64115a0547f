package toolset_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"ledgerwheel/domain/watch"
	"ledgerwheel/web/bench/tools/toolset"
	"ledgerwheel/web/webtest"
)

// benchQuery makes a tool's address from field=value pairs.
func benchQuery(slug string, pairs ...string) string {
	v := url.Values{}
	for i := 0; i < len(pairs); i += 2 {
		v.Set(pairs[i], pairs[i+1])
	}
	return "/bench/" + slug + "?" + v.Encode()
}

func wantWords(t *testing.T, got string, words ...string) {
	t.Helper()
	for _, w := range words {
		if !strings.Contains(got, w) {
			t.Errorf("%q is missing from: %s", w, got)
		}
	}
}

// The figures are those of the check rows MS-N-3 and MS-LEN-2 (see domain/train), as printed.
func TestMainspringPage(t *testing.T) {
	t.Parallel()
	c := webtest.NewSite(t)
	bench := c.As(c.Watchmaker)

	empty := bench.Get("/bench/mainspring").Want(http.StatusOK)
	if len(empty.All("bench-answer")) != 0 {
		t.Error("an answer before anything was asked")
	}
	wantWords(t, strings.ToLower(empty.Text("bench-cautions")), "before", "opening the barrel", "eye protection",
		"away from the face", "local rules", "licensed practice")
	wantWords(t, empty.Text("bench-formulas"), "half the free space", "Daniels", "Limits:")

	a := bench.Get(benchQuery("mainspring", "barrel_inside_diameter", "10", "arbor_diameter", "3,3333",
		"mainspring_thickness", "0.11")).Want(http.StatusOK)
	wantWords(t, a.Text("bench-answer"), "0.110 × 317 mm", "about 6.7", "7.15 by areas", "50 %",
		"91 times as wide", "usual is 87 to 100, here 0.100 to 0.115 mm", "What a wrong spring does", "a tenth too thick",
		"130 %", "a fifth too long")
	drawing := a.Text("bench-drawing")
	wantWords(t, drawing, "Barrel with the spring wanted", "about 6.7 turns", "50 %")
	a = bench.Get(benchQuery("mainspring", "barrel_inside_diameter", "21.3", "arbor_diameter", "7.1",
		"mainspring_thickness", "0.254")).Want(http.StatusOK)
	wantWords(t, a.Text("bench-answer"), "0.254 × 623 mm")
}

func TestMainspringForTurnsAndHours(t *testing.T) {
	t.Parallel()
	ask := func(pairs ...string) toolset.Answer {
		t.Helper()
		v := url.Values{"barrel_inside_diameter": {"12"}, "arbor_diameter": {"4"}, "barrel_height": {"1.6"}}
		for i := 0; i < len(pairs); i += 2 {
			v.Set(pairs[i], pairs[i+1])
		}
		a, bad := toolset.MainspringTool().Solve(v)
		if len(bad) > 0 {
			t.Fatal(bad)
		}
		return a
	}
	// MS-N-5 turned round: 7.2636 turns by areas, half a turn fewer in practice, are those of 0.13 mm.
	a := ask("turns", "6.7636")
	if want := "1.50 × 0.130 × 387 mm, barrel 12 mm inside"; a.Part.Specification != want || a.Part.Name != "Mainspring" {
		t.Errorf("part %+v, want %s", *a.Part, want)
	}
	if c := a.Correction; c["mainspring_width"] != "1.5" || c["mainspring_thickness"] != "0.13" ||
		c["mainspring_length"] != "387" {
		t.Errorf("correction %v", c)
	}
	if a.Rows[0].Label != "Thickness" || strings.Contains(a.Finding, "than usual") {
		t.Errorf("the thickness doesn't lead, or a usual one is doubted: %+v, %s", a.Rows[0], a.Finding)
	}
	// MS-RES-D2: six turns run 36 hours through 72 and 12. They are to be had in practice: 0.145 mm by six and a half.
	a = ask("hours", "36", "barrel_teeth", "72", "centre_pinion_leaves", "12")
	wantWords(t, a.Finding, "0.145 ×", "for 6.00 turns in practice", "gives about 6.0 turns in practice", "50 %")
	if len(a.Tables) != 2 || len(a.Tables[0].Rows) != 4 || len(a.Tables[1].Rows) != 5 {
		t.Errorf("tables %+v", a.Tables)
	}
	// A spring found 0.15 mm thick in place of 0.13: (15/13)³ = 1.536.
	a = ask("mainspring_thickness", "0.13", "found_width", "1.5", "found_thickness", "0.15", "found_length", "335")
	wantWords(t, a.Finding, "Mainspring found: 1.50 × 0.150 × 335 mm", "Too thick", "54 % stronger",
		"Mainspring wanted: 1.50 × 0.130")
	a = ask("found_thickness", "0.13", "found_length", "387")
	wantWords(t, a.Finding, "Its sizes are right", "as thick as the one found")
	// A known spring too thick for the turns is said to fall short.
	a = ask("mainspring_thickness", "0.13", "turns", "8")
	var note string
	for _, r := range a.Rows {
		if r.Label == "Turns wanted" {
			note = r.Note
		}
	}
	wantWords(t, note, "falls short of them by about 1.2", "0.111 mm")
	// 12 mm by 0.13 is 92; by 0.16, 75: thicker than the rule, and said before anything is ordered.
	a = ask("mainspring_thickness", "0.16")
	wantWords(t, a.Finding, "thicker than usual in this barrel", "before it is ordered")
	a = ask("mainspring_thickness", "0.1")
	wantWords(t, a.Finding, "thinner than usual in this barrel")
}

func TestMainspringRefusals(t *testing.T) {
	t.Parallel()
	c := webtest.NewSite(t)
	bench := c.As(c.Watchmaker)
	a := bench.Get(benchQuery("mainspring", "barrel_inside_diameter", "10", "arbor_diameter", "12", "turns",
		"6")).Want(http.StatusUnprocessableEntity)
	wantWords(t, a.Problem("arbor_diameter"), "leaves no room")
	a = bench.Get(benchQuery("mainspring", "barrel_inside_diameter", "10", "arbor_diameter", "3", "mainspring_thickness",
		"thin")).Want(http.StatusUnprocessableEntity)
	wantWords(t, a.Problem("mainspring_thickness"), "from 0.02 to 1 mm")
	if !strings.Contains(a.Body, `value="thin"`) {
		t.Error("what was typed is gone")
	}
	for field, pairs := range map[string][]string{
		"barrel_inside_diameter": {"barrel_inside_diameter", "0"},
		"arbor_diameter":         {"arbor_diameter", "-3"},
		"barrel_height":          {"barrel_height", "0.1"},
		"mainspring_thickness":   {"mainspring_thickness", "thin"},
		"mainspring_length":      {"mainspring_thickness", "0.1", "mainspring_length", "701"},
		"mainspring_width":       {"mainspring_thickness", "0.1", "mainspring_width", "−1"},
		"turns":                  {},
		"hours":                  {"hours", "0", "barrel_teeth", "80", "centre_pinion_leaves", "10"},
		"barrel_teeth":           {"turns", "6", "barrel_teeth", "80.5", "centre_pinion_leaves", "10"},
		"centre_pinion_leaves":   {"turns", "6", "barrel_teeth", "80"},
		"found_length":           {"found_thickness", "0.1", "turns", "6"},
		"found_thickness":        {"found_thickness", "4", "found_length", "300", "turns", "6"},
	} {
		v := url.Values{"barrel_inside_diameter": {"10"}, "arbor_diameter": {"3.3"}}
		for i := 0; i < len(pairs); i += 2 {
			v.Set(pairs[i], pairs[i+1])
		}
		if _, bad := toolset.MainspringTool().Solve(v); bad[field] == "" || len(bad) != 1 {
			t.Errorf("%s: got %v", field, bad)
		}
	}
	wantOnly := func(field string, pairs ...string) {
		t.Helper()
		v := url.Values{"barrel_inside_diameter": {"4"}, "arbor_diameter": {"1.5"}, "barrel_teeth": {"80"},
			"centre_pinion_leaves": {"10"}}
		for i := 0; i < len(pairs); i += 2 {
			v.Set(pairs[i], pairs[i+1])
		}
		if _, bad := toolset.MainspringTool().Solve(v); bad[field] == "" || len(bad) != 1 {
			t.Errorf("%v: got %v", pairs, bad)
		}
	}
	wantOnly("turns", "turns", "39")
	wantOnly("hours", "hours", "300") // 37.5 turns take a spring thinner than any made
}

func TestBarrelToolsFillFromCalibre(t *testing.T) {
	t.Parallel()
	k := watch.Calibre{BarrelTeeth: 72, CentrePinionLeaves: 12, BarrelInsideDiameterMm: 10.5, ArborDiameterMm: 3.5,
		MainspringWidthMm:     1.5,
		MainspringThicknessMm: 0.12, MainspringLengthMm: 320, PowerReserveHours: 36}
	for _, tool := range []toolset.Tool{toolset.MainspringTool(), toolset.PowerReserveTool()} {
		v := tool.Fill(k)
		names := map[string]bool{}
		for _, f := range tool.Fields {
			names[f.Name] = true
		}
		for name := range v {
			if !names[name] {
				t.Errorf("%s: there is no field %s to fill", tool.Slug, name)
			}
		}
		a, bad := tool.Solve(v)
		if len(bad) > 0 || a.Finding == "" || a.Drawing == nil {
			t.Errorf("%s: %v, %+v", tool.Slug, bad, a)
		}
		if got := tool.Fill(watch.Calibre{}); len(got) != 0 {
			t.Errorf("%s: an unknown calibre fills %v", tool.Slug, got)
		}
		for name := range a.Correction {
			if _, known := k.Form()[name]; !known {
				t.Errorf("%s: the calibre's form has no %s", tool.Slug, name)
			}
		}
	}
}

// From a docket the answer is kept as a part, to be ordered, and the journal says from what it was worked out.
func TestMainspringIsKeptAsAPart(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.Noted()
	bench := s.As(s.Watchmaker)
	asked := url.Values{"barrel_inside_diameter": {"12"}, "arbor_diameter": {"4"}, "barrel_height": {"1.6"},
		"turns": {"6.7636"}}
	at := "/dockets/" + number + "/bench/mainspring"
	bench.Get(at + "?" + asked.Encode()).Want(http.StatusOK).One("keep-form-part")
	bench.Post(at+"/keep", webtest.KeptForm("part", asked, "part.quantity", "1")).Want(http.StatusSeeOther)
	for _, page := range []string{"/parts", "/journal"} {
		wantWords(t, webtest.TextOf(bench.Get("/dockets/"+number+page).Want(http.StatusOK).Document),
			"1.50 × 0.130 × 387 mm, barrel 12 mm inside")
	}
	wantWords(t, webtest.TextOf(bench.Get("/dockets/"+number+"/journal").Document), "Turns of the barrel", "6.7636")
	bench.Post(at+"/keep", webtest.KeptForm("part", url.Values{"barrel_inside_diameter": {"3"}, "arbor_diameter": {"4"},
		"turns": {"7"}})).Want(http.StatusUnprocessableEntity)
}
