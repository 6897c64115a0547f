package office_test

import (
	"encoding/base32"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/pquerna/otp/totp"

	"ledgerwheel/domain/staff"
	"ledgerwheel/web/webtest"
)

// withApp sets codes of an app up for the person at a browser, and returns the secret and the recovery codes. Codes are
// made by totp.GenerateCode, which is not what the program checks them with.
func withApp(s *webtest.Site, c *webtest.Client) (secret string, recovery []string) {
	s.T.Helper()
	c.Post("/account/sign-in/app/begin", nil).Want(http.StatusSeeOther)
	secret = strings.ReplaceAll(c.Get("/account/sign-in/app").Want(http.StatusOK).Text("app-secret"), " ", "")
	a := c.Post("/account/sign-in/app", url.Values{"code": {code(s, secret)}}).Want(http.StatusOK)
	recovery = strings.Fields(a.Text("recovery-codes"))
	if len(recovery) != staff.RecoveryCodes {
		s.T.Fatalf("%d recovery codes: %q", len(recovery), recovery)
	}
	return secret, recovery
}

func code(s *webtest.Site, secret string) string {
	s.T.Helper()
	c, err := totp.GenerateCode(secret, s.Clock())
	if err != nil {
		s.T.Fatal(err)
	}
	return c
}

// held is a browser in which somebody gave the right password and is asked for the second factor.
func held(s *webtest.Site, m staff.Member) *webtest.Client {
	s.T.Helper()
	c := s.Stranger()
	a := c.Post("/sign-in", url.Values{"email": {m.Email}, "password": {webtest.Password}, "next": {"/dockets"}}).Want(http.StatusSeeOther)
	if a.Location() != "/sign-in/second?next=%2Fdockets" {
		s.T.Fatalf("after the password: %q", a.Location())
	}
	c.Get("/account").Want(http.StatusSeeOther) // not in yet
	return c
}

func TestSignInWithACode(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	secret, _ := withApp(s, s.As(s.Clerk))
	if n := rows(s, `SELECT FROM staff_app a WHERE position($1::bytea in sealed) > 0 OR a::text ILIKE '%' || $2 || '%'`, raw(t, secret), secret); n != 0 {
		t.Error("the secret lies open in the database")
	}
	s.Stranger().Get("/sign-in/second").Want(http.StatusSeeOther)
	s.Stranger().Post("/sign-in/second", url.Values{"code": {code(s, secret)}}).Want(http.StatusSeeOther)

	// The code with which the app was set up is used up.
	c := held(s, s.Clerk)
	a := c.Post("/sign-in/second", url.Values{"code": {code(s, secret)}, "next": {"/dockets"}}).Want(http.StatusUnprocessableEntity)
	webtest.Contains(t, "refusal", a.Problem("code"), "used before")
	s.Pass(time.Minute)
	now := code(s, secret)
	a = c.Post("/sign-in/second", url.Values{"code": {now[:3] + " " + now[3:]}, "next": {"/dockets"}}).Want(http.StatusSeeOther)
	if a.Location() != "/dockets" {
		t.Errorf("signed in, sent to %q", a.Location())
	}
	c.Get("/account").Want(http.StatusOK)
	held(s, s.Clerk).Post("/sign-in/second", url.Values{"code": {now}}).Want(http.StatusUnprocessableEntity) // twice
	webtest.Contains(t, "own page", webtest.TextOf(c.Get("/account/sign-in").Document), "with a password and a code",
		"refused: wrong code", "set up codes from an app")
}

func raw(t *testing.T, secret string) []byte {
	t.Helper()
	b, err := base32.StdEncoding.WithPadding(base32.NoPadding).DecodeString(secret)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func TestARecoveryCodeWorksOnce(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	me := s.As(s.Clerk)
	_, recovery := withApp(s, me)
	for _, c := range recovery {
		if n := rows(s, `SELECT FROM staff_recovery_code r WHERE r::text LIKE '%' || $1 || '%'`, c); n != 0 {
			t.Error("a recovery code lies open in the database")
		}
	}
	if strings.Contains(me.Get("/account/sign-in").Want(http.StatusOK).Body, recovery[0]) {
		t.Error("recovery codes are shown again")
	}
	typed := strings.ToUpper(strings.ReplaceAll(recovery[3], "-", " "))
	held(s, s.Clerk).Post("/sign-in/second", url.Values{"code": {typed}}).Want(http.StatusSeeOther)
	held(s, s.Clerk).Post("/sign-in/second", url.Values{"code": {recovery[3]}}).Want(http.StatusUnprocessableEntity)
	webtest.Contains(t, "left", webtest.TextOf(me.Get("/account/sign-in").Document), "9 of them not used", "used a recovery code")

	// Another person's code is none.
	withApp(s, s.As(s.Watchmaker))
	held(s, s.Watchmaker).Post("/sign-in/second", url.Values{"code": {recovery[4]}}).Want(http.StatusUnprocessableEntity)

	// New ones are made with asking, and put an end to the old.
	asked := me.Post("/account/sign-in/recovery", nil).Want(http.StatusOK)
	webtest.Contains(t, "question", asked.Text("sure-text"), "stop working")
	fresh := strings.Fields(me.PostSure("/account/sign-in/recovery", nil).Want(http.StatusOK).Text("recovery-codes"))
	held(s, s.Clerk).Post("/sign-in/second", url.Values{"code": {recovery[4]}}).Want(http.StatusUnprocessableEntity)
	held(s, s.Clerk).Post("/sign-in/second", url.Values{"code": {fresh[0]}}).Want(http.StatusSeeOther)
}

// After ten wrong codes within an hour the right one is not taken either; a recovery code, which nobody guesses, is.
func TestGuessingCodesIsBounded(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	secret, recovery := withApp(s, s.As(s.Clerk))
	s.Pass(time.Minute)
	c := held(s, s.Clerk)
	for range staff.CodesWrongMost {
		wrong := "000000"
		if wrong == code(s, secret) {
			wrong = "000001"
		}
		c.Post("/sign-in/second", url.Values{"code": {wrong}}).Want(http.StatusUnprocessableEntity)
	}
	a := c.Post("/sign-in/second", url.Values{"code": {code(s, secret)}}).Want(http.StatusUnprocessableEntity)
	webtest.Contains(t, "refusal", a.Problem("code"), "Too many wrong codes")
	c.Post("/sign-in/second", url.Values{"code": {recovery[0]}}).Want(http.StatusSeeOther)
	s.Pass(2 * time.Hour)
	held(s, s.Clerk).Post("/sign-in/second", url.Values{"code": {code(s, secret)}}).Want(http.StatusSeeOther)
}

// A link to set a new password is no way around the second factor.
func TestANewPasswordStillAsksForTheSecondFactor(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	withApp(s, s.As(s.Watchmaker))
	owner := s.As(s.Owner)
	link := owner.Post("/staff/"+webtest.Itoa(s.Watchmaker.ID)+"/reset", nil).Want(http.StatusOK).Text("invite-link")
	c := s.Stranger()
	a := c.Post(strings.TrimPrefix(link, "http://ledger.example"), url.Values{"password": {"tide table clock"},
		"again": {"tide table clock"}}).Want(http.StatusSeeOther)
	if !strings.HasPrefix(a.Location(), "/sign-in/second") {
		t.Errorf("sent to %q", a.Location())
	}
	c.Get("/account").Want(http.StatusSeeOther)

	// The owner takes it off for somebody who lost it, and that is written down.
	owner.PostSure("/staff/"+webtest.Itoa(s.Watchmaker.ID)+"/second-factor/remove", nil).Want(http.StatusSeeOther)
	s.Stranger().Post("/sign-in", url.Values{"email": {s.Watchmaker.Email}, "password": {"tide table clock"}, "next": {"/account"}}).
		Want(http.StatusSeeOther)
	if n := rows(s, `SELECT FROM staff_event WHERE who_id = $1 AND by_id = $2 AND what = $3`, s.Watchmaker.ID, s.Owner.ID, staff.FactorsGone); n != 1 {
		t.Error("no event of the people says so")
	}
	webtest.Contains(t, "log", webtest.TextOf(owner.Get("/access").Document), "second factors removed by the owner")
}

func TestTheShopAsksForASecondFactor(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	before := s.As(s.Owner)
	rows(s, `UPDATE shop SET second_factor = 'owners'`)
	s.Stranger().Post("/sign-in", url.Values{"email": {s.Clerk.Email}, "password": {webtest.Password}, "next": {"/account"}}).Want(http.StatusSeeOther)
	before.Get("/owner").Want(http.StatusOK) // who is in is not thrown out of work

	c := s.Stranger()
	c.Post("/sign-in", url.Values{"email": {s.Owner.Email}, "password": {webtest.Password}, "next": {"/owner"}}).Want(http.StatusSeeOther)
	for _, path := range []string{"/staff", "/owner"} {
		if a := c.Get(path).Want(http.StatusSeeOther); a.Location() != "/account/sign-in" {
			t.Errorf("%s leads to %q", path, a.Location())
		}
	}
	if a := c.Post("/watch-list", url.Values{"serial": {"X1"}}).Want(http.StatusSeeOther); a.Location() != "/account/sign-in" {
		t.Errorf("a form leads to %q", a.Location())
	}
	c.Get("/owner").Want(http.StatusSeeOther)
	webtest.Contains(t, "notice", c.Get("/account/sign-in").Want(http.StatusOK).Text("enrol"), "Set up a second factor to go on")
	c.Post("/account/sign-in/app/begin", nil).Want(http.StatusSeeOther)
	secret := strings.ReplaceAll(c.Get("/account/sign-in/app").Want(http.StatusOK).Text("app-secret"), " ", "")
	if a := c.Post("/account/sign-in/app", url.Values{"code": {"12345"}}).Want(http.StatusUnprocessableEntity); a.Problem("code") == "" {
		t.Error("a wrong code is not refused beside the field")
	}
	c.Get("/owner").Want(http.StatusSeeOther)
	a := c.Post("/account/sign-in/app", url.Values{"code": {code(s, secret)}}).Want(http.StatusOK)
	if got := webtest.Attr(a.One("recovery-done"), "href"); got != "/owner" {
		t.Errorf("goes on to %q", got)
	}
	c.Get("/owner").Want(http.StatusOK)

	// The last one stays while the shop asks for it.
	a = c.PostSure("/account/sign-in/app/remove", nil).Want(http.StatusUnprocessableEntity)
	webtest.Contains(t, "refusal", a.Text("own-problem"), "add another")
	rows(s, `UPDATE shop SET second_factor = 'nobody'`)
	c.PostSure("/account/sign-in/app/remove", nil).Want(http.StatusSeeOther)
	if n := rows(s, `SELECT FROM staff_recovery_code`); n != 0 {
		t.Errorf("%d recovery codes are left without a factor", n)
	}
	c.Post("/sign-in", url.Values{"email": {s.Owner.Email}, "password": {webtest.Password}}).Want(http.StatusSeeOther)
	c.Get("/owner").Want(http.StatusOK)
}

// TestAskedAgain: whoever said long ago who they are says so again, on a page that keeps what was typed.
func TestAskedAgain(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	c := s.As(s.Owner)
	s.Unproven(c)
	typed := url.Values{"name": {"Søren O’Dell"}, "email": {"soren@ternquay.example"}, "role": {"clerk"}}
	a := c.Post("/staff", typed).Want(http.StatusOK)
	if len(a.All("invite-link")) != 0 {
		t.Fatal("a link was made without asking")
	}
	for name, want := range typed {
		if a.Hidden(name) != want[0] {
			t.Errorf("%s is kept as %q", name, a.Hidden(name))
		}
	}
	if n := rows(s, `SELECT FROM staff WHERE name = 'Søren O’Dell'`); n != 0 {
		t.Fatal("somebody was invited without asking")
	}
	with := func(more ...string) url.Values {
		f := url.Values{}
		for name, value := range typed {
			f[name] = value
		}
		for i := 0; i < len(more); i += 2 {
			f.Set(more[i], more[i+1])
		}
		return f
	}
	a = c.Post("/staff", with("proof_password", "not the right words")).Want(http.StatusUnprocessableEntity)
	webtest.Contains(t, "refusal", a.Problem("proof_password"), "not your password")
	if strings.Contains(a.Body, "not the right words") {
		t.Error("the page shows the password again")
	}
	c.Post("/staff", with("proof_password", webtest.Password)).Want(http.StatusOK).Text("invite-link")
	// Asked once, it is good for a while.
	c.Post("/staff/"+webtest.Itoa(s.Clerk.ID)+"/disable", nil).Want(http.StatusSeeOther)
}

// Each of these asks; none does anything by that.
func TestWhatIsAskedAgain(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	c := s.As(s.Owner)
	withApp(s, c)
	s.As(s.Owner) // a session elsewhere
	s.Unproven(c)
	clerk := "/staff/" + webtest.Itoa(s.Clerk.ID)
	for path, fields := range map[string]url.Values{
		"/staff": {"name": {"A B"}, "email": {"a@b.example"}, "role": {"clerk"}}, clerk + "/reset": nil, clerk + "/disable": nil,
		clerk + "/enable": nil, clerk + "/role": {"role": {"watchmaker"}}, clerk + "/second-factor/remove": nil,
		"/keys/rotate": {"current": {"AAAA"}}, "/account/sign-in/app/begin": nil, "/account/sign-in/app/remove": nil,
		"/account/sign-in/passkey/begin": nil, "/account/sign-in/recovery": nil,
		"/account/sign-in/app": {"code": {"123456"}}, "/account/sign-in/passkey": {"name": {"x"}}, "/account/sign-in/passkeys/1/remove": nil,
		"/account/sign-in/sessions/others/end": nil, "/account/sign-in/sessions/ELSEWHERE/end": nil,
	} {
		a := c.Post(path, fields).Want(http.StatusOK)
		if len(a.All("proof_password")) != 1 || len(a.All("proof_code")) != 1 {
			t.Errorf("%s does not ask who it is", path)
		}
	}
	typed := c.Get("/settings").Want(http.StatusOK).Forms(func(name, kind, holds string) string {
		if name == "second_factor" {
			return "all"
		}
		return holds
	})
	for _, f := range typed {
		if f.TestID == "settings-form" {
			if a := c.Post(f.Action, f.Fields).Want(http.StatusOK); len(a.All("proof_password")) != 1 {
				t.Error("the settings of signing in change without asking")
			}
		}
	}
	if rows(s, `SELECT FROM shop WHERE second_factor = 'nobody'`) != 1 || rows(s, `SELECT FROM staff_app WHERE confirmed_at IS NOT NULL`) != 1 ||
		rows(s, `SELECT FROM staff_session`) != 2 ||
		rows(s, `SELECT FROM staff WHERE role = 'clerk' AND disabled_at IS NULL AND password_hash IS NOT NULL`) != 1 {
		t.Error("something was done before the answer")
	}
}

// TestSureAndProvenInOneAnswer answers the page that asks both as a browser would, with all that stands in its form.
func TestSureAndProvenInOneAnswer(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	c := s.As(s.Owner)
	withApp(s, c)
	s.Unproven(c)
	for _, f := range c.Post("/account/sign-in/app/remove", nil).Want(http.StatusOK).Forms(func(name, kind, holds string) string {
		if name == "proof_password" {
			return webtest.Password
		}
		return holds
	}) {
		if f.TestID == "sure-form" {
			c.Post(f.Action, f.Fields).Want(http.StatusSeeOther)
		}
	}
	if rows(s, `SELECT FROM staff_app`) != 0 {
		t.Error("one answer was not enough")
	}
}

// A code proves it too; five wrong answers end the session, and what was typed waits.
func TestProofByCodeAndFiveWrongAnswers(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	c := s.As(s.Owner)
	secret, _ := withApp(s, c)
	s.Pass(time.Minute)
	s.Unproven(c)
	path := "/staff/" + webtest.Itoa(s.Clerk.ID)
	c.Post(path+"/role", url.Values{"role": {"watchmaker"}, "proof_code": {code(s, secret)}}).Want(http.StatusSeeOther)
	s.Unproven(c)
	for i := range staff.WrongMost {
		a := c.Post(path+"/role", url.Values{"role": {"clerk"}, "proof_password": {"guess"}})
		if last := i == staff.WrongMost-1; !last {
			a.Want(http.StatusUnprocessableEntity)
		} else if a.Want(http.StatusSeeOther); !strings.HasPrefix(a.Location(), "/sign-in?kept=") {
			t.Errorf("after five wrong answers: %q", a.Location())
		}
	}
	c.Get("/owner").Want(http.StatusSeeOther)
	if n := rows(s, `SELECT FROM kept_form WHERE fields::text LIKE '%guess%'`); n != 0 {
		t.Error("a password is kept with what was typed")
	}
	if n := rows(s, `SELECT FROM access_event WHERE kind IN ('ended-wrong', 'wrong-proof') AND staff_id = $1`, s.Owner.ID); n != 2 {
		t.Errorf("%d lines in the log", n)
	}
}

// Without the key of the data folder codes can't be checked; a recovery code still lets in.
func TestSecretsAreNotReadWithoutTheKey(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	secret, recovery := withApp(s, s.As(s.Clerk))
	s.Pass(time.Minute)
	rows(s, `UPDATE staff_app SET key_id = 'gone'`)
	a := held(s, s.Clerk).Post("/sign-in/second", url.Values{"code": {code(s, secret)}}).Want(http.StatusUnprocessableEntity)
	webtest.Contains(t, "refusal", a.Problem("code"), "not on this machine")
	held(s, s.Clerk).Post("/sign-in/second", url.Values{"code": {recovery[0]}}).Want(http.StatusSeeOther)

	// A secret put in the place of another person's opens for nobody.
	withApp(s, s.As(s.Watchmaker))
	theirs, _ := withApp(s, s.As(s.Owner))
	rows(s, `UPDATE staff_app SET sealed = (SELECT sealed FROM staff_app WHERE staff_id = $1) WHERE staff_id = $2`, s.Owner.ID, s.Watchmaker.ID)
	s.Pass(time.Minute)
	held(s, s.Watchmaker).Post("/sign-in/second", url.Values{"code": {code(s, theirs)}}).Want(http.StatusUnprocessableEntity)
}

// At another address than the public one there are no passkeys, and the page says so.
func TestNoPasskeysElsewhere(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t) // its browser opens 127.0.0.1, its public address is another
	c := s.As(s.Clerk)
	webtest.Contains(t, "own page", c.Get("/account/sign-in").Want(http.StatusOK).Text("no-passkeys"), "only at http://ledger.example", "Codes from an app work everywhere")
	c.Get("/account/sign-in/passkey").Want(http.StatusOK).Text("no-passkeys")
	c.Post("/account/sign-in/passkey", url.Values{"name": {"x"}, "passkey": {"{}"}}).Want(http.StatusUnprocessableEntity)
}

// A browser that was left open is no place to guess the password at.
func TestGuessingThePresentPasswordEndsTheSession(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	c := s.As(s.Clerk)
	typed := url.Values{"current": {"guess"}, "password": {"tide table clock"}, "again": {"tide table clock"}}
	for range staff.WrongMost - 1 {
		c.Post("/account/password", typed).Want(http.StatusUnprocessableEntity)
	}
	c.Post("/account/password", typed).Want(http.StatusSeeOther)
	c.Get("/account").Want(http.StatusSeeOther)
}
