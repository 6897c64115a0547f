package web

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
)

// sendFinding posts the form of a finding, as a browser does.
func (c *client) sendFinding(number string, files []sentFile, fields ...string) *answer {
	c.t.Helper()
	var body bytes.Buffer
	w := multipart.NewWriter(&body)
	for i := 0; i < len(fields); i += 2 {
		w.WriteField(fields[i], fields[i+1])
	}
	for _, f := range files {
		part, err := w.CreateFormFile("photos", f.name)
		if err != nil {
			c.t.Fatal(err)
		}
		part.Write(f.data)
	}
	w.Close()
	req, err := http.NewRequest(http.MethodPost, c.url+"/dockets/"+number+"/diagnosis/findings", &body)
	if err != nil {
		c.t.Fatal(err)
	}
	req.Header.Set("Content-Type", w.FormDataContentType())
	return c.do(req)
}

func TestFindingsOfEveryComponent(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	number := s.takeIn()
	bench := s.as(s.watchmaker)
	page := bench.get("/dockets/" + number + "/diagnosis").want(http.StatusOK)
	var order []string
	for n := range page.document.Descendants() {
		if id, ok := strings.CutPrefix(attr(n, "data-testid"), "component-"); ok {
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
		if !strings.Contains(strings.ToLower(textOf(page.one("finding-form-hairspring"))), fault) {
			t.Errorf("%q is not offered for the hairspring", fault)
		}
	}

	at := bench.sendFinding(number, nil, "component", "mainspring", "usual", "broken", "severity", "require", "note", "שבור בקצה").want(http.StatusSeeOther).location()
	if at != "/dockets/"+number+"/diagnosis#mainspring" {
		t.Errorf("sent to %q", at)
	}
	bench.sendFinding(number, nil, "component", "train", "usual", "sound").want(http.StatusSeeOther)
	page = bench.get("/dockets/" + number + "/diagnosis").want(http.StatusOK)
	if got := textOf(within(page.one("component-mainspring"), "finding")[0]); !strings.Contains(got, "broken") || !strings.Contains(got, "must be mended") || !strings.Contains(got, "שבור בקצה") || !strings.Contains(got, "Emrys Vale") {
		t.Errorf("finding shown as %q", got)
	}
	if got := textOf(within(page.one("component-train"), "finding")[0]); !strings.Contains(got, "noted only") {
		t.Errorf("a sound train shown as %q", got)
	}
	if trips := s.trips(bench, "/dockets/"+number+"/diagnosis"); trips > 4 {
		t.Errorf("%d round trips", trips)
	}
}

func TestRefusedFindingKeepsWhatWasTyped(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	number := s.takeIn()
	bench := s.as(s.watchmaker)
	a := bench.sendFinding(number, nil, "component", "jewels", "note", "<b>third wheel, top</b>").want(http.StatusUnprocessableEntity)
	if a.problem("fault") == "" || a.problem("severity") == "" {
		t.Errorf("reasons %q and %q", a.problem("fault"), a.problem("severity"))
	}
	if got := a.typed("note"); got != "<b>third wheel, top</b>" {
		t.Errorf("note shown again as %q", got)
	}
	if got := attr(a.one("note-jewels"), "open"); !hasAttr(a.one("note-jewels").Attr, "open") {
		t.Errorf("the refused form is folded away (%q)", got)
	}
	if hasAttr(a.one("note-train").Attr, "open") {
		t.Error("another component's form is open")
	}
	if n := len(a.all("finding")); n != 0 {
		t.Errorf("%d findings saved", n)
	}
	a = bench.sendFinding(number, nil, "component", "jewels", "usual", "dry", "severity", "advise", "photo", "77").want(http.StatusUnprocessableEntity)
	if !strings.Contains(a.text("form-errors"), "one of this docket's photographs") {
		t.Error("another docket's photograph was taken")
	}
	bench.sendFinding(number, nil, "component", "elbow", "usual", "dry", "severity", "advise").want(http.StatusUnprocessableEntity)
	bench.post("/dockets/"+number+"/diagnosis/findings", url.Values{"component": {"jewels"}}).want(http.StatusBadRequest) // no multipart form of ours
}

func TestPhotographWithTheFinding(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	number := s.takeIn()
	bench := s.as(s.watchmaker)
	good := sentFile{"spring.jpg", jpegOf(t, 64, 48, 6)}
	fields := []string{"component", "mainspring", "fault", "bent end", "severity", "advise"}
	a := bench.sendFinding(number, []sentFile{{"x.txt", []byte("no picture")}}, fields...).want(http.StatusUnprocessableEntity)
	if !strings.Contains(a.problem("photos"), "x.txt") || a.value("fault") != "bent end" {
		t.Errorf("told %q, fault shown again as %q", a.problem("photos"), a.value("fault"))
	}
	bench.sendFinding(number, []sentFile{good, good}, fields...).want(http.StatusUnprocessableEntity)
	bench.sendFinding(number, []sentFile{good}, fields...).want(http.StatusSeeOther)
	page := bench.get("/dockets/" + number + "/diagnosis").want(http.StatusOK)
	finding := page.one("finding")
	var full string
	for n := range finding.Descendants() {
		if n.Data == "a" && strings.Contains(attr(n, "href"), "/photos/") {
			full = attr(n, "href")
		}
	}
	picture := bench.get(full).want(http.StatusOK)
	if picture.header.Get("Content-Type") != "image/jpeg" || strings.Contains(picture.body, "GPS") {
		t.Errorf("picture sent as %s, metadata kept: %t", picture.header.Get("Content-Type"), strings.Contains(picture.body, "GPS"))
	}
	if n := len(s.sheet(number).Photos); n != 1 {
		t.Errorf("%d photographs kept, want one: refused findings keep none", n)
	}
}

func TestFindingIsCorrectedAndStruckOut(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	number := s.takeIn()
	bench := s.as(s.watchmaker)
	bench.sendFinding(number, nil, "component", "train", "usual", "dirty", "severity", "advise").want(http.StatusSeeOther)
	page := bench.get("/dockets/" + number + "/diagnosis")
	path := attr(page.one("correct-finding"), "href")
	if form := bench.get(path).want(http.StatusOK); len(form.all("correct-form")) != 1 {
		t.Error("there is no form to correct the finding")
	}
	fields := url.Values{"version": {s.version(number)}, "usual": {"pivot bent"}, "severity": {"require"}}
	stale := url.Values{"version": {s.version(number)}, "usual": {"no end shake"}, "severity": {"advise"}}
	bench.post(path, url.Values{"version": {s.version(number)}, "severity": {"require"}}).want(http.StatusUnprocessableEntity)
	bench.post(path, fields).want(http.StatusSeeOther)

	a := bench.post(path, stale).want(http.StatusConflict)
	if !strings.Contains(a.text("conflict-typed"), "no end shake") {
		t.Errorf("what was typed is lost: %q", a.text("conflict-typed"))
	}
	page = bench.get("/dockets/" + number + "/diagnosis")
	if got := textOf(page.one("finding")); !strings.Contains(got, "pivot bent") {
		t.Errorf("corrected to %q", got)
	}
	if got := page.text("struck-finding"); !strings.Contains(got, "dirty") || !strings.Contains(got, "corrected by Emrys Vale") {
		t.Errorf("what stood there shown as %q", got)
	}
	path = attr(page.one("correct-finding"), "href")
	bench.post(path+"/strike", url.Values{"version": {s.version(number)}, "why": {strings.Repeat("x", 301)}}).want(http.StatusUnprocessableEntity)
	bench.post(path+"/strike", url.Values{"version": {s.version(number)}, "why": {"It was another watch."}}).want(http.StatusSeeOther)
	page = bench.get("/dockets/" + number + "/diagnosis")
	if len(page.all("finding")) != 0 || len(page.all("struck-finding")) != 2 {
		t.Errorf("%d findings stand and %d are struck out", len(page.all("finding")), len(page.all("struck-finding")))
	}
	bench.get(path).want(http.StatusNotFound)
}

func TestCautionsAreAlwaysShownAndAcknowledged(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	number := s.takeIn("lume", "radium")
	bench := s.as(s.watchmaker)
	page := bench.get("/dockets/" + number + "/diagnosis")
	for _, h := range []diagnosis.Hazard{diagnosis.RadioactiveLume, diagnosis.MainspringLetDown, diagnosis.Solvents} {
		for _, caution := range append(h.Caution().Usual, h.Caution().Defer) {
			if !strings.Contains(page.text("hazard-"+string(h)), caution) {
				t.Errorf("%s: the page does not say %q", h, caution)
			}
		}
	}
	// The clerk reads the cautions but can't say so for the bench.
	if clerk := s.as(s.clerk).get("/dockets/" + number + "/diagnosis").want(http.StatusOK); len(clerk.all("acknowledge-radioactive-lume")) != 0 {
		t.Error("the clerk is offered to acknowledge")
	}
	bench.post("/dockets/"+number+"/diagnosis/hazards/radioactive-lume/acknowledge", nil).want(http.StatusSeeOther)
	bench.post("/dockets/"+number+"/diagnosis/hazards/coin-cell/acknowledge", nil).want(http.StatusNotFound)
	page = bench.get("/dockets/" + number + "/diagnosis")
	if got := page.text("read-radioactive-lume"); !strings.Contains(got, "Emrys Vale") {
		t.Errorf("read by %q", got)
	}
	if !strings.Contains(page.text("hazard-radioactive-lume"), "do not scrape") {
		t.Error("the cautions went away once they were read")
	}
	bench.post("/dockets/"+number+"/diagnosis/hazards", url.Values{"hazard": {""}}).want(http.StatusUnprocessableEntity)
	bench.post("/dockets/"+number+"/diagnosis/hazards", url.Values{"hazard": {"coin-cell"}, "why": {"rattles"}}).want(http.StatusSeeOther)
	page = bench.get("/dockets/" + number + "/diagnosis")
	if !strings.Contains(page.text("hazard-coin-cell"), "emergency medical help") {
		t.Error("the hazard added by hand has no cautions")
	}
}

func TestAsReceivedOnTheDiagnosisSheet(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	number := s.takeIn()
	bench := s.as(s.watchmaker)
	page := bench.get("/dockets/" + number + "/diagnosis")
	if attr(page.one("take-run"), "href") != "/dockets/"+number+"/regulation" {
		t.Error("nothing leads to the readings")
	}
	figure := func(v float64) *timing.Figure { return &timing.Figure{Value: v, Step: 0.1} }
	_, err := s.store.RecordRun(t.Context(), store.Change{Number: s.number(number), By: s.actor(s.watchmaker), At: s.clock()}, store.RunEntry{Sheet: timing.Sheet{
		States: []float64{0}, Run: timing.Run{Kind: timing.AsReceived, Readings: []timing.Reading{
			{Position: timing.DialUp, RateSPerDay: figure(10)}, {Position: "6H", RateSPerDay: figure(-20)}}}}})
	if err != nil {
		t.Fatal(err)
	}
	page = bench.get("/dockets/" + number + "/diagnosis").want(http.StatusOK)
	// mean of +10 and -20 is -5 s/d, their difference 30 s/d
	if got := page.text("as-received-mean"); !strings.Contains(got, "−5.0") || !strings.Contains(got, "s/d") {
		t.Errorf("mean shown as %q", got)
	}
	if got := page.text("as-received-delta"); !strings.Contains(got, "30.0") {
		t.Errorf("difference shown as %q", got)
	}
}

func TestDiagnosisIsClosedWithTheDocket(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	number := s.takeIn()
	s.handOver(number)
	a := s.as(s.watchmaker).sendFinding(number, nil, "component", "train", "usual", "dirty", "severity", "advise").want(http.StatusUnprocessableEntity)
	if !strings.Contains(a.text("form-errors"), "has left the shop") {
		t.Errorf("told %q", a.text("form-errors"))
	}
	if len(a.all("finding-form-train")) != 0 {
		t.Error("a closed docket offers to note a finding")
	}
}
