package web

import (
	"bytes"
	"log/slog"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/link"
	"ledgerwheel/store"
)

// linkPath is the path of the docket's private link.
func (s *site) linkPath(number string) string {
	s.t.Helper()
	sheet, err := s.store.EstimateSheet(s.t.Context(), s.number(number))
	if err != nil {
		s.t.Fatal(err)
	}
	sh, err := s.store.Shop(s.t.Context())
	if err != nil {
		s.t.Fatal(err)
	}
	return "/c/" + link.Token(sh.LinkSecret, sheet.Link.ID)
}

func customerAnswer(fields ...string) url.Values {
	f := url.Values{"revision": {"1"}, "decision": {"approve"}, "name": {"Ada Quillmarsh"}, "note": {""}}
	for i := 0; i < len(fields); i += 2 {
		f.Set(fields[i], fields[i+1])
	}
	return f
}

func TestCustomerApprovesOnThePrivateLink(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	number := s.sent()
	path := s.linkPath(number)
	ada := s.stranger()
	page := ada.get(path).want(http.StatusOK)
	if got := page.text("totals"); got != "Net €249.50 VAT 20 % €49.90 Total €299.40" {
		t.Errorf("totals %q", got)
	}
	if page.header.Get("X-Robots-Tag") != "noindex, nofollow, noarchive" || page.header.Get("Cache-Control") != "no-store" {
		t.Errorf("headers %v", page.header)
	}
	// Nothing of the shop's people, of the customer's particulars, or of what was said at the counter.
	for _, private := range []string{"Emrys Vale", "Nuala Reed", "Ottilie Brandt", "01632", "ada@example.org", "2'500", "Stops at night", "1O47-I", "€150.00"} {
		if strings.Contains(page.body, private) {
			t.Errorf("the page shows %q", private)
		}
	}
	a := ada.post(path+"/answer", customerAnswer("name", "", "note", "Leave the patina, please. <3")).want(http.StatusUnprocessableEntity)
	if a.problem("name") == "" || a.typed("note") != "Leave the patina, please. <3" {
		t.Errorf("reason %q, note %q", a.problem("name"), a.value("note"))
	}
	a = ada.post(path+"/answer", customerAnswer("decision", "")).want(http.StatusUnprocessableEntity)
	if a.problem("decision") == "" {
		t.Error("no answer was taken for one")
	}
	ada.post(path+"/answer", customerAnswer("name", "אדה קוויל", "leave_out", "2")).want(http.StatusSeeOther)
	page = ada.get(path).want(http.StatusOK)
	if got := page.text("answered"); !strings.Contains(got, "Revision 1 was approved by אדה קוויל on 24 Nov 2026, 10:30") {
		t.Errorf("answer shown as %q", got)
	}
	if got := page.text("totals"); got != "Net €189.50 VAT 20 % €37.90 Total €227.40" || len(page.all("answer-form")) != 0 {
		t.Errorf("totals %q, and the form is still there: %t", got, len(page.all("answer-form")) != 0)
	}
	entries, err := s.store.Journal(t.Context(), s.sheet(number).Head.Docket.ID, 0)
	if err != nil || entries[0].By != (docket.Author{Kind: docket.ByCustomer, Name: "אדה קוויל"}) || entries[0].Kind != docket.EstimateAccepted {
		t.Errorf("journalled as %+v, %v", entries[0], err)
	}
	if !s.sheet(number).Head.Facts.Agreed() {
		t.Error("the docket does not know of the approval")
	}
	if trips := s.trips(ada, path); trips > 4 {
		t.Errorf("%d round trips", trips)
	}
	if trips := s.trips(s.as(s.clerk), path); trips > 4 {
		t.Errorf("%d round trips for one who is signed in", trips)
	}
}

func TestCustomerAnswersTheRevisionBeforeThem(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	number := s.sent()
	path := s.linkPath(number)
	ada := s.stranger()
	s.send(number) // revision 2
	a := ada.post(path+"/answer", customerAnswer("note", "as discussed")).want(http.StatusConflict)
	if !strings.Contains(a.text("notice"), "newer revision") || a.hidden("revision") != "2" {
		t.Errorf("told %q, asked about revision %s", a.text("notice"), a.hidden("revision"))
	}
	for _, decision := range a.all("decision-approve") {
		if hasAttr(decision.Attr, "checked") {
			t.Error("the answer to the older revision is carried over to the newer")
		}
	}
	if a.typed("note") != "as discussed" || a.value("name") != "Ada Quillmarsh" {
		t.Error("name and note are lost")
	}
	ada.post(path+"/answer", customerAnswer("revision", "2", "decision", "decline")).want(http.StatusSeeOther)
	a = ada.post(path+"/answer", customerAnswer("revision", "2")).want(http.StatusConflict)
	if !strings.Contains(a.text("notice"), "answered already") || !strings.Contains(a.text("answered"), "declined") {
		t.Errorf("told %q", a.text("notice"))
	}
	ada.post(path+"/answer", customerAnswer("revision", "7")).want(http.StatusConflict)
	ada.post(path+"/answer", customerAnswer("revision", "two")).want(http.StatusUnprocessableEntity)
}

func TestEarlierApprovalStaysWhileMoreIsAsked(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	number := s.sent()
	path := s.linkPath(number)
	ada := s.stranger()
	ada.post(path+"/answer", customerAnswer()).want(http.StatusSeeOther)
	s.send(number)
	page := ada.get(path).want(http.StatusOK)
	if got := page.text("in-force"); !strings.Contains(got, "revision 1, €299.40") {
		t.Errorf("told %q", got)
	}
	ada.post(path+"/answer", customerAnswer("revision", "2", "decision", "decline")).want(http.StatusSeeOther)
	if page = ada.get(path); !strings.Contains(page.text("in-force"), "revision 1") || !strings.Contains(page.text("answered"), "declined") {
		t.Error("declining more work takes back what was agreed")
	}
}

func TestExpiredRevisionCanBeDeclinedOnlyByAskingTheShop(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	number := s.sent()
	path := s.linkPath(number)
	s.pass(31 * 24 * time.Hour) // past 24 December
	ada := s.stranger()
	page := ada.get(path).want(http.StatusOK)
	if len(page.all("answer-form")) != 0 || !strings.Contains(page.text("expired"), "Thu 24 Dec 2026") {
		t.Error("an expired revision still asks for an answer")
	}
	a := ada.post(path+"/answer", customerAnswer()).want(http.StatusConflict)
	if !strings.Contains(a.text("notice"), "is over") {
		t.Errorf("told %q", a.text("notice"))
	}
}

func TestWrongExpiredAndEndedLinks(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	number := s.sent()
	path := s.linkPath(number)
	ada := s.stranger()
	var log bytes.Buffer
	s.srv.log = slog.New(slog.NewTextHandler(&log, nil))
	for _, wrong := range []string{"/c/x", "/c/aaaaaaaaaaaaaaaaaaaaaaaaaaaa", path[:len(path)-1], path + "a", "/c/" + link.Token(make([]byte, 32), 1)} {
		a := ada.get(wrong).want(http.StatusNotFound)
		if !strings.Contains(textOf(a.document), "leads nowhere") || strings.Contains(a.body, "Gannet") {
			t.Errorf("%s: %s", wrong, textOf(a.document))
		}
	}
	if !strings.Contains(log.String(), "private link refused") || strings.Contains(log.String(), strings.TrimPrefix(path, "/c/")) {
		t.Errorf("the log says %s", log.String())
	}
	ada.post("/c/x/answer", customerAnswer()).want(http.StatusNotFound)
	if path != strings.ToLower(path) {
		t.Error("the link is not in lower case")
	}
	ada.get("/c/" + strings.ToUpper(strings.TrimPrefix(path, "/c/"))).want(http.StatusOK)

	s.as(s.clerk).post("/dockets/"+number+"/link", url.Values{"version": {s.version(number)}}).want(http.StatusSeeOther)
	fresh := s.linkPath(number)
	a := ada.get(path).want(http.StatusGone)
	if !strings.Contains(textOf(a.document), "ended by the shop") {
		t.Errorf("an ended link says %s", textOf(a.document))
	}
	ada.post(path+"/answer", customerAnswer()).want(http.StatusGone)
	ada.get(fresh).want(http.StatusOK)
	s.pass(link.LifeDays * 24 * time.Hour)
	a = ada.get(fresh).want(http.StatusGone)
	if !strings.Contains(textOf(a.document), "expired") {
		t.Errorf("an expired link says %s", textOf(a.document))
	}
	ada.post(fresh+"/answer", customerAnswer()).want(http.StatusGone)
	if r, _ := s.estimateOf(number).Find(1); r.State != estimate.Sent {
		t.Errorf("a dead link changed the revision to %s", r.State)
	}
}

func (s *site) estimateOf(number string) estimate.Estimate {
	s.t.Helper()
	sheet, err := s.store.EstimateSheet(s.t.Context(), s.number(number))
	if err != nil {
		s.t.Fatal(err)
	}
	return sheet.Estimate
}

func TestLinkShowsPhotographsOfItsDocketAlone(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	number := s.sent()
	other := s.takeIn("name", "Berit Aas", "phone", "01632 960999", "email", "", "serial", "77", "customer_choice", "new", "watch_choice", "new")
	clerk := s.as(s.clerk)
	picture := []sentFile{{"dial.jpg", jpegOf(t, 64, 48, 6)}}
	clerk.sendPhotos(number, picture, "about", "condition", "caption", "The dial").want(http.StatusSeeOther)
	clerk.sendPhotos(other, picture, "about", "condition").want(http.StatusSeeOther)
	own, others := itoa(s.sheet(number).Photos[0].ID), itoa(s.sheet(other).Photos[0].ID)
	path := s.linkPath(number)
	ada := s.stranger()
	if page := ada.get(path).want(http.StatusOK); !strings.Contains(page.body, path+"/photos/"+own+"/thumb") {
		t.Error("the photograph is not on the page")
	}
	for _, size := range []string{"thumb", "full"} {
		a := ada.get(path + "/photos/" + own + "/" + size).want(http.StatusOK)
		if a.header.Get("Content-Type") != "image/jpeg" || a.header.Get("X-Robots-Tag") == "" {
			t.Errorf("%s sent with %v", size, a.header)
		}
	}
	ada.get(path + "/photos/" + own + "/raw").want(http.StatusNotFound)
	ada.get(path + "/photos/" + others + "/full").want(http.StatusNotFound)
	ada.get("/photos/" + own + "/full").want(http.StatusSeeOther) // that is for those who are signed in
	ada.get("/c/x/photos/" + own + "/full").want(http.StatusNotFound)
	clerk.post("/dockets/"+number+"/link/end", url.Values{"version": {s.version(number)}}).want(http.StatusSeeOther)
	ada.get(path + "/photos/" + own + "/full").want(http.StatusGone)
}

// TestStrangerSeesNothingOfTheWork walks every page of the work as somebody who is not signed in.
func TestStrangerSeesNothingOfTheWork(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	number := s.sent()
	for _, sheet := range []string{"diagnosis", "estimate", "parts", "service", "papers/estimate/1", "papers/estimate/1.pdf"} {
		if at := s.stranger().get("/dockets/" + number + "/" + sheet).want(http.StatusSeeOther).location(); !strings.HasPrefix(at, "/sign-in") {
			t.Errorf("%s leads a stranger to %q", sheet, at)
		}
	}
	for _, action := range []string{"diagnosis/findings", "diagnosis/hazards", "estimate", "estimate/send", "estimate/answer", "estimate/discard", "link", "link/end", "parts", "service"} {
		s.stranger().post("/dockets/"+number+"/"+action, url.Values{"version": {s.version(number)}}).want(http.StatusSeeOther)
	}
	if r, _ := s.estimateOf(number).Find(1); r.State != estimate.Sent {
		t.Error("a stranger changed the estimate")
	}
}

// TestStatusInPlainWords has words for every stage, and none that the customer would have to look up.
func TestStatusInPlainWords(t *testing.T) {
	t.Parallel()
	for _, stage := range docket.Stages() {
		if customerStatus(store.LinkPage{Stage: stage}) == "" {
			t.Errorf("%s has no words", stage)
		}
	}
	if got := customerStatus(store.LinkPage{Stage: docket.StageDeclined, Closed: true}); !strings.Contains(got, "handed back") {
		t.Errorf("handed back unrepaired: %q", got)
	}
}

func TestAnswersAreBounded(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	path := s.linkPath(s.sent())
	ada := s.stranger()
	for range linkAnswersPerMachine {
		ada.post(path+"/answer", customerAnswer("name", "")).want(http.StatusUnprocessableEntity)
	}
	a := ada.post(path+"/answer", customerAnswer()).want(http.StatusTooManyRequests)
	if !strings.Contains(textOf(a.document), "Wait five minutes") {
		t.Errorf("told %s", textOf(a.document))
	}
	ada.get(path).want(http.StatusOK) // looking is counted apart
}
