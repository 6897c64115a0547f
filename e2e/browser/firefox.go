package browser

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"time"
)

// Firefox is a running Firefox without a screen, driven over WebDriver BiDi (W3C). One person at a time uses it.
type Firefox struct {
	line   *bidi
	cmd    *exec.Cmd
	folder string // its home and profile
	// active is the window that was last used. Firefox draws the focus in that alone, so windows that press keys must
	// take turns.
	active string
}

// ErrNoFirefox says that Firefox isn't installed.
var ErrNoFirefox = errors.New("no Firefox found: install the package firefox-esr")

// FindFirefox returns Firefox's path.
func FindFirefox() (string, error) {
	for _, name := range []string{"firefox-esr", "firefox"} {
		if path, err := exec.LookPath(name); err == nil {
			return path, nil
		}
	}
	return "", ErrNoFirefox
}

// firefoxSettings are those that Firefox does not make by itself when it is driven: a light theme wherever it runs, and
// nothing fetched from outside.
const firefoxSettings = `user_pref("layout.css.prefers-color-scheme.content-override", 1);
user_pref("browser.shell.checkDefaultBrowser", false);
user_pref("browser.startup.page", 0);
user_pref("datareporting.policy.dataSubmissionEnabled", false);
user_pref("network.captive-portal-service.enabled", false);
user_pref("network.connectivity-service.enabled", false);
`

var listensAt = regexp.MustCompile(`WebDriver BiDi listening on (ws://\S+)`)

// StartFirefox starts Firefox with a fresh profile.
func StartFirefox(ctx context.Context) (_ *Firefox, err error) {
	path, err := FindFirefox()
	if err != nil {
		return nil, err
	}
	f := &Firefox{}
	if f.folder, err = os.MkdirTemp("", "lw-firefox-"); err != nil {
		return nil, err
	}
	defer func() {
		if err != nil {
			err = errors.Join(err, f.Stop())
		}
	}()
	if err := os.WriteFile(filepath.Join(f.folder, "user.js"), []byte(firefoxSettings), 0o600); err != nil {
		return nil, err
	}
	f.cmd = exec.Command(path, "--headless", "--no-remote", "--remote-debugging-port=0", "--profile", f.folder)
	f.cmd.Env = append(os.Environ(), "HOME="+f.folder, "XDG_CACHE_HOME="+f.folder, "MOZ_HEADLESS=1",
		"MOZ_CRASHREPORTER_DISABLE=1")
	stderr, err := f.cmd.StderrPipe()
	if err != nil {
		return nil, err
	}
	if err := f.cmd.Start(); err != nil {
		f.cmd = nil
		return nil, err
	}
	address := make(chan string, 1)
	go func() {
		for lines := bufio.NewScanner(stderr); lines.Scan(); {
			if at := listensAt.FindStringSubmatch(lines.Text()); at != nil && len(address) == 0 {
				address <- at[1]
			}
		}
		close(address)
	}()
	select {
	case at := <-address:
		if at == "" {
			return nil, fmt.Errorf("Firefox ended as it began")
		}
		f.line, err = dialBiDi(ctx, at+"/session")
		return f, err
	case <-time.After(2 * patience):
		return nil, fmt.Errorf("Firefox does not say where it listens")
	}
}

// Stop ends Firefox and removes what it kept.
func (f *Firefox) Stop() error {
	if f.cmd != nil {
		ended := make(chan error, 1)
		go func() { ended <- f.cmd.Wait() }()
		_ = f.cmd.Process.Signal(os.Interrupt)
		select {
		case <-ended:
		case <-time.After(5 * time.Second):
			_ = f.cmd.Process.Kill()
			<-ended
		}
	}
	if f.line != nil {
		f.line.close()
	}
	return os.RemoveAll(f.folder)
}

// NewTab opens a window of its own, signed in as nobody, for the program at base.
func (f *Firefox) NewTab(ctx context.Context, base string) (*Tab, func(), error) {
	own, err := ask[struct {
		UserContext string `json:"userContext"`
	}](ctx, f.line, "browser.createUserContext", nil)
	if err != nil {
		return nil, nil, err
	}
	window, err := ask[struct {
		Context string `json:"context"`
	}](ctx, f.line, "browsingContext.create", params{"type": "window", "userContext": own.UserContext})
	if err != nil {
		return nil, nil, err
	}
	ctx, cancel := context.WithCancel(ctx)
	t := &Tab{engine: &gecko{firefox: f, line: f.line, window: window.Context}, ctx: ctx, base: strings.TrimRight(base, "/")}
	f.line.follow(window.Context, t.hearGecko)
	closeTab := func() {
		cancel()
		f.line.follow(window.Context, nil)
		end, stop := context.WithTimeout(context.Background(), patience)
		defer stop()
		_, _ = ask[any](end, f.line, "browser.removeUserContext", params{"userContext": own.UserContext})
	}
	if err := t.BeforeEachPage(tellRefusals); err != nil {
		closeTab()
		return nil, nil, err
	}
	return t, closeTab, nil
}

// tellRefusals has the page say on its console what its content security policy refuses: Firefox tells only people.
const tellRefusals = `document.addEventListener("securitypolicyviolation", (e) =>
	console.error("refused by the policy: " + e.violatedDirective + " " + e.blockedURI + " " + e.sample))`

// hearGecko notes what Chromium's windows note (see hear). Firefox answers dialogs by itself: yes.
func (t *Tab) hearGecko(e event) {
	switch {
	case e.Method == "log.entryAdded" && (e.Params.Level == "error" || e.Params.Level == "warn"):
		t.faults.add(e.Params.Type + ": " + e.Params.Text)
	case e.Method == "network.responseCompleted" && e.Params.Response.Status >= 400:
		t.faults.add(fmt.Sprintf("network: the server answered with a status of %d (%s) %s", e.Params.Response.Status,
			e.Params.Response.StatusText, e.Params.Response.URL))
	case e.Method == "network.fetchError" && !strings.Contains(e.Params.ErrorText, "ABORT"): // leaving a page aborts
		t.faults.add("network: " + e.Params.ErrorText + " " + e.Params.Request.URL)
	case e.Method == "browsingContext.userPromptOpened":
		t.faults.mu.Lock()
		t.faults.dialogs = append(t.faults.dialogs, e.Params.Type)
		t.faults.mu.Unlock()
	}
}
