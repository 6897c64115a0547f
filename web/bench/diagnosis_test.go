package bench_test

import (
	"bytes"
	"mime/multipart"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"ledgerwheel/domain/diagnosis"
	"ledgerwheel/domain/timing"
	"ledgerwheel/store"
	"ledgerwheel/web/webtest"
)

// sendFinding posts the form of a finding, as a browser does.
func sendFinding(c *webtest.Client, number string, files []webtest.SentFile, fields ...string) *webtest.Answer {
	c.T.Helper()
	var body bytes.Buffer
	w := multipart.NewWriter(&body)
	for i := 0; i < len(fields); i += 2 {
		w.WriteField(fields[i], fields[i+1])
	}
	for _, f := range files {
		part, err := w.CreateFormFile("photos", f.Name)
		if err != nil {
			c.T.Fatal(err)
		}
		part.Write(f.Data)
	}
	w.Close()
	req, err := http.NewRequest(http.MethodPost, c.URL+"/dockets/"+number+"/diagnosis/findings", &body)
	if err != nil {
		c.T.Fatal(err)
	}
	req.Header.Set("Content-Type", w.FormDataContentType())
	return c.Do(req)
}

func TestFindingsOfEveryComponent(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.TakeIn()
	bench := s.As(s.Watchmaker)
	page := bench.Get("/dockets/" + number + "/diagnosis").Want(http.StatusOK)
	var order []string
	for n := range page.Document.Descendants() {
		if id, ok := strings.CutPrefix(webtest.Attr(n, "data-testid"), "component-"); ok {
			order = append(order, id)
		}
	}
	var want []string
	for _, c := range diagnosis.Components {
		want = append(want, string(c))
	}
	if strings.Join(order, " ") != strings.Join(want, " ") {
		t.Errorf("components %v, want %v", order, want)
	}
	for _, fault := range diagnosis.UsualFaults(diagnosis.Hairspring) {
		if !strings.Contains(strings.ToLower(webtest.TextOf(page.One("finding-form-hairspring"))), fault) {
			t.Errorf("%q is not offered for the hairspring", fault)
		}
	}

	at := sendFinding(bench, number, nil, "component", "mainspring", "usual", "broken", "severity", "require", "note",
		"שבור בקצה").Want(http.StatusSeeOther).Location()
	if at != "/dockets/"+number+"/diagnosis#mainspring" {
		t.Errorf("sent to %q", at)
	}
	sendFinding(bench, number, nil, "component", "train", "usual", "sound").Want(http.StatusSeeOther)
	page = bench.Get("/dockets/" + number + "/diagnosis").Want(http.StatusOK)
	if got := webtest.TextOf(webtest.Within(page.One("component-mainspring"), "finding")[0]); !strings.Contains(got,
		"broken") || !strings.Contains(got, "must be repaired") || !strings.Contains(got, "שבור בקצה") ||
		!strings.Contains(got, "Emrys Vale") {
		t.Errorf("finding shown as %q", got)
	}
	if got := webtest.TextOf(webtest.Within(page.One("component-train"), "finding")[0]); !strings.Contains(got,
		"noted only") {
		t.Errorf("a sound train shown as %q", got)
	}
	if trips := s.Trips(bench, "/dockets/"+number+"/diagnosis"); trips > 4 {
		t.Errorf("%d round trips", trips)
	}
}

func TestRefusedFindingKeepsWhatWasTyped(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.TakeIn()
	bench := s.As(s.Watchmaker)
	a := sendFinding(bench, number, nil, "component", "jewels", "note",
		"<b>third wheel, top</b>").Want(http.StatusUnprocessableEntity)
	if a.Problem("fault") == "" || a.Problem("severity") == "" {
		t.Errorf("reasons %q and %q", a.Problem("fault"), a.Problem("severity"))
	}
	if got := a.Typed("note"); got != "<b>third wheel, top</b>" {
		t.Errorf("note shown again as %q", got)
	}
	if got := webtest.Attr(a.One("note-jewels"), "open"); !webtest.HasAttr(a.One("note-jewels").Attr, "open") {
		t.Errorf("the refused form is folded away (%q)", got)
	}
	if webtest.HasAttr(a.One("note-train").Attr, "open") {
		t.Error("another component's form is open")
	}
	if n := len(a.All("finding")); n != 0 {
		t.Errorf("%d findings saved", n)
	}
	a = sendFinding(bench, number, nil, "component", "jewels", "usual", "dry", "severity", "advise", "photo",
		"77").Want(http.StatusUnprocessableEntity)
	if !strings.Contains(a.Text("form-errors"), "one of this docket's photographs") {
		t.Error("another docket's photograph was taken")
	}
	sendFinding(bench, number, nil, "component", "elbow", "usual", "dry", "severity",
		"advise").Want(http.StatusUnprocessableEntity)
	// no multipart form of ours
	bench.Post("/dockets/"+number+"/diagnosis/findings", url.Values{"component": {"jewels"}}).Want(http.StatusBadRequest)
}

func TestPhotographWithTheFinding(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.TakeIn()
	bench := s.As(s.Watchmaker)
	good := webtest.SentFile{Name: "spring.jpg", Data: webtest.JPEGOf(t, 64, 48, 6)}
	fields := []string{"component", "mainspring", "fault", "bent end", "severity", "advise"}
	a := sendFinding(bench, number, []webtest.SentFile{{Name: "x.txt", Data: []byte("no picture")}},
		fields...).Want(http.StatusUnprocessableEntity)
	if !strings.Contains(a.Problem("photos"), "x.txt") || a.Value("fault") != "bent end" {
		t.Errorf("told %q, fault shown again as %q", a.Problem("photos"), a.Value("fault"))
	}
	sendFinding(bench, number, []webtest.SentFile{good, good}, fields...).Want(http.StatusUnprocessableEntity)
	sendFinding(bench, number, []webtest.SentFile{good}, fields...).Want(http.StatusSeeOther)
	page := bench.Get("/dockets/" + number + "/diagnosis").Want(http.StatusOK)
	finding := page.One("finding")
	var full string
	for n := range finding.Descendants() {
		if n.Data == "a" && strings.Contains(webtest.Attr(n, "href"), "/photos/") {
			full = webtest.Attr(n, "href")
		}
	}
	picture := bench.Get(full).Want(http.StatusOK)
	if picture.Header.Get("Content-Type") != "image/jpeg" || strings.Contains(picture.Body, "GPS") {
		t.Errorf("picture sent as %s, metadata kept: %t", picture.Header.Get("Content-Type"), strings.Contains(picture.Body,
			"GPS"))
	}
	if n := len(s.Sheet(number).Photos); n != 1 {
		t.Errorf("%d photographs kept, want one: refused findings keep none", n)
	}
}

func TestFindingIsCorrectedAndStruckOut(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.TakeIn()
	bench := s.As(s.Watchmaker)
	sendFinding(bench, number, nil, "component", "train", "usual", "dirty", "severity", "advise").Want(http.StatusSeeOther)
	page := bench.Get("/dockets/" + number + "/diagnosis")
	path := webtest.Attr(page.One("correct-finding"), "href")
	if form := bench.Get(path).Want(http.StatusOK); len(form.All("correct-form")) != 1 {
		t.Error("there is no form to correct the finding")
	}
	fields := url.Values{"version": {s.Version(number)}, "usual": {"pivot bent"}, "severity": {"require"}}
	stale := url.Values{"version": {s.Version(number)}, "usual": {"no end shake"}, "severity": {"advise"}}
	bench.Post(path, url.Values{"version": {s.Version(number)},
		"severity": {"require"}}).Want(http.StatusUnprocessableEntity)
	bench.Post(path, fields).Want(http.StatusSeeOther)

	a := bench.Post(path, stale).Want(http.StatusConflict)
	webtest.Contains(t, "theirs", a.Text("form-errors"), "Emrys Vale", "pivot bent", "must be repaired")
	kept := false
	for n := range a.One("correct-form").Descendants() {
		kept = kept || webtest.Attr(n, "value") == "no end shake" && webtest.HasAttr(n.Attr, "checked")
	}
	if !kept {
		t.Error("what was typed is lost")
	}
	page = bench.Get("/dockets/" + number + "/diagnosis")
	if got := webtest.TextOf(page.One("finding")); !strings.Contains(got, "pivot bent") {
		t.Errorf("corrected to %q", got)
	}
	if got := page.Text("struck-finding"); !strings.Contains(got, "dirty") ||
		!strings.Contains(got, "corrected by Emrys Vale") {
		t.Errorf("what stood there shown as %q", got)
	}
	path = webtest.Attr(page.One("correct-finding"), "href")
	bench.Post(path+"/strike", url.Values{"version": {s.Version(number)},
		"why": {strings.Repeat("x", 301)}}).Want(http.StatusUnprocessableEntity)
	bench.Post(path+"/strike", url.Values{"version": {s.Version(number)},
		"why": {"It was another watch."}}).Want(http.StatusSeeOther)
	page = bench.Get("/dockets/" + number + "/diagnosis")
	if len(page.All("finding")) != 0 || len(page.All("struck-finding")) != 2 {
		t.Errorf("%d findings stand and %d are struck out", len(page.All("finding")), len(page.All("struck-finding")))
	}
	bench.Get(path).Want(http.StatusNotFound)
}

func TestFindingThatAnotherStruckOut(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.TakeIn()
	bench := s.As(s.Watchmaker)
	sendFinding(bench, number, nil, "component", "train", "usual", "dirty", "severity", "advise").Want(http.StatusSeeOther)
	path := webtest.Attr(bench.Get("/dockets/"+number+"/diagnosis").One("correct-finding"), "href")
	owner := s.As(s.Owner)
	owner.Post(path, url.Values{"usual": {"pivot bent"}, "severity": {"require"}}).Want(http.StatusSeeOther)
	struck := bench.Post(path+"/strike", url.Values{"why": {"It was the lamp."}}).Want(http.StatusConflict)
	webtest.Contains(t, "corrected meanwhile", struck.Text("form-errors"), "corrected this finding", "not struck out yet")
	if got := struck.Value("why"); got != "It was the lamp." {
		t.Errorf("the reason is lost: %q", got)
	}
	standing := strings.TrimSuffix(webtest.Attr(struck.One("strike-form"), "action"), "/strike")
	owner.Post(standing+"/strike", url.Values{}).Want(http.StatusSeeOther)
	gone := bench.Post(path, url.Values{"fault": {"one tooth bent"}, "severity": {"require"}}).Want(http.StatusConflict)
	webtest.Contains(t, "struck out meanwhile", gone.Text("form-errors"), "struck this finding out", "new finding")
	if got := gone.Value("fault"); got != "one tooth bent" {
		t.Errorf("what was typed is lost: %q", got)
	}
}

func TestCautionsAreAlwaysShownAndAcknowledged(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.TakeIn("lume", "radium")
	bench := s.As(s.Watchmaker)
	page := bench.Get("/dockets/" + number + "/diagnosis")
	for _, h := range []diagnosis.Hazard{diagnosis.RadioactiveLume, diagnosis.MainspringLetDown, diagnosis.Solvents} {
		for _, caution := range append(h.Caution().Usual, h.Caution().Defer) {
			if !strings.Contains(page.Text("hazard-"+string(h)), caution) {
				t.Errorf("%s: the page does not say %q", h, caution)
			}
		}
	}
	// The clerk reads the cautions but can't say so for the bench.
	if clerk := s.As(s.Clerk).Get("/dockets/" + number +
		"/diagnosis").Want(http.StatusOK); len(clerk.All("acknowledge-radioactive-lume")) != 0 {
		t.Error("the clerk is offered to acknowledge")
	}
	bench.Post("/dockets/"+number+"/diagnosis/hazards/radioactive-lume/acknowledge", nil).Want(http.StatusSeeOther)
	bench.Post("/dockets/"+number+"/diagnosis/hazards/coin-cell/acknowledge", nil).Want(http.StatusNotFound)
	page = bench.Get("/dockets/" + number + "/diagnosis")
	if got := page.Text("read-radioactive-lume"); !strings.Contains(got, "Emrys Vale") {
		t.Errorf("read by %q", got)
	}
	if !strings.Contains(page.Text("hazard-radioactive-lume"), "do not scrape") {
		t.Error("the cautions went away once they were read")
	}
	bench.Post("/dockets/"+number+"/diagnosis/hazards", url.Values{"hazard": {""}}).Want(http.StatusUnprocessableEntity)
	bench.Post("/dockets/"+number+"/diagnosis/hazards", url.Values{"hazard": {"coin-cell"},
		"why": {"rattles"}}).Want(http.StatusSeeOther)
	page = bench.Get("/dockets/" + number + "/diagnosis")
	if !strings.Contains(page.Text("hazard-coin-cell"), "emergency medical help") {
		t.Error("the hazard added by hand has no cautions")
	}
}

func TestAsReceivedOnTheDiagnosisSheet(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.TakeIn()
	bench := s.As(s.Watchmaker)
	page := bench.Get("/dockets/" + number + "/diagnosis")
	if webtest.Attr(page.One("take-run"), "href") != "/dockets/"+number+"/regulation" {
		t.Error("nothing leads to the readings")
	}
	figure := func(v float64) *timing.Figure { return &timing.Figure{Value: v, Step: 0.1} }
	_, err := s.Store.RecordRun(t.Context(), store.Change{Number: s.Number(number), By: s.Actor(s.Watchmaker),
		At: s.Clock()}, store.RunEntry{Sheet: timing.Sheet{
		States: []float64{0}, Run: timing.Run{Kind: timing.AsReceived, Readings: []timing.Reading{
			{Position: timing.DialUp, RateSPerDay: figure(10)}, {Position: "6H", RateSPerDay: figure(-20)}}}}})
	if err != nil {
		t.Fatal(err)
	}
	page = bench.Get("/dockets/" + number + "/diagnosis").Want(http.StatusOK)
	// mean of +10 and -20 is -5 s/d, their difference 30 s/d
	if got := page.Text("as-received-mean"); !strings.Contains(got, "−5.0") || !strings.Contains(got, "s/d") {
		t.Errorf("mean shown as %q", got)
	}
	if got := page.Text("as-received-delta"); !strings.Contains(got, "30.0") {
		t.Errorf("difference shown as %q", got)
	}
}

func TestDiagnosisIsClosedWithTheDocket(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.TakeIn()
	s.HandOver(number)
	a := sendFinding(s.As(s.Watchmaker), number, nil, "component", "train", "usual", "dirty", "severity",
		"advise").Want(http.StatusUnprocessableEntity)
	if !strings.Contains(a.Text("form-errors"), "has left the shop") {
		t.Errorf("told %q", a.Text("form-errors"))
	}
	if len(a.All("finding-form-train")) != 0 {
		t.Error("a closed docket offers to note a finding")
	}
}
