package toolset_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"ledgerwheel/web/bench/tools/toolset"
	"ledgerwheel/web/webtest"
)

// aPivot is a third wheel's pivot of 0.20 mm in a hole of 0.22 mm, made up.
func aPivot(pairs ...string) url.Values {
	v := url.Values{"place": {"third-wheel"}, "pivot": {"0.20"}, "hole": {"0,22"}, "half_width": {"0.002"},
		"endshake_half_width": {"0.005"}}
	for i := 0; i < len(pairs); i += 2 {
		v.Set(pairs[i], pairs[i+1])
	}
	return v
}

func TestJewelFitPage(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	bench := s.As(s.Watchmaker)
	start := bench.Get("/bench/jewel-fit").Want(http.StatusOK)
	wantWords(t, start.Text("bench-cautions"), "eye protection", "Let the mainspring down", "licensed practice")
	wantWords(t, start.Text("bench-formulas"), "common practice", "Endshakes and Division",
		"Balance staff 0.07 to 0.14 mm: side shake 0.005 to 0.020, end shake 0.010 to 0.050", "JCGM 100:2008")
	// 0.02 mm over 2.5 mm lifts a rim four millimetres out by 0.032 mm either way (intercept theorem); U = 2·0.002·√(2/3).
	a := bench.Get("/bench/jewel-fit?" + aPivot("endshake", "0.04", "between", "2.5", "rim_radius",
		"4").Encode()).Want(http.StatusOK)
	wantWords(t, a.Text("bench-answer"), "0.0200 ± 0.0033 mm", "usual", "0.064 mm", "0.46°", "The end shake is usual")
	wantWords(t, a.Text("bench-drawing"), "Pivot of the third wheel in its hole", "0.2 in 0.22 mm")
}

func TestJewelFitAnswers(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		typed         url.Values
		finding, part string
	}{
		"usual":  {aPivot(), "side shake 0.020 mm, usual", ""},
		"wide":   {aPivot("hole", "0.26"), "wider than usual", "hole 0.210 to 0.222 mm for a pivot of 0.200 mm"},
		"tight":  {aPivot("hole", "0.19"), "side shake −0.010 mm, too tight", "hole 0.210 to 0.222 mm"},
		"groove": {aPivot("smallest", "0.15"), "A groove of 0.050 mm", "pivot 0.200 mm, for a hole of 0.220 mm"},
	} {
		a, bad := toolset.JewelFitTool().Solve(c.typed)
		if len(bad) > 0 {
			t.Fatalf("%s: %v", name, bad)
		}
		if !strings.Contains(a.Finding, c.finding) {
			t.Errorf("%s: finding %q", name, a.Finding)
		}
		if (a.Part == nil) != (c.part == "") || a.Part != nil && !strings.Contains(a.Part.Specification, c.part) {
			t.Errorf("%s: part %+v", name, a.Part)
		}
	}
	for field, typed := range map[string]url.Values{
		"place": aPivot("place", "crown"), "pivot": aPivot("pivot", ""), "hole": aPivot("hole", "wide"),
		"smallest": aPivot("smallest", "0.3"),
		"endshake": aPivot("endshake", "-1"), "half_width": aPivot("half_width", "1"), "between": aPivot("between", "-2"),
	} {
		if _, bad := toolset.JewelFitTool().Solve(typed); len(bad) != 1 || bad[field] == "" {
			t.Errorf("%s: %v", field, bad)
		}
	}
	if a, _ := toolset.JewelFitTool().Solve(aPivot("hole", "0.26", "metal", "on")); a.Part == nil ||
		a.Part.Name != "Bush: third wheel" {
		t.Errorf("a worn hole in metal wants %+v", a.Part)
	}
}

// Refused figures stay as typed, with the reason beside the field.
func TestJewelFitRefuses(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	page := s.As(s.Watchmaker).Get("/bench/jewel-fit?" +
		aPivot("pivot", "fine").Encode()).Want(http.StatusUnprocessableEntity)
	if page.Value("pivot") != "fine" || !strings.Contains(page.Text("form-errors"), "diameter in mm") {
		t.Errorf("kept %q, said %q", page.Value("pivot"), page.Text("form-errors"))
	}
}

func TestOilPage(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	bench := s.As(s.Watchmaker)
	start := bench.Get("/bench/oil").Want(http.StatusOK)
	wantWords(t, start.Text("bench-cautions"), "good ventilation", "eye protection", "licensed practice")
	wantWords(t, start.Text("bench-formulas"), "Common practice", "sheet goes first")
	// Half to two thirds of 1.2 mm; π/4·0.6²·0.02 and π/4·0.8²·0.03 mm³ are 5.65 and 15.1 nl.
	a := bench.Get("/bench/oil?" + url.Values{"place": {"balance"}, "across": {"1.2"},
		"lubrication": {"Keyless; grease; little"}}.Encode()).Want(http.StatusOK)
	wantWords(t, a.Text("bench-answer"), "Thin oil", "0.60 to 0.80 mm", "6 to 15 nl", "The calibre’s own sheet", "Keyless",
		"little", "Pallet arbor pivots")
	wantWords(t, a.Text("bench-drawing"), "Balance jewels with endstones")
}

func TestOilAnswers(t *testing.T) {
	t.Parallel()
	solve := toolset.OilTool().Solve
	a, bad := solve(url.Values{"place": {"teeth"}, "lubrication": {"Keyless; grease"}})
	if len(bad) > 0 || a.Drawing != nil || a.Correction["lubrication"] != "Keyless; grease\nWheel teeth and pinion "+
		"leaves of the train; nothing; common practice" {
		t.Errorf("%v %v", bad, a.Correction)
	}
	if a, _ := solve(url.Values{"place": {"train"}, "lubrication": {"third wheel pivots; medium"}}); a.Correction != nil {
		t.Errorf("what the sheet says is corrected: %v", a.Correction)
	}
	if a, bad := solve(url.Values{"place": {"train"}, "across": {"0.8"}, "depth": {"0.2"}}); len(bad) > 0 ||
		a.Drawing == nil {
		t.Errorf("no amount of a cup: %v", bad)
	}
	for field, typed := range map[string]url.Values{
		"place":       {"place": {"dial"}},
		"across":      {"place": {"balance"}, "across": {"wide"}},
		"depth":       {"place": {"train"}, "across": {"0.8"}},
		"lubrication": {"place": {"train"}, "lubrication": {"only a place"}},
	} {
		if _, bad := solve(typed); len(bad) != 1 || bad[field] == "" {
			t.Errorf("%s: %v", field, bad)
		}
	}
	if _, bad := solve(url.Values{"place": {"teeth"}, "across": {"1"}, "depth": {"1"}}); len(bad) != 2 {
		t.Errorf("sizes where nothing is worked out: %v", bad)
	}
}

// From a docket the answer is kept as a finding, and the journal has what it was worked out from.
func TestJewelFitIsKept(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.Noted()
	bench := s.As(s.Watchmaker)
	at := "/dockets/" + number + "/bench/jewel-fit"
	page := bench.Get(at + "?" + aPivot("hole", "0.26").Encode()).Want(http.StatusOK)
	page.One("keep-form-finding")
	page.One("keep-form-part")
	bench.Post(at+"/keep", webtest.KeptForm("finding", aPivot("hole", "0.26"), "finding.component", "jewels",
		"finding.severity", "observe")).Want(http.StatusSeeOther)
	if found := s.Findings(number); len(found) != 1 ||
		!strings.Contains(found[0], "side shake 0.060 mm, wider than usual") {
		t.Errorf("kept: %q", found)
	}
	journal := webtest.TextOf(bench.Get("/dockets/" + number + "/journal").Want(http.StatusOK).Document)
	for _, want := range []string{"Pivot and jewel: kept as a finding", "Pivot, diameter: 0.20", "Hole, diameter: 0.26"} {
		if !strings.Contains(journal, want) {
			t.Errorf("the journal lacks %q", want)
		}
	}
}
