package office_test

import (
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"sync"
	"testing"

	"ledgerwheel/domain/staff"
	"ledgerwheel/web/office"
	"ledgerwheel/web/webtest"
)

// signsIn tries to sign in, with more of the request's headers in pairs, and returns the answer's status.
func signsIn(c *webtest.Client, m staff.Member, password string, headers ...string) int {
	c.T.Helper()
	req, err := http.NewRequest(http.MethodPost, c.URL+"/sign-in",
		strings.NewReader(url.Values{"email": {m.Email}, "password": {password}}.Encode()))
	if err != nil {
		c.T.Fatal(err)
	}
	req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	for i := 0; i+1 < len(headers); i += 2 {
		req.Header.Set(headers[i], headers[i+1])
	}
	return c.Do(req).Status
}

const (
	wrong   = http.StatusUnprocessableEntity
	right   = http.StatusSeeOther
	tooMany = http.StatusTooManyRequests
)

func want(t *testing.T, what string, got, want int) {
	t.Helper()
	if got != want {
		t.Fatalf("%s: status %d, want %d", what, got, want)
	}
}

// TestNobodyLocksAnotherOut: wrong guesses at a name shut out whoever guesses from elsewhere, and not the person on a
// device on which they signed in before.
func TestNobodyLocksAnotherOut(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	own, guesser := s.Stranger(), s.Stranger()
	want(t, "at first", signsIn(own, s.Owner, webtest.Password), right)
	own.Post("/sign-out", nil).Want(http.StatusSeeOther)
	for i := range office.WrongPerName {
		want(t, fmt.Sprintf("guess %d", i+1), signsIn(guesser, s.Owner, "guess"), wrong)
	}
	want(t, "one guess more", signsIn(guesser, s.Owner, "guess"), tooMany)
	want(t, "the right password from elsewhere", signsIn(s.Stranger(), s.Owner, webtest.Password), tooMany)
	want(t, "another person there", signsIn(s.Stranger(), s.Watchmaker, webtest.Password), right)
	for range office.WrongPerMachine { // also when the machine's own bound is used up
		signsIn(guesser, s.Clerk, "guess")
		signsIn(guesser, s.Watchmaker, "guess")
		signsIn(guesser, staff.Member{Email: "nobody@ternquay.example"}, "guess")
	}
	want(t, "a new browser on the guesser's machine", signsIn(s.Stranger(), staff.Member{Email: "x@ternquay.example"}, "guess"), tooMany)
	want(t, "the person on their own device", signsIn(own, s.Owner, webtest.Password), right)
}

// TestAKnownDeviceIsBoundedByItself, and known for its own person alone.
func TestAKnownDeviceIsBoundedByItself(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	own := s.Stranger()
	want(t, "at first", signsIn(own, s.Clerk, webtest.Password), right)
	for i := range office.WrongPerDevice {
		want(t, fmt.Sprintf("guess %d", i+1), signsIn(own, s.Clerk, "guess"), wrong)
	}
	want(t, "one guess more", signsIn(own, s.Clerk, webtest.Password), tooMany)
	want(t, "on another device", signsIn(s.Stranger(), s.Clerk, webtest.Password), right)

	forged := s.Stranger()
	at, err := url.Parse(s.URL)
	if err != nil {
		t.Fatal(err)
	}
	var cookies []*http.Cookie
	for _, c := range own.HTTP.Jar.Cookies(at) {
		if name, _, ok := strings.Cut(c.Name, "-known-"); ok {
			cookies = append(cookies, &http.Cookie{Name: name + "-known-" + webtest.Itoa(s.Owner.ID), Value: c.Value})
		}
	}
	if len(cookies) != 1 {
		t.Fatalf("%d cookies of known devices", len(cookies))
	}
	forged.HTTP.Jar.SetCookies(at, cookies)
	for range office.WrongPerName {
		signsIn(s.Stranger(), s.Owner, "guess")
	}
	want(t, "another's cookie", signsIn(forged, s.Owner, webtest.Password), tooMany)
}

// TestOnlyFailuresAreCounted: people who sign in rightly use up nothing.
func TestOnlyFailuresAreCounted(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	for range office.WrongPerMachine + 1 {
		want(t, "signing in", signsIn(s.Stranger(), s.Clerk, webtest.Password), right)
	}
	want(t, "a wrong one after that", signsIn(s.Stranger(), s.Clerk, "guess"), wrong)
}

// TestForgedForwardingChangesNothing: whoever says that they ask for somebody else is still themselves.
func TestForgedForwardingChangesNothing(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	refused := 0
	for i := range office.WrongPerMachine + 5 {
		from := fmt.Sprintf("198.51.100.%d", i)
		m := staff.Member{Email: fmt.Sprintf("nobody%d@ternquay.example", i)}
		if signsIn(s.Stranger(), m, "guess", "X-Forwarded-For", from, "Forwarded", "for="+from, "X-Real-IP", from) == tooMany {
			refused++
		}
	}
	if refused != 5 {
		t.Errorf("%d of %d were refused, want 5", refused, office.WrongPerMachine+5)
	}
	list, _, err := s.Store.Accesses(t.Context(), 0)
	if err != nil || len(list) == 0 {
		t.Fatal(err, len(list))
	}
	for _, e := range list {
		if e.From.Address != "127.0.0.1" {
			t.Errorf("the log says %q", e.From.Address)
		}
	}
}

// TestGuessesSentAtOnceAreCounted: no more are tried than one after the other.
func TestGuessesSentAtOnceAreCounted(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	var wg sync.WaitGroup
	statuses := make([]int, 2*office.WrongPerName)
	for i := range statuses {
		wg.Go(func() { statuses[i] = signsIn(s.Stranger(), s.Owner, "guess") })
	}
	wg.Wait()
	tried := 0
	for _, status := range statuses {
		if status == wrong {
			tried++
		}
	}
	if tried != office.WrongPerName {
		t.Errorf("%d were tried, want %d: %v", tried, office.WrongPerName, statuses)
	}
}

func TestTheSetupKeyIsNotGuessed(t *testing.T) {
	t.Parallel()
	s := webtest.NewEmptySite(t)
	try := func(key string) int {
		req, err := http.NewRequest(http.MethodGet, s.URL+"/setup?key="+key, nil)
		if err != nil {
			t.Fatal(err)
		}
		req.Header.Set("Via", "1.1 somebody")
		return s.Stranger().Do(req).Status
	}
	for range office.WrongPerMachine + 3 {
		want(t, "the right key", try("test-setup-key"), http.StatusOK)
	}
	for i := range office.WrongPerMachine {
		want(t, "a wrong key", try(fmt.Sprint("wrong", i)), http.StatusForbidden)
	}
	want(t, "one more", try("test-setup-key"), tooMany)
}
