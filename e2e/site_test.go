package e2e

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"sync"
	"testing"

	"ledgerwheel/cmd/ledgerwheel/demoshop"
	"ledgerwheel/domain/staff"
	"ledgerwheel/e2e/browser"
)

// demoSite is a demo shop that journeys share. Each journey brings its own customers and watches. It runs until the
// test process ends.
type demoSite struct {
	once    sync.Once
	program *program
	data    string // its data folder
	err     error
}

// theSite is that of most journeys; theOtherSite takes the rest, since only so many may sign in to one in five minutes.
// theFirefoxSite is visited in Firefox.
var theSite, theOtherSite, theFirefoxSite demoSite

var theBrowser struct {
	once sync.Once
	ctx  context.Context
	stop func()
	err  error
}

var theFirefox struct {
	once    sync.Once
	inUse   sync.Mutex
	browser *browser.Firefox
	err     error
}

// site returns the running demo shop, and otherSite the second.
func site(t testing.TB) *program      { return theSite.running(t) }
func otherSite(t testing.TB) *program { return theOtherSite.running(t) }

// firefoxSite returns the demo shop that people visit in Firefox, one journey after another. Where that isn't installed the test is skipped, which
// the test command counts against the run.
func firefoxSite(t testing.TB) *program {
	t.Helper()
	if _, err := browser.FindFirefox(); err != nil {
		t.Skip(err)
	}
	p := theFirefoxSite.running(t)
	theFirefox.inUse.Lock()
	t.Cleanup(theFirefox.inUse.Unlock)
	p.inFirefox = true
	return p
}

func (s *demoSite) running(t testing.TB) *program {
	t.Helper()
	bin := binary(t)
	s.once.Do(func() {
		dir, err := os.MkdirTemp("", "lw-e2e-")
		if err != nil {
			s.err = err
			return
		}
		s.data = dir
		data := filepath.Join(dir, "demo")
		if s.err = errors.Join(os.Chmod(dir, 0o711), stock(bin, data)); s.err == nil {
			s.program, s.err = run(bin, "demo", "--listen", "127.0.0.1:0", "--data", data)
		}
	})
	if s.err != nil {
		t.Fatalf("starting the demo shop: %v", s.err)
	}
	return s.program
}

// theDemo is a demo shop that was started once and stopped. Others begin as copies of its folder: filling one asks the database
// fifteen thousand things, and a score of tests need one of their own.
var theDemo struct {
	once   sync.Once
	folder string
	err    error
}

// stock copies the stopped demo shop to a data folder that does not exist yet.
func stock(bin, data string) error {
	theDemo.once.Do(func() {
		if theDemo.folder, theDemo.err = os.MkdirTemp("", "lw-e2e-"); theDemo.err != nil {
			return
		}
		if theDemo.err = os.Chmod(theDemo.folder, 0o711); theDemo.err != nil {
			return
		}
		var p *program
		if p, theDemo.err = run(bin, "demo", "--listen", "127.0.0.1:0", "--data", filepath.Join(theDemo.folder, "demo")); theDemo.err == nil {
			p.end()
			theDemo.err = p.err
		}
	})
	if theDemo.err != nil {
		return theDemo.err
	}
	if out, err := exec.Command("cp", "-a", filepath.Join(theDemo.folder, "demo"), data).CombinedOutput(); err != nil {
		return fmt.Errorf("copying the demo shop: %w: %s", err, out)
	}
	return nil
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

// firefox returns the running Firefox.
func firefox(t testing.TB) *browser.Firefox {
	t.Helper()
	theFirefox.once.Do(func() {
		theFirefox.browser, theFirefox.err = browser.StartFirefox(context.Background())
	})
	if theFirefox.err != nil {
		t.Fatal(theFirefox.err)
	}
	return theFirefox.browser
}

// closeSite ends browsers and shops, and removes what the demos kept.
func closeSite() error {
	if theBrowser.stop != nil {
		theBrowser.stop()
	}
	var failed error
	if theFirefox.browser != nil {
		failed = theFirefox.browser.Stop()
	}
	for _, s := range []*demoSite{&theSite, &theOtherSite, &theFirefoxSite} {
		if s.program != nil {
			s.program.end()
		}
		if s.data != "" {
			failed = errors.Join(failed, os.RemoveAll(s.data))
		}
	}
	if theDemo.folder != "" {
		failed = errors.Join(failed, os.RemoveAll(theDemo.folder))
	}
	return failed
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
