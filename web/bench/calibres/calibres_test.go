package calibres_test

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
	"ledgerwheel/web/page"
	"ledgerwheel/web/webtest"
)

// calibreTyped is a calibre whose counts give 18000 beats and whose motion work 12:1.
func calibreTyped() url.Values {
	return url.Values{"name": {"Ebb 17"}, "maker": {"Cormorant"}, "beats_per_hour": {"18 000"}, "lift_angle_deg": {"52"},
		"power_reserve_hours": {"38"}, "grade": {"modern"},
		"train": {"80:10, 75:10, 80:8, 15"}, "motion_work": {"12:36,10:40"}, "barrel_teeth": {"72"},
		"centre_pinion_leaves": {"12"}, "barrel_inside_diameter": {"11,2"},
		"arbor_diameter": {"3.6"}, "mainspring_thickness": {"0.13"}, "mainspring_length": {"340"},
		"lubrication": {"Balance jewels; thin oil; little"}, "notes": {"Seen often."}}
}

func calibreAt(s *webtest.Site, location string) watch.Calibre {
	s.T.Helper()
	list, err := s.Store.Calibres(s.T.Context())
	if err != nil {
		s.T.Fatal(err)
	}
	for _, k := range list {
		if strings.HasSuffix(location, "/"+page.Itoa64(k.ID)) {
			return k
		}
	}
	s.T.Fatalf("no calibre at %s", location)
	return watch.Calibre{}
}

func TestCalibreIsKeptShownAndCorrected(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	bench := s.As(s.Watchmaker)
	at := bench.Post("/calibres/new", calibreTyped()).Want(http.StatusSeeOther).Location()
	k := calibreAt(s, at)
	if k.Train != "80:10,75:10,80:8,15" || k.BarrelInsideDiameterMm != 11.2 || len(k.Lubrication) != 1 {
		t.Errorf("kept %+v", k)
	}
	page := bench.Get(at).Want(http.StatusOK)
	for id, want := range map[string]string{"calibre-train": "80:10", "follows-beat": "18000 per hour",
		"follows-reserve": "42.4 h",
		"oils":            "thin oil", "calibre-history": s.Watchmaker.Name} {
		if got := webtest.TextOf(page.One(id)); !strings.Contains(got, want) {
			t.Errorf("%s says %q, want %q in it", id, got, want)
		}
	}
	if len(page.All("remarks")) != 0 {
		t.Errorf("a steady calibre has remarks: %s", webtest.TextOf(page.One("remarks")))
	}
	// What contradicts itself is saved, and said.
	form := bench.Get(at + "/edit").Want(http.StatusOK)
	typed := calibreTyped()
	typed.Set("version", form.Hidden("version"))
	typed.Set("beats_per_hour", "21600")
	typed.Set("why", "read off the plate")
	bench.Post(at, typed).Want(http.StatusSeeOther)
	page = bench.Get(at).Want(http.StatusOK)
	if got := webtest.TextOf(page.One("remark-train")); !strings.Contains(got, "18000") ||
		!strings.Contains(got, "Contradiction") {
		t.Errorf("remark %q", got)
	}
	if got := webtest.TextOf(page.One("calibre-history")); !strings.Contains(got, "18000 → 21600") ||
		!strings.Contains(got, "read off the plate") {
		t.Errorf("history %q", got)
	}
	if got := webtest.TextOf(bench.Get(at + "/edit").Want(http.StatusOK).One("remark-train")); !strings.Contains(got,
		"18000") {
		t.Errorf("beside the field: %q", got)
	}
	// A form that was opened before is no longer of what is kept.
	bench.Post(at, typed).Want(http.StatusConflict)
	// The counter reads it and changes nothing.
	counter := s.As(s.Clerk)
	counter.Get(at).Want(http.StatusOK)
	counter.Get(at + "/edit").Want(http.StatusForbidden)
	counter.Post(at, typed).Want(http.StatusForbidden)
}

func TestCalibreFormNamesWhatIsWrong(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	typed := calibreTyped()
	typed.Set("train", "80:10,75:0,80:8,15")
	typed.Set("barrel_teeth", "72.5")
	typed.Set("arbor_diameter", "12")
	a := s.As(s.Watchmaker).Post("/calibres/new", typed).Want(http.StatusUnprocessableEntity)
	for _, field := range []string{"train", "barrel_teeth", "arbor_diameter"} {
		if a.Problem(field) == "" || a.Value(field) != typed.Get(field) {
			t.Errorf("%s: reason %q, kept %q", field, a.Problem(field), a.Value(field))
		}
	}
	if list, _ := s.Store.Calibres(t.Context()); len(list) != 0 {
		t.Errorf("saved half: %+v", list)
	}
}

// sendFile posts one file in a form.
func sendFile(c *webtest.Client, path, field string, file webtest.SentFile, fields ...string) *webtest.Answer {
	c.T.Helper()
	var body bytes.Buffer
	w := multipart.NewWriter(&body)
	for i := 0; i < len(fields); i += 2 {
		w.WriteField(fields[i], fields[i+1])
	}
	part, err := w.CreateFormFile(field, file.Name)
	if err != nil {
		c.T.Fatal(err)
	}
	part.Write(file.Data)
	w.Close()
	req, err := http.NewRequest(http.MethodPost, c.URL+path, &body)
	if err != nil {
		c.T.Fatal(err)
	}
	req.Header.Set("Content-Type", w.FormDataContentType())
	return c.Do(req)
}

func TestCalibresThroughAFile(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	bench := s.As(s.Watchmaker)
	at := bench.Post("/calibres/new", calibreTyped()).Want(http.StatusSeeOther).Location()
	before := calibreAt(s, at)
	sent := bench.Get("/calibres/calibres.csv").Want(http.StatusOK)
	file := []byte(sent.Body)
	if got := sent.Header.Get("Content-Type"); !strings.HasPrefix(got, "text/csv") {
		t.Errorf("sent as %q", got)
	}
	sendFile(bench, "/calibres/file", "file", webtest.SentFile{Name: "calibres.csv", Data: file}).Want(http.StatusSeeOther)
	if after := calibreAt(s, at); len(watch.CalibreDifferences(before, after)) != 0 {
		t.Errorf("read back it differs: %v", watch.CalibreDifferences(before, after))
	}
	record, err := s.Store.CalibreRecord(t.Context(), before.ID)
	if err != nil || record.Version != 1 {
		t.Errorf("a file that changes nothing made version %d, %v", record.Version, err)
	}
	// One bad line and nothing is taken; every bad line is named.
	bad := "name,beats_per_hour,grade\nebb17,21600,modern\nEbb 18,fast,modern\nEbb 19,18000,\n"
	a := sendFile(bench, "/calibres/file", "file", webtest.SentFile{Name: "calibres.csv",
		Data: []byte(bad)}).Want(http.StatusUnprocessableEntity)
	got := webtest.TextOf(a.One("line-problems"))
	for _, want := range []string{"3", "beats_per_hour", "4", "grade", "Choose the grade"} {
		if !strings.Contains(got, want) {
			t.Errorf("%q isn't named: %s", want, got)
		}
	}
	if list, _ := s.Store.Calibres(t.Context()); len(list) != 1 || list[0].BeatsPerHour != 18000 {
		t.Errorf("half of a file was taken: %+v", list)
	}
	good := "name;beats_per_hour;grade\nebb17;21600;modern\nEbb 18;28800;modern\n"
	sendFile(bench, "/calibres/file", "file", webtest.SentFile{Name: "calibres.csv",
		Data: []byte(good)}).Want(http.StatusSeeOther)
	if k := calibreAt(s, at); k.BeatsPerHour != 21600 || k.Train != before.Train {
		t.Errorf("corrected to %+v", k)
	}
	sendFile(bench, "/calibres/file", "other", webtest.SentFile{Name: "calibres.csv",
		Data: []byte(good)}).Want(http.StatusUnprocessableEntity)
	sendFile(s.As(s.Clerk), "/calibres/file", "file", webtest.SentFile{Name: "calibres.csv",
		Data: []byte(good)}).Want(http.StatusForbidden)
}

func TestCalibreDrawings(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	bench := s.As(s.Watchmaker)
	at := bench.Post("/calibres/new", calibreTyped()).Want(http.StatusSeeOther).Location()
	picture := webtest.SentFile{Name: "train.jpg", Data: webtest.JPEGOf(t, 640, 480, 1)}
	a := sendFile(bench, at+"/drawings", "photos", picture).Want(http.StatusUnprocessableEntity)
	if a.Problem("caption") == "" {
		t.Error("a drawing without words was taken")
	}
	sendFile(bench, at+"/drawings", "photos", webtest.SentFile{Name: "train.txt", Data: []byte("no picture")}, "caption",
		"The train").Want(http.StatusUnprocessableEntity)
	sendFile(bench, at+"/drawings", "photos", picture, "caption", "The train").Want(http.StatusSeeOther)
	record, err := s.Store.CalibreRecord(t.Context(), calibreAt(s, at).ID)
	if err != nil || len(record.Drawings) != 1 || record.Drawings[0].AddedBy != s.Watchmaker.Name {
		t.Fatalf("kept %+v, %v", record.Drawings, err)
	}
	ctx, count := storetest.CountRoundTrips(t.Context())
	if got := bench.Serve(ctx, s, "/drawings/"+page.Itoa64(record.Drawings[0].ID)+"/thumb"); got != http.StatusOK ||
		count.Trips() > webtest.MaxRoundTrips {
		t.Errorf("the drawing answers %d in %d round trips", got, count.Trips())
	}
	if got := webtest.TextOf(bench.Get(at).Want(http.StatusOK).One("drawings")); !strings.Contains(got, "The train") {
		t.Errorf("drawings say %q", got)
	}
	bench.Post(at+"/drawings/"+page.Itoa64(record.Drawings[0].ID)+"/remove", nil).Want(http.StatusSeeOther)
	bench.Get("/drawings/" + page.Itoa64(record.Drawings[0].ID) + "/thumb").Want(http.StatusNotFound)
}

// TestTrialKnowsTheMovementsSize: what the calibre says of its diameter stands in the form that begins a trial.
func TestTrialKnowsTheMovementsSize(t *testing.T) {
	t.Parallel()
	o := webtest.NewOnTrial(t)
	if got := o.Bench.Get(o.At("")).Want(http.StatusOK).Value("diameter"); got != "" {
		t.Errorf("without a calibre it says %q", got)
	}
	k := watch.Calibre{Name: "Ebb 17", BeatsPerHour: 28800, GradeKey: "modern", DiameterMm: 25.6}
	id, err := o.Store.AddCalibre(t.Context(), store.CalibreChange{At: webtest.Now}, k)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := o.Store.Pool().Exec(t.Context(), `UPDATE watch SET calibre_id = $1`, id); err != nil {
		t.Fatal(err)
	}
	if got := o.Bench.Get(o.At("")).Want(http.StatusOK).Value("diameter"); got != "25.6" {
		t.Errorf("it says %q", got)
	}
	if _, err := o.Store.Pool().Exec(t.Context(), `UPDATE watch SET calibre_name = 'ebb 17'`); err != nil {
		t.Fatal(err)
	}
	if read := o.Bench.Get("/dockets/" + o.Number); !strings.Contains(read.Body, `href="/calibres/`+page.Itoa64(id)+`"`) {
		t.Error("the docket doesn't lead to its calibre")
	}
}
