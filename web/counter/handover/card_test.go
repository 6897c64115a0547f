package handover_test

import (
	"encoding/base64"
	"encoding/hex"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"golang.org/x/net/html"

	"ledgerwheel/domain/warranty"
	"ledgerwheel/web/outside"
	"ledgerwheel/web/webtest"
)

func TestIssueCardOnThePage(t *testing.T) {
	t.Parallel()
	l := webtest.NewLeaving(t)
	owner := l.As(l.Owner)
	if got := owner.Get(l.Path + "/card").Want(http.StatusOK).Text("card-why"); !strings.Contains(got, "ready") {
		t.Errorf("before it is ready: %q", got)
	}
	l.Ready()
	page := owner.Get(l.Path + "/card").Want(http.StatusOK)
	if got := strings.TrimSpace(page.Value("work_done")); got != "Full service\nMainspring\nTested at 5 bar, in air, on 24 November 2026" {
		t.Errorf("work suggested: %q", got)
	}
	faces := page.Text("card-faces")
	for _, want := range []string{"How it would look", "not issued", "HM-104477", "M-90113", l.N.String(), "+3.0", "280°",
		"Mean +2.000", "Delta 5.000", "Mainspring"} {
		if !strings.Contains(faces, want) {
			t.Errorf("the draft does not say %q: %s", want, faces)
		}
	}
	page = owner.Post(l.Path+"/card", l.CardForm("do", "show", "work_done", "Polishing", "months",
		"6")).Want(http.StatusOK)
	if faces := page.Text("card-faces"); !strings.Contains(faces, "Polishing") || !strings.Contains(faces, "24 May 2027") {
		t.Errorf("shown as typed: %s", faces)
	}
	code := l.Issue()
	page = owner.Get(l.Path + "/card").Want(http.StatusOK)
	if got := page.Text("card-number"); !strings.Contains(got, code.Grouped()) {
		t.Errorf("number %q", got)
	}
	if got := page.Text("card-check"); !strings.Contains(got, "http://ledger.example/w/"+string(code)) {
		t.Errorf("checked at %q", got)
	}
	if got := page.Text("card-faces"); !strings.Contains(got, "24 Nov 2028") || strings.Contains(got, "not issued") {
		t.Errorf("faces %q", got)
	}
	if len(page.All("comeback")) != 0 {
		t.Error("a watch that is still here is said to come back")
	}
	l.Gone()
	if got := webtest.Attr(l.As(l.Clerk).Get(l.Path+"/card").One("comeback"), "href"); !strings.HasPrefix(got,
		"/intake?customer=") {
		t.Errorf("the comeback leads to %q", got)
	}
}

func TestCardRefusedOnThePage(t *testing.T) {
	t.Parallel()
	l := webtest.NewLeaving(t)
	l.Ready()
	owner := l.As(l.Owner)
	page := owner.Post(l.Path+"/card", l.CardForm("work_done", " ", "months", "two", "covers", "", "starts_on",
		"soon")).Want(http.StatusUnprocessableEntity)
	for _, field := range []string{"work_done", "months", "covers", "starts_on"} {
		if page.Problem(field) == "" {
			t.Errorf("no reason beside %s", field)
		}
	}
	if page.Value("months") != "two" {
		t.Errorf("typed text is lost: %q", page.Value("months"))
	}
	if got := owner.Post(l.Path+"/card", l.CardForm("starts_on",
		"2026-11-23")).Want(http.StatusUnprocessableEntity).Problem("starts_on"); !strings.Contains(got, "still here") {
		t.Errorf("from yesterday: %q", got)
	}
	l.As(l.Watchmaker).Post(l.Path+"/card", l.CardForm()).Want(http.StatusForbidden)
	if got := l.As(l.Clerk).Post(l.Path+"/card", l.CardForm()).Want(http.StatusUnprocessableEntity); !strings.Contains(got.Text("form-errors"),
		"issued by the owner") {
		t.Errorf("a clerk without an order: %q", got.Text("form-errors"))
	}
	l.Issue()
	for _, c := range []*webtest.Client{l.As(l.Clerk), l.As(l.Watchmaker)} {
		c.Post(l.Path+"/card/reissue", l.CardForm("reason", "x")).Want(http.StatusForbidden)
		c.PostSure(l.Path+"/card/void", url.Values{"version": {"1"}, "reason": {"x"}}).Want(http.StatusForbidden)
		if page := c.Get(l.Path + "/card").Want(http.StatusOK); len(page.All("card-form"))+len(page.All("void-form")) != 0 {
			t.Error("a form is shown to somebody who may not use it")
		}
	}
	if got := owner.Post(l.Path+"/card/reissue",
		l.CardForm("reason", "")).Want(http.StatusUnprocessableEntity).Problem("reason"); got == "" {
		t.Error("reissued without a reason")
	}
	if got := owner.PostSure(l.Path+"/card/void",
		url.Values{"version": {l.Version(l.N.String())}}).Want(http.StatusUnprocessableEntity).Problem("reason"); got == "" {
		t.Error("void without a reason")
	}
	stale := l.CardForm("reason", "lost")
	owner.Post(l.Path+"/card/reissue", l.CardForm("reason", "lost")).Want(http.StatusSeeOther)
	owner.Post(l.Path+"/card/reissue", stale).Want(http.StatusConflict)
}

// Only a card that stands and proves itself is printed, by owner and clerk.
func TestWhoPrintsCards(t *testing.T) {
	t.Parallel()
	l := webtest.NewLeaving(t)
	l.Ready()
	l.As(l.Owner).Get(l.Path + "/papers/warranty-card").Want(http.StatusNotFound)
	l.Issue()
	for _, path := range []string{"/papers/warranty-card", "/papers/warranty-card.pdf"} {
		l.As(l.Clerk).Get(l.Path + path).Want(http.StatusOK)
		l.As(l.Watchmaker).Get(l.Path + path).Want(http.StatusForbidden)
	}
	owner := l.As(l.Owner)
	l.Unproven(owner)
	asked := owner.Post(l.Path+"/card/void", url.Values{"version": {l.Version(l.N.String())}, "reason": {"x"}}).Want(http.StatusOK)
	if len(asked.All("proof_password")) != 1 {
		t.Error("a card is declared void without asking who is there")
	}
	l.As(l.Owner).PostSure(l.Path+"/card/void", url.Values{"version": {l.Version(l.N.String())},
		"reason": {"misprinted"}}).Want(http.StatusSeeOther)
	l.As(l.Clerk).Get(l.Path + "/papers/warranty-card").Want(http.StatusNotFound)
}

// secrets is what a card's page may tell nobody: people, docket, work, prices, whole serials, the shop's reasons.
func secrets(l *webtest.Leaving) []string {
	return []string{"Ada", "Quillmarsh", "01632 960123", l.N.String(), l.N.Compact(), "HM-104477", "M-90113",
		"Full service", "Mainspring",
		"€", "Ottilie", "Nuala", "Emrys", "misprinted", "Gains a minute"}
}

func TestPublicCheck(t *testing.T) {
	t.Parallel()
	l := webtest.NewLeaving(t)
	l.Ready()
	first := l.Issue()
	stranger := l.Stranger()
	check := func(code warranty.Code, status int, says ...string) *webtest.Answer {
		t.Helper()
		a := stranger.Get("/w/" + string(code)).Want(status)
		for _, want := range says {
			if !strings.Contains(webtest.TextOf(a.Document), want) {
				t.Errorf("%s: page does not say %q: %s", code, want, webtest.TextOf(a.Document))
			}
		}
		for _, secret := range secrets(l) {
			if strings.Contains(a.Body, secret) {
				t.Errorf("%s: the page gives %q away", code, secret)
			}
		}
		if got := a.Header.Get("X-Robots-Tag"); !strings.Contains(got, "noindex") {
			t.Errorf("robots are told %q", got)
		}
		return a
	}
	check(first, http.StatusOK, "genuine", first.Grouped(), "Gannet Harbourmaster", "…4477", "…113", "24 Nov 2026",
		"24 Nov 2028", "The work named here.", "+2.0", "5.0", "Tern Quay Watch Works")
	l.As(l.Owner).Post(l.Path+"/card/reissue", l.CardForm("reason", "lost")).Want(http.StatusSeeOther)
	second := l.NewestCard().Code
	check(first, http.StatusOK, "replaced by a newer one", "Tern Quay Watch Works")
	if a := stranger.Get("/w/" + string(first)); strings.Contains(a.Body, string(second)) ||
		strings.Contains(a.Body, second.Grouped()) {
		t.Error("a replaced card gives away the one that replaced it")
	}
	check(second, http.StatusOK, "This card is genuine")
	l.Pass(2 * 366 * 24 * time.Hour)
	check(second, http.StatusOK, "the warranty has ended", "Gannet")
	l.As(l.Owner).PostSure(l.Path+"/card/void", url.Values{"version": {l.Version(l.N.String())},
		"reason": {"misprinted"}}).Want(http.StatusSeeOther)
	check(second, http.StatusOK, "declared this card void")
	if a := stranger.Get("/w/" + string(second)); strings.Contains(a.Body, "Gannet") {
		t.Error("a void card still names its watch")
	}
	check("ABCDEFGHIJKLMNOP", http.StatusNotFound, "not genuine", "no card of this shop")
}

// A row altered behind the program's back is not genuine, whoever looks.
func TestTamperedCardOnThePages(t *testing.T) {
	t.Parallel()
	l := webtest.NewLeaving(t)
	l.Ready()
	code := l.Issue()
	for _, sql := range []string{`ALTER TABLE warranty_card DISABLE TRIGGER warranty_card_fixed`,
		`UPDATE warranty_card SET payload = decode(replace(encode(payload, 'hex'), encode('2028-11-24', 'hex'), encode('2099-11-24', 'hex')), 'hex')`} {
		if _, err := l.Store.Pool().Exec(t.Context(), sql); err != nil {
			t.Fatal(err)
		}
	}
	if got := l.NewestCard(); !strings.Contains(string(got.Signed.Payload), "2099-11-24") {
		t.Fatal("nothing was altered")
	}
	a := l.Stranger().Get("/w/" + string(code)).Want(http.StatusNotFound)
	if got := a.Text("check-result"); !strings.Contains(got, "not genuine") || strings.Contains(a.Body, "2099") ||
		strings.Contains(a.Body, "Gannet") {
		t.Errorf("the check says %q", got)
	}
	page := l.As(l.Owner).Get(l.Path + "/card").Want(http.StatusOK)
	if got := page.Text("card-now"); !strings.Contains(got, "altered") {
		t.Errorf("the owner reads %q", got)
	}
	if len(page.All("print-card"))+len(page.All("reissue-card")) != 0 || len(page.All("void-form")) != 1 {
		t.Error("an altered card is offered to be printed or reissued")
	}
	l.As(l.Owner).Get(l.Path + "/papers/warranty-card").Want(http.StatusNotFound)
	l.As(l.Owner).Get(l.Path + "/papers/warranty-card.pdf").Want(http.StatusNotFound)
	l.As(l.Owner).Post(l.Path+"/card/reissue", l.CardForm("reason", "x")).Want(http.StatusUnprocessableEntity)
	l.As(l.Owner).PostSure(l.Path+"/card/void", url.Values{"version": {l.Version(l.N.String())},
		"reason": {"altered"}}).Want(http.StatusSeeOther)
	l.As(l.Owner).Post(l.Path+"/card", l.CardForm()).Want(http.StatusSeeOther)
	code = l.NewestCard().Code
	l.Stranger().Get("/w/" + string(code)).Want(http.StatusOK)
	slip := l.Stranger().Get("/w/" + string(code.Slips()[40])).Want(http.StatusNotFound)
	webtest.Contains(t, "one wrong letter", slip.Text("check-result"), "mistyped", "letter by letter")
	if strings.Contains(slip.Body, string(code)) || strings.Contains(slip.Body, code.Grouped()) ||
		strings.Contains(slip.Body, "Gannet") || strings.Contains(slip.Text("check-result"), "not genuine") {
		t.Errorf("one wrong letter tells %q", slip.Text("check-result"))
	}
}

func TestTypedCode(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	c := s.Stranger()
	if got := c.Get("/w").Want(http.StatusOK).Header.Get("X-Robots-Tag"); !strings.Contains(got, "noindex") {
		t.Errorf("robots are told %q", got)
	}
	for _, typed := range []string{"abcd-efgh-ijkl-mnop", "ABCDEFGHIJKLMNOP", " abcd efgh 1jkl mn0p "} {
		if got := c.Get("/w?code=" + url.QueryEscape(typed)).Want(http.StatusSeeOther).Location(); !strings.HasPrefix(got,
			"/w/ABCDEFGH") {
			t.Errorf("%q leads to %q", typed, got)
		}
	}
	a := c.Get("/w?code=" + url.QueryEscape("the <b>blue</b> card")).Want(http.StatusUnprocessableEntity)
	if got := a.Text("form-errors"); strings.Contains(got, "saved") {
		t.Errorf("the refusal says %q", got)
	}
	if a.Problem("code") == "" || a.Value("code") != "the <b>blue</b> card" {
		t.Errorf("refused with %q, kept %q", a.Problem("code"), a.Value("code"))
	}
	if got := c.Get("/w/abcdefghijklmnop").Want(http.StatusSeeOther).Location(); got != "/w/ABCDEFGHIJKLMNOP" {
		t.Errorf("one card has two addresses: %q", got)
	}
	if got := c.Get("/w/short").Want(http.StatusNotFound).Problem("code"); got == "" {
		t.Error("a code of the wrong shape is not said to be one")
	}
}

func TestChecksAreBounded(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	c := s.Stranger()
	for range outside.ChecksPerMachine {
		c.Get("/w/ABCDEFGHIJKLMNOP").Want(http.StatusNotFound)
	}
	if a := c.Get("/w/ABCDEFGHIJKLMNOP").Want(http.StatusTooManyRequests); !strings.Contains(webtest.TextOf(a.Document),
		"Wait a minute") {
		t.Errorf("says %q", webtest.TextOf(a.Document))
	}
	c.Get("/w").Want(http.StatusOK)
}

func TestKeysPage(t *testing.T) {
	t.Parallel()
	l := webtest.NewLeaving(t)
	l.Ready()
	owner := l.As(l.Owner)
	owner.Get("/keys").Want(http.StatusOK).One("empty")
	code := l.Issue()
	page := owner.Get("/keys").Want(http.StatusOK)
	current := page.Hidden("current")
	if got := page.Text("key"); !strings.Contains(got, current) || !strings.Contains(got, "signs") ||
		!strings.Contains(got, "Ottilie Brandt") {
		t.Errorf("key %q", got)
	}
	seed, err := l.Store.Keys().Seed("card", current)
	if err != nil || strings.Contains(page.Body, hex.EncodeToString(seed)) ||
		strings.Contains(page.Body, base64.StdEncoding.EncodeToString(seed)) {
		t.Errorf("the page shows the private half (%v)", err)
	}
	l.Pass(time.Minute)
	owner.PostSure("/keys/rotate", url.Values{"current": {current}}).Want(http.StatusSeeOther)
	if got := owner.PostSure("/keys/rotate", url.Values{
		"current": {current}}).Want(http.StatusConflict).Text("keys-problem"); !strings.Contains(got, "Nothing was done") {
		t.Errorf("rotated twice from one page: %q", got)
	}
	if keys := owner.Get("/keys").All("key"); len(keys) != 2 || !strings.Contains(webtest.TextOf(keys[1]), "retired") {
		t.Errorf("%d keys", len(keys))
	}
	if got := l.Stranger().Get("/w/" + string(code)).Want(http.StatusOK).Text("check-result"); !strings.Contains(got,
		"genuine") {
		t.Errorf("a card of the retired key: %q", got)
	}
	for _, c := range []*webtest.Client{l.As(l.Clerk), l.As(l.Watchmaker)} {
		c.Get("/keys").Want(http.StatusForbidden)
		c.Post("/keys/rotate", url.Values{"current": {current}}).Want(http.StatusForbidden)
	}
}

// Names of any script stand on the card as they are, and markup stays text.
func TestCardOfAnyScript(t *testing.T) {
	t.Parallel()
	l := webtest.NewLeaving(t)
	if _, err := l.Store.Pool().Exec(t.Context(),
		`UPDATE watch SET maker = 'שעוני הנמל', model = '<i>Ωμέγα</i>'`); err != nil {
		t.Fatal(err)
	}
	l.Ready()
	l.As(l.Owner).Post(l.Path+"/card", l.CardForm("work_done", "Čištění & mazání\n\u202eevil", "covers",
		"خدمة <script>")).Want(http.StatusSeeOther)
	card, err := l.NewestCard().Card()
	if err != nil {
		t.Fatal(err)
	}
	if card.Watch.Maker != "שעוני הנמל" || card.WorkDone[1] != "evil" {
		t.Errorf("kept %+v", card)
	}
	page := l.As(l.Clerk).Get(l.Path + "/papers/warranty-card").Want(http.StatusOK)
	for n := range page.Document.Descendants() {
		if n.Type == html.ElementNode && (n.Data == "i" || n.Data == "script" && webtest.Attr(n, "src") == "") {
			t.Errorf("markup came through: %s", n.Data)
		}
	}
	if got := webtest.TextOf(page.Document); !strings.Contains(got, "שעוני הנמל <i>Ωμέγα</i>") ||
		!strings.Contains(got, "Čištění & mazání") {
		t.Errorf("card says %s", got)
	}
	l.As(l.Clerk).Get(l.Path + "/papers/warranty-card.pdf").Want(http.StatusOK)
}

func TestCardLineOnTheHandOver(t *testing.T) {
	t.Parallel()
	l := webtest.NewLeaving(t)
	if page := l.As(l.Clerk).Get(l.Path + "/hand-over"); len(page.All("card-line")) != 0 {
		t.Error("a card is spoken of before the watch is ready")
	}
	l.Ready()
	if got := l.As(l.Clerk).Get(l.Path + "/hand-over").Text("card-line"); !strings.Contains(got,
		"for the owner to issue") {
		t.Errorf("clerk reads %q", got)
	}
	code := l.Issue()
	page := l.As(l.Clerk).Get(l.Path + "/hand-over")
	if got := page.Text("card-line"); !strings.Contains(got, code.Grouped()) || len(page.All("to-card-paper")) != 1 ||
		len(page.All("to-invoice")) != 1 {
		t.Errorf("clerk reads %q", got)
	}
}
