package web_test

import (
	"log/slog"
	"net/http"
	"slices"
	"strings"
	"sync"
	"testing"

	"ledgerwheel/web"
	"ledgerwheel/web/static"
	"ledgerwheel/web/webtest"
)

// TestEveryAnswerSaysWhatABrowserMayDo: pages, files, refusals and what answers before anybody is looked at.
func TestEveryAnswerSaysWhatABrowserMayDo(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	for _, path := range []string{"/", "/sign-in", "/no-such-page", "/healthz", "/card/keys", static.Path("js/keep.js"),
		static.Styles(false), static.Styles(true), "/static/none"} {
		h := s.Stranger().Get(path).Header
		policy := strings.Split(h.Get("Content-Security-Policy"), "; ")
		for _, want := range []string{"default-src 'none'", "script-src 'self'", "style-src 'self'", "object-src 'none'",
			"base-uri 'none'", "form-action 'self'", "frame-ancestors 'none'"} {
			if !slices.Contains(policy, want) {
				t.Errorf("%s: the policy %q lacks %s", path, policy, want)
			}
		}
		for name, want := range map[string]string{"X-Content-Type-Options": "nosniff", "Referrer-Policy": "same-origin",
			"Cross-Origin-Opener-Policy": "same-origin", "Cross-Origin-Resource-Policy": "same-origin", "Access-Control-Allow-Origin": ""} {
			if got := h.Get(name); got != want {
				t.Errorf("%s: %s %q, want %q", path, name, got, want)
			}
		}
	}
	owner := s.As(s.Owner)
	for _, path := range []string{"/", "/dockets", "/staff", "/account", "/account/sign-in", "/access", "/keys", "/settings"} {
		if got := owner.Get(path).Want(http.StatusOK).Header.Get("Cache-Control"); got != "no-store" {
			t.Errorf("%s may be kept: Cache-Control %q", path, got)
		}
	}
}

// TestRefusalsAreLogged: what was refused, to whom and from where, and no secret of an address.
func TestRefusalsAreLogged(t *testing.T) {
	t.Parallel()
	var log heldLog
	s := webtest.NewSite(t, func(c *web.Config) { c.Log = slog.New(slog.NewTextHandler(&log, nil)) })
	s.As(s.Clerk).Get("/staff").Want(http.StatusForbidden)
	s.Stranger().Get("/join/SECRETOFALINK").Want(http.StatusNotFound)
	for _, want := range []string{`status=403 method=GET path=/staff staff=` + webtest.Itoa(s.Clerk.ID) + ` from=127.0.0.1`,
		`status=404 method=GET path=/join/… staff=0 from=127.0.0.1`} {
		if !strings.Contains(log.String(), want) {
			t.Errorf("the log lacks %s:\n%s", want, log.String())
		}
	}
	if strings.Contains(log.String(), "SECRETOFALINK") {
		t.Error("a link's secret is in the log")
	}
}

// heldLog is a log that is read while the program still writes to it.
type heldLog struct {
	mu   sync.Mutex
	said strings.Builder
}

func (l *heldLog) Write(b []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.said.Write(b)
}

func (l *heldLog) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.said.String()
}
