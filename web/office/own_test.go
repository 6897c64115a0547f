package office_test

import (
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"ledgerwheel/domain/staff"
	"ledgerwheel/store"
	"ledgerwheel/web/webtest"
)

const chromeOnLinux = "Mozilla/5.0 (X11; Linux x86_64) AppleWebKit/537.36 (KHTML, like Gecko) Chrome/140.0.0.0 Safari/537.36"

// signInFrom signs somebody in on the page, from a device that says what it is.
func signInFrom(s *webtest.Site, m staff.Member, agent string) *webtest.Client {
	s.T.Helper()
	c := s.Stranger()
	body := url.Values{"email": {m.Email}, "password": {webtest.Password}}.Encode()
	req, err := http.NewRequest(http.MethodPost, c.URL+"/sign-in", strings.NewReader(body))
	if err != nil {
		s.T.Fatal(err)
	}
	req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	req.Header.Set("User-Agent", agent)
	c.Do(req).Want(http.StatusSeeOther)
	return c
}

// rows runs SQL on the test's database and returns how many rows it touched.
func rows(s *webtest.Site, sql string, args ...any) int64 {
	s.T.Helper()
	tag, err := s.Store.Pool().Exec(s.T.Context(), sql, args...)
	if err != nil {
		s.T.Fatal(err)
	}
	return tag.RowsAffected()
}

func TestASessionEndedElsewhereIsOutAtTheNextRequest(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	here, there, third := s.As(s.Clerk), signInFrom(s, s.Clerk, chromeOnLinux), s.As(s.Clerk)
	a := here.Get("/account/sign-in").Want(http.StatusOK)
	if got := len(a.All("session")); got != 3 {
		t.Fatalf("%d sessions listed, want 3", got)
	}
	webtest.Contains(t, "sessions", webtest.TextOf(a.Document), "Chrome on Linux", "This is where you are now")
	var ending string
	for _, f := range a.Forms(nil) {
		if strings.Contains(f.Action, "/sessions/") && !strings.Contains(f.Action, "/others/") {
			ending = f.Action
		}
	}
	var theirs string
	if err := s.Store.Pool().QueryRow(t.Context(), `SELECT id FROM staff_session WHERE device = 'Chrome on Linux'`).Scan(&theirs); err != nil {
		t.Fatal(err)
	}
	// Nobody ends another person's session.
	s.As(s.Owner).Post("/account/sign-in/sessions/"+theirs+"/end", nil).Want(http.StatusSeeOther)
	there.Get("/account").Want(http.StatusOK)

	if ending == "" {
		t.Fatal("no form ends a session")
	}
	here.Post("/account/sign-in/sessions/"+theirs+"/end", nil).Want(http.StatusSeeOther)
	there.Get("/account").Want(http.StatusSeeOther)
	third.Get("/account").Want(http.StatusOK)
	here.Post("/account/sign-in/sessions/others/end", nil).Want(http.StatusSeeOther)
	third.Get("/account").Want(http.StatusSeeOther)
	a = here.Get("/account/sign-in").Want(http.StatusOK)
	if got := len(a.All("session")); got != 1 {
		t.Errorf("%d sessions are left, want 1", got)
	}
	webtest.Contains(t, "what happened", webtest.TextOf(a.Document), "ended one of their sessions",
		"ended all their other sessions", "signed in with a password")
}

func TestAnIdleSessionEnds(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	c := s.As(s.Clerk)
	rows(s, `UPDATE shop SET idle_minutes = 30`)
	rows(s, `UPDATE staff_session SET last_seen_at = now() - interval '29 minutes'`)
	c.Get("/account").Want(http.StatusOK)
	if n := rows(s, `UPDATE staff_session SET last_seen_at = now() - interval '31 minutes' WHERE last_seen_at > now() - interval '1 minute'`); n != 1 {
		t.Fatal("the session was not seen")
	}
	c.Get("/account").Want(http.StatusSeeOther)
	if n := rows(s, `DELETE FROM staff_session`); n != 0 {
		t.Errorf("%d sessions are left", n)
	}
	webtest.Contains(t, "log", webtest.TextOf(s.As(s.Owner).Get("/access").Want(http.StatusOK).Document),
		"session ended: not used for too long")
}

// What is looked at twice within three minutes is written down once.
func TestBeingSeenIsWrittenNowAndThen(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	c := s.As(s.Clerk)
	first := s.Trips(c, "/account")
	rows(s, `UPDATE staff_session SET last_seen_at = now() - interval '4 minutes'`)
	if later, again := s.Trips(c, "/account"), s.Trips(c, "/account"); later != first+1 || again != first {
		t.Errorf("round trips: %d, then %d after four minutes, then %d", first, later, again)
	}
}

func TestSigningInAgainEndsTheSessionBefore(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	c := s.As(s.Clerk)
	c.Post("/sign-in", url.Values{"email": {s.Clerk.Email}, "password": {webtest.Password}}).Want(http.StatusSeeOther)
	if n := rows(s, `SELECT FROM staff_session`); n != 1 {
		t.Errorf("%d sessions of one browser", n)
	}
	c.Post("/sign-out", nil).Want(http.StatusSeeOther)
	if n := rows(s, `SELECT FROM staff_session`); n != 0 {
		t.Errorf("%d sessions after signing out", n)
	}
}

// Refusals are logged and can't fill the disk; what was typed is not kept.
func TestRefusalsAreCounted(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	for _, email := range []string{s.Clerk.Email, "stranger@elsewhere.example", s.Clerk.Email} {
		s.Stranger().Post("/sign-in", url.Values{"email": {email}, "password": {"guessed word"}}).Want(http.StatusUnprocessableEntity)
	}
	said := webtest.TextOf(s.As(s.Owner).Get("/access").Want(http.StatusOK).Document)
	webtest.Contains(t, "log", said, "nobody of the shop", "refused: wrong password", "2 times since")
	own := webtest.TextOf(s.As(s.Clerk).Get("/account/sign-in").Want(http.StatusOK).Document)
	webtest.Contains(t, "own page", own, "refused: wrong password")
	for _, secret := range []string{"stranger@elsewhere.example", "guessed word"} {
		if strings.Contains(said, secret) || rows(s, `SELECT FROM access_event a WHERE a::text LIKE '%' || $1 || '%'`, secret) != 0 {
			t.Errorf("%q is kept", secret)
		}
	}
	for i := range 3 * staff.RefusalsApart {
		e := store.AccessEvent{At: s.Clock(), StaffID: s.Clerk.ID, Kind: staff.WrongPassword,
			From: store.From{Address: fmt.Sprintf("192.0.2.%d", i)}}
		if err := s.Store.NoteAccess(t.Context(), e); err != nil {
			t.Fatal(err)
		}
	}
	if n := rows(s, `SELECT FROM access_event WHERE staff_id = $1 AND kind = 'wrong-password'`, s.Clerk.ID); n != staff.RefusalsApart+1 {
		t.Errorf("%d lines, want %d", n, staff.RefusalsApart+1)
	}
	if n := rows(s, `SELECT FROM access_event WHERE address = '' AND times > $1`, staff.RefusalsApart); n != 1 {
		t.Error("what has no line of its own is not counted")
	}
}
