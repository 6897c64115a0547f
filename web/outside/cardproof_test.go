package outside_test

import (
	"crypto/ed25519"
	"encoding/json"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"ledgerwheel/domain/tongue"
	"ledgerwheel/domain/warranty"
	"ledgerwheel/e2e/browser"
	"ledgerwheel/web/webtest"
)

// flipped is text with one character changed for another that codes have too.
func flipped(text string, at int) string {
	other := "A"
	if text[at] == 'A' {
		other = "B"
	}
	return text[:at] + other + text[at+1:]
}

// ofAnotherShop is a card of the same facts, signed with a key that is not the shop's.
func ofAnotherShop(t *testing.T, l *webtest.Leaving) string {
	t.Helper()
	card, err := l.NewestCard().Card()
	if err != nil {
		t.Fatal(err)
	}
	key, err := warranty.KeyFromSeed(make([]byte, ed25519.SeedSize))
	if err != nil {
		t.Fatal(err)
	}
	raw, err := key.Prove(card)
	if err != nil {
		t.Fatal(err)
	}
	return warranty.ProofText(raw)
}

func TestPastedCodeIsProven(t *testing.T) {
	t.Parallel()
	l := webtest.NewLeaving(t)
	l.Ready()
	code := l.Issue()
	proof := warranty.ProofText(l.NewestCard().Proof)
	stranger := l.Stranger()
	a := stranger.Post("/card", url.Values{"proof": {"http://ledger.example/card#" + proof}}).Want(http.StatusOK)
	webtest.Contains(t, "the facts", a.Text("proof-result"), "signed by the shop", code.Grouped(), "HM-104477", "M-90113",
		"Full service", "Gannet")
	webtest.Contains(t, "the standing", a.Text("proof-standing"), warranty.Genuine.Words())
	for name, text := range map[string]string{"one flipped": flipped(proof, 100), "cut": proof[:200], "another shop's": ofAnotherShop(t, l), "nonsense": "hello"} {
		a := stranger.Post("/card", url.Values{"proof": {text}}).Want(http.StatusUnprocessableEntity)
		if a.Problem("proof") == "" || strings.Contains(a.Text("proof-result"), "Gannet") {
			t.Errorf("%s: problem %q", name, a.Problem("proof"))
		}
	}
	l.As(l.Owner).PostSure(l.Path+"/card/void", url.Values{"version": {l.Version(l.N.String())}, "reason": {"lost"}}).
		Want(http.StatusSeeOther)
	a = stranger.Post("/card", url.Values{"proof": {proof}}).Want(http.StatusOK)
	webtest.Contains(t, "the standing of a void card", a.Text("proof-standing"), warranty.Void.Words())
}

// How a card stands is signed, and the journal keeps what was said when it was voided.
func TestStandingIsSigned(t *testing.T) {
	t.Parallel()
	l := webtest.NewLeaving(t)
	l.Ready()
	code := l.Issue()
	address := "/w/" + string(code) + "/statement"
	set, err := warranty.NewKeySet(publishedKeys(t, l)...)
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []warranty.Standing{warranty.Genuine, warranty.Void} {
		if want == warranty.Void {
			l.As(l.Owner).PostSure(l.Path+"/card/void", url.Values{"version": {l.Version(l.N.String())}, "reason": {"lost"}}).
				Want(http.StatusSeeOther)
		}
		a := l.Stranger().Get(address).Want(http.StatusOK)
		s, err := set.VerifyStatement(a.Body)
		if err != nil || s.Standing != want || s.Card != code || !s.AsOf.Equal(l.Clock()) || s.Since.IsZero() != (want == warranty.Genuine) {
			t.Errorf("%+v, %v of\n%s", s, err, a.Body)
		}
		if strings.Contains(a.Body, "lost") {
			t.Error("the shop's reason is told to strangers")
		}
	}
	var said string
	if err := l.Store.Pool().QueryRow(t.Context(), `SELECT convert_from(facts, 'UTF8')::jsonb->>'signed_statement' FROM journal
		WHERE kind = 'card voided'`).Scan(&said); err != nil {
		t.Fatal(err)
	}
	if s, err := set.VerifyStatement(said); err != nil || s.Standing != warranty.Void {
		t.Errorf("the journal keeps %+v, %v:\n%s", s, err, said)
	}
	l.Stranger().Get("/w/ABCDEFGHIJKLMNOP/statement").Want(http.StatusNotFound)
}

// Of a card that was replaced the shop says since when; the number of the new one is for its holder alone.
func TestReplacedCardIsSaidToBe(t *testing.T) {
	t.Parallel()
	l := webtest.NewLeaving(t)
	l.Ready()
	old := l.Issue()
	l.As(l.Owner).Post(l.Path+"/card/reissue", l.CardForm("reason", "lost")).Want(http.StatusSeeOther)
	next := l.NewestCard().Code
	set, err := warranty.NewKeySet(publishedKeys(t, l)...)
	if err != nil {
		t.Fatal(err)
	}
	a := l.Stranger().Get("/w/" + string(old) + "/statement").Want(http.StatusOK)
	s, err := set.VerifyStatement(a.Body)
	if err != nil || s.Standing != warranty.Superseded || !s.Since.Equal(l.Clock()) || s.ReplacedBy != "" ||
		strings.Contains(a.Body, next.Grouped()) {
		t.Errorf("%+v, %v of\n%s", s, err, a.Body)
	}
	var said string
	if err := l.Store.Pool().QueryRow(t.Context(), `SELECT convert_from(facts, 'UTF8')::jsonb->>'signed_statement' FROM journal
		WHERE kind = 'card reissued'`).Scan(&said); err != nil {
		t.Fatal(err)
	}
	if s, err := set.VerifyStatement(said); err != nil || s.Card != old || s.ReplacedBy != next {
		t.Errorf("the journal keeps %+v, %v:\n%s", s, err, said)
	}
}

// publishedKeys are the shop's keys as programs read them, and nothing else is read.
func publishedKeys(t *testing.T, l *webtest.Leaving) []warranty.PublicKey {
	t.Helper()
	a := l.Stranger().Get("/.well-known/ledgerwheel-keys.json").Want(http.StatusOK)
	keys, err := warranty.ParseKeys([]byte(a.Body))
	if err != nil || !json.Valid([]byte(a.Body)) {
		t.Fatalf("%v of\n%s", err, a.Body)
	}
	return keys
}

func TestPublicKeysPage(t *testing.T) {
	t.Parallel()
	l := webtest.NewLeaving(t)
	l.Stranger().Get("/card/keys").Want(http.StatusOK).One("empty")
	l.Ready()
	l.Issue()
	id := l.NewestCard().Signed.KeyID
	webtest.Contains(t, "the page of keys", l.Stranger().Get("/card/keys").Want(http.StatusOK).Text("public-key"), id.Grouped(),
		string(id))
	if keys := publishedKeys(t, l); len(keys) != 1 || keys[0].ID != id {
		t.Errorf("published %+v", keys)
	}
	paper := webtest.TextOf(l.As(l.Clerk).Get(l.Path + "/papers/invoice").Want(http.StatusOK).Document)
	webtest.Contains(t, "the invoice", paper, id.Grouped(), "ledger.example/card/keys")
}

// scanned opens a page with a code, waits for what it says, and returns it with the sign that it shows.
func scanned(t *testing.T, tab *browser.Tab, page, code string) (sign, words string) {
	t.Helper()
	if err := tab.Open(page + "#" + code); err != nil {
		t.Fatal(err)
	}
	if err := tab.Until(`document.querySelector("[data-result]")?.dataset.done === "yes"`); err != nil {
		t.Fatal(err)
	}
	sign, err := browser.Eval[string](tab, `[...document.querySelectorAll("[data-verdict]")].map(v => v.dataset.verdict).join(" ")`)
	if err != nil {
		t.Fatal(err)
	}
	if words, err = tab.Text("[data-result]"); err != nil {
		t.Fatal(err)
	}
	return sign, words
}

// A stranger who saved the page proves a card with no network at all: the browser reaches nothing, and the page is a file.
func TestCardIsProvenWithoutNetwork(t *testing.T) {
	t.Parallel()
	l := webtest.NewLeaving(t)
	l.Ready()
	code := l.Issue()
	proof := warranty.ProofText(l.NewestCard().Proof)
	card, err := l.NewestCard().Card()
	if err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(t.TempDir(), "card-check.html")
	if err := os.WriteFile(file, []byte(l.Stranger().Get("/card-check.html").Want(http.StatusOK).Body), 0o600); err != nil {
		t.Fatal(err)
	}
	ctx, stop, err := browser.Start(t.Context(), chromedp.ProxyServer("http://127.0.0.1:1"),
		chromedp.Flag("host-resolver-rules", "MAP * ~NOTFOUND"))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(stop)
	for _, tt := range []struct{ name, code, sign, words string }{
		{"genuine", proof, "pass", "HM-104477"},
		{"one character flipped", flipped(proof, 77), "fail", warranty.ProofProblem(tongue.English, warranty.ErrSignature)},
		{"the last character flipped", flipped(proof, len(proof)-1), "fail", "code"},
		{"cut short", proof[:len(proof)-8], "fail", "genuine"},
		{"another shop's", ofAnotherShop(t, l), "fail", warranty.ProofProblem(tongue.English, warranty.ErrUnknownKey)},
	} {
		tab, closeTab, err := browser.NewTab(ctx, "file://"+file)
		if err != nil {
			t.Fatal(err)
		}
		sign, words := scanned(t, tab, "", tt.code)
		if sign != tt.sign || !strings.Contains(words, tt.words) {
			t.Errorf("%s: %s, %q; want %s and %q", tt.name, sign, words, tt.sign, tt.words)
		}
		if tt.name == "genuine" {
			webtest.Contains(t, "the page without a network", words, code.Grouped(), "M-90113", "Full service", "24 Nov 2028",
				tongue.English.Say("proof.running"))
			final := card.Final // to the same places as the card prints
			webtest.Contains(t, "the figures", words, final.RateWords(final.Rates[1].RateSPerDay),
				final.RateWords(final.MeanSPerDay)+", "+final.SpreadWords())
		}
		if f := tab.Faults(); len(f) > 0 {
			t.Errorf("%s: %q", tt.name, f)
		}
		closeTab()
	}
}

// On the shop's page the same script adds how the card stands, and proves that too.
func TestScannedCodeIsProvenOnThePage(t *testing.T) {
	t.Parallel()
	l := webtest.NewLeaving(t)
	l.Ready()
	l.Issue()
	proof := warranty.ProofText(l.NewestCard().Proof)
	ctx, stop, err := browser.Start(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(stop)
	look := func(code, sign, words string) {
		t.Helper()
		tab, closeTab, err := browser.NewTab(ctx, l.URL)
		if err != nil {
			t.Fatal(err)
		}
		defer closeTab()
		if got, said := scanned(t, tab, "/card", code); got != sign || !strings.Contains(said, words) {
			t.Errorf("%s, %q; want %s and %q", got, said, sign, words)
		}
	}
	look(proof, "pass pass", warranty.Genuine.Words())
	look(flipped(proof, 50), "fail", warranty.ProofProblem(tongue.English, warranty.ErrSignature))
	l.As(l.Owner).PostSure(l.Path+"/card/void", url.Values{"version": {l.Version(l.N.String())}, "reason": {"lost"}}).
		Want(http.StatusSeeOther)
	look(proof, "pass fail", warranty.Void.Words())
}

// TestTheCheckSpeaksTheCardsLanguage: a card that was printed in German is checked in German, whoever looks; the page can be
// read in the others; a number that is none is refused in the language that was asked for.
func TestTheCheckSpeaksTheCardsLanguage(t *testing.T) {
	t.Parallel()
	l := webtest.NewLeaving(t)
	l.Ready()
	l.Put(l.N.String(), "tongue = 'de'")
	l.Gone()
	code := l.Issue()
	look := l.Stranger().Get("/w/" + string(code)).Want(http.StatusOK)
	webtest.Contains(t, "in German", webtest.TextOf(look.Document), "Diese Karte ist echt", "Die Uhr", "Was die Garantie deckt", "Mittlerer Gang")
	if !strings.Contains(look.Body, `<html lang="de"`) || strings.Contains(webtest.TextOf(look.Document), "Compare with") {
		t.Error("the page is not wholly in German")
	}
	french := l.Stranger().Get(webtest.Attr(look.One("tongue-fr"), "href")).Want(http.StatusOK)
	webtest.Contains(t, "in French", webtest.TextOf(french.Document), "Cette carte est authentique", "Ce que couvre la garantie")
	wrong := l.Stranger().Get("/w?in=de&code=short").Want(http.StatusUnprocessableEntity)
	webtest.Contains(t, "refused in German", wrong.Problem("code"), "keine Kartennummer")
	if to := l.Stranger().Get("/w?in=fr&code=" + string(code)).Want(http.StatusSeeOther).Location(); to != "/w/"+string(code)+"?in=fr" {
		t.Errorf("it leads to %q", to)
	}
	for _, text := range []string{webtest.TextOf(look.Document), webtest.TextOf(french.Document)} {
		if strings.Contains(text, "check.") || strings.Contains(text, "<no value>") {
			t.Errorf("a key is shown: %.400s", text)
		}
	}
}
