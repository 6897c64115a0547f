package gallery

import (
	"context"
	"fmt"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	cdppage "github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"ledgerwheel/web/static"
	"ledgerwheel/web/view"
)

// policy is as strict as the program's own: a component that needs an inline style or script breaks here.
const policy = "default-src 'self'; script-src 'self'; style-src 'self'; img-src 'self' data:; base-uri 'none'; " +
	"form-action 'self'; frame-ancestors 'none'"

const photo = `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 4 3"><rect width="4" height="3" fill="#8a7f6c"/><circle cx="2" cy="1.5" r="1" fill="#d8cfbb"/></svg>`

// serve shows the pattern book; the theme comes from the query so that tests don't share a cookie.
func serve(t *testing.T) string {
	t.Helper()
	mux := http.NewServeMux()
	mux.Handle(static.Prefix, static.Handler())
	mux.HandleFunc("GET /photo.svg", func(w http.ResponseWriter, _ *http.Request) {
		w.Header().Set("Content-Type", "image/svg+xml")
		_, _ = w.Write([]byte(photo))
	})
	mux.HandleFunc("GET /suggest", func(w http.ResponseWriter, r *http.Request) {
		fmt.Fprintf(w, "<p>Known: %s</p>", map[string]string{"Nina": "Nina Harrow"}[r.URL.Query().Get("q")])
	})
	mux.HandleFunc("POST /theme", func(w http.ResponseWriter, r *http.Request) {
		http.SetCookie(w, &http.Cookie{Name: view.ThemeCookie, Value: string(view.ThemeOf(r.FormValue("theme"))), Path: "/"})
		http.Redirect(w, r, r.FormValue("back"), http.StatusSeeOther)
	})
	mux.HandleFunc("GET /{page}", func(w http.ResponseWriter, r *http.Request) {
		theme := view.ThemeOf(r.URL.Query().Get("theme"))
		if c, err := r.Cookie(view.ThemeCookie); err == nil && theme == view.ThemeAuto {
			theme = view.ThemeOf(c.Value)
		}
		c, ok := Pages(theme)[r.URL.Path]
		if !ok {
			http.NotFound(w, r)
			return
		}
		w.Header().Set("Content-Type", "text/html; charset=utf-8")
		if err := c.Render(r.Context(), w); err != nil {
			t.Error(err)
		}
	})
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("Content-Security-Policy", policy)
		mux.ServeHTTP(w, r)
	}))
	t.Cleanup(server.Close)
	return server.URL
}

// browser starts one Chromium for a test; tab opens pages in it.
func browser(t *testing.T) context.Context {
	t.Helper()
	path := ""
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome", "google-chrome-stable"} {
		if p, err := exec.LookPath(name); err == nil {
			path = p
			break
		}
	}
	if path == "" {
		t.Fatal("no Chromium found: on Debian or Ubuntu, apt-get install chromium")
	}
	options := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(path), chromedp.NoSandbox,
		chromedp.DisableGPU, chromedp.Flag("disable-quic", true), chromedp.Flag("disable-component-update", true))
	alloc, stop := chromedp.NewExecAllocator(t.Context(), options...)
	t.Cleanup(stop)
	ctx, cancel := chromedp.NewContext(alloc)
	t.Cleanup(cancel)
	if err := chromedp.Do(ctx); err != nil {
		t.Fatal(err)
	}
	return ctx
}

func tab(t *testing.T, parent context.Context) context.Context {
	t.Helper()
	ctx, cancel := chromedp.NewContext(parent)
	t.Cleanup(cancel)
	if err := chromedp.Do(ctx); err != nil { // a context with a timeout must not be a tab's first
		t.Fatal(err)
	}
	ctx, stop := context.WithTimeout(ctx, 10*time.Minute)
	t.Cleanup(stop)
	return ctx
}

func do(t *testing.T, ctx context.Context, actions ...chromedp.Action[chromedp.Void]) {
	t.Helper()
	if err := chromedp.Do(ctx, actions...); err != nil {
		t.Fatal(err)
	}
}

func eval[T any](t *testing.T, ctx context.Context, js string) T {
	t.Helper()
	v, err := chromedp.Run(ctx, chromedp.Evaluate[T](js, chromedp.EvalAwaitPromise))
	if err != nil {
		t.Fatalf("%s: %v", js, err)
	}
	return v
}

// finding is one fault axe-core reports; blocked is what the content security policy refused.
type finding struct {
	ID     string   `json:"id"`
	Help   string   `json:"help"`
	Places []string `json:"places"`
}

const runAxe = `axe.run(document, {runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]})
	.then(r => r.violations.map(v => ({id: v.id, help: v.help, places: v.nodes.map(n => n.html.slice(0, 160) + " " + n.failureSummary)})))`

func axeSource(t *testing.T) string {
	t.Helper()
	js, err := os.ReadFile("../../../e2e/testdata/axe/axe.min.js")
	if err != nil {
		t.Fatal(err)
	}
	return string(js)
}

// TestAxeFindsFaults proves that a clean report means something: planted faults must be found.
func TestAxeFindsFaults(t *testing.T) {
	ctx := tab(t, browser(t))
	do(t, ctx, chromedp.Navigate(serve(t)+"/sign-in"))
	eval[bool](t, ctx, axeSource(t)+`;
		document.querySelector("label").remove();
		document.querySelector("main").insertAdjacentHTML("beforeend", '<img src="/photo.svg">');
		true`)
	var ids []string
	for _, f := range eval[[]finding](t, ctx, runAxe) {
		ids = append(ids, f.ID)
	}
	for _, want := range []string{"image-alt", "label"} {
		if !slices.Contains(ids, want) {
			t.Errorf("axe-core found %q, want %q among them", ids, want)
		}
	}
}

// widths are a phone's, a bench tablet's and a desk's, in CSS pixels.
var widths = map[string]int64{"phone": 390, "tablet": 820, "desktop": 1280}

// TestPagesAccessible opens every page of the pattern book, light and dark, at three widths, under the
// strict policy: axe-core (Deque's implementation of the WCAG 2.2 rules) must find nothing, nothing may be
// refused by the policy, and no page may be wider than the screen. With GALLERY_SHOTS set to a folder the pages
// are pictured there.
func TestPagesAccessible(t *testing.T) {
	axe := axeSource(t)
	base := serve(t)
	ctx := tab(t, browser(t))
	watchPolicy := `window.refused = []; document.addEventListener("securitypolicyviolation", e => window.refused.push(e.violatedDirective + " " + e.blockedURI + " " + e.sample))`
	if _, err := chromedp.Call(ctx, cdppage.AddScriptToEvaluateOnNewDocument,
		cdppage.AddScriptToEvaluateOnNewDocumentParams{Source: watchPolicy}); err != nil {
		t.Fatal(err)
	}
	for path := range Pages(view.ThemeAuto) {
		for _, theme := range []view.Theme{view.ThemeLight, view.ThemeDark} {
			for device, width := range widths {
				t.Run(fmt.Sprintf("%s/%s/%s", path[1:], theme, device), func(t *testing.T) {
					do(t, ctx, chromedp.EmulateViewport(width, 900), chromedp.Navigate(base+path+"?theme="+string(theme)))
					eval[bool](t, ctx, `document.fonts.ready.then(() => true)`)
					picture(t, ctx, strings.Join([]string{path[1:], string(theme), device}, "-"))
					if over := eval[int](t, ctx, `document.documentElement.scrollWidth - innerWidth`); over > 0 {
						t.Errorf("the page is %d px wider than the screen", over)
					}
					if refused := eval[[]string](t, ctx, `window.refused`); len(refused) > 0 {
						t.Errorf("refused by the policy: %q", refused)
					}
					if theme == view.ThemeDark && device != "desktop" {
						return // the rules read the same page; the colours were read at one width
					}
					eval[bool](t, ctx, axe+"; true")
					for _, f := range eval[[]finding](t, ctx, runAxe) {
						t.Errorf("%s: %s\n\t%s", f.ID, f.Help, strings.Join(f.Places, "\n\t"))
					}
				})
			}
		}
	}
}

// picture keeps the whole page as a PNG where GALLERY_SHOTS says.
func picture(t *testing.T, ctx context.Context, name string) {
	t.Helper()
	dir := os.Getenv("GALLERY_SHOTS")
	if dir == "" {
		return
	}
	png, err := chromedp.Run(ctx, chromedp.FullScreenshot(100))
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, name+".png"), png, 0o644); err != nil {
		t.Fatal(err)
	}
}
