package web

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"ledgerwheel/domain/stock"
	"ledgerwheel/domain/watch"
)

// threeAndFour is an uncertainty of 5 from contributions of 3 and 4.
func threeAndFour() url.Values {
	return url.Values{"what": {"mean rate"}, "unit": {"s/d"}, "figure": {"20"}, "size1": {"3"}, "kind1": {"standard"},
		"size2": {"4"}, "kind2": {"standard"}, "kind3": {"within"}, "kind4": {"within"}, "lower": {"-40"}, "upper": {"40"}, "rule": {"guarded"}}
}

func TestBenchToolsAreListedAndStandAlone(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	clerk := s.as(s.clerk)
	list := clerk.get("/bench").want(http.StatusOK)
	for _, tool := range benchTools() {
		link := list.one("bench-" + tool.Slug)
		page := clerk.get(attr(link, "href")).want(http.StatusOK)
		if got := page.text("page-title"); got != tool.Title {
			t.Errorf("%s is headed %q", tool.Slug, got)
		}
		if len(page.all("bench-answer")) != 0 || len(page.all("form-errors")) != 0 {
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
			page.one(f.Name)
		}
	}
	clerk.get("/bench/no-such-tool").want(http.StatusNotFound)
	if links := clerk.get("/").all("nav-bench-tools"); len(links) == 0 || textOf(links[0]) != "Bench tools" {
		t.Error("the navigation doesn't lead to them")
	}
}

// Every tool refuses nonsense beside a field, keeps what was typed, and never falls over.
func TestBenchToolsRefuseNonsense(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	c := s.as(s.watchmaker)
	for _, tool := range benchTools() {
		for _, nonsense := range []string{"", "twelve", "-1", "0", "1e300", "NaN", strings.Repeat("9", 400), "\u200f\u05d0<b>"} {
			typed := url.Values{}
			for _, f := range tool.Fields {
				typed.Set(f.Name, nonsense)
			}
			page := c.get("/bench/" + tool.Slug + "?" + typed.Encode())
			switch page.status {
			case http.StatusOK:
				page.one("bench-answer")
			case http.StatusUnprocessableEntity:
				page.one("form-errors")
				for _, f := range tool.Fields {
					if f.Kind == "number" || f.Kind == "text" {
						if got := page.value(f.Name); got != nonsense {
							t.Errorf("%s keeps %q of %s as %q", tool.Slug, nonsense, f.Name, got)
						}
					}
				}
			default:
				t.Errorf("%s answers %q in every field %d", tool.Slug, nonsense, page.status)
			}
		}
	}
}

func TestUncertaintyTool(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	c := s.as(s.watchmaker)
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
		{"readings", with("figure", "", "readings", "1 2 3\n4 5", "size1", "", "size2", ""), []string{"+3.0 ± 1.4 s/d", "0.707 s/d", "Spread of 5 readings"}},
	} {
		t.Run(test.name, func(t *testing.T) {
			page := c.get("/bench/uncertainty?" + test.typed.Encode()).want(http.StatusOK)
			said := page.text("bench-answer")
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
		"figure": with("figure", "twenty"), "size1": with("size1", "-3"), "readings": with("readings", "7"), "upper": with("upper", "-50"),
		"kind2": with("kind2", "guessed"), "rule": with("rule", ""), "size3": with("part3", "the clock"),
	} {
		page := c.get("/bench/uncertainty?" + typed.Encode()).want(http.StatusUnprocessableEntity)
		if page.problem(field) == "" {
			t.Errorf("%v: nothing stands beside %s", typed, field)
		}
		if got := page.value("what"); got != "mean rate" {
			t.Errorf("the page keeps %q", got)
		}
	}
	if page := c.get("/bench/uncertainty?figure=3&rule=guarded").want(http.StatusUnprocessableEntity); page.problem("size1") == "" {
		t.Error("a figure without any contribution is answered")
	}
}

func TestAnAnswerIsKeptAsAFinding(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	number := s.noted()
	bench := s.as(s.watchmaker)
	at := "/dockets/" + number + "/bench/uncertainty"
	page := bench.get(at + "?" + threeAndFour().Encode()).want(http.StatusOK)
	page.one("keep-form-finding")
	if len(page.all("keep-form-part")) != 0 || len(page.all("keep-form-correction")) != 0 {
		t.Error("the answer is offered as what it is not")
	}

	refused := bench.post(at+"/keep", keptForm("finding", threeAndFour(), "finding.note", "Before cleaning")).want(http.StatusUnprocessableEntity)
	if refused.problem("finding.component") == "" || refused.problem("finding.severity") == "" {
		t.Error("nothing stands beside what is missing")
	}
	if strings.TrimSpace(refused.value("finding.note")) != "Before cleaning" || refused.value("figure") != "20" {
		t.Error("what was typed is lost")
	}
	if n := len(s.findings(number)); n != 0 {
		t.Fatalf("%d findings were kept", n)
	}

	done := bench.post(at+"/keep", keptForm("finding", threeAndFour(), "finding.component", "balance-staff", "finding.severity", "observe",
		"finding.note", "Before cleaning", "finding.fault", "", "answer", "not what the tool says")).want(http.StatusSeeOther)
	if want := "/dockets/" + number + "/diagnosis#balance-staff"; done.location() != want {
		t.Errorf("it leads to %s, want %s", done.location(), want)
	}
	findings := s.findings(number)
	if len(findings) != 1 || !strings.Contains(findings[0], "+20 ± 10 s/d (k = 2): pass, from −40 to 40 s/d") || !strings.Contains(findings[0], "Before cleaning") {
		t.Fatalf("kept: %q", findings)
	}

	kept := bench.get(at).want(http.StatusOK)
	if said := kept.text("kept"); !strings.Contains(said, "Emrys Vale") || !strings.Contains(said, "Contribution 1, Size: 3") || !strings.Contains(said, "5 s/d") {
		t.Errorf("the docket's page says %q", said)
	}
	again := attr(kept.one("kept-again"), "href")
	if said := bench.get(strings.TrimSuffix(again, "#answer")).want(http.StatusOK).text("bench-answer"); !strings.Contains(said, "+20 ± 10 s/d") {
		t.Errorf("worked out again it says %q", said)
	}
	journal := textOf(bench.get("/dockets/" + number + "/journal").want(http.StatusOK).document)
	for _, want := range []string{"Uncertainty and decision: kept as a finding", "Contribution 2, Size: 4", "Combined standard uncertainty: 5 s/d", "36 %"} {
		if !strings.Contains(journal, want) {
			t.Errorf("the journal lacks %q", want)
		}
	}
}

func TestWhoMayKeepAnAnswer(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	number := s.noted()
	at := "/dockets/" + number + "/bench/uncertainty"
	page := s.as(s.clerk).get(at + "?" + threeAndFour().Encode()).want(http.StatusOK)
	page.one("bench-answer")
	if len(page.all("bench-keep")) != 0 {
		t.Error("the clerk is offered what is the bench's")
	}
	s.as(s.clerk).post(at+"/keep", keptForm("finding", threeAndFour())).want(http.StatusForbidden)
	bench := s.as(s.watchmaker)
	bench.post(at+"/keep", nil).want(http.StatusBadRequest)
	bench.post(at+"/keep", keptForm("poem", threeAndFour())).want(http.StatusBadRequest)
	bench.post(at+"/keep", keptForm("part", threeAndFour())).want(http.StatusForbidden) // this answer is no part
	wrong := threeAndFour()
	wrong.Set("size1", "three")
	if refused := bench.post(at+"/keep", keptForm("finding", wrong)).want(http.StatusUnprocessableEntity); refused.problem("size1") == "" {
		t.Error("what can't be worked out is not said")
	}
}

func TestAnswersAsPartAndCorrection(t *testing.T) {
	t.Parallel()
	b := benchWork{tool: benchTool{Title: "Mainspring"}, answer: benchAnswer{Part: &benchPart{"Mainspring", "1.20 × 0.105 × 360 mm"},
		Finding: strings.Repeat("The spring is too strong. ", 8)}}
	f := emptyForm()
	f.Values.Set("part.quantity", "2")
	part, problems := b.part(f)
	if len(problems) != 0 || part.Description != "Mainspring, 1.20 × 0.105 × 360 mm" || part.Quantity != 2 || part.State != stock.Needed {
		t.Errorf("the part is %+v, %v", part, problems)
	}
	b.answer.Part.Specification = strings.Repeat("0123456789", 30)
	if part, problems = b.part(f); len(problems) != 0 || part.Description != "Mainspring" || part.Note != b.answer.Part.Specification {
		t.Errorf("the long part is %+v, %v", part, problems)
	}
	if found := b.finding(f); found.Fault != "Mainspring" || !strings.HasPrefix(found.Note, "The spring is too strong.") {
		t.Errorf("the long finding is %+v", found)
	}
	f.Values.Set("finding.fault", "too strong")
	if found := b.finding(f); found.Fault != "too strong" || !strings.HasPrefix(found.Note, "The spring is too strong.") {
		t.Errorf("the finding in other words is %+v", found)
	}

	k := watch.Calibre{Name: "Tarnside 7", BeatsPerHour: 18000, GradeKey: "modern", PowerReserveHours: 40}
	b.answer.Correction = map[string]string{"power_reserve_hours": "42", "beats_per_hour": "18000"}
	form := b.correctionForm(k, 3)
	if form == nil || form.Version != "3" || len(form.Said) != 1 || !strings.Contains(form.Said[0].Cell.Text, "40 → 42") {
		t.Errorf("the correction is offered as %+v", form)
	}
	b.answer.Correction = map[string]string{"power_reserve_hours": "40"}
	if form := b.correctionForm(k, 3); form != nil {
		t.Error("a correction is offered that changes nothing")
	}
}

// calibreOf gives the docket's watch a calibre of the shop's list and returns its id.
func (s *site) calibreOf(number string) string {
	s.t.Helper()
	var id int64
	err := s.store.Pool().QueryRow(s.t.Context(), `WITH k AS (
			INSERT INTO calibre (name, name_key, beats_per_hour, grade, barrel_inside_diameter_mm, arbor_diameter_mm)
			VALUES ('Tarnside 7', 'tarnside 7', 18000, 'modern', 12, 4) RETURNING id)
		UPDATE watch SET calibre_id = k.id, calibre_name = 'Tarnside 7' FROM k
		WHERE watch.id = (SELECT watch_id FROM docket WHERE number = $1) RETURNING k.id`, number).Scan(&id)
	if err != nil {
		s.t.Fatal(err)
	}
	return itoa(id)
}

func TestAnAnswerBecomesAPartAndCorrectsTheCalibre(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	number := s.noted()
	s.calibreOf(number)
	bench := s.as(s.watchmaker)
	at := "/dockets/" + number + "/bench/mainspring"
	page := bench.get(at).want(http.StatusOK)
	if said := page.text("bench-filled"); !strings.Contains(said, "Tarnside 7") {
		t.Errorf("filled in from %q", said)
	}
	if page.value("barrel_inside_diameter") != "12" || page.value("arbor_diameter") != "4" {
		t.Error("what the calibre knows is not filled in")
	}
	typed := url.Values{"barrel_inside_diameter": {"12"}, "arbor_diameter": {"4"}, "mainspring_width": {"1.5"}, "turns": {"6.5"}}
	page = bench.get(at + "?" + typed.Encode()).want(http.StatusOK)
	if said := textOf(page.one("keep-form-correction")); !strings.Contains(said, "not known → 1.5") {
		t.Errorf("the correction says %q", said)
	}
	version := page.hidden("correction.version")

	bench.post(at+"/keep", keptForm("part", typed, "part.quantity", "none")).want(http.StatusUnprocessableEntity).one("part.quantity-error")
	bench.post(at+"/keep", keptForm("part", typed, "part.quantity", "1")).want(http.StatusSeeOther)
	if said := bench.get("/dockets/" + number + "/parts").text("parts"); !strings.Contains(said, "Mainspring, 1.50 ×") {
		t.Errorf("the parts say %q", said)
	}

	bench.post(at+"/keep", keptForm("correction", typed, "correction.version", version)).want(http.StatusSeeOther)
	late := bench.post(at+"/keep", keptForm("correction", typed, "correction.version", version)).want(http.StatusConflict)
	if said := late.text("keep-errors"); !strings.Contains(said, "Somebody changed the calibre") {
		t.Errorf("a late correction is told %q", said)
	}
	late.one("bench-answer")
	page = bench.get(at + "?" + typed.Encode()).want(http.StatusOK)
	if len(page.all("keep-form-correction")) != 0 {
		t.Error("a correction is offered that the calibre has already")
	}
	if page.value("mainspring_width") != "1.5" || len(page.all("kept")) != 2 {
		t.Error("the page does not show what was kept")
	}

	if _, err := s.store.Pool().Exec(t.Context(), `UPDATE docket SET stage = 'withdrawn', open = false, handed_back_at = $2 WHERE number = $1`, number, testNow); err != nil {
		t.Fatal(err)
	}
	closed := bench.post(at+"/keep", keptForm("part", typed, "part.quantity", "1")).want(http.StatusUnprocessableEntity)
	if said := closed.text("keep-errors"); !strings.Contains(said, "closed") {
		t.Errorf("on a closed docket: %q", said)
	}
	if page := bench.get(at + "?" + typed.Encode()).want(http.StatusOK); len(page.all("bench-keep")) != 0 {
		t.Error("a closed docket is offered to keep something")
	}
}
