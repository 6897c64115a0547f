package e2e

import (
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"path/filepath"
	"regexp"
	"strings"
	"syscall"
	"testing"
)

var joinPath = regexp.MustCompile(`(?m)^(http://shop\.example)?(/join/[A-Z2-7]{26})$`)

// TestOwnerReset: beside a running shop and a stopped one, an owner who lost the password comes in again by the link, old
// sessions are over, and the record stays whole and says what was done.
func TestOwnerReset(t *testing.T) {
	t.Parallel()
	data := filepath.Join(openFolder(t), "demo")
	p := launch(t, "demo", "--listen", "127.0.0.1:0", "--data", data)
	p.healthy(t)
	jar, err := cookiejar.New(nil)
	if err != nil {
		t.Fatal(err)
	}
	browser := &http.Client{Jar: jar, CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	post := func(path string, fields url.Values) (int, string) {
		t.Helper()
		res, err := browser.PostForm(p.address+path, fields)
		if err != nil {
			t.Fatal(err)
		}
		res.Body.Close()
		return res.StatusCode, res.Header.Get("Location")
	}
	inside := func() bool {
		t.Helper()
		res, err := browser.Get(p.address + "/account")
		if err != nil {
			t.Fatal(err)
		}
		res.Body.Close()
		return res.StatusCode == http.StatusOK
	}
	old := url.Values{"email": {"owner@ternquay.example"}, "password": {"lighthouse brass ledger"}}
	if post("/sign-in", old); !inside() {
		t.Fatal("the owner is not signed in")
	}

	wants(t, 1, "nobody in the shop has the address", "owner", "reset", "nobody@ternquay.example", "--data", data)
	wants(t, 1, "owner@ternquay.example", "owner", "reset", "nobody@ternquay.example", "--data", data)
	wants(t, 1, "is no owner", "owner", "reset", "bench@ternquay.example", "--data", data)
	if !inside() {
		t.Fatal("what was refused ended the session")
	}
	link := joinPath.FindStringSubmatch(wants(t, 0, "Second factors are removed", "owner", "reset", "--data", data, "--public-url", "http://shop.example/"))
	if link == nil || link[1] == "" {
		t.Fatalf("no link: %q", link)
	}
	if inside() {
		t.Error("the old session goes on")
	}
	if status, _ := post("/sign-in", old); status != http.StatusUnprocessableEntity {
		t.Errorf("the old password: %d", status)
	}
	fresh := url.Values{"password": {"slipway mussel tern rope"}, "again": {"slipway mussel tern rope"}}
	if status, _ := post(link[2], fresh); status != http.StatusSeeOther || !inside() {
		t.Errorf("the new password: %d", status)
	}
	if status, _ := post(link[2], fresh); status != http.StatusGone {
		t.Errorf("the link again: %d", status)
	}

	p.stop(t, syscall.SIGTERM)
	out := wants(t, 0, "works once", "owner", "reset", "owner@ternquay.example", "--keep-second-factor", "--data", data)
	if again := joinPath.FindStringSubmatch(out); again == nil || again[2] == link[2] || strings.Contains(out, "are removed") {
		t.Errorf("of the stopped shop: %s", out)
	}
	wants(t, 0, "", "record", "check", "--data", data)
	launch(t, "demo", "--listen", "127.0.0.1:0", "--data", data).healthy(t)
	var entries int
	if err := database(t, data).QueryRow(t.Context(), `SELECT count(*) FROM shop_journal WHERE summary LIKE '%by command on the machine%'`).
		Scan(&entries); err != nil || entries != 2 {
		t.Errorf("%d entries of the journal say so (%v)", entries, err)
	}
}
