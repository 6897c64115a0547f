package web

import (
	"bytes"
	"mime/multipart"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"ledgerwheel/domain/watch"
	"ledgerwheel/store"
	"ledgerwheel/store/storetest"
)

// calibreTyped is a calibre whose counts give 18000 beats and whose motion work 12:1.
func calibreTyped() url.Values {
	return url.Values{"name": {"Ebb 17"}, "maker": {"Cormorant"}, "beats_per_hour": {"18 000"}, "lift_angle_deg": {"52"}, "power_reserve_hours": {"38"}, "grade": {"modern"},
		"train": {"80:10, 75:10, 80:8, 15"}, "motion_work": {"12:36,10:40"}, "barrel_teeth": {"72"}, "centre_pinion_leaves": {"12"}, "barrel_inside_diameter": {"11,2"},
		"arbor_diameter": {"3.6"}, "mainspring_thickness": {"0.13"}, "mainspring_length": {"340"}, "lubrication": {"Balance jewels; thin oil; little"}, "notes": {"Seen often."}}
}

func (s *site) calibreAt(location string) watch.Calibre {
	s.t.Helper()
	list, err := s.store.Calibres(s.t.Context())
	if err != nil {
		s.t.Fatal(err)
	}
	for _, k := range list {
		if strings.HasSuffix(location, "/"+itoa64(k.ID)) {
			return k
		}
	}
	s.t.Fatalf("no calibre at %s", location)
	return watch.Calibre{}
}

func TestCalibreIsKeptShownAndCorrected(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	bench := s.as(s.watchmaker)
	at := bench.post("/calibres/new", calibreTyped()).want(http.StatusSeeOther).location()
	k := s.calibreAt(at)
	if k.Train != "80:10,75:10,80:8,15" || k.BarrelInsideDiameterMm != 11.2 || len(k.Lubrication) != 1 {
		t.Errorf("kept %+v", k)
	}
	page := bench.get(at).want(http.StatusOK)
	for id, want := range map[string]string{"calibre-train": "80:10", "follows-beat": "18000 per hour", "follows-reserve": "42.4 h",
		"oils": "thin oil", "calibre-history": s.watchmaker.Name} {
		if got := textOf(page.one(id)); !strings.Contains(got, want) {
			t.Errorf("%s says %q, want %q in it", id, got, want)
		}
	}
	if len(page.all("remarks")) != 0 {
		t.Errorf("a steady calibre has remarks: %s", textOf(page.one("remarks")))
	}
	// What contradicts itself is saved, and said.
	form := bench.get(at + "/edit").want(http.StatusOK)
	typed := calibreTyped()
	typed.Set("version", form.hidden("version"))
	typed.Set("beats_per_hour", "21600")
	typed.Set("why", "read off the plate")
	bench.post(at, typed).want(http.StatusSeeOther)
	page = bench.get(at).want(http.StatusOK)
	if got := textOf(page.one("remark-train")); !strings.Contains(got, "18000") || !strings.Contains(got, "Contradiction") {
		t.Errorf("remark %q", got)
	}
	if got := textOf(page.one("calibre-history")); !strings.Contains(got, "18000 → 21600") || !strings.Contains(got, "read off the plate") {
		t.Errorf("history %q", got)
	}
	if got := textOf(bench.get(at + "/edit").want(http.StatusOK).one("remark-train")); !strings.Contains(got, "18000") {
		t.Errorf("beside the field: %q", got)
	}
	// A form that was opened before is no longer of what is kept.
	bench.post(at, typed).want(http.StatusConflict)
	// The counter reads it and changes nothing.
	counter := s.as(s.clerk)
	counter.get(at).want(http.StatusOK)
	counter.get(at + "/edit").want(http.StatusForbidden)
	counter.post(at, typed).want(http.StatusForbidden)
}

func TestCalibreFormNamesWhatIsWrong(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	typed := calibreTyped()
	typed.Set("train", "80:10,75:0,80:8,15")
	typed.Set("barrel_teeth", "72.5")
	typed.Set("arbor_diameter", "12")
	a := s.as(s.watchmaker).post("/calibres/new", typed).want(http.StatusUnprocessableEntity)
	for _, field := range []string{"train", "barrel_teeth", "arbor_diameter"} {
		if a.problem(field) == "" || a.value(field) != typed.Get(field) {
			t.Errorf("%s: reason %q, kept %q", field, a.problem(field), a.value(field))
		}
	}
	if list, _ := s.store.Calibres(t.Context()); len(list) != 0 {
		t.Errorf("saved half: %+v", list)
	}
}

// sendFile posts one file in a form.
func (c *client) sendFile(path, field string, file sentFile, fields ...string) *answer {
	c.t.Helper()
	var body bytes.Buffer
	w := multipart.NewWriter(&body)
	for i := 0; i < len(fields); i += 2 {
		w.WriteField(fields[i], fields[i+1])
	}
	part, err := w.CreateFormFile(field, file.name)
	if err != nil {
		c.t.Fatal(err)
	}
	part.Write(file.data)
	w.Close()
	req, err := http.NewRequest(http.MethodPost, c.url+path, &body)
	if err != nil {
		c.t.Fatal(err)
	}
	req.Header.Set("Content-Type", w.FormDataContentType())
	return c.do(req)
}

func TestCalibresThroughAFile(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	bench := s.as(s.watchmaker)
	at := bench.post("/calibres/new", calibreTyped()).want(http.StatusSeeOther).location()
	before := s.calibreAt(at)
	sent := bench.get("/calibres/calibres.csv").want(http.StatusOK)
	file := []byte(sent.body)
	if got := sent.header.Get("Content-Type"); !strings.HasPrefix(got, "text/csv") {
		t.Errorf("sent as %q", got)
	}
	bench.sendFile("/calibres/file", "file", sentFile{"calibres.csv", file}).want(http.StatusSeeOther)
	if after := s.calibreAt(at); len(watch.CalibreDifferences(before, after)) != 0 {
		t.Errorf("read back it differs: %v", watch.CalibreDifferences(before, after))
	}
	record, err := s.store.CalibreRecord(t.Context(), before.ID)
	if err != nil || record.Version != 1 {
		t.Errorf("a file that changes nothing made version %d, %v", record.Version, err)
	}
	// One bad line and nothing is taken; every bad line is named.
	bad := "name,beats_per_hour,grade\nebb17,21600,modern\nEbb 18,fast,modern\nEbb 19,18000,\n"
	a := bench.sendFile("/calibres/file", "file", sentFile{"calibres.csv", []byte(bad)}).want(http.StatusUnprocessableEntity)
	got := textOf(a.one("line-problems"))
	for _, want := range []string{"3", "beats_per_hour", "4", "grade", "Choose the grade"} {
		if !strings.Contains(got, want) {
			t.Errorf("%q isn't named: %s", want, got)
		}
	}
	if list, _ := s.store.Calibres(t.Context()); len(list) != 1 || list[0].BeatsPerHour != 18000 {
		t.Errorf("half of a file was taken: %+v", list)
	}
	good := "name;beats_per_hour;grade\nebb17;21600;modern\nEbb 18;28800;modern\n"
	bench.sendFile("/calibres/file", "file", sentFile{"calibres.csv", []byte(good)}).want(http.StatusSeeOther)
	if k := s.calibreAt(at); k.BeatsPerHour != 21600 || k.Train != before.Train {
		t.Errorf("corrected to %+v", k)
	}
	bench.sendFile("/calibres/file", "other", sentFile{"calibres.csv", []byte(good)}).want(http.StatusUnprocessableEntity)
	s.as(s.clerk).sendFile("/calibres/file", "file", sentFile{"calibres.csv", []byte(good)}).want(http.StatusForbidden)
}

func TestCalibreDrawings(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	bench := s.as(s.watchmaker)
	at := bench.post("/calibres/new", calibreTyped()).want(http.StatusSeeOther).location()
	picture := sentFile{"train.jpg", jpegOf(t, 640, 480, 1)}
	a := bench.sendFile(at+"/drawings", "photos", picture).want(http.StatusUnprocessableEntity)
	if a.problem("caption") == "" {
		t.Error("a drawing without words was taken")
	}
	bench.sendFile(at+"/drawings", "photos", sentFile{"train.txt", []byte("no picture")}, "caption", "The train").want(http.StatusUnprocessableEntity)
	bench.sendFile(at+"/drawings", "photos", picture, "caption", "The train").want(http.StatusSeeOther)
	record, err := s.store.CalibreRecord(t.Context(), s.calibreAt(at).ID)
	if err != nil || len(record.Drawings) != 1 || record.Drawings[0].AddedBy != s.watchmaker.Name {
		t.Fatalf("kept %+v, %v", record.Drawings, err)
	}
	ctx, count := storetest.CountRoundTrips(t.Context())
	if got := bench.serve(ctx, s, "/drawings/"+itoa64(record.Drawings[0].ID)+"/thumb"); got != http.StatusOK || count.Trips() > maxRoundTrips {
		t.Errorf("the drawing answers %d in %d round trips", got, count.Trips())
	}
	if got := textOf(bench.get(at).want(http.StatusOK).one("drawings")); !strings.Contains(got, "The train") {
		t.Errorf("drawings say %q", got)
	}
	bench.post(at+"/drawings/"+itoa64(record.Drawings[0].ID)+"/remove", nil).want(http.StatusSeeOther)
	bench.get("/drawings/" + itoa64(record.Drawings[0].ID) + "/thumb").want(http.StatusNotFound)
}

// TestTrialKnowsTheMovementsSize: what the calibre says of its diameter stands in the form that begins a trial.
func TestTrialKnowsTheMovementsSize(t *testing.T) {
	t.Parallel()
	o := newOnTrial(t)
	if got := o.bench.get(o.at("")).want(http.StatusOK).value("diameter"); got != "" {
		t.Errorf("without a calibre it says %q", got)
	}
	k := watch.Calibre{Name: "Ebb 17", BeatsPerHour: 28800, GradeKey: "modern", DiameterMm: 25.6}
	id, err := o.store.AddCalibre(t.Context(), store.CalibreChange{}, k)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := o.store.Pool().Exec(t.Context(), `UPDATE watch SET calibre_id = $1`, id); err != nil {
		t.Fatal(err)
	}
	if got := o.bench.get(o.at("")).want(http.StatusOK).value("diameter"); got != "25.6" {
		t.Errorf("it says %q", got)
	}
	if _, err := o.store.Pool().Exec(t.Context(), `UPDATE watch SET calibre_name = 'ebb 17'`); err != nil {
		t.Fatal(err)
	}
	if page := o.bench.get("/dockets/" + o.number); !strings.Contains(page.body, `href="/calibres/`+itoa64(id)+`"`) {
		t.Error("the docket doesn't lead to its calibre")
	}
}
