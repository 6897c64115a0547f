package office

import (
	"encoding/binary"
	"encoding/json"
	"errors"
	"net"
	"net/http"
	"net/netip"
	"net/url"
	"strings"

	"github.com/go-webauthn/webauthn/protocol"
	"github.com/go-webauthn/webauthn/webauthn"

	"ledgerwheel/domain/staff"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
)

// What the browser's session keeps of a passkey that is asked for or made: the challenge, above all. Each is good once.
const (
	sessionPasskeyAsked = "passkey-asked"
	sessionPasskeyMade  = "passkey-made"
)

// errNoPasskeys reports an address at which passkeys can't be used.
var errNoPasskeys = errors.New("passkeys can't be used at this address")

// passkeys is WebAuthn's relying party for the address at which the page is open. A passkey belongs to a host name: to
// that of the public address, or to localhost where the program serves only its own machine. The error is errNoPasskeys
// where the page is open at another address, or at one without a name.
func (s *Room) passkeys(r *http.Request) (*webauthn.WebAuthn, error) {
	public, err := url.Parse(s.PublicURL)
	if err != nil {
		return nil, err
	}
	name, origin := public.Hostname(), public.Scheme+"://"+public.Host
	if addr, err := netip.ParseAddr(name); err == nil {
		if !addr.IsLoopback() || hostOf(r) != "localhost" {
			return nil, errNoPasskeys
		}
		name, origin = "localhost", public.Scheme+"://"+r.Host
	}
	if !strings.EqualFold(hostOf(r), name) {
		return nil, errNoPasskeys
	}
	v, _ := page.ViewerOf(r.Context())
	display := v.Shop.Name
	if display == "" {
		display = "Ledgerwheel"
	}
	return webauthn.New(&webauthn.Config{RPID: strings.ToLower(name), RPDisplayName: display, RPOrigins: []string{origin},
		AttestationPreference: protocol.PreferNoAttestation,
		AuthenticatorSelection: protocol.AuthenticatorSelection{ResidentKey: protocol.ResidentKeyRequirementPreferred,
			UserVerification: protocol.VerificationPreferred}})
}

// noPasskeys says why passkeys can't be used where errNoPasskeys is met, and what can.
func (s *Room) noPasskeys() string {
	public, err := url.Parse(s.PublicURL)
	if err != nil {
		return ""
	}
	why := "Passkeys work only at " + s.PublicURL + ", and this page is open at another address."
	if addr, err := netip.ParseAddr(public.Hostname()); err == nil && addr.IsLoopback() {
		why = "Passkeys need an address with a name: on this machine open " + public.Scheme + "://localhost:" + public.Port() + "."
	} else if err == nil {
		why = "Passkeys need an address with a name, and the shop's, " + s.PublicURL + ", has only numbers."
	}
	return why + " Codes from an app work everywhere."
}

func hostOf(r *http.Request) string {
	if host, _, err := net.SplitHostPort(r.Host); err == nil {
		return strings.ToLower(host)
	}
	return strings.ToLower(r.Host)
}

// passkeyOwner is a person as WebAuthn sees them. The handle is the person's number: it says nothing about them.
type passkeyOwner struct {
	member staff.Member
	keys   []webauthn.Credential
}

// ownerOf takes those of a person's passkeys that were made for a host name.
func ownerOf(m staff.Member, keys []store.Passkey, rpID string) (passkeyOwner, error) {
	o := passkeyOwner{member: m}
	for _, k := range keys {
		if k.RPID != rpID {
			continue
		}
		var c webauthn.Credential
		if err := json.Unmarshal(k.Credential, &c); err != nil {
			return o, err
		}
		o.keys = append(o.keys, c)
	}
	return o, nil
}

func (o passkeyOwner) WebAuthnID() []byte {
	return binary.BigEndian.AppendUint64(nil, uint64(o.member.ID))
}
func (o passkeyOwner) WebAuthnName() string                       { return o.member.Email }
func (o passkeyOwner) WebAuthnDisplayName() string                { return o.member.Name }
func (o passkeyOwner) WebAuthnCredentials() []webauthn.Credential { return o.keys }

// askPasskey begins the use of a passkey and returns what the browser is told, "" where none of the person's can be
// used here.
func (s *Room) askPasskey(r *http.Request, m staff.Member, keys []store.Passkey) (string, error) {
	party, err := s.passkeys(r)
	if errors.Is(err, errNoPasskeys) {
		return "", nil
	}
	if err != nil {
		return "", err
	}
	o, err := ownerOf(m, keys, party.Config.RPID)
	if err != nil || len(o.keys) == 0 {
		return "", err
	}
	options, session, err := party.BeginLogin(o)
	if err != nil {
		return "", err
	}
	return s.rememberCeremony(r, sessionPasskeyAsked, options, session)
}

func (s *Room) rememberCeremony(r *http.Request, name string, options, session any) (string, error) {
	kept, err := json.Marshal(session)
	if err != nil {
		return "", err
	}
	said, err := json.Marshal(options)
	if err != nil {
		return "", err
	}
	s.Sessions.Put(r.Context(), name, string(kept))
	return string(said), nil
}

// ceremony takes what was remembered out of the session.
func (s *Room) ceremony(r *http.Request, name string) (session webauthn.SessionData, ok bool) {
	kept := s.Sessions.PopString(r.Context(), name)
	return session, kept != "" && json.Unmarshal([]byte(kept), &session) == nil
}

// usePasskey reports whether the browser's answer proves one of the person's passkeys. One whose counter went back may
// have been copied, and proves nothing.
func (s *Room) usePasskey(r *http.Request, m staff.Member, keys []store.Passkey, answer string) (bool, error) {
	session, ok := s.ceremony(r, sessionPasskeyAsked)
	party, err := s.passkeys(r)
	if !ok || errors.Is(err, errNoPasskeys) {
		return false, nil
	}
	if err != nil {
		return false, err
	}
	o, err := ownerOf(m, keys, party.Config.RPID)
	if err != nil {
		return false, err
	}
	parsed, err := protocol.ParseCredentialRequestResponseBytes([]byte(answer))
	if err != nil {
		return false, nil
	}
	used, err := party.ValidateLogin(o, session, parsed)
	if err != nil || used.Authenticator.CloneWarning {
		s.Log.Warn("passkey refused", "id", page.RequestIDOf(r.Context()), "error", err)
		return false, nil
	}
	record, err := json.Marshal(used)
	if err != nil {
		return false, err
	}
	return true, s.store.PasskeyUsed(r.Context(), m.ID, used.ID, record, s.Now())
}

// makePasskey begins the making of one.
func (s *Room) makePasskey(r *http.Request, m staff.Member, keys []store.Passkey) (string, error) {
	party, err := s.passkeys(r)
	if err != nil {
		return "", err
	}
	o, err := ownerOf(m, keys, party.Config.RPID)
	if err != nil {
		return "", err
	}
	var have []protocol.CredentialDescriptor
	for _, c := range o.keys {
		have = append(have, c.Descriptor())
	}
	options, session, err := party.BeginRegistration(o, webauthn.WithExclusions(have))
	if err != nil {
		return "", err
	}
	return s.rememberCeremony(r, sessionPasskeyMade, options, session)
}

// madePasskey reads the browser's answer; ok is false for one that proves nothing.
func (s *Room) madePasskey(r *http.Request, m staff.Member, answer string) (k store.Passkey, ok bool, err error) {
	session, ok := s.ceremony(r, sessionPasskeyMade)
	party, err := s.passkeys(r)
	if err != nil || !ok {
		return k, false, err
	}
	parsed, err := protocol.ParseCredentialCreationResponseBytes([]byte(answer))
	if err != nil {
		return k, false, nil
	}
	made, err := party.CreateCredential(passkeyOwner{member: m}, session, parsed)
	if err != nil {
		s.Log.Warn("passkey not made", "id", page.RequestIDOf(r.Context()), "error", err)
		return k, false, nil
	}
	record, err := json.Marshal(made)
	return store.Passkey{RPID: party.Config.RPID, CredentialID: made.ID, Credential: record}, err == nil, err
}
