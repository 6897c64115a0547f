package browser

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"net/http"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// gecko is one of Firefox's windows.
type gecko struct {
	firefox *Firefox
	line    *bidi
	window  string
}

// errNotInFirefox is for what WebDriver BiDi has no word for in Firefox yet.
var errNotInFirefox = errors.New("Firefox can't be told this")

// tell sends a command about the window whose answer does not matter.
func (g *gecko) tell(ctx context.Context, method string, p params) error {
	p["context"] = g.window
	_, err := ask[any](ctx, g.line, method, p)
	return err
}

// comeForward makes the window the one that is used.
func (g *gecko) comeForward(ctx context.Context) error {
	if g.firefox.active == g.window {
		return nil
	}
	g.firefox.active = g.window
	return g.tell(ctx, "browsingContext.activate", params{})
}

func (g *gecko) open(ctx context.Context, url string) error {
	if err := g.comeForward(ctx); err != nil {
		return err
	}
	return g.tell(ctx, "browsingContext.navigate", params{"url": url, "wait": "complete"})
}

func (g *gecko) evaluate(ctx context.Context, js string) ([]byte, error) {
	got, err := ask[struct {
		Type             string
		Result           remote
		ExceptionDetails struct{ Text string }
	}](ctx, g.line, "script.evaluate", params{"expression": js, "awaitPromise": true,
		"target": params{"context": g.window}})
	if err != nil {
		return nil, err
	}
	if got.Type == "exception" {
		return nil, errors.New(got.ExceptionDetails.Text)
	}
	value, err := got.Result.plain()
	if err != nil {
		return nil, err
	}
	return json.Marshal(value)
}

// remote is a value of a page as WebDriver BiDi writes it.
type remote struct {
	Type  string
	Value json.RawMessage
}

// plain is the value as JSON would have it.
func (r remote) plain() (any, error) {
	switch r.Type {
	case "undefined", "null":
		return nil, nil
	case "string", "boolean":
		return r.Value, nil
	case "number":
		var word string // NaN, -0, Infinity
		if json.Unmarshal(r.Value, &word) == nil {
			if word == "-0" {
				return 0, nil
			}
			return nil, nil // as JSON.stringify has it
		}
		return r.Value, nil
	case "array":
		var items []remote
		if err := json.Unmarshal(r.Value, &items); err != nil {
			return nil, err
		}
		list := make([]any, len(items))
		for i, item := range items {
			var err error
			if list[i], err = item.plain(); err != nil {
				return nil, err
			}
		}
		return list, nil
	case "object":
		return r.object()
	}
	return nil, nil // functions, nodes, windows
}

func (r remote) object() (any, error) {
	var pairs [][2]json.RawMessage
	if err := json.Unmarshal(r.Value, &pairs); err != nil {
		return nil, err
	}
	fields := map[string]any{}
	for _, pair := range pairs {
		var name string
		var value remote
		if err := errors.Join(json.Unmarshal(pair[0], &name), json.Unmarshal(pair[1], &value)); err != nil {
			return nil, err
		}
		var err error
		if fields[name], err = value.plain(); err != nil {
			return nil, err
		}
	}
	return fields, nil
}

// keyNames are WebDriver's names of the keys without a letter, by package kb's.
var keyNames = map[string]string{kb.Tab: "\uE004", kb.Enter: "\uE007", "\n": "\uE007", kb.Backspace: "\uE003",
	kb.Escape: "\uE00C", kb.ArrowLeft: "\uE012", kb.ArrowUp: "\uE013", kb.ArrowRight: "\uE014", kb.ArrowDown: "\uE015",
	kb.Home: "\uE011", kb.End: "\uE010", kb.PageUp: "\uE00E", kb.PageDown: "\uE00F", kb.Delete: "\uE017"}

const (
	keyShift = "\uE008"
	keyCtrl  = "\uE009"
	keyAlt   = "\uE00A"
)

func (g *gecko) keys(ctx context.Context, keys string, options ...chromedp.KeyOption) error {
	var asked input.DispatchKeyEventParams
	for _, option := range options {
		option(&asked)
	}
	var held []string
	for key, modifier := range map[string]chromedp.Modifier{keyShift: chromedp.ModifierShift, keyCtrl: chromedp.ModifierCtrl,
		keyAlt: chromedp.ModifierAlt} {
		if asked.Modifiers&int64(modifier) != 0 {
			held = append(held, key)
		}
	}
	var actions []params
	press := func(way, key string) { actions = append(actions, params{"type": way, "value": key}) }
	for _, key := range held {
		press("keyDown", key)
	}
	for _, r := range keys {
		key := string(r)
		if name, ok := keyNames[key]; ok {
			key = name
		}
		press("keyDown", key)
		press("keyUp", key)
	}
	for _, key := range held {
		press("keyUp", key)
	}
	if err := g.comeForward(ctx); err != nil {
		return err
	}
	return g.tell(ctx, "input.performActions", params{"actions": []params{{"type": "key", "id": "keys", "actions": actions}}})
}

func (g *gecko) insert(ctx context.Context, text string) error { return g.keys(ctx, text) }

func (g *gecko) click(ctx context.Context, x, y float64) error {
	if err := g.comeForward(ctx); err != nil {
		return err
	}
	return g.tell(ctx, "input.performActions", params{"actions": []params{{"type": "pointer", "id": "mouse",
		"parameters": params{"pointerType": "mouse"}, "actions": []params{
			{"type": "pointerMove", "x": math.Round(x), "y": math.Round(y)}, {"type": "pointerDown", "button": 0},
			{"type": "pointerUp", "button": 0}}}}})
}

func (g *gecko) choose(ctx context.Context, selector string, files []string) error {
	found, err := ask[struct {
		Nodes []struct{ SharedID string }
	}](ctx, g.line, "browsingContext.locateNodes", params{"context": g.window,
		"locator": params{"type": "css", "value": selector}})
	if err != nil {
		return err
	}
	if len(found.Nodes) == 0 {
		return fmt.Errorf("nothing on the page is %s", selector)
	}
	return g.tell(ctx, "input.setFiles", params{"element": params{"sharedId": found.Nodes[0].SharedID}, "files": files})
}

func (g *gecko) size(ctx context.Context, width, height int64) error {
	return g.tell(ctx, "browsingContext.setViewport", params{"viewport": params{"width": width, "height": height}})
}

// theme can only be the one that Firefox started with.
func (g *gecko) theme(_ context.Context, name string) error {
	if name == "light" {
		return nil
	}
	return errNotInFirefox
}

func (g *gecko) forceColours(context.Context) error { return errNotInFirefox }

func (g *gecko) withoutScripts(context.Context) error { return errNotInFirefox }

func (g *gecko) beforeEachPage(ctx context.Context, script string) error {
	_, err := ask[any](ctx, g.line, "script.addPreloadScript", params{"contexts": []string{g.window},
		"functionDeclaration": "() => {" + script + "}"})
	return err
}

func (g *gecko) picture(ctx context.Context, whole bool) ([]byte, error) {
	origin := "viewport"
	if whole {
		origin = "document"
	}
	return g.data(ctx, "browsingContext.captureScreenshot", params{"origin": origin})
}

func (g *gecko) pdf(ctx context.Context) ([]byte, error) {
	return g.data(ctx, "browsingContext.print", params{"background": true,
		"margin": params{"top": 0, "bottom": 0, "left": 0, "right": 0}})
}

// data asks for a file.
func (g *gecko) data(ctx context.Context, method string, p params) ([]byte, error) {
	p["context"] = g.window
	got, err := ask[struct{ Data []byte }](ctx, g.line, method, p)
	return got.Data, err
}

func (g *gecko) cookies(ctx context.Context, _ string) ([]*http.Cookie, error) {
	got, err := ask[struct {
		Cookies []struct {
			Name  string
			Value struct{ Value string }
		}
	}](ctx, g.line, "storage.getCookies", params{"partition": params{"type": "context", "context": g.window}})
	if err != nil {
		return nil, err
	}
	var list []*http.Cookie
	for _, c := range got.Cookies {
		list = append(list, &http.Cookie{Name: c.Name, Value: c.Value.Value})
	}
	return list, nil
}
