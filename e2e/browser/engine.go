package browser

import (
	"context"
	"net/http"

	"github.com/chromedp/chromedp"
)

// engine is what a window asks of the browser behind it, so that one journey goes through several browsers. Each call
// ends with its context.
type engine interface {
	open(ctx context.Context, url string) error
	// evaluate runs JavaScript, awaits promises and returns JSON; nothing for undefined.
	evaluate(ctx context.Context, js string) ([]byte, error)
	keys(ctx context.Context, keys string, options ...chromedp.KeyOption) error
	// insert puts text where the keyboard is, in place of what is marked.
	insert(ctx context.Context, text string) error
	click(ctx context.Context, x, y float64) error
	choose(ctx context.Context, selector string, files []string) error
	size(ctx context.Context, width, height int64) error
	theme(ctx context.Context, name string) error
	forceColours(ctx context.Context) error
	withoutScripts(ctx context.Context) error
	beforeEachPage(ctx context.Context, script string) error
	picture(ctx context.Context, whole bool) (png []byte, err error)
	pdf(ctx context.Context) ([]byte, error)
	cookies(ctx context.Context, url string) ([]*http.Cookie, error)
}
