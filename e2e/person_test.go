package e2e

import (
	"context"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"unicode/utf8"

	"ledgerwheel/domain/staff"
	"ledgerwheel/e2e/browser"
)

// person is somebody at a window of their own. Every step that can't be done ends the test and says what was on
// the page.
type person struct {
	t       *testing.T
	tab     *browser.Tab
	address string
	scope   string // a selector that narrows where fields and buttons are looked for, with a final blank
}

// stranger opens a window in which nobody is signed in.
func stranger(t *testing.T, at *program) *person {
	t.Helper()
	tab, closeTab, err := newTab(t, at)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(closeTab)
	p := &person{t: t, tab: tab, address: at.address}
	p.try(tab.Look(browser.Widths["desktop"], "light"))
	return p
}

// newTab opens a window in the browser in which people look at that shop.
func newTab(t *testing.T, at *program) (*browser.Tab, func(), error) {
	t.Helper()
	if at.inFirefox {
		return firefox(t).NewTab(context.Background(), at.address)
	}
	return browser.NewTab(chromium(t), at.address)
}

// signedIn opens a window and signs one of the demo shop's people in, on the page. Sign-ins are limited for a name
// and for a machine, so each journey opens few windows and keeps them.
func signedIn(t *testing.T, at *program, role staff.Role) *person {
	t.Helper()
	who, err := signInOf(role)
	if err != nil {
		t.Fatal(err)
	}
	p := stranger(t, at)
	p.signIn(who.Email, who.Password)
	return p
}

func (p *person) signIn(email, password string) {
	p.t.Helper()
	p.open("/sign-in")
	p.fill("email", email)
	p.fill("password", password)
	p.press("sign-in")
	if !p.has(`[data-testid="who"]`) {
		p.fatalf("%s could not sign in", email)
	}
}

// try ends the test if a step could not be done.
func (p *person) try(err error) {
	p.t.Helper()
	if err != nil {
		p.fatalf("%v", err)
	}
}

func (p *person) fatalf(format string, args ...any) {
	p.t.Helper()
	p.t.Logf("on the page:\n%s", p.page())
	p.t.Fatalf(format, args...)
}

func (p *person) errorf(format string, args ...any) {
	p.t.Helper()
	p.t.Logf("on the page:\n%s", p.page())
	p.t.Errorf(format, args...)
}

// page is the page as a reader hears it: its address and its words.
func (p *person) page() string {
	text, err := browser.Eval[string](p.tab, `location.pathname + location.search + "\n" +
		document.body.innerText.split("\n").map(l => l.trim()).filter(Boolean).join("\n").slice(0, 6000)`)
	if err != nil {
		return "nothing: " + err.Error()
	}
	return text
}

// within narrows the next steps to the part of the page that the data-testid names.
func (p *person) within(testID string) *person { return p.inside(byTest(testID)) }

// inside narrows the next steps to what a selector finds.
func (p *person) inside(selector string) *person {
	narrow := *p
	narrow.scope = p.scope + selector + " "
	return &narrow
}

func byTest(id string) string { return `[data-testid="` + id + `"]` }

func (p *person) field(name string) string { return p.scope + `[name="` + name + `"]` }

// choice is the button or box of a group that stands for a value.
func (p *person) choice(name, value string) string {
	return p.field(name) + `[value="` + value + `"]`
}

func (p *person) open(path string) {
	p.t.Helper()
	p.try(p.tab.Open(path))
}

// fill types into a field, chooses from a list, or sets a day.
func (p *person) fill(name, text string) {
	p.t.Helper()
	p.try(p.tab.Fill(p.field(name), text))
}

// fillAll fills fields by name, given in pairs.
func (p *person) fillAll(pairs ...string) {
	p.t.Helper()
	for i := 0; i+1 < len(pairs); i += 2 {
		p.fill(pairs[i], pairs[i+1])
	}
}

// tick chooses a radio button or ticks a box. What moves away at that moment, as when the page answers to what was typed
// before, is clicked again, as a person would on seeing that nothing happened.
func (p *person) tick(name, value string) {
	p.t.Helper()
	choice := p.choice(name, value)
	chosen := func() bool {
		is, err := browser.Eval[bool](p.tab, "document.querySelector("+quoted(choice)+")?.checked !== false")
		p.try(err)
		return is
	}
	was := chosen()
	for range 3 {
		p.try(p.tab.Click(choice))
		if was || chosen() {
			return
		}
	}
	p.fatalf("three clicks did not choose %s of %s", value, name)
}

// press presses the button or link with the data-testid and waits for the page that follows.
func (p *person) press(testID string) {
	p.t.Helper()
	p.try(p.tab.Press(p.scope + byTest(testID)))
}

// follow presses whatever the selector finds and waits for the page that follows.
func (p *person) follow(selector string) {
	p.t.Helper()
	p.try(p.tab.Press(p.scope + selector))
}

// unfold opens what a summary hides, if it is closed.
func (p *person) unfold(selector string) {
	p.t.Helper()
	p.js(`(() => { const d = document.querySelector(` + quoted(p.scope+selector) +
		`); const f = d?.closest("details"); if (f) f.open = true; return true; })()`)
}

// unfoldAll opens whatever the page has folded away.
func (p *person) unfoldAll() {
	p.t.Helper()
	p.js(`(() => { for (const d of document.querySelectorAll("main details")) d.open = true; return true; })()`)
}

// until waits for a condition in the page.
func (p *person) until(condition string) {
	p.t.Helper()
	p.try(p.tab.Until(condition))
}

// js runs JavaScript for its effect.
func (p *person) js(script string) {
	p.t.Helper()
	_, err := browser.Eval[any](p.tab, script)
	p.try(err)
}

func (p *person) has(selector string) bool {
	p.t.Helper()
	found, err := p.tab.Has(p.scope + selector)
	p.try(err)
	return found
}

func (p *person) count(selector string) int {
	p.t.Helper()
	n, err := browser.Eval[int](p.tab, `document.querySelectorAll(`+quoted(p.scope+selector)+`).length`)
	p.try(err)
	return n
}

// text is the words of what a selector finds.
func (p *person) text(selector string) string {
	p.t.Helper()
	text, err := p.tab.Text(p.scope + selector)
	p.try(err)
	return text
}

// value is what a field holds.
func (p *person) value(name string) string {
	p.t.Helper()
	v, err := browser.Eval[string](p.tab, `document.querySelector(`+quoted(p.field(name))+`)?.value ?? "no such field"`)
	p.try(err)
	return v
}

// attr is an attribute of the first thing a selector finds.
func (p *person) attr(selector, name string) string {
	p.t.Helper()
	v, err := browser.Eval[string](p.tab, `document.querySelector(`+quoted(p.scope+selector)+`)?.getAttribute(`+quoted(name)+`) ?? ""`)
	p.try(err)
	return v
}

// path is where the window is, without its query.
func (p *person) path() string {
	p.t.Helper()
	at, err := p.tab.Path()
	p.try(err)
	at, _, _ = strings.Cut(at, "?")
	return at
}

// sees checks that the page's own part (or the scope) reads each of the words, figures whole: see reads.
func (p *person) sees(words ...string) {
	p.t.Helper()
	text := p.read()
	for _, w := range words {
		if !reads(text, strings.Join(strings.Fields(w), " ")) {
			p.errorf("not on the page: %q", w)
		}
	}
}

// reads reports whether the words stand in the text. A figure at their beginning or end must be a whole one, so that
// "3" is read in "3 s/d" and in none of "−3", "13" and "3.5". No words are always read: a step may have nothing to
// look for.
func reads(text, words string) bool {
	const digits, more = "0123456789", "0123456789.,"
	if words == "" {
		return true
	}
	for from := 0; ; {
		at := strings.Index(text[from:], words)
		if at < 0 {
			return false
		}
		before, after := text[:from+at], text[from+at+len(words):]
		begins := !beginsIn(words, digits) || !endsIn(before, more+"+-−")
		ends := !endsIn(words, digits) || !beginsIn(strings.TrimLeft(after, ".,"), digits)
		if begins && ends {
			return true
		}
		from += at + 1
	}
}

// beginsIn and endsIn report whether the text's first and last character are among those.
func beginsIn(text, those string) bool { return text != "" && strings.Contains(those, text[:1]) }

func endsIn(text, those string) bool {
	last, size := utf8.DecodeLastRuneInString(text)
	return size > 0 && strings.ContainsRune(those, last)
}

func TestFiguresAreReadWhole(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		text, words string
		want        bool
	}{
		{"−3 to +12 s/d +3.0 s/d pass", "3", false}, {"+3.0 s/d", "+3.0", true}, {"mean 13", "3", false}, {"3.5", "3", false},
		{"3,5", "3", false}, {"13 and 3, then", "3", true}, {"It was 3.", "3", true}, {"€60.00", "60.00", true},
		{"160.00", "60.00", false},
		{"1.4", "4", false}, {"4", "4", true}, {"26-00001-O", "26-00001-O", true}, {"pass", "pass", true}, {"40", "4", false},
	} {
		if got := reads(tt.text, tt.words); got != tt.want {
			t.Errorf("%q in %q: %t", tt.words, tt.text, got)
		}
	}
}

// seesNot checks that none of the words can be read.
func (p *person) seesNot(words ...string) {
	p.t.Helper()
	text := p.read()
	for _, w := range words {
		if strings.Contains(text, w) {
			p.errorf("on the page, and should not be: %q", w)
		}
	}
}

func (p *person) read() string {
	if p.scope == "" {
		return p.text("main")
	}
	text, err := p.tab.Text(strings.TrimSpace(p.scope))
	p.try(err)
	return text
}

// arrives checks the window's path.
func (p *person) arrives(path string) {
	p.t.Helper()
	if got := p.path(); got != path {
		p.fatalf("at %s, want %s", got, path)
	}
}

// refused checks that a form came back: nothing saved, and the reason beside the field.
func (p *person) refused(field string, words ...string) {
	p.t.Helper()
	if !p.has(byTest("form-errors")) {
		p.fatalf("the form was not refused")
	}
	said := p.text(`[id="f-` + field + `-error"]`)
	for _, w := range words {
		if !strings.Contains(said, w) {
			p.errorf("beside %s stands %q, want %q", field, said, w)
		}
	}
}

// client asks the program beside the browser, with the window's cookies.
func (p *person) client() *http.Client {
	p.t.Helper()
	list, err := p.tab.Cookies()
	p.try(err)
	jar, err := cookiejar.New(nil)
	p.try(err)
	u, err := url.Parse(p.address)
	p.try(err)
	jar.SetCookies(u, list)
	return &http.Client{Jar: jar, CheckRedirect: func(*http.Request, []*http.Request) error {
		return http.ErrUseLastResponse
	}}
}

// get fetches a path with the person's session.
func (p *person) get(path string) (*http.Response, []byte) {
	p.t.Helper()
	return fetch(p.t, p.client(), p.address+path)
}

var docketNumber = regexp.MustCompile(`\b\d{2}-\d{5,7}-[0-9A-Z]\b`)

// docket is the number in the window's address.
func (p *person) docket() string {
	p.t.Helper()
	n := docketNumber.FindString(p.path())
	if n == "" {
		p.fatalf("the address %s names no docket", p.path())
	}
	return n
}

// stage checks which stage the docket's rail marks as the present one, or by which exit it left the rail.
func (p *person) stage(want string) {
	p.t.Helper()
	got := p.text(byTest("stage-rail") + ` [aria-current="step"] .rail-name, ` + byTest("stage-exit") + ` b`)
	if got == "" { // all of the road lies behind a watch that was handed over
		got = p.text(byTest("stage-rail") + ` li.done:nth-last-child(2) .rail-name`)
	}
	if !strings.HasPrefix(strings.ToLower(got), want) {
		p.fatalf("the docket is at %q, want %q", got, want)
	}
}
