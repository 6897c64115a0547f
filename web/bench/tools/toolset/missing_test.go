package toolset_test

import (
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"testing"

	"ledgerwheel/domain/watch"
	"ledgerwheel/store"
	"ledgerwheel/web/bench/tools/toolset"
	"ledgerwheel/web/webtest"
)

// missingQuery is the form as it is sent.
func missingQuery(given map[string]string) url.Values {
	v := url.Values{}
	for _, f := range toolset.MissingTool().Fields {
		v.Set(f.Name, f.Default)
	}
	for name, value := range given {
		v.Set(name, value)
	}
	return v
}

// TestMissingWheel asks the page for the check values of missing wheels: sources stand beside them in domain/train.
func TestMissingWheel(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		name       string
		given      map[string]string
		finding    string
		part       string
		correction map[string]string
	}{
		{"TR-MISS-1", map[string]string{"train": "64:8,60:8,?:6,15", "beats_per_hour": "18 000"},
			"The fourth wheel has 60 teeth: 64:8,60:8,60:6,15 gives 18000 beats per hour; no other count does.",
			"Fourth wheel, 60 teeth for a pinion of 6, module to be measured; bore and height from the old arbor",
			map[string]string{"train": "64:8,60:8,60:6,15"}},
		{"TR-MISS-3, beat not known", map[string]string{"train": "80:10,75:10,84:7,?"}, "The escape wheel has ",
			"Escape wheel, ", nil},
		{"MW-1", map[string]string{"motion_work": "?:48,12:36"},
			"The cannon pinion has 12 leaves: 12:48,12:36 gives 12 to 1; no other count does.",
			"Cannon pinion, 12 leaves for a wheel of 48", map[string]string{"motion_work": "12:48,12:36"}},
		{"measured", map[string]string{"train": "80:10,?:10,80:8,15", "beats_per_hour": "18000", "first_centres": "4,68",
			"first_pinion_outside": "1.22"},
			"The third wheel has 75 teeth", "Third wheel, 75 teeth for a pinion of 10, module 0.110 mm, 8.612 ± 0.057 mm " +
				"over the tips", map[string]string{"train": "80:10,75:10,80:8,15"}},
		{"TR-MISS-4", map[string]string{"train": "64:8,61:8,?:7,15", "beats_per_hour": "18000"},
			"The counts given don’t go together: no whole count fits. Count the third wheel again: 60 instead of 61 would " +
				"give 64:8,60:8,70:7,15.", "", nil},
	} {
		a, bad := toolset.SolveMissing(missingQuery(tt.given))
		if len(bad) > 0 {
			t.Errorf("%s: %v", tt.name, bad)
			continue
		}
		if !strings.HasPrefix(a.Finding, tt.finding) {
			t.Errorf("%s: finding %q, want %q", tt.name, a.Finding, tt.finding)
		}
		if tt.part == "" != (a.Part == nil) || a.Part != nil && !strings.HasPrefix(a.Part.Words(), tt.part) {
			t.Errorf("%s: part %+v, want %q", tt.name, a.Part, tt.part)
		}
		for field, want := range tt.correction {
			if a.Correction[field] != want {
				t.Errorf("%s: correction %v, want %s %s", tt.name, a.Correction, field, want)
			}
		}
	}
}

// TestMissingWheelRefusals: bad input is named beside its field.
// TestMissingWheelHardlyCut: 165 teeth and 16 leaves are the only whole answer, and no part to order.
func TestMissingWheelHardlyCut(t *testing.T) {
	t.Parallel()
	a, bad := toolset.MissingTool().Solve(missingQuery(map[string]string{"train": "80:10,75:10,?:?,16",
		"beats_per_hour": "19800"}))
	if len(bad) > 0 {
		t.Fatal(bad)
	}
	if a.Part != nil || a.Correction != nil || a.Rows[0].Label != "Count again" {
		t.Errorf("offered as a part: %+v, %v, first %+v", a.Part, a.Correction, a.Rows[0])
	}
	wantWords(t, a.Finding, "165 teeth", "hardly cut it", "escape wheel 15 instead of 16")
	for _, table := range a.Tables {
		for _, row := range table.Rows {
			if strings.EqualFold(row[len(row)-1], "most plausible") {
				t.Errorf("%v stands as most plausible", row)
			}
		}
	}
}

func TestMissingWheelRefusals(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		given        map[string]string
		field, holds string
	}{
		{map[string]string{}, "train", "Write the train"},
		{map[string]string{"train": "80:10,75:10,80:8,15"}, "train", "Put a ?"},
		{map[string]string{"train": "0:10,?:10,80:8,15"}, "train", "no count of 0"},
		{map[string]string{"train": "-80:10,?:10,80:8,15"}, "train", "not negative"},
		{map[string]string{"train": "80.5:10,?:10,80:8,15"}, "train", "Teeth are whole"},
		{map[string]string{"train": "80:10,?:10,80:8,15", "motion_work": "?:36,10:40"}, "motion_work", "one at a time"},
		{map[string]string{"motion_work": "?:36,10"}, "motion_work", "12:36,10:40"},
		{map[string]string{"train": "80:10,?:10,80:8,15", "beats_per_hour": "fast"}, "beats_per_hour", "whole number"},
		{map[string]string{"train": "80:10,?:10,80:8,15", "first_centres": "0"}, "first_centres", "above 0"},
		{map[string]string{"train": "80:10,?:10,80:8,15", "first_centres": "near"}, "first_centres", "Give a number"},
		{map[string]string{"train": "80:10,?:10,80:8,15", "pick": "99"}, "pick", "from 1 to"},
		{map[string]string{"train": "80:10,?:10,80:8,15", "beats_per_hour": "18000", "first_wheel_outside": "8.60",
			"first_pinion_outside": "0.95"},
			"first_pinion_outside", "finer than its wheel can mesh with"},
	} {
		if _, bad := toolset.SolveMissing(missingQuery(tt.given)); !strings.Contains(bad[tt.field], tt.holds) {
			t.Errorf("%v: %v, want %q beside %s", tt.given, bad, tt.holds, tt.field)
		}
	}
}

// TestMissingWheelFill: a calibre's counts stand in the form, to put the ? into; with one they are asked about.
func TestMissingWheelFill(t *testing.T) {
	t.Parallel()
	v := toolset.FillMissing(watch.Calibre{BeatsPerHour: 21600, Train: "80:10,75:10,84:7,15", MotionWork: "12:36,10:40",
		DialHours: 24})
	for name, want := range map[string]string{"train": "80:10,75:10,84:7,15", "motion_work": "12:36,10:40",
		"beats_per_hour": "21600", "dial_hours": "24"} {
		if v.Get(name) != want {
			t.Errorf("%s is filled with %q, want %q", name, v.Get(name), want)
		}
	}
}

// TestMissingWheelPage: the page shows the answers, the sizes and the drawing, and refuses with what was typed kept.
func TestMissingWheelPage(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	bench := s.As(s.Watchmaker)
	page := bench.Get("/bench/missing-wheel?" + missingQuery(map[string]string{"train": "80:10,?:10,80:?,15",
		"beats_per_hour": "18000", "first_centres": "4.68"}).Encode())
	said := page.Text("bench-answer")
	for _, want := range []string{"75", "80:10,75:10,80:8,15", "Most plausible", "0.110", "Outside diameter",
		"Train as completed"} {
		if !strings.Contains(said, want) {
			t.Errorf("the answer doesn't say %q: %s", want, said)
		}
	}
	page = bench.Get("/bench/missing-wheel?" + missingQuery(map[string]string{"train": "80:10,75:10,80:8,15"}).Encode())
	if page.Status != http.StatusUnprocessableEntity || !strings.Contains(page.Text("form-errors"), "Put a ?") {
		t.Errorf("status %d: %s", page.Status, page.Text("form-errors"))
	}
}

// TestMissingWheelInTheWork: from a docket the calibre's counts stand in the form, and the answer becomes a part to
// order and completes the calibre.
func TestMissingWheelInTheWork(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	id, err := s.Store.AddCalibre(t.Context(), store.CalibreChange{By: s.Actor(s.Owner), At: s.Clock()},
		watch.Calibre{Name: "Gannet 5", Maker: "Tern Quay", BeatsPerHour: 18000, GradeKey: "modern",
			Train: "80:10,60:10,80:8,15"})
	if err != nil {
		t.Fatal(err)
	}
	number := s.Noted("calibre", "Gannet 5")
	bench := s.As(s.Watchmaker)
	at := "/dockets/" + number + "/bench/missing-wheel"
	page := bench.Get(at).Want(http.StatusOK)
	if page.Value("train") != "80:10,60:10,80:8,15" || page.Value("beats_per_hour") != "18000" {
		t.Fatalf("filled with %q and %q", page.Value("train"), page.Value("beats_per_hour"))
	}
	asked := missingQuery(map[string]string{"train": "80:10,?:10,80:8,15", "beats_per_hour": "18000",
		"first_centres": "4.68"})
	page = bench.Get(at + "?" + asked.Encode()).Want(http.StatusOK)
	for _, as := range []string{"finding", "part", "correction"} {
		page.One("keep-form-" + as)
	}
	bench.Post(at+"/keep", webtest.KeptForm("part", asked, "part.quantity", "1")).Want(http.StatusSeeOther)
	if said := webtest.TextOf(bench.Get("/dockets/" + number +
		"/parts").Want(http.StatusOK).Document); !strings.Contains(said, "75 teeth for a pinion of 10, module 0.110 mm") {
		t.Errorf("the parts say %.800s", said)
	}
	_, version, err := s.Store.Calibre(t.Context(), id)
	if err != nil {
		t.Fatal(err)
	}
	bench.Post(at+"/keep", webtest.KeptForm("correction", asked, "correction.version",
		strconv.FormatInt(version, 10))).Want(http.StatusSeeOther)
	k, _, err := s.Store.Calibre(t.Context(), id)
	if err != nil || k.Train != "80:10,75:10,80:8,15" {
		t.Errorf("the calibre's train is %q, %v", k.Train, err)
	}
	journal := webtest.TextOf(bench.Get("/dockets/" + number + "/journal").Want(http.StatusOK).Document)
	for _, want := range []string{"Missing wheel or pinion: kept as a part", "80:10,?:10,80:8,15",
		"Third wheel: 75 teeth"} {
		if !strings.Contains(journal, want) {
			t.Errorf("the journal lacks %q", want)
		}
	}
}
