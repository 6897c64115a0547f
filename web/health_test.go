package web_test

import (
	"net/http"
	"net/url"
	"strings"
	"sync/atomic"
	"testing"

	"ledgerwheel/domain/health"
	"ledgerwheel/web/webtest"
)

// TestTroublesAreNamed: pages and /healthz name each trouble; what stops the work is said to everybody, what only warns to
// the owner.
func TestTroublesAreNamed(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	var now atomic.Pointer[[]health.Trouble]
	now.Store(&[]health.Trouble{})
	s.Srv.Troubles = func() []health.Trouble { return *now.Load() }
	for _, tt := range []struct {
		troubles []health.Trouble
		status   int
		healthz  string
		all      bool
	}{
		{nil, http.StatusOK, "ok\n", true},
		{[]health.Trouble{health.LowSpace}, http.StatusOK, "ok\nlow space\n", false},
		{[]health.Trouble{health.ClockBack, health.LowSpace}, http.StatusOK, "ok\nclock set back\nlow space\n", false},
		{[]health.Trouble{health.DiskFull}, http.StatusServiceUnavailable, "disk full\n", true},
		{[]health.Trouble{health.FolderGone, health.ClockBack}, http.StatusServiceUnavailable, "data folder gone\nclock set back\n", true},
	} {
		now.Store(&tt.troubles)
		if got := s.Stranger().Get("/healthz"); got.Status != tt.status || got.Body != tt.healthz {
			t.Errorf("%v: /healthz answers %d %q, want %d %q", tt.troubles, got.Status, got.Body, tt.status, tt.healthz)
		}
		for _, path := range []string{"/owner", "/"} {
			page := s.As(s.Owner).Get(path).Want(http.StatusOK)
			if got := len(page.All("trouble")); got != len(tt.troubles) {
				t.Errorf("%v: %s tells the owner of %d", tt.troubles, path, got)
			}
			for _, trouble := range tt.troubles {
				webtest.Contains(t, path, webtest.TextOf(page.Document), trouble.Title(), trouble.Sentence())
			}
		}
		if got := len(s.As(s.Clerk).Get("/").Want(http.StatusOK).All("trouble")); (got > 0) != (tt.all && len(tt.troubles) > 0) {
			t.Errorf("%v: the clerk is told of %d", tt.troubles, got)
		}
	}
}

// TestFullDiskUnderAForm has the database itself refuse to write, with the code that it gives on a full disk: the page that was
// asked names it, nothing is saved, and the same form sent again with room is.
func TestFullDiskUnderAForm(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.Noted()
	path := "/dockets/" + number + "/parts"
	exec := func(sql string) {
		t.Helper()
		if _, err := s.Store.Pool().Exec(t.Context(), sql); err != nil {
			t.Fatal(err)
		}
	}
	exec(`CREATE FUNCTION no_room() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN
		RAISE EXCEPTION 'could not extend file "base/5/16384": No space left on device' USING ERRCODE = '53100'; END $$`)
	exec(`CREATE TRIGGER no_room BEFORE INSERT ON part_line FOR EACH ROW EXECUTE FUNCTION no_room()`)
	bench := s.As(s.Watchmaker)
	page := bench.Get(path).Want(http.StatusOK)
	fields := url.Values{"description": {"Stem"}, "quantity": {"1"}, "form_key": {page.Hidden("form_key")}, "form_page": {path}}
	before := s.Version(number)
	refused := bench.Post(path, fields).Want(http.StatusServiceUnavailable)
	webtest.Contains(t, "the page", webtest.TextOf(refused.Document), "The disk is full", "Nothing was saved", "no room left")
	if strings.Contains(strings.Join(refused.Header.Values("Set-Cookie"), " "), "form_saved") {
		t.Error("the browser is told to forget what was typed")
	}
	if s.Version(number) != before {
		t.Error("something was saved")
	}
	exec(`DROP TRIGGER no_room ON part_line`)
	bench.Post(path, fields).Want(http.StatusSeeOther) // the same form, sent again as it was
	if s.Version(number) == before {
		t.Error("sent again with room it was not saved")
	}
}
