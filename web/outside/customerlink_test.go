package outside_test

import (
	"bytes"
	"log/slog"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"
	"time"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/link"
	"ledgerwheel/domain/tongue"
	"ledgerwheel/store"
	"ledgerwheel/web/outside"
	"ledgerwheel/web/webtest"
)

// linkPath is the path of the docket's private link.
func linkPath(s *webtest.Site, number string) string {
	s.T.Helper()
	sheet, err := s.Store.EstimateSheet(s.T.Context(), s.Number(number))
	if err != nil {
		s.T.Fatal(err)
	}
	sh, err := s.Store.Shop(s.T.Context())
	if err != nil {
		s.T.Fatal(err)
	}
	return "/c/" + link.Token(sh.LinkSecret, sheet.Link.ID)
}

func customerAnswer(fields ...string) url.Values {
	f := url.Values{"revision": {"1"}, "decision": {"approve"}, "name": {"Ada Quillmarsh"}, "note": {""}, "take": {"2"},
		"agreed": {"29940"}}
	for i := 0; i < len(fields); i += 2 {
		f.Set(fields[i], fields[i+1])
	}
	if f.Get("take") == "" { // a box without its tick sends nothing
		f.Del("take")
	}
	return f
}

func TestCustomerApprovesOnThePrivateLink(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.Sent()
	path := linkPath(s, number)
	ada := s.Stranger()
	page := ada.Get(path).Want(http.StatusOK)
	if got := page.Text("totals") + " " + page.Text("total"); got != "Net €249.50 VAT 20 % €49.90 Total €299.40" ||
		page.Text("approve") != "Approve €299.40" || page.Hidden("agreed") != "29940" {
		t.Errorf("totals %q, the button says %q", got, page.Text("approve"))
	}
	if page.Header.Get("X-Robots-Tag") != "noindex, nofollow, noarchive" ||
		page.Header.Get("Cache-Control") != "no-store" {
		t.Errorf("headers %v", page.Header)
	}
	// Nothing of the shop's people, of the customer's particulars, or of what was said at the counter.
	for _, private := range []string{"Emrys Vale", "Nuala Reed", "Ottilie Brandt", "01632", "ada@example.org", "2'500",
		"Stops at night", "1O47-I", "€150.00"} {
		if strings.Contains(page.Body, private) {
			t.Errorf("the page shows %q", private)
		}
	}
	a := ada.Post(path+"/answer", customerAnswer("name", "", "note",
		"Leave the patina, please. <3")).Want(http.StatusUnprocessableEntity)
	if a.Problem("name") == "" || a.Typed("note") != "Leave the patina, please. <3" {
		t.Errorf("reason %q, note %q", a.Problem("name"), a.Value("note"))
	}
	a = ada.Post(path+"/answer", customerAnswer("decision", "")).Want(http.StatusUnprocessableEntity)
	if a.Problem("decision") == "" {
		t.Error("no answer was taken for one")
	}
	ada.Post(path+"/answer", customerAnswer("name", "אדה קוויל", "take", "", "agreed", "22740")).Want(http.StatusSeeOther)
	page = ada.Get(path).Want(http.StatusOK)
	if got := page.Text("answered"); !strings.Contains(got, "אדה קוויל approved €227.40 on 24 November 2026, 10:30") ||
		page.Text("thanks") != "Thank you, אדה קוויל" {
		t.Errorf("answer shown as %q", got)
	}
	if got := page.Text("totals"); got != "Net €189.50 VAT 20 % €37.90 Total €227.40" ||
		len(page.All("answer-form")) != 0 {
		t.Errorf("totals %q, and the form is still there: %t", got, len(page.All("answer-form")) != 0)
	}
	entries, err := s.Store.Journal(t.Context(), s.Sheet(number).Head.Docket.ID, 0)
	answered := slices.IndexFunc(entries, func(e docket.Entry) bool { return e.Kind == docket.EstimateAccepted })
	if err != nil || answered < 0 || entries[answered].By != (docket.Author{Kind: docket.ByCustomer, Name: "אדה קוויל"}) {
		t.Errorf("journalled as %+v, %v", entries, err)
	}
	if !s.Sheet(number).Head.Facts.Agreed() {
		t.Error("the docket does not know of the approval")
	}
	if trips := s.Trips(ada, path); trips > 4 {
		t.Errorf("%d round trips", trips)
	}
	if trips := s.Trips(s.As(s.Clerk), path); trips > 4 {
		t.Errorf("%d round trips for one who is signed in", trips)
	}
}

func TestCustomerAnswersTheRevisionBeforeThem(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.Sent()
	path := linkPath(s, number)
	ada := s.Stranger()
	s.Send(number) // revision 2
	a := ada.Post(path+"/answer", customerAnswer("note", "as discussed", "take", "", "agreed", "22740")).Want(http.StatusConflict)
	if !strings.Contains(a.Text("notice"), "newer revision") || a.Hidden("revision") != "2" {
		t.Errorf("told %q, asked about revision %s", a.Text("notice"), a.Hidden("revision"))
	}
	for _, tick := range a.All("take-2") {
		if !webtest.HasAttr(tick.Attr, "checked") {
			t.Error("the answer to the older revision is carried over to the newer")
		}
	}
	if a.Typed("note") != "as discussed" || a.Value("name") != "Ada Quillmarsh" {
		t.Error("name and note are lost")
	}
	ada.Post(path+"/answer", customerAnswer("revision", "2", "decision", "decline")).Want(http.StatusSeeOther)
	a = ada.Post(path+"/answer", customerAnswer("revision", "2")).Want(http.StatusConflict)
	if !strings.Contains(a.Text("notice"), "answered already") || !strings.Contains(a.Text("answered"), "declined") {
		t.Errorf("told %q", a.Text("notice"))
	}
	ada.Post(path+"/answer", customerAnswer("revision", "7")).Want(http.StatusConflict)
	ada.Post(path+"/answer", customerAnswer("revision", "two")).Want(http.StatusUnprocessableEntity)
}

func TestEarlierApprovalStaysWhileMoreIsAsked(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.Sent()
	path := linkPath(s, number)
	ada := s.Stranger()
	ada.Post(path+"/answer", customerAnswer()).Want(http.StatusSeeOther)
	s.Send(number)
	page := ada.Get(path).Want(http.StatusOK)
	if got := page.Text("in-force"); !strings.Contains(got, "revision 1, €299.40") {
		t.Errorf("told %q", got)
	}
	ada.Post(path+"/answer", customerAnswer("revision", "2", "decision", "decline")).Want(http.StatusSeeOther)
	if page = ada.Get(path); !strings.Contains(page.Text("in-force"), "revision 1") ||
		!strings.Contains(page.Text("answered"), "declined") {
		t.Error("declining more work takes back what was agreed")
	}
}

func TestExpiredRevisionCanBeDeclinedOnlyByAskingTheShop(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.Sent()
	path := linkPath(s, number)
	s.Pass(31 * 24 * time.Hour) // past 24 December
	ada := s.Stranger()
	page := ada.Get(path).Want(http.StatusOK)
	if len(page.All("answer-form")) != 0 || !strings.Contains(page.Text("expired"), "Thursday 24 December 2026") {
		t.Error("an expired revision still asks for an answer")
	}
	a := ada.Post(path+"/answer", customerAnswer()).Want(http.StatusConflict)
	if !strings.Contains(a.Text("notice"), "is over") {
		t.Errorf("told %q", a.Text("notice"))
	}
}

func TestWrongExpiredAndEndedLinks(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.Sent()
	path := linkPath(s, number)
	ada := s.Stranger()
	var log bytes.Buffer
	s.Srv.Log = slog.New(slog.NewTextHandler(&log, nil))
	for _, wrong := range []string{"/c/x", "/c/aaaaaaaaaaaaaaaaaaaaaaaaaaaa", path[:len(path)-1], path + "a",
		"/c/" + link.Token(make([]byte, 32), 1)} {
		a := ada.Get(wrong).Want(http.StatusNotFound)
		if !strings.Contains(webtest.TextOf(a.Document), "leads nowhere") || strings.Contains(a.Body, "Gannet") {
			t.Errorf("%s: %s", wrong, webtest.TextOf(a.Document))
		}
	}
	if !strings.Contains(log.String(), "private link refused") || strings.Contains(log.String(),
		strings.TrimPrefix(path, "/c/")) {
		t.Errorf("the log says %s", log.String())
	}
	ada.Post("/c/x/answer", customerAnswer()).Want(http.StatusNotFound)
	if path != strings.ToLower(path) {
		t.Error("the link is not in lower case")
	}
	ada.Get("/c/" + strings.ToUpper(strings.TrimPrefix(path, "/c/"))).Want(http.StatusOK)

	s.As(s.Clerk).Post("/dockets/"+number+"/link", url.Values{"version": {s.Version(number)}}).Want(http.StatusSeeOther)
	fresh := linkPath(s, number)
	a := ada.Get(path).Want(http.StatusGone)
	if !strings.Contains(webtest.TextOf(a.Document), "ended by the shop") {
		t.Errorf("an ended link says %s", webtest.TextOf(a.Document))
	}
	ada.Post(path+"/answer", customerAnswer()).Want(http.StatusGone)
	ada.Get(fresh).Want(http.StatusOK)
	s.Pass(link.LifeDays * 24 * time.Hour)
	a = ada.Get(fresh).Want(http.StatusGone)
	if !strings.Contains(webtest.TextOf(a.Document), "expired") {
		t.Errorf("an expired link says %s", webtest.TextOf(a.Document))
	}
	ada.Post(fresh+"/answer", customerAnswer()).Want(http.StatusGone)
	if r, _ := estimateOf(s, number).Find(1); r.State != estimate.Sent {
		t.Errorf("a dead link changed the revision to %s", r.State)
	}
}

func estimateOf(s *webtest.Site, number string) estimate.Estimate {
	s.T.Helper()
	sheet, err := s.Store.EstimateSheet(s.T.Context(), s.Number(number))
	if err != nil {
		s.T.Fatal(err)
	}
	return sheet.Estimate
}

func TestLinkShowsPhotographsOfItsDocketAlone(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.Sent()
	other := s.TakeIn("name", "Berit Aas", "phone", "01632 960999", "email", "", "serial", "77", "customer_choice", "new",
		"watch_choice", "new")
	clerk := s.As(s.Clerk)
	picture := []webtest.SentFile{{Name: "dial.jpg", Data: webtest.JPEGOf(t, 64, 48, 6)}}
	clerk.SendPhotos(number, picture, "about", "condition", "caption", "The dial", "customer_sees", "yes").Want(http.StatusSeeOther)
	clerk.SendPhotos(other, picture, "about", "condition").Want(http.StatusSeeOther)
	clerk.SendPhotos(number, picture, "about", "work").Want(http.StatusSeeOther) // nobody chose it for the customer
	own, others := webtest.Itoa(s.Sheet(number).Photos[0].ID), webtest.Itoa(s.Sheet(other).Photos[0].ID)
	unseen := webtest.Itoa(s.Sheet(number).Photos[1].ID)
	path := linkPath(s, number)
	ada := s.Stranger()
	if page := ada.Get(path).Want(http.StatusOK); !strings.Contains(page.Body, path+"/photos/"+own+"/thumb") {
		t.Error("the photograph is not on the page")
	} else if strings.Contains(page.Body, path+"/photos/"+unseen) {
		t.Error("so is the one that was not chosen")
	}
	ada.Get(path + "/photos/" + unseen + "/full").Want(http.StatusNotFound)
	for _, size := range []string{"thumb", "full"} {
		a := ada.Get(path + "/photos/" + own + "/" + size).Want(http.StatusOK)
		if a.Header.Get("Content-Type") != "image/jpeg" || a.Header.Get("X-Robots-Tag") == "" {
			t.Errorf("%s sent with %v", size, a.Header)
		}
	}
	ada.Get(path + "/photos/" + own + "/raw").Want(http.StatusNotFound)
	ada.Get(path + "/photos/" + others + "/full").Want(http.StatusNotFound)
	ada.Get("/photos/" + own + "/full").Want(http.StatusSeeOther) // that is for those who are signed in
	ada.Get("/c/x/photos/" + own + "/full").Want(http.StatusNotFound)
	clerk.Post("/dockets/"+number+"/photos/"+own+"/sight", url.Values{"customer_sees": {""}}).Want(http.StatusSeeOther)
	ada.Get(path + "/photos/" + own + "/full").Want(http.StatusNotFound)
	clerk.Post("/dockets/"+number+"/photos/"+own+"/sight", url.Values{"customer_sees": {"yes"}}).Want(http.StatusSeeOther)
	ada.Get(path + "/photos/" + own + "/full").Want(http.StatusOK)
	clerk.Post("/dockets/"+number+"/link/end", url.Values{"version": {s.Version(number)}}).Want(http.StatusSeeOther)
	ada.Get(path + "/photos/" + own + "/full").Want(http.StatusGone)
}

// TestStrangerSeesNothingOfTheWork walks every page of the work as somebody who is not signed in.
func TestStrangerSeesNothingOfTheWork(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.Sent()
	for _, sheet := range []string{"diagnosis", "estimate", "parts", "service", "papers/estimate/1",
		"papers/estimate/1.pdf"} {
		if at := s.Stranger().Get("/dockets/" + number + "/" +
			sheet).Want(http.StatusSeeOther).Location(); !strings.HasPrefix(at, "/sign-in") {
			t.Errorf("%s leads a stranger to %q", sheet, at)
		}
	}
	for _, action := range []string{"diagnosis/findings", "diagnosis/hazards", "estimate", "estimate/send",
		"estimate/answer", "estimate/discard", "link", "link/end", "parts", "service"} {
		s.Stranger().Post("/dockets/"+number+"/"+action, url.Values{"version": {s.Version(number)}}).Want(http.StatusSeeOther)
	}
	if r, _ := estimateOf(s, number).Find(1); r.State != estimate.Sent {
		t.Error("a stranger changed the estimate")
	}
}

// TestStatusInPlainWords has words for every stage, and none that the customer would have to look up.
func TestStatusInPlainWords(t *testing.T) {
	t.Parallel()
	for _, stage := range docket.Stages() {
		for _, in := range tongue.All {
			if key := outside.StatusKey(store.LinkPage{Stage: stage}); in.Say(key) == key {
				t.Errorf("%s has no words in %s", stage, in.Words())
			}
		}
	}
	if got := tongue.English.Say(outside.StatusKey(store.LinkPage{Stage: docket.StageDeclined, Closed: true})); !strings.Contains(got,
		"handed back") {
		t.Errorf("handed back unrepaired: %q", got)
	}
}

func TestAnswersAreBounded(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	path := linkPath(s, s.Sent())
	ada := s.Stranger()
	for range outside.LinkAnswersPerMachine {
		ada.Post(path+"/answer", customerAnswer("name", "")).Want(http.StatusUnprocessableEntity)
	}
	a := ada.Post(path+"/answer", customerAnswer()).Want(http.StatusTooManyRequests)
	if !strings.Contains(webtest.TextOf(a.Document), "Wait five minutes") {
		t.Errorf("told %s", webtest.TextOf(a.Document))
	}
	ada.Get(path).Want(http.StatusOK) // looking is counted apart
}
