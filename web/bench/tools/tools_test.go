package tools_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"ledgerwheel/web/bench/tools"
	"ledgerwheel/web/webtest"
)

// threeAndFour is an uncertainty of 5 from contributions of 3 and 4.
func threeAndFour() url.Values {
	return url.Values{"what": {"mean rate"}, "unit": {"s/d"}, "figure": {"20"}, "size1": {"3"}, "kind1": {"standard"},
		"size2": {"4"}, "kind2": {"standard"}, "kind3": {"within"}, "kind4": {"within"}, "lower": {"-40"}, "upper": {"40"},
		"rule": {"guarded"}}
}

func TestBenchToolsAreListedAndStandAlone(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	clerk := s.As(s.Clerk)
	list := clerk.Get("/bench").Want(http.StatusOK)
	for _, tool := range tools.AllTools() {
		link := list.One("bench-" + tool.Slug)
		page := clerk.Get(webtest.Attr(link, "href")).Want(http.StatusOK)
		if got := page.Text("page-title"); got != tool.Title {
			t.Errorf("%s is headed %q", tool.Slug, got)
		}
		if len(page.All("bench-answer")) != 0 || len(page.All("form-errors")) != 0 {
			t.Errorf("%s answers what nobody asked", tool.Slug)
		}
		if len(tool.Formulas) == 0 {
			t.Errorf("%s names no formula", tool.Slug)
		}
		for _, f := range tool.Formulas {
			if f.Text == "" || f.Source == "" || f.Limits == "" {
				t.Errorf("%s: the formula %q has no source or no limits", tool.Slug, f.Text)
			}
		}
		seen := map[string]bool{}
		for _, f := range tool.Fields {
			if seen[f.Name] || f.Name == "" || f.Label == "" {
				t.Errorf("%s: the field %q stands twice or has no label", tool.Slug, f.Name)
			}
			seen[f.Name] = true
			page.One(f.Name)
		}
	}
	clerk.Get("/bench/no-such-tool").Want(http.StatusNotFound)
	if links := clerk.Get("/").All("nav-bench-tools"); len(links) == 0 || webtest.TextOf(links[0]) != "Bench tools" {
		t.Error("the navigation doesn't lead to them")
	}
}

// Every tool refuses nonsense beside a field, keeps what was typed, and never falls over.
func TestBenchToolsRefuseNonsense(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	c := s.As(s.Watchmaker)
	for _, tool := range tools.AllTools() {
		for _, nonsense := range []string{"", "twelve", "-1", "0", "1e300", "NaN", strings.Repeat("9", 400),
			"\u200f\u05d0<b>"} {
			typed := url.Values{}
			for _, f := range tool.Fields {
				typed.Set(f.Name, nonsense)
			}
			page := c.Get("/bench/" + tool.Slug + "?" + typed.Encode())
			switch page.Status {
			case http.StatusOK:
				page.One("bench-answer")
			case http.StatusUnprocessableEntity:
				page.One("form-errors")
				for _, f := range tool.Fields {
					if f.Kind == "number" || f.Kind == "text" {
						if got := page.Value(f.Name); got != nonsense {
							t.Errorf("%s keeps %q of %s as %q", tool.Slug, nonsense, f.Name, got)
						}
					}
				}
			default:
				t.Errorf("%s answers %q in every field %d", tool.Slug, nonsense, page.Status)
			}
		}
	}
}

func TestUncertaintyTool(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	c := s.As(s.Watchmaker)
	with := func(more ...string) url.Values {
		v := threeAndFour()
		for i := 0; i+1 < len(more); i += 2 {
			v.Set(more[i], more[i+1])
		}
		return v
	}
	for _, test := range []struct {
		name  string
		typed url.Values
		says  []string
	}{
		// √(3² + 4²) = 5 and U = 10, by hand (JCGM 100:2008, 5.1.2 and 6.2.1); shares 9/25 and 16/25.
		{"quadrature", with(), []string{"+20 ± 10 s/d", "5 s/d", "36 %", "64 %", "pass"}},
		// JCGM 106:2012, 8.3: 35 ± 10 reaches beyond 40, so nothing is decided; simple acceptance (8.2) passes it.
		{"guard band", with("figure", "35"), []string{"undecided", "not below −40 s/d", "84 %"}},
		{"simple", with("figure", "35", "rule", "simple"), []string{"pass"}},
		{"fail", with("figure", "51"), []string{"fail", "1 %"}},
		// ±3 anywhere within is 3/√3 = 1.73 (JCGM 100, 4.3.7); a step of 1 is 1/√12 = 0.289 (F.2.2.1).
		{"rectangular", with("kind1", "within", "size2", ""), []string{"1.73 s/d"}},
		{"step", with("kind1", "step", "size1", "1", "size2", ""), []string{"0.289 s/d"}},
		// The mean of 1 to 5 is 3, its standard deviation √(2.5/5) = 0.707 (JCGM 100, 4.2.3).
		{"readings", with("figure", "", "readings", "1 2 3\n4 5", "size1", "", "size2", ""),
			[]string{"+3.0 ± 1.4 s/d", "0.707 s/d", "Spread of 5 readings"}},
	} {
		t.Run(test.name, func(t *testing.T) {
			page := c.Get("/bench/uncertainty?" + test.typed.Encode()).Want(http.StatusOK)
			said := page.Text("bench-answer")
			for _, want := range test.says {
				if want == "not below −40 s/d" { // both limits are given, so that they are said as a range
					want = "from −40 to 40 s/d"
				}
				if !strings.Contains(said, want) {
					t.Errorf("the answer lacks %q: %s", want, said)
				}
			}
		})
	}
	for field, typed := range map[string]url.Values{
		"figure": with("figure", "twenty"), "size1": with("size1", "-3"), "readings": with("readings", "7"),
		"upper": with("upper", "-50"),
		"kind2": with("kind2", "guessed"), "rule": with("rule", ""), "size3": with("part3", "the clock"),
	} {
		page := c.Get("/bench/uncertainty?" + typed.Encode()).Want(http.StatusUnprocessableEntity)
		if page.Problem(field) == "" {
			t.Errorf("%v: nothing stands beside %s", typed, field)
		}
		if got := page.Value("what"); got != "mean rate" {
			t.Errorf("the page keeps %q", got)
		}
	}
	if page := c.Get("/bench/uncertainty?figure=3&rule=guarded").Want(http.StatusUnprocessableEntity); page.Problem("size1") == "" {
		t.Error("a figure without any contribution is answered")
	}
}

func TestAnAnswerIsKeptAsAFinding(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.Noted()
	bench := s.As(s.Watchmaker)
	at := "/dockets/" + number + "/bench/uncertainty"
	page := bench.Get(at + "?" + threeAndFour().Encode()).Want(http.StatusOK)
	page.One("keep-form-finding")
	if len(page.All("keep-form-part")) != 0 || len(page.All("keep-form-correction")) != 0 {
		t.Error("the answer is offered as what it is not")
	}

	refused := bench.Post(at+"/keep", webtest.KeptForm("finding", threeAndFour(), "finding.note",
		"Before cleaning")).Want(http.StatusUnprocessableEntity)
	if refused.Problem("finding.component") == "" || refused.Problem("finding.severity") == "" {
		t.Error("nothing stands beside what is missing")
	}
	if strings.TrimSpace(refused.Value("finding.note")) != "Before cleaning" || refused.Value("figure") != "20" {
		t.Error("what was typed is lost")
	}
	if n := len(s.Findings(number)); n != 0 {
		t.Fatalf("%d findings were kept", n)
	}

	done := bench.Post(at+"/keep", webtest.KeptForm("finding", threeAndFour(), "finding.component", "balance-staff",
		"finding.severity", "observe",
		"finding.note", "Before cleaning", "finding.fault", "", "answer", "not what the tool says")).Want(http.StatusSeeOther)
	if want := "/dockets/" + number + "/diagnosis#balance-staff"; done.Location() != want {
		t.Errorf("it leads to %s, want %s", done.Location(), want)
	}
	findings := s.Findings(number)
	if len(findings) != 1 || !strings.Contains(findings[0], "+20 ± 10 s/d (k = 2): pass, from −40 to 40 s/d") ||
		!strings.Contains(findings[0], "Before cleaning") {
		t.Fatalf("kept: %q", findings)
	}

	kept := bench.Get(at).Want(http.StatusOK)
	if said := kept.Text("kept"); !strings.Contains(said, "Emrys Vale") ||
		!strings.Contains(said, "Contribution 1, Size: 3") || !strings.Contains(said, "5 s/d") {
		t.Errorf("the docket's page says %q", said)
	}
	again := webtest.Attr(kept.One("kept-again"), "href")
	if said := bench.Get(strings.TrimSuffix(again,
		"#answer")).Want(http.StatusOK).Text("bench-answer"); !strings.Contains(said, "+20 ± 10 s/d") {
		t.Errorf("worked out again it says %q", said)
	}
	journal := webtest.TextOf(bench.Get("/dockets/" + number + "/journal").Want(http.StatusOK).Document)
	for _, want := range []string{"Uncertainty and decision: kept as a finding", "Contribution 2, Size: 4",
		"Combined standard uncertainty: 5 s/d", "36 %"} {
		if !strings.Contains(journal, want) {
			t.Errorf("the journal lacks %q", want)
		}
	}
}

func TestWhoMayKeepAnAnswer(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.Noted()
	at := "/dockets/" + number + "/bench/uncertainty"
	page := s.As(s.Clerk).Get(at + "?" + threeAndFour().Encode()).Want(http.StatusOK)
	page.One("bench-answer")
	if len(page.All("bench-keep")) != 0 {
		t.Error("the clerk is offered what is the bench's")
	}
	s.As(s.Clerk).Post(at+"/keep", webtest.KeptForm("finding", threeAndFour())).Want(http.StatusForbidden)
	bench := s.As(s.Watchmaker)
	bench.Post(at+"/keep", nil).Want(http.StatusBadRequest)
	bench.Post(at+"/keep", webtest.KeptForm("poem", threeAndFour())).Want(http.StatusBadRequest)
	bench.Post(at+"/keep", webtest.KeptForm("part", threeAndFour())).Want(http.StatusForbidden) // this answer is no part
	wrong := threeAndFour()
	wrong.Set("size1", "three")
	if refused := bench.Post(at+"/keep", webtest.KeptForm("finding",
		wrong)).Want(http.StatusUnprocessableEntity); refused.Problem("size1") == "" {
		t.Error("what can't be worked out is not said")
	}
}

// calibreOf gives the docket's watch a calibre of the shop's list and returns its id.
func calibreOf(s *webtest.Site, number string) string {
	s.T.Helper()
	var id int64
	err := s.Store.Pool().QueryRow(s.T.Context(), `WITH k AS (
			INSERT INTO calibre (name, name_key, beats_per_hour, grade, barrel_inside_diameter_mm, arbor_diameter_mm)
			VALUES ('Tarnside 7', 'tarnside 7', 18000, 'modern', 12, 4) RETURNING id)
		UPDATE watch SET calibre_id = k.id, calibre_name = 'Tarnside 7' FROM k
		WHERE watch.id = (SELECT watch_id FROM docket WHERE number = $1) RETURNING k.id`, number).Scan(&id)
	if err != nil {
		s.T.Fatal(err)
	}
	return webtest.Itoa(id)
}

func TestAnAnswerBecomesAPartAndCorrectsTheCalibre(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.Noted()
	calibreOf(s, number)
	bench := s.As(s.Watchmaker)
	at := "/dockets/" + number + "/bench/mainspring"
	page := bench.Get(at).Want(http.StatusOK)
	if said := page.Text("bench-filled"); !strings.Contains(said, "Tarnside 7") {
		t.Errorf("filled in from %q", said)
	}
	if page.Value("barrel_inside_diameter") != "12" || page.Value("arbor_diameter") != "4" {
		t.Error("what the calibre knows is not filled in")
	}
	typed := url.Values{"barrel_inside_diameter": {"12"}, "arbor_diameter": {"4"}, "mainspring_width": {"1.5"},
		"turns": {"6.5"}}
	page = bench.Get(at + "?" + typed.Encode()).Want(http.StatusOK)
	if said := webtest.TextOf(page.One("keep-form-correction")); !strings.Contains(said, "not known → 1.5") {
		t.Errorf("the correction says %q", said)
	}
	version := page.Hidden("correction.version")

	bench.Post(at+"/keep", webtest.KeptForm("part", typed, "part.quantity",
		"none")).Want(http.StatusUnprocessableEntity).One("part.quantity-error")
	bench.Post(at+"/keep", webtest.KeptForm("part", typed, "part.quantity", "1")).Want(http.StatusSeeOther)
	if said := bench.Get("/dockets/" + number + "/parts").Text("parts"); !strings.Contains(said, "Mainspring, 1.50 ×") {
		t.Errorf("the parts say %q", said)
	}

	bench.Post(at+"/keep", webtest.KeptForm("correction", typed, "correction.version", version)).Want(http.StatusSeeOther)
	late := bench.Post(at+"/keep", webtest.KeptForm("correction", typed, "correction.version",
		version)).Want(http.StatusConflict)
	if said := late.Text("keep-errors"); !strings.Contains(said, "Somebody changed the calibre") {
		t.Errorf("a late correction is told %q", said)
	}
	late.One("bench-answer")
	page = bench.Get(at + "?" + typed.Encode()).Want(http.StatusOK)
	if len(page.All("keep-form-correction")) != 0 {
		t.Error("a correction is offered that the calibre has already")
	}
	if page.Value("mainspring_width") != "1.5" || len(page.All("kept")) != 2 {
		t.Error("the page does not show what was kept")
	}

	if _, err := s.Store.Pool().Exec(t.Context(),
		`UPDATE docket SET stage = 'withdrawn', open = false, handed_back_at = $2 WHERE number = $1`, number,
		webtest.Now); err != nil {
		t.Fatal(err)
	}
	closed := bench.Post(at+"/keep", webtest.KeptForm("part", typed, "part.quantity",
		"1")).Want(http.StatusUnprocessableEntity)
	if said := closed.Text("keep-errors"); !strings.Contains(said, "closed") {
		t.Errorf("on a closed docket: %q", said)
	}
	if page := bench.Get(at + "?" + typed.Encode()).Want(http.StatusOK); len(page.All("bench-keep")) != 0 {
		t.Error("a closed docket is offered to keep something")
	}
}
