package browser

import (
	"context"
	"fmt"
	"net/http"
	"os/exec"
	"strings"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
)

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

// NewTab opens a window of its own in Chromium, signed in as nobody, for the program at base.
func NewTab(ctx context.Context, base string) (*Tab, func(), error) {
	window, cancel := chromedp.NewContext(ctx, chromedp.WithNewBrowserContext())
	if err := chromedp.Do(window); err != nil { // a context with a timeout must not be a tab's first
		cancel()
		return nil, nil, err
	}
	t := &Tab{engine: chromium{}, ctx: window, base: strings.TrimRight(base, "/")}
	if err := chromedp.Listen(window, t.hear); err != nil {
		cancel()
		return nil, nil, err
	}
	return t, cancel, nil
}

// chromium speaks the DevTools protocol; the window is in the context.
type chromium struct{}

func (chromium) open(ctx context.Context, url string) error {
	return chromedp.Do(ctx, chromedp.Navigate(url))
}

func (chromium) evaluate(ctx context.Context, js string) ([]byte, error) {
	return chromedp.Run(ctx, chromedp.Evaluate[[]byte](js, chromedp.EvalAwaitPromise))
}

func (chromium) keys(ctx context.Context, keys string, options ...chromedp.KeyOption) error {
	return chromedp.Do(ctx, chromedp.KeyEvent(keys, options...))
}

func (chromium) insert(ctx context.Context, text string) error {
	_, err := chromedp.Call(ctx, input.InsertText, input.InsertTextParams{Text: text})
	return err
}

func (chromium) click(ctx context.Context, x, y float64) error {
	return chromedp.Do(ctx, chromedp.MouseClickXY(x, y))
}

func (chromium) choose(ctx context.Context, selector string, files []string) error {
	return chromedp.Do(ctx, chromedp.SetUploadFiles(chromedp.CSS(selector), files))
}

func (chromium) size(ctx context.Context, width, height int64) error {
	return chromedp.Do(ctx, chromedp.EmulateViewport(width, height))
}

func (chromium) theme(ctx context.Context, name string) error {
	return media(ctx, "prefers-color-scheme", name)
}

func (chromium) forceColours(ctx context.Context) error { return media(ctx, "forced-colors", "active") }

func media(ctx context.Context, feature, value string) error {
	_, err := chromedp.Call(ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
		Features: []*emulation.MediaFeature{{Name: feature, Value: value}}})
	return err
}

func (chromium) withoutScripts(ctx context.Context) error {
	_, err := chromedp.Call(ctx, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{
		Value: true})
	return err
}

func (chromium) beforeEachPage(ctx context.Context, script string) error {
	_, err := chromedp.Call(ctx, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{
		Source: script})
	return err
}

func (chromium) picture(ctx context.Context, whole bool) ([]byte, error) {
	if whole {
		return chromedp.Run(ctx, chromedp.FullScreenshot(100))
	}
	return chromedp.Run(ctx, chromedp.CaptureScreenshot())
}

func (chromium) pdf(ctx context.Context) ([]byte, error) {
	return chromedp.Run(ctx, chromedp.PrintToPDF(chromedp.PDFPreferCSSPageSize(), chromedp.PDFPrintBackground(),
		chromedp.PDFMargin(0)))
}

func (chromium) cookies(ctx context.Context, url string) ([]*http.Cookie, error) {
	got, err := chromedp.Call(ctx, network.GetCookies, network.GetCookiesParams{URLs: []string{url}})
	if err != nil {
		return nil, err
	}
	var list []*http.Cookie
	for _, c := range got.Cookies {
		list = append(list, &http.Cookie{Name: c.Name, Value: c.Value})
	}
	return list, nil
}

// WantStillness has pages told that the person wants nothing to move; Chromium alone.
func (t *Tab) WantStillness() error {
	return t.do(func(ctx context.Context) error { return media(ctx, "prefers-reduced-motion", "reduce") })
}

// OnA4 prints the page on A4 sheets, with the margins that the page sets; Chromium alone.
func (t *Tab) OnA4() ([]byte, error) {
	ctx, cancel := context.WithTimeout(t.ctx, patience)
	defer cancel()
	return chromedp.Run(ctx, chromedp.PrintToPDF(chromedp.PDFPaper(chromedp.PaperA4)))
}
