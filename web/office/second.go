package office

import (
	"errors"
	"net/http"
	"net/url"

	"ledgerwheel/domain"
	"ledgerwheel/domain/staff"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/view"
)

// passwordRight goes on with somebody who gave the right password: to the second factor, where they have one.
func (s *Room) passwordRight(w http.ResponseWriter, r *http.Request, c store.Credentials, how string, asked url.Values) error {
	if !c.HasSecond {
		if err := s.begin(w, r, c.Member.ID, c.SessionEpoch, how); err != nil {
			return err
		}
		if c.SecondAsked {
			s.Enrol(r.Context())
		}
		return s.goOn(w, r, c.Member.ID, asked)
	}
	if err := s.Hold(r.Context(), c.Member.ID); err != nil {
		return err
	}
	next := url.Values{}
	for _, name := range []string{"next", "kept"} {
		if value := asked.Get(name); value != "" {
			next.Set(name, value)
		}
	}
	to := url.URL{Path: "/sign-in/second", RawQuery: next.Encode()}
	return page.SeeOther(w, r, to.String())
}

// held is who gave the password, and their factors; ok is false where nobody did, or it is too long ago.
func (s *Room) held(r *http.Request) (c store.Credentials, f store.SecondFactors, ok bool, err error) {
	id := s.Held(r.Context())
	if id == 0 {
		return c, f, false, nil
	}
	c, err = s.store.CredentialsByID(r.Context(), id)
	if errors.Is(err, domain.ErrNotFound) || err == nil && (c.Member.Disabled || c.PasswordHash == "") {
		return c, f, false, nil
	}
	if err != nil {
		return c, f, false, err
	}
	f, err = s.store.SecondFactors(r.Context(), id)
	return c, f, err == nil, err
}

func (s *Room) showSecond(w http.ResponseWriter, r *http.Request) error {
	c, factors, ok, err := s.held(r)
	if err != nil {
		return err
	}
	if !ok {
		return page.SeeOther(w, r, "/sign-in")
	}
	return s.renderSecond(w, r, http.StatusOK, &page.Form{Values: r.URL.Query(), Problems: map[string]string{}}, c, factors)
}

func (s *Room) renderSecond(w http.ResponseWriter, r *http.Request, status int, f *page.Form, c store.Credentials,
	factors store.SecondFactors) error {
	passkey, err := s.askPasskey(r, c.Member, factors.Passkeys)
	if err != nil {
		return err
	}
	p := s.PlainPage(r, "Second factor")
	p.Scripts = append(p.Scripts, "js/passkey.js")
	return page.Render(w, r, status, secondPage(p, secondView{Form: f.View(), Next: page.LocalPath(f.Values.Get("next")),
		Kept: f.Values.Get("kept"), App: !factors.AppMadeAt.IsZero(), Passkey: passkey,
		Elsewhere: passkey == "" && len(factors.Passkeys) > 0, Address: s.PublicURL}))
}

// second signs in whoever gave the password and now a passkey or a code.
func (s *Room) second(w http.ResponseWriter, r *http.Request) error {
	f, err := page.ReadForm(w, r)
	if err != nil {
		return err
	}
	c, factors, ok, err := s.held(r)
	if err != nil {
		return err
	}
	if !ok {
		return page.SeeOther(w, r, "/sign-in")
	}
	right, may, err := s.mayGuess(w, r, c.Member.ID, "")
	if err != nil || !may {
		return err
	}
	how, why, err := s.tryFactor(r, c.Member, factors, f.Raw("code"), f.Raw("passkey"))
	if err != nil {
		return err
	}
	f.Values.Del("passkey")
	if how == "" {
		f.Fail("code", why)
		return s.renderSecond(w, r, http.StatusUnprocessableEntity, f, c, factors)
	}
	right()
	if err := s.begin(w, r, c.Member.ID, c.SessionEpoch, "with a password and "+how); err != nil {
		return err
	}
	return s.goOn(w, r, c.Member.ID, f.Values)
}

// tryFactor tries a passkey or a code. how says what was right, "" for nothing, and why then why not.
func (s *Room) tryFactor(r *http.Request, m staff.Member, factors store.SecondFactors, code, passkey string) (how, why string, err error) {
	if passkey != "" {
		ok, err := s.usePasskey(r, m, factors.Passkeys, passkey)
		if err != nil || ok {
			return "a passkey", "", err
		}
		return "", "That passkey was not accepted. Try again, or type a code.",
			s.store.NoteAccess(r.Context(), s.Access(r, m.ID, staff.WrongPasskey, ""))
	}
	if page.CleanText(code) == "" {
		return "", "Give a code.", nil
	}
	answer, err := s.store.UseCode(r.Context(), m.ID, code, s.Access(r, m.ID, "", ""))
	if err != nil {
		return "", "", err
	}
	switch answer {
	case store.CodeOfApp:
		return "a code", "", nil
	case store.CodeRecovery:
		return "a recovery code", "", nil
	case store.CodesTooMany:
		return "", "Too many wrong codes. For an hour no code of an app is taken: use a passkey or a recovery code.", nil
	case store.CodesCantRead:
		return "", "Codes of apps can't be checked here now: the key that opens their secrets is not on this machine. Use a passkey or a recovery code.", nil
	}
	return "", "That code is not right, or was used before. Codes of an app change every 30 seconds; a recovery code works once.", nil
}

// ProofAsked says by what the person signed in can say again who they are.
func (s *Room) ProofAsked(r *http.Request) (v view.ProofView, err error) {
	viewer, _ := page.ViewerOf(r.Context())
	factors, err := s.store.SecondFactors(r.Context(), viewer.Member.ID)
	if err != nil {
		return v, err
	}
	v.Email, v.Code = viewer.Member.Email, !factors.AppMadeAt.IsZero()
	v.Passkey, err = s.askPasskey(r, viewer.Member, factors.Passkeys)
	return v, err
}

// Proves tries what somebody answers who is asked again who they are.
func (s *Room) Proves(r *http.Request, proof page.Proof) (ok bool, why string, over bool, err error) {
	v, _ := page.ViewerOf(r.Context())
	ok, why, err = s.proves(r, v.Member, proof)
	if err != nil {
		return false, "", false, err
	}
	wrong, err := s.store.SessionProved(r.Context(), v.Session.ID, ok)
	if ok || err != nil {
		return ok, "", false, err
	}
	if err := s.store.NoteAccess(r.Context(), s.Access(r, v.Member.ID, staff.WrongProof, "")); err != nil {
		return false, "", false, err
	}
	if wrong < staff.WrongMost {
		return false, why, false, nil
	}
	return false, why, true, s.EndSession(r.Context(), r, staff.EndedWrong)
}

func (s *Room) proves(r *http.Request, m staff.Member, proof page.Proof) (ok bool, why string, err error) {
	if proof.Password != "" {
		c, err := s.store.CredentialsByID(r.Context(), m.ID)
		if err != nil {
			return false, "", err
		}
		ok, err = passwordMatches(proof.Password, c.PasswordHash)
		return ok, "That is not your password.", err
	}
	factors, err := s.store.SecondFactors(r.Context(), m.ID)
	if err != nil {
		return false, "", err
	}
	how, why, err := s.tryFactor(r, m, factors, proof.Code, proof.Passkey)
	return how != "", why, err
}
