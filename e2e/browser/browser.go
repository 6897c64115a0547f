// Package browser drives real browsers, Chromium and Firefox, for whole-program tests and for the pictures of the
// README.
package browser

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"os"
	"reflect"
	"strings"
	"time"
)

// patience bounds how long one step may take; a page of the program answers in milliseconds, and the rest
// is a busy machine.
const patience = 30 * time.Second

// Widths at which pages are looked at, in CSS pixels.
var Widths = map[string]int64{"phone": 390, "tablet": 820, "desktop": 1360}

// Tab is one window with cookies of its own.
type Tab struct {
	engine engine
	ctx    context.Context
	base   string // address of the program, without a final slash
	faults faults
}

// do runs one step within the patience.
func (t *Tab) do(step func(context.Context) error) error {
	ctx, cancel := context.WithTimeout(t.ctx, patience)
	defer cancel()
	if err := step(ctx); err != nil {
		return fmt.Errorf("at %s: %w", t.where(), err)
	}
	return nil
}

func (t *Tab) where() string {
	ctx, cancel := context.WithTimeout(t.ctx, 5*time.Second)
	defer cancel()
	at, err := evaluate[string](ctx, t, `location.pathname + " «" + (document.querySelector("h1")?.textContent ?? "") + "» " +
		[...document.querySelectorAll(".error, .form-errors, [role=alert]")].map(e => e.textContent).join(" | ").slice(0, 400)`)
	if err != nil {
		return "an unknown page"
	}
	return strings.Join(strings.Fields(at), " ")
}

// Open shows a path of the program.
func (t *Tab) Open(path string) error {
	return t.do(func(ctx context.Context) error { return t.engine.open(ctx, t.base+path) })
}

// Eval runs JavaScript in the page and returns what it gives, promises awaited.
func Eval[T any](t *Tab, js string) (T, error) {
	ctx, cancel := context.WithTimeout(t.ctx, patience)
	defer cancel()
	v, err := evaluate[T](ctx, t, js)
	if err != nil {
		return v, fmt.Errorf("%.80s at %s: %w", js, t.where(), err)
	}
	return v, nil
}

// evaluate reads what JavaScript gives. Nothing is read only into what can be nothing.
func evaluate[T any](ctx context.Context, t *Tab, js string) (T, error) {
	var v T
	text, err := t.engine.evaluate(ctx, js)
	if err != nil {
		return v, err
	}
	if len(text) == 0 || bytes.Equal(text, []byte("null")) {
		switch reflect.TypeFor[T]().Kind() {
		case reflect.Pointer, reflect.Map, reflect.Slice, reflect.Interface:
			return v, nil
		}
		return v, fmt.Errorf("the script gives nothing")
	}
	return v, json.Unmarshal(text, &v)
}

// SignIn signs in and waits for the first page.
func (t *Tab) SignIn(email, password string) error {
	if err := t.Open("/sign-in?next=/account"); err != nil {
		return err
	}
	for _, step := range []func() error{
		func() error { return t.Fill(`[name="email"]`, email) },
		func() error { return t.Fill(`[name="password"]`, password) },
		func() error { return t.Press(`[data-testid="sign-in"]`) },
		func() error { return t.Until(`document.querySelector('[data-testid="who"]')`) },
	} {
		if err := step(); err != nil {
			return err
		}
	}
	return nil
}

// Look sets the width of the window and the theme, "light" or "dark".
func (t *Tab) Look(width int64, theme string) error {
	return t.LookAt(width, 900, theme)
}

// LookAt sets the window's width and height and the theme, "light" or "dark".
func (t *Tab) LookAt(width, height int64, theme string) error {
	return t.do(func(ctx context.Context) error {
		if err := t.engine.size(ctx, width, height); err != nil {
			return err
		}
		return t.engine.theme(ctx, theme)
	})
}

// InFirefox reports whether the window is one of Firefox's, which can't be told another theme than the light one.
func (t *Tab) InFirefox() bool {
	_, yes := t.engine.(*gecko)
	return yes
}

// ForceColours has the window show the system's few colours in place of the page's, as people set it who need contrast.
func (t *Tab) ForceColours() error { return t.do(t.engine.forceColours) }

// Picture writes the page as it stands to a PNG file: the whole of it, or what fits the window.
func (t *Tab) Picture(file string, whole bool) error {
	if _, err := Eval[bool](t, `document.fonts.ready.then(() => true)`); err != nil {
		return err
	}
	return t.do(func(ctx context.Context) error {
		png, err := t.engine.picture(ctx, whole)
		if err != nil {
			return err
		}
		return os.WriteFile(file, png, 0o644)
	})
}

// PDF prints the page as the page itself sets its size.
func (t *Tab) PDF() (pdf []byte, err error) {
	err = t.do(func(ctx context.Context) (err error) {
		pdf, err = t.engine.pdf(ctx)
		return err
	})
	return pdf, err
}

// BeforeEachPage runs a script in every page before its own.
func (t *Tab) BeforeEachPage(script string) error {
	return t.do(func(ctx context.Context) error { return t.engine.beforeEachPage(ctx, script) })
}

// WithoutScripts turns the scripts of pages off for good, as a cautious reader might.
func (t *Tab) WithoutScripts() error { return t.do(t.engine.withoutScripts) }

// Cookies are the window's, for a client that asks beside the browser.
func (t *Tab) Cookies() (list []*http.Cookie, err error) {
	err = t.do(func(ctx context.Context) (err error) {
		list, err = t.engine.cookies(ctx, t.base)
		return err
	})
	return list, err
}
