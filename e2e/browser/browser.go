// Package browser drives a real Chromium for whole-program tests and for the pictures of the README.
package browser

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"strings"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
)

// Step is one thing done in the browser.
type Step = chromedp.Action[chromedp.Void]

// patience bounds how long one step may take; a page of the program answers in milliseconds, and the rest
// is a busy machine.
const patience = 30 * time.Second

// Widths at which pages are looked at, in CSS pixels.
var Widths = map[string]int64{"phone": 390, "tablet": 820, "desktop": 1360}

// Tab is one window with cookies of its own.
type Tab struct {
	ctx    context.Context
	base   string // address of the program, without a final slash
	faults faults
}

// Find returns Chromium's path.
func Find() (string, error) {
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome"} {
		if path, err := exec.LookPath(name); err == nil {
			return path, nil
		}
	}
	return "", fmt.Errorf("no Chromium found: install the package chromium")
}

// Start starts Chromium and returns a context from which tabs are opened; stop ends it.
func Start(parent context.Context, more ...chromedp.ExecAllocatorOption) (ctx context.Context, stop func(), err error) {
	path, err := Find()
	if err != nil {
		return nil, nil, err
	}
	options := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(path), chromedp.NoSandbox,
		chromedp.DisableGPU,
		chromedp.Flag("disable-quic", true), chromedp.Flag("disable-component-update", true), chromedp.Flag("hide-scrollbars",
			true))
	alloc, stopAlloc := chromedp.NewExecAllocator(parent, append(options, more...)...)
	ctx, cancel := chromedp.NewContext(alloc)
	if err := chromedp.Do(ctx); err != nil {
		cancel()
		stopAlloc()
		return nil, nil, fmt.Errorf("start Chromium: %w", err)
	}
	return ctx, func() { cancel(); stopAlloc() }, nil
}

// NewTab opens a window of its own, signed in as nobody, for the program at base.
func NewTab(ctx context.Context, base string) (*Tab, func(), error) {
	window, cancel := chromedp.NewContext(ctx, chromedp.WithNewBrowserContext())
	if err := chromedp.Do(window); err != nil { // a context with a timeout must not be a tab's first
		cancel()
		return nil, nil, err
	}
	t := &Tab{ctx: window, base: strings.TrimRight(base, "/")}
	if err := chromedp.Listen(window, t.hear); err != nil {
		cancel()
		return nil, nil, err
	}
	return t, cancel, nil
}

// Do runs steps, each within the patience.
func (t *Tab) Do(steps ...Step) error {
	for i, step := range steps {
		ctx, cancel := context.WithTimeout(t.ctx, patience)
		err := chromedp.Do(ctx, step)
		cancel()
		if err != nil {
			return fmt.Errorf("step %d at %s: %w", i+1, t.where(), err)
		}
	}
	return nil
}

func (t *Tab) where() string {
	ctx, cancel := context.WithTimeout(t.ctx, 5*time.Second)
	defer cancel()
	at, err := chromedp.Run(ctx, chromedp.Evaluate[string](`location.pathname + " «" + (document.querySelector("h1")?.textContent ?? "") + "» " +
		[...document.querySelectorAll(".error, .form-errors, [role=alert]")].map(e => e.textContent).join(" | ").slice(0, 400)`))
	if err != nil {
		return "an unknown page"
	}
	return strings.Join(strings.Fields(at), " ")
}

// Open shows a path of the program.
func (t *Tab) Open(path string) error { return t.Do(chromedp.Navigate(t.base + path)) }

// Eval runs JavaScript in the page and returns what it gives, promises awaited.
func Eval[T any](t *Tab, js string) (T, error) {
	ctx, cancel := context.WithTimeout(t.ctx, patience)
	defer cancel()
	v, err := chromedp.Run(ctx, chromedp.Evaluate[T](js, chromedp.EvalAwaitPromise))
	if err != nil {
		return v, fmt.Errorf("%.80s at %s: %w", js, t.where(), err)
	}
	return v, nil
}

// SignIn signs in and waits for the first page.
func (t *Tab) SignIn(email, password string) error {
	if err := t.Open("/sign-in?next=/account"); err != nil {
		return err
	}
	return t.Do(chromedp.SendKeys(`[name="email"]`, email), chromedp.SendKeys(`[name="password"]`, password),
		chromedp.Click(`[data-testid="sign-in"]`), chromedp.WaitVisible(`[data-testid="who"]`))
}

// Look sets the width of the window and the theme, "light" or "dark".
func (t *Tab) Look(width int64, theme string) error {
	if err := t.Do(chromedp.EmulateViewport(width, 900)); err != nil {
		return err
	}
	_, err := chromedp.Call(t.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
		Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: theme}}})
	return err
}

// ForceColours has the window show the system's few colours in place of the page's, as people set it who need contrast.
func (t *Tab) ForceColours() error {
	_, err := chromedp.Call(t.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
		Features: []*emulation.MediaFeature{{Name: "forced-colors", Value: "active"}}})
	return err
}

// Picture writes the page as it stands to a PNG file: the whole of it, or what fits the window.
func (t *Tab) Picture(file string, whole bool) error {
	if _, err := Eval[bool](t, `document.fonts.ready.then(() => true)`); err != nil {
		return err
	}
	ctx, cancel := context.WithTimeout(t.ctx, patience)
	defer cancel()
	shoot := chromedp.CaptureScreenshot()
	if whole {
		shoot = chromedp.FullScreenshot(100)
	}
	png, err := chromedp.Run(ctx, shoot)
	if err != nil {
		return err
	}
	return os.WriteFile(file, png, 0o644)
}

// PDF prints the page as the page itself sets its size.
func (t *Tab) PDF() ([]byte, error) {
	ctx, cancel := context.WithTimeout(t.ctx, patience)
	defer cancel()
	return chromedp.Run(ctx, chromedp.PrintToPDF(chromedp.PDFPreferCSSPageSize(), chromedp.PDFPrintBackground(),
		chromedp.PDFMargin(0)))
}

// BeforeEachPage runs a script in every page before its own.
func (t *Tab) BeforeEachPage(script string) error {
	_, err := chromedp.Call(t.ctx, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{
		Source: script})
	return err
}
