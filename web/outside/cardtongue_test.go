package outside_test

import (
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"ledgerwheel/domain/tongue"
	"ledgerwheel/domain/warranty"
	"ledgerwheel/e2e/browser"
	"ledgerwheel/web/webtest"
)

// speaksOnly finds a key, an open place, or a sentence of English on a page of the check in another language.
func speaksOnly(t *testing.T, in tongue.Tongue, what, text string) {
	t.Helper()
	text = strings.Join(strings.Fields(text), " ")
	for _, key := range tongue.Keys(tongue.English) {
		part, _, _ := strings.Cut(key, ".")
		if !slices.Contains([]string{"check", "proof", "keys", "file"}, part) {
			continue
		}
		if strings.Contains(key, ".") && strings.Contains(text, key) {
			t.Errorf("%s: the key %q is shown", what, key)
		}
		if english := tongue.English.Say(key); in != tongue.English && len(english) > 9 && english != in.Say(key) &&
			strings.Contains(text, english) {
			t.Errorf("%s has %q in %s", what, english, in.Words())
		}
	}
	for _, open := range []string{"<no value>", "{}", "undefined"} {
		if strings.Contains(text, open) {
			t.Errorf("%s: %q is shown", what, open)
		}
	}
}

// plainly is a sentence with every space a plain one, as tests read pages.
func plainly(in tongue.Tongue, key string, with ...any) string {
	return strings.Join(strings.Fields(in.Say(key, with...)), " ")
}

// of asks for a page as a browser does whose owner reads those languages.
func of(t *testing.T, c *webtest.Client, address, accepts string) *webtest.Answer {
	t.Helper()
	req, err := http.NewRequest(http.MethodGet, c.URL+address, nil)
	if err != nil {
		t.Fatal(err)
	}
	req.Header.Set("Accept-Language", accepts)
	return c.Do(req).Want(http.StatusOK)
}

// TestCardPagesSpeakTheReadersLanguage: what a card's code opens, the page of keys and the file are in the browser's language, or in
// the one that the address asks for, whole; what was signed stays as it was signed.
func TestCardPagesSpeakTheReadersLanguage(t *testing.T) {
	t.Parallel()
	l := webtest.NewLeaving(t)
	for _, in := range tongue.All {
		a := l.Stranger().Get("/card/keys?in=" + string(in)).Want(http.StatusOK)
		webtest.Contains(t, "no key yet", a.Text("empty"), plainly(in, "keys.none"))
	}
	l.Ready()
	l.Issue()
	proof := warranty.ProofText(l.NewestCard().Proof)
	stranger := l.Stranger()
	for in, accepts := range map[tongue.Tongue]string{tongue.German: "de-CH,de;q=0.9,en;q=0.3", tongue.French: "fr-CA,fr;q=0.9", tongue.English: "ja"} {
		pages := map[string][]string{"/card": {plainly(in, "check.title"), plainly(in, "proof.lede"), plainly(in, "proof.offline.keep")},
			"/card/keys":       {plainly(in, "keys.title"), plainly(in, "keys.in_use"), plainly(in, "keys.fingerprint")},
			"/card-check.html": {plainly(in, "check.title"), plainly(in, "file.keys"), plainly(in, "file.of", "shop", "Tern Quay Watch Works")}}
		for address, wants := range pages {
			for _, a := range []*webtest.Answer{of(t, stranger, address, accepts), of(t, stranger, address+"?in="+string(in), "it")} {
				text := webtest.TextOf(a.Document)
				webtest.Contains(t, address, text, wants...)
				speaksOnly(t, in, address, text)
				if !strings.Contains(a.Body, `<html lang="`+string(in)+`"`) {
					t.Errorf("%s does not say that it is in %s", address, in.Words())
				}
			}
		}
		asked := of(t, stranger, "/card?in="+string(in), "it")
		for _, link := range []string{`href="/card-check.html?in=` + string(in), `href="/w?in=` + string(in), `href="/card/keys?in=` + string(in),
			`action="/card?in=` + string(in)} {
			if !strings.Contains(asked.Body, link) {
				t.Errorf("%s lacks %s", in.Words(), link)
			}
		}
		address := "/card?in=" + string(in)
		a := stranger.Post(address, url.Values{"proof": {proof}}).Want(http.StatusOK)
		webtest.Contains(t, "the facts", a.Text("proof-result"), plainly(in, "proof.signed"), plainly(in, "proof.running"), plainly(in, "proof.compare"),
			plainly(in, "proof.fact.case"), "HM-104477", "Full service", "Gannet")
		webtest.Contains(t, "the standing", a.Text("proof-standing"), plainly(in, "check.says.genuine"))
		speaksOnly(t, in, "a proven card", webtest.TextOf(a.Document))
		for text, why := range map[string]string{flipped(proof, 100): "proof.signature", "hello": "proof.shape", ofAnotherShop(t, l): "proof.unknown"} {
			a := stranger.Post(address, url.Values{"proof": {text}}).Want(http.StatusUnprocessableEntity)
			webtest.Contains(t, "refused", a.Problem("proof"), plainly(in, why))
			speaksOnly(t, in, "a refusal", webtest.TextOf(a.Document))
		}
	}
}

// factsOf reads the names and values of the facts in a result that the script made, and in the one that the shop's program makes.
const factsOf = `(async () => {
	const read = (of) => [...of.querySelectorAll("[data-result] dt, [data-result] dd")].map((e) => e.textContent.trim());
	const form = document.querySelector('[data-testid="proof-form"]'), code = location.hash.slice(1);
	const answer = await fetch(form.action, { method: "POST", body: new URLSearchParams({ proof: code }) });
	return [read(document), read(new DOMParser().parseFromString(await answer.text(), "text/html"))];
})()`

// TestScannedCodeIsProvenInTheReadersLanguage: the script says and writes all as the shop's program does in the same language, and
// who changes the language keeps the code that was scanned.
func TestScannedCodeIsProvenInTheReadersLanguage(t *testing.T) {
	t.Parallel()
	l := webtest.NewLeaving(t)
	l.Ready()
	code := l.Issue()
	proof := warranty.ProofText(l.NewestCard().Proof)
	ctx, stop, err := browser.Start(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(stop)
	tab, closeTab, err := browser.NewTab(ctx, l.URL)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(closeTab)
	for _, in := range tongue.All {
		sign, words := scanned(t, tab, "/card?in="+string(in), proof)
		if sign != "pass pass" {
			t.Errorf("%s: %s, %q", in.Words(), sign, words)
		}
		webtest.Contains(t, in.Words(), words, code.Grouped(), "HM-104477", "Full service", plainly(in, "proof.signed"), plainly(in, "proof.running"),
			plainly(in, "check.says.genuine"), plainly(in, "check.statement"), plainly(in, "proof.fact.covers"),
			map[tongue.Tongue]string{"en": "24 Nov 2028", "de": "24. November 2028", "fr": "24 novembre 2028"}[in])
		speaksOnly(t, in, "the script", words)
		facts, err := browser.Eval[[2][]string](tab, factsOf)
		if err != nil || len(facts[0]) < 20 || !slices.Equal(facts[0], facts[1]) {
			t.Errorf("%s, %v: the script has\n%q\nthe program\n%q", in.Words(), err, facts[0], facts[1])
		}
	}
	_, words := scanned(t, tab, "/card?in=de", flipped(proof, 50))
	webtest.Contains(t, "not genuine", words, plainly(tongue.German, "check.word.unknown"), plainly(tongue.German, "proof.signature"))
	scanned(t, tab, "/card?in=de", proof)
	if err := tab.Click(`[data-testid="tongue-fr"]`); err != nil {
		t.Fatal(err)
	}
	if err := tab.Until(`document.documentElement.lang === "fr" && document.querySelector("[data-result]")?.dataset.done === "yes"`); err != nil {
		t.Fatal(err)
	}
	if words, err = tab.Text("[data-result]"); err != nil {
		t.Fatal(err)
	}
	webtest.Contains(t, "the same card in French", words, code.Grouped(), plainly(tongue.French, "proof.signed"))
	l.As(l.Owner).PostSure(l.Path+"/card/void", url.Values{"version": {l.Version(l.N.String())}, "reason": {"lost"}}).
		Want(http.StatusSeeOther)
	sign, words := scanned(t, tab, "/card?in=de", proof)
	if sign != "pass fail" {
		t.Errorf("a void card: %s", sign)
	}
	webtest.Contains(t, "a void card", words, plainly(tongue.German, "check.says.void")+" Das hat das Geschäft signiert: 20")
	if f := tab.Faults(); len(f) > 0 {
		t.Errorf("%q", f)
	}
}

// The file speaks the language of the page that it was saved from, without a network too.
func TestSavedFileSpeaksThePagesLanguage(t *testing.T) {
	t.Parallel()
	l := webtest.NewLeaving(t)
	l.Ready()
	code := l.Issue()
	proof := warranty.ProofText(l.NewestCard().Proof)
	ctx, stop, err := browser.Start(t.Context(), chromedp.ProxyServer("http://127.0.0.1:1"),
		chromedp.Flag("host-resolver-rules", "MAP * ~NOTFOUND"))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(stop)
	for _, in := range []tongue.Tongue{tongue.German, tongue.French} {
		page := of(t, l.Stranger(), "/card", string(in))
		saved := "/card-check.html?in=" + string(in)
		if !strings.Contains(page.Body, `href="`+saved+`"`) {
			t.Errorf("the page in %s leads to another file", in.Words())
		}
		file := filepath.Join(t.TempDir(), "card-check.html")
		if err := os.WriteFile(file, []byte(of(t, l.Stranger(), saved, "en").Body), 0o600); err != nil {
			t.Fatal(err)
		}
		for _, tt := range []struct{ code, sign, says string }{{proof, "pass", "proof.running"}, {flipped(proof, 77), "fail", "proof.signature"}} {
			tab, closeTab, err := browser.NewTab(ctx, "file://"+file)
			if err != nil {
				t.Fatal(err)
			}
			sign, words := scanned(t, tab, "", tt.code)
			if sign != tt.sign {
				t.Errorf("%s: %s, %q", in.Words(), sign, words)
			}
			webtest.Contains(t, "the file", words, plainly(in, tt.says))
			if tt.sign == "pass" {
				webtest.Contains(t, "the file", words, code.Grouped(), plainly(in, "proof.fact.case"), "Full service")
			}
			whole, err := tab.Text("body")
			if err != nil {
				t.Fatal(err)
			}
			speaksOnly(t, in, "the file", whole)
			if f := tab.Faults(); len(f) > 0 {
				t.Errorf("%q", f)
			}
			closeTab()
		}
	}
}
