package e2e

import (
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/pquerna/otp/totp"

	"ledgerwheel/domain/staff"
	"ledgerwheel/e2e/browser"
)

// TestSecondFactor has a newcomer add a passkey and codes of an app, sign in by each, and end a session elsewhere. The
// passkey is Chromium's own virtual authenticator: what it makes and signs, the program checks.
func TestSecondFactor(t *testing.T) {
	t.Parallel()
	shop := site(t)
	owner := signedIn(t, shop, staff.Owner)
	owner.open("/staff")
	form := owner.within("invite-form")
	form.fillAll("name", "Ingrid Farrow", "email", "ingrid@ternquay.example")
	form.tick("role", "clerk")
	form.press("invite")
	link := owner.text(byTest("invite-link"))

	p := atLocalhost(t, shop)
	p.try(p.tab.HasAuthenticator())
	p.open(strings.TrimPrefix(link, shop.address))
	const password = "gull feather sundial"
	p.fillAll("password", password, "again", password)
	p.press("join")
	p.accessible("/account/sign-in")
	p.within("second-factor").sees("with your password alone")

	p.press("begin-passkey")
	p.arrives("/account/sign-in/passkey")
	p.lookOver("add a passkey")
	p.fill("name", "The counter's tablet")
	p.press("passkey")
	p.sees("Recovery codes", "Shown this once")
	if n := p.count(byTest("recovery-codes") + " li"); n != staff.RecoveryCodes {
		p.errorf("%d recovery codes", n)
	}
	p.lookOver("recovery codes")
	recovery := p.text(byTest("recovery-codes") + " li:nth-child(2)")
	p.press("recovery-done")
	p.sees("Passkey: The counter's tablet", "10 of them not used")

	p.press("sign-out")
	p.passwordOf("ingrid@ternquay.example", password)
	p.arrives("/sign-in/second")
	p.lookOver("second factor")
	p.press("passkey")
	p.within("who").sees("Ingrid Farrow")
	p.open("/account/sign-in")
	p.sees("with a password and a passkey")

	p.press("begin-app")
	secret := strings.ReplaceAll(p.text(byTest("app-secret")), " ", "")
	p.lookOver("codes from an app")
	code, err := totp.GenerateCode(secret, time.Now())
	p.try(err)
	p.fill("code", code)
	p.press("confirm-app")
	p.sees("Codes from your app are asked for from now on")

	// On another device, by the app, without scripts; then by a recovery code.
	other := stranger(t, shop)
	other.try(other.tab.WithoutScripts())
	other.passwordOf("ingrid@ternquay.example", password)
	code, err = totp.GenerateCode(secret, time.Now().Add(30*time.Second)) // the one of now is used up
	p.try(err)
	other.fill("code", code)
	other.press("second")
	other.within("who").sees("Ingrid Farrow")
	other.press("sign-out")
	other.passwordOf("ingrid@ternquay.example", password)
	other.fill("code", recovery)
	other.press("second")
	other.within("who").sees("Ingrid Farrow")
	other.open("/account/sign-in")
	other.sees("9 of them not used", "This is where you are now", "Passkeys need an address with a name", "//localhost:")

	p.open("/account/sign-in")
	p.press("end-others")
	p.sees("Your other sessions are over")
	other.open("/dockets")
	other.arrives("/sign-in")

	// Removing is asked about once more.
	p.press("remove-passkey")
	p.sees("Remove this passkey?")
	p.press("sure")
	p.sees("Removed", "Codes from an app")
	owner.accessible("/access")
	owner.sees("Ingrid Farrow", "added a passkey", "used a recovery code", "removed a passkey")
}

// atLocalhost opens a window at the name localhost: a passkey needs an address with a name.
func atLocalhost(t *testing.T, shop *program) *person {
	t.Helper()
	at, err := url.Parse(shop.address)
	if err != nil {
		t.Fatal(err)
	}
	address := at.Scheme + "://localhost:" + at.Port()
	tab, closeTab, err := browser.NewTab(chromium(t), address)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(closeTab)
	p := &person{t: t, tab: tab, address: address}
	p.try(p.tab.Look(browser.Widths["desktop"], "light"))
	return p
}

// passwordOf gives a password on the page, and is not in yet by that.
func (p *person) passwordOf(email, password string) {
	p.t.Helper()
	p.open("/sign-in")
	p.fill("email", email)
	p.fill("password", password)
	p.press("sign-in")
	if !p.has(byTest("second-form")) {
		p.fatalf("no second factor is asked for")
	}
}
