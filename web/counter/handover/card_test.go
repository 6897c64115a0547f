package web

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"golang.org/x/net/html"

	"ledgerwheel/domain/warranty"
)

func TestIssueCardOnThePage(t *testing.T) {
	t.Parallel()
	l := newLeaving(t)
	owner := l.as(l.owner)
	if got := owner.get(l.path + "/card").want(http.StatusOK).text("card-why"); !strings.Contains(got, "ready") {
		t.Errorf("before it is ready: %q", got)
	}
	l.ready()
	page := owner.get(l.path + "/card").want(http.StatusOK)
	if got := strings.TrimSpace(page.value("work_done")); got != "Full service\nMainspring" {
		t.Errorf("work suggested: %q", got)
	}
	faces := page.text("card-faces")
	for _, want := range []string{"How it would look", "not issued", "HM-104477", "M-90113", l.n.String(), "+3.0", "280°", "Mean +2.000, delta 5.000 s/d", "Mainspring"} {
		if !strings.Contains(faces, want) {
			t.Errorf("the draft does not say %q: %s", want, faces)
		}
	}
	page = owner.post(l.path+"/card", l.cardForm("do", "show", "work_done", "Polishing", "months", "6")).want(http.StatusOK)
	if faces := page.text("card-faces"); !strings.Contains(faces, "Polishing") || !strings.Contains(faces, "24 May 2027") {
		t.Errorf("shown as typed: %s", faces)
	}
	code := l.issue()
	page = owner.get(l.path + "/card").want(http.StatusOK)
	if got := page.text("card-number"); !strings.Contains(got, code.Grouped()) {
		t.Errorf("number %q", got)
	}
	if got := page.text("card-check"); !strings.Contains(got, "http://ledger.example/w/"+string(code)) {
		t.Errorf("checked at %q", got)
	}
	if got := page.text("card-faces"); !strings.Contains(got, "24 Nov 2028") || strings.Contains(got, "not issued") {
		t.Errorf("faces %q", got)
	}
	if len(page.all("comeback")) != 0 {
		t.Error("a watch that is still here is said to come back")
	}
	l.gone()
	if got := attr(l.as(l.clerk).get(l.path+"/card").one("comeback"), "href"); !strings.HasPrefix(got, "/intake?customer=") {
		t.Errorf("the comeback leads to %q", got)
	}
}

func TestCardRefusedOnThePage(t *testing.T) {
	t.Parallel()
	l := newLeaving(t)
	l.ready()
	owner := l.as(l.owner)
	page := owner.post(l.path+"/card", l.cardForm("work_done", " ", "months", "two", "covers", "", "starts_on", "soon")).want(http.StatusUnprocessableEntity)
	for _, field := range []string{"work_done", "months", "covers", "starts_on"} {
		if page.problem(field) == "" {
			t.Errorf("no reason beside %s", field)
		}
	}
	if page.value("months") != "two" {
		t.Errorf("typed text is lost: %q", page.value("months"))
	}
	if got := owner.post(l.path+"/card", l.cardForm("starts_on", "2026-11-23")).want(http.StatusUnprocessableEntity).problem("starts_on"); !strings.Contains(got, "still here") {
		t.Errorf("from yesterday: %q", got)
	}
	for _, c := range []*client{l.as(l.clerk), l.as(l.watchmaker)} {
		c.post(l.path+"/card", l.cardForm()).want(http.StatusForbidden)
	}
	l.issue()
	for _, c := range []*client{l.as(l.clerk), l.as(l.watchmaker)} {
		c.post(l.path+"/card/reissue", l.cardForm("reason", "x")).want(http.StatusForbidden)
		c.post(l.path+"/card/void", url.Values{"version": {"1"}, "reason": {"x"}}).want(http.StatusForbidden)
		if page := c.get(l.path + "/card").want(http.StatusOK); len(page.all("card-form"))+len(page.all("void-form")) != 0 {
			t.Error("a form is shown to somebody who may not use it")
		}
	}
	if got := owner.post(l.path+"/card/reissue", l.cardForm("reason", "")).want(http.StatusUnprocessableEntity).problem("reason"); got == "" {
		t.Error("reissued without a reason")
	}
	if got := owner.post(l.path+"/card/void", url.Values{"version": {l.version(l.n.String())}}).want(http.StatusUnprocessableEntity).problem("reason"); got == "" {
		t.Error("void without a reason")
	}
	stale := l.cardForm("reason", "lost")
	owner.post(l.path+"/card/reissue", l.cardForm("reason", "lost")).want(http.StatusSeeOther)
	owner.post(l.path+"/card/reissue", stale).want(http.StatusConflict)
}

// Only a card that stands and proves itself is printed, by owner and clerk.
func TestWhoPrintsCards(t *testing.T) {
	t.Parallel()
	l := newLeaving(t)
	l.ready()
	l.as(l.owner).get(l.path + "/papers/warranty-card").want(http.StatusNotFound)
	l.issue()
	for _, path := range []string{"/papers/warranty-card", "/papers/warranty-card.pdf"} {
		l.as(l.clerk).get(l.path + path).want(http.StatusOK)
		l.as(l.watchmaker).get(l.path + path).want(http.StatusForbidden)
	}
	l.as(l.owner).post(l.path+"/card/void", url.Values{"version": {l.version(l.n.String())}, "reason": {"misprinted"}}).want(http.StatusSeeOther)
	l.as(l.clerk).get(l.path + "/papers/warranty-card").want(http.StatusNotFound)
}

// secrets is what a card's page may tell nobody: people, docket, work, prices, whole serials, the shop's reasons.
func (l *leaving) secrets() []string {
	return []string{"Ada", "Quillmarsh", "01632 960123", l.n.String(), l.n.Compact(), "HM-104477", "M-90113", "Full service", "Mainspring",
		"€", "Ottilie", "Nuala", "Emrys", "misprinted", "Gains a minute"}
}

func TestPublicCheck(t *testing.T) {
	t.Parallel()
	l := newLeaving(t)
	l.ready()
	first := l.issue()
	stranger := l.stranger()
	check := func(code warranty.Code, status int, says ...string) *answer {
		t.Helper()
		a := stranger.get("/w/" + string(code)).want(status)
		for _, want := range says {
			if !strings.Contains(textOf(a.document), want) {
				t.Errorf("%s: page does not say %q: %s", code, want, textOf(a.document))
			}
		}
		for _, secret := range l.secrets() {
			if strings.Contains(a.body, secret) {
				t.Errorf("%s: the page gives %q away", code, secret)
			}
		}
		if got := a.header.Get("X-Robots-Tag"); !strings.Contains(got, "noindex") {
			t.Errorf("robots are told %q", got)
		}
		return a
	}
	check(first, http.StatusOK, "genuine", first.Grouped(), "Gannet Harbourmaster", "…4477", "…113", "24 Nov 2026", "24 Nov 2028", "The work named here.", "+2.0", "5.0", "Tern Quay Watch Works")
	l.as(l.owner).post(l.path+"/card/reissue", l.cardForm("reason", "lost")).want(http.StatusSeeOther)
	second := l.newestCard().Code
	check(first, http.StatusOK, "replaced by a newer one", "Tern Quay Watch Works")
	if a := stranger.get("/w/" + string(first)); strings.Contains(a.body, string(second)) || strings.Contains(a.body, second.Grouped()) {
		t.Error("a replaced card gives away the one that replaced it")
	}
	check(second, http.StatusOK, "This card is genuine")
	l.pass(2 * 366 * 24 * time.Hour)
	check(second, http.StatusOK, "the warranty has ended", "Gannet")
	l.as(l.owner).post(l.path+"/card/void", url.Values{"version": {l.version(l.n.String())}, "reason": {"misprinted"}}).want(http.StatusSeeOther)
	check(second, http.StatusOK, "declared this card void")
	if a := stranger.get("/w/" + string(second)); strings.Contains(a.body, "Gannet") {
		t.Error("a void card still names its watch")
	}
	check("ABCDEFGHIJKLMNOP", http.StatusNotFound, "not genuine", "no card of this shop")
}

// A row altered behind the program's back is not genuine, whoever looks.
func TestTamperedCardOnThePages(t *testing.T) {
	t.Parallel()
	l := newLeaving(t)
	l.ready()
	code := l.issue()
	for _, sql := range []string{`ALTER TABLE warranty_card DISABLE TRIGGER warranty_card_fixed`,
		`UPDATE warranty_card SET payload = decode(replace(encode(payload, 'hex'), encode('2028-11-24', 'hex'), encode('2099-11-24', 'hex')), 'hex')`} {
		if _, err := l.store.Pool().Exec(t.Context(), sql); err != nil {
			t.Fatal(err)
		}
	}
	if got := l.newestCard(); !strings.Contains(string(got.Signed.Payload), "2099-11-24") {
		t.Fatal("nothing was altered")
	}
	a := l.stranger().get("/w/" + string(code)).want(http.StatusNotFound)
	if got := a.text("check-result"); !strings.Contains(got, "not genuine") || strings.Contains(a.body, "2099") || strings.Contains(a.body, "Gannet") {
		t.Errorf("the check says %q", got)
	}
	page := l.as(l.owner).get(l.path + "/card").want(http.StatusOK)
	if got := page.text("card-now"); !strings.Contains(got, "altered") {
		t.Errorf("the owner reads %q", got)
	}
	if len(page.all("print-card"))+len(page.all("reissue-card")) != 0 || len(page.all("void-form")) != 1 {
		t.Error("an altered card is offered to be printed or reissued")
	}
	l.as(l.owner).get(l.path + "/papers/warranty-card").want(http.StatusNotFound)
	l.as(l.owner).get(l.path + "/papers/warranty-card.pdf").want(http.StatusNotFound)
	l.as(l.owner).post(l.path+"/card/reissue", l.cardForm("reason", "x")).want(http.StatusUnprocessableEntity)
	l.as(l.owner).post(l.path+"/card/void", url.Values{"version": {l.version(l.n.String())}, "reason": {"altered"}}).want(http.StatusSeeOther)
	l.as(l.owner).post(l.path+"/card", l.cardForm()).want(http.StatusSeeOther)
	l.stranger().get("/w/" + string(l.newestCard().Code)).want(http.StatusOK)
}

func TestTypedCode(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	c := s.stranger()
	if got := c.get("/w").want(http.StatusOK).header.Get("X-Robots-Tag"); !strings.Contains(got, "noindex") {
		t.Errorf("robots are told %q", got)
	}
	for _, typed := range []string{"abcd-efgh-ijkl-mnop", "ABCDEFGHIJKLMNOP", " abcd efgh 1jkl mn0p "} {
		if got := c.get("/w?code=" + url.QueryEscape(typed)).want(http.StatusSeeOther).location(); !strings.HasPrefix(got, "/w/ABCDEFGH") {
			t.Errorf("%q leads to %q", typed, got)
		}
	}
	a := c.get("/w?code=" + url.QueryEscape("the <b>blue</b> card")).want(http.StatusUnprocessableEntity)
	if a.problem("code") == "" || a.value("code") != "the <b>blue</b> card" {
		t.Errorf("refused with %q, kept %q", a.problem("code"), a.value("code"))
	}
	if got := c.get("/w/abcdefghijklmnop").want(http.StatusSeeOther).location(); got != "/w/ABCDEFGHIJKLMNOP" {
		t.Errorf("one card has two addresses: %q", got)
	}
	if got := c.get("/w/short").want(http.StatusNotFound).problem("code"); got == "" {
		t.Error("a code of the wrong shape is not said to be one")
	}
}

func TestChecksAreBounded(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	c := s.stranger()
	for range checksPerMachine {
		c.get("/w/ABCDEFGHIJKLMNOP").want(http.StatusNotFound)
	}
	if a := c.get("/w/ABCDEFGHIJKLMNOP").want(http.StatusTooManyRequests); !strings.Contains(textOf(a.document), "Wait a minute") {
		t.Errorf("says %q", textOf(a.document))
	}
	c.get("/w").want(http.StatusOK)
}

func TestKeysPage(t *testing.T) {
	t.Parallel()
	l := newLeaving(t)
	l.ready()
	owner := l.as(l.owner)
	owner.get("/keys").want(http.StatusOK).one("empty")
	code := l.issue()
	page := owner.get("/keys").want(http.StatusOK)
	current := page.hidden("current")
	if got := page.text("key"); !strings.Contains(got, current) || !strings.Contains(got, "signs") || !strings.Contains(got, "Ottilie Brandt") {
		t.Errorf("key %q", got)
	}
	var seed string
	if err := l.store.Pool().QueryRow(t.Context(), `SELECT encode(seed, 'hex') FROM signing_key`).Scan(&seed); err != nil || strings.Contains(page.body, seed) {
		t.Errorf("the page shows the private half (%v)", err)
	}
	l.pass(time.Minute)
	owner.post("/keys/rotate", url.Values{"current": {current}}).want(http.StatusSeeOther)
	if got := owner.post("/keys/rotate", url.Values{"current": {current}}).want(http.StatusConflict).text("keys-problem"); !strings.Contains(got, "Nothing was done") {
		t.Errorf("rotated twice from one page: %q", got)
	}
	if keys := owner.get("/keys").all("key"); len(keys) != 2 || !strings.Contains(textOf(keys[1]), "retired") {
		t.Errorf("%d keys", len(keys))
	}
	if got := l.stranger().get("/w/" + string(code)).want(http.StatusOK).text("check-result"); !strings.Contains(got, "genuine") {
		t.Errorf("a card of the retired key: %q", got)
	}
	for _, c := range []*client{l.as(l.clerk), l.as(l.watchmaker)} {
		c.get("/keys").want(http.StatusForbidden)
		c.post("/keys/rotate", url.Values{"current": {current}}).want(http.StatusForbidden)
	}
}

// Names of any script stand on the card as they are, and markup stays text.
func TestCardOfAnyScript(t *testing.T) {
	t.Parallel()
	l := newLeaving(t)
	if _, err := l.store.Pool().Exec(t.Context(), `UPDATE watch SET maker = 'שעוני הנמל', model = '<i>Ωμέγα</i>'`); err != nil {
		t.Fatal(err)
	}
	l.ready()
	l.as(l.owner).post(l.path+"/card", l.cardForm("work_done", "Čištění & mazání\n\u202eevil", "covers", "خدمة <script>")).want(http.StatusSeeOther)
	card, err := l.newestCard().Card()
	if err != nil {
		t.Fatal(err)
	}
	if card.Watch.Maker != "שעוני הנמל" || card.WorkDone[1] != "evil" {
		t.Errorf("kept %+v", card)
	}
	page := l.as(l.clerk).get(l.path + "/papers/warranty-card").want(http.StatusOK)
	for n := range page.document.Descendants() {
		if n.Type == html.ElementNode && (n.Data == "i" || n.Data == "script" && attr(n, "src") == "") {
			t.Errorf("markup came through: %s", n.Data)
		}
	}
	if got := textOf(page.document); !strings.Contains(got, "שעוני הנמל <i>Ωμέγα</i>") || !strings.Contains(got, "Čištění & mazání") {
		t.Errorf("card says %s", got)
	}
	l.as(l.clerk).get(l.path + "/papers/warranty-card.pdf").want(http.StatusOK)
}

func TestCardLineOnTheHandOver(t *testing.T) {
	t.Parallel()
	l := newLeaving(t)
	if page := l.as(l.clerk).get(l.path + "/hand-over"); len(page.all("card-line")) != 0 {
		t.Error("a card is spoken of before the watch is ready")
	}
	l.ready()
	if got := l.as(l.clerk).get(l.path + "/hand-over").text("card-line"); !strings.Contains(got, "for the owner to issue") {
		t.Errorf("clerk reads %q", got)
	}
	code := l.issue()
	page := l.as(l.clerk).get(l.path + "/hand-over")
	if got := page.text("card-line"); !strings.Contains(got, code.Grouped()) || len(page.all("to-card-paper")) != 1 || len(page.all("to-invoice")) != 1 {
		t.Errorf("clerk reads %q", got)
	}
}
