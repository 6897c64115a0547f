package browser

import (
	"context"
	"errors"

	"github.com/chromedp/cdproto/webauthn"
	"github.com/chromedp/chromedp"
)

// HasAuthenticator gives the window in Chromium a device that makes and uses passkeys without asking anybody, as its own
// fingerprint reader would after a touch.
func (t *Tab) HasAuthenticator() error {
	if t.InFirefox() {
		return errors.New("passkeys are tried in Chromium alone")
	}
	return t.do(func(ctx context.Context) error {
		if _, err := chromedp.Call(ctx, webauthn.Enable, webauthn.EnableParams{}); err != nil {
			return err
		}
		_, err := chromedp.Call(ctx, webauthn.AddVirtualAuthenticator, webauthn.AddVirtualAuthenticatorParams{
			Options: &webauthn.VirtualAuthenticatorOptions{Protocol: webauthn.AuthenticatorProtocolCtap2,
				Transport: webauthn.AuthenticatorTransportInternal, HasResidentKey: true, HasUserVerification: true,
				IsUserVerified: true, AutomaticPresenceSimulation: true}})
		return err
	})
}
