package e2e

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"sync"
	"testing"

	"ledgerwheel/cmd/ledgerwheel/demoshop"
	"ledgerwheel/domain/staff"
	"ledgerwheel/e2e/browser"
)

// theSite is the demo shop that all journeys share, and the browser they look at it with. Each journey brings its own
// customers and watches. Both run until the test process ends.
var theSite struct {
	once    sync.Once
	program *program
	data    string // its data folder
	err     error
}

var theBrowser struct {
	once sync.Once
	ctx  context.Context
	stop func()
	err  error
}

// site returns the running demo shop.
func site(t testing.TB) *program {
	t.Helper()
	bin := binary(t)
	theSite.once.Do(func() {
		dir, err := os.MkdirTemp("", "lw-e2e-")
		if err != nil {
			theSite.err = err
			return
		}
		theSite.data = dir
		if theSite.err = os.Chmod(dir, 0o711); theSite.err == nil {
			theSite.program, theSite.err = run(bin, "demo", "--listen", "127.0.0.1:0", "--data", filepath.Join(dir, "demo"))
		}
	})
	if theSite.err != nil {
		t.Fatalf("starting the demo shop: %v", theSite.err)
	}
	return theSite.program
}

// chromium returns the running browser.
func chromium(t testing.TB) context.Context {
	t.Helper()
	theBrowser.once.Do(func() {
		theBrowser.ctx, theBrowser.stop, theBrowser.err = browser.Start(context.Background())
	})
	if theBrowser.err != nil {
		t.Fatal(theBrowser.err)
	}
	return theBrowser.ctx
}

// closeSite ends both and removes what the demo kept.
func closeSite() error {
	if theBrowser.stop != nil {
		theBrowser.stop()
	}
	if theSite.program != nil {
		theSite.program.end()
	}
	if theSite.data == "" {
		return nil
	}
	return os.RemoveAll(theSite.data)
}

// signInOf is how one of the demo shop's people signs in.
func signInOf(role staff.Role) (demoshop.SignIn, error) {
	for _, p := range demoshop.SignIns() {
		if p.Role == role.Label() {
			return p, nil
		}
	}
	return demoshop.SignIn{}, errors.New("the demo shop has no " + role.Label())
}

// closing is run by TestMain after the last test.
func closing(code int) int {
	if err := closeSite(); err != nil {
		fmt.Fprintln(os.Stderr, err)
		return max(code, 1)
	}
	return code
}
