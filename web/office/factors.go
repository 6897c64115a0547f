package office

import (
	"crypto/rand"
	"errors"
	"net/http"

	"ledgerwheel/domain"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/text"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/paper"
	"ledgerwheel/web/view"
)

func (s *Room) factorRoutes() []page.Route {
	own := page.Needs(staff.ManageOwn)
	return []page.Route{
		page.Get("/account/sign-in/app", own, s.showApp),
		page.Post("/account/sign-in/app/begin", own, s.beginApp),
		page.Post("/account/sign-in/app", own, s.confirmApp),
		page.Post("/account/sign-in/app/remove", own, s.removeApp),
		page.Get("/account/sign-in/passkey", own, s.showPasskey),
		page.Post("/account/sign-in/passkey/begin", own, s.beginPasskey),
		page.Post("/account/sign-in/passkey", own, s.addPasskey),
		page.Post("/account/sign-in/passkeys/{id}/remove", own, s.removePasskey),
		page.Post("/account/sign-in/recovery", own, s.renewRecovery),
		page.Post("/staff/{id}/second-factor/remove", page.Needs(staff.ManageStaff), s.takeOffFactors),
	}
}

// onlyYou is asked before somebody's own factors change.
func onlyYou(title, button string) view.SureView {
	return view.SureView{Title: title, Button: button, Prove: true,
		Text: "How you sign in changes by this, so only you may do it."}
}

func (s *Room) beginApp(w http.ResponseWriter, r *http.Request) error {
	f, err := page.ReadForm(w, r)
	if err != nil {
		return err
	}
	if ok, err := s.Proven(w, r, f, onlyYou("Set up codes from an app?", "Go on")); !ok {
		return err
	}
	secret := make([]byte, staff.AppSecretBytes)
	rand.Read(secret) // never fails, as crypto/rand documents
	v, _ := page.ViewerOf(r.Context())
	if err := s.store.BeginApp(r.Context(), v.Member.ID, secret, s.Now()); err != nil {
		return err
	}
	return page.SeeOther(w, r, "/account/sign-in/app")
}

func (s *Room) showApp(w http.ResponseWriter, r *http.Request) error {
	return s.renderApp(w, r, http.StatusOK, page.EmptyForm())
}

// renderApp shows the secret of an app that is set up; it is never shown again after that.
func (s *Room) renderApp(w http.ResponseWriter, r *http.Request, status int, f *page.Form) error {
	v, _ := page.ViewerOf(r.Context())
	secret, err := s.store.OpenApp(r.Context(), v.Member.ID)
	if errors.Is(err, domain.ErrNotFound) {
		return page.SeeOther(w, r, "/account/sign-in")
	}
	if err != nil {
		return err
	}
	code, err := paper.QRSVG(staff.AppURI(secret, v.Shop.Name, v.Member.Email))
	if err != nil {
		return err
	}
	return page.Render(w, r, status, appPage(s.ownPage(r, "Codes from an app"), appView{Form: f.View(), QR: code,
		Secret: staff.AppSecretText(secret)}))
}

func (s *Room) confirmApp(w http.ResponseWriter, r *http.Request) error {
	f, err := page.ReadForm(w, r)
	if err != nil {
		return err
	}
	if ok, err := s.Proven(w, r, f, onlyYou("Set up codes from an app?", "Go on")); !ok {
		return err
	}
	v, _ := page.ViewerOf(r.Context())
	codes, hashes := newRecovery(v.Member.ID)
	ok, kept, err := s.store.ConfirmApp(r.Context(), v.Member.ID, f.Text("code"), hashes, s.Access(r, v.Member.ID, "", ""))
	if err != nil {
		return err
	}
	if !ok {
		f.Fail("code", "That is not the code that the app should show now. Is the app's clock right?")
		f.Values.Del("code")
		return s.renderApp(w, r, http.StatusUnprocessableEntity, f)
	}
	return s.factorAdded(w, r, "Codes from your app are asked for from now on.", codes, kept)
}

// factorAdded shows recovery codes that were made, and otherwise goes back.
func (s *Room) factorAdded(w http.ResponseWriter, r *http.Request, said string, codes []string, kept bool) error {
	next := "/account/sign-in"
	if s.MustEnrol(r.Context()) {
		next = s.Enrolled(r.Context())
	}
	if kept {
		return s.renderRecovery(w, r, said, codes, next)
	}
	s.Say(r.Context(), said)
	return page.SeeOther(w, r, next)
}

func (s *Room) renderRecovery(w http.ResponseWriter, r *http.Request, said string, codes []string, next string) error {
	v, _ := page.ViewerOf(r.Context())
	return page.Render(w, r, http.StatusOK, recoveryPage(s.Page(r, "Recovery codes"), recoveryView{Said: said, Codes: codes,
		Next: next, Email: v.Member.Email, Day: s.Day(r, s.Today(r))}))
}

// newRecovery makes codes and the form in which they are kept.
func newRecovery(staffID int64) (codes []string, hashes [][32]byte) {
	for range staff.RecoveryCodes {
		chance := make([]byte, staff.RecoveryBytes)
		rand.Read(chance) // never fails, as crypto/rand documents
		codes = append(codes, staff.RecoveryCode(chance))
		hashes = append(hashes, staff.RecoveryHash(staffID, codes[len(codes)-1]))
	}
	return codes, hashes
}

func (s *Room) renewRecovery(w http.ResponseWriter, r *http.Request) error {
	f, err := page.ReadForm(w, r)
	if err != nil {
		return err
	}
	sure, err := s.Sure(w, r, f, view.SureView{Title: "Make new recovery codes?", Button: "Make new codes", Prove: true,
		Text: "The codes that you have now stop working. Ten new ones are shown once."})
	if !sure {
		return err
	}
	v, _ := page.ViewerOf(r.Context())
	codes, hashes := newRecovery(v.Member.ID)
	err = s.store.RenewRecovery(r.Context(), v.Member.ID, hashes, s.Access(r, v.Member.ID, "", ""))
	if errors.Is(err, domain.ErrNotFound) {
		return page.SeeOther(w, r, "/account/sign-in")
	}
	if err != nil {
		return err
	}
	return s.renderRecovery(w, r, "The codes from before don't work any more.", codes, "/account/sign-in")
}

func (s *Room) removeApp(w http.ResponseWriter, r *http.Request) error {
	v, _ := page.ViewerOf(r.Context())
	return s.removeFactor(w, r, "Remove the codes from your app?", func() error {
		return s.store.RemoveApp(r.Context(), v.Member.ID, s.Access(r, v.Member.ID, "", ""))
	})
}

func (s *Room) removePasskey(w http.ResponseWriter, r *http.Request) error {
	id, err := page.PathID(r, "id")
	if err != nil {
		return err
	}
	v, _ := page.ViewerOf(r.Context())
	return s.removeFactor(w, r, "Remove this passkey?", func() error {
		return s.store.RemovePasskey(r.Context(), v.Member.ID, id, s.Access(r, v.Member.ID, "", ""))
	})
}

func (s *Room) removeFactor(w http.ResponseWriter, r *http.Request, title string, remove func() error) error {
	f, err := page.ReadForm(w, r)
	if err != nil {
		return err
	}
	sure, err := s.Sure(w, r, f, view.SureView{Title: title, Button: "Remove it", Prove: true,
		Text: "Nobody can sign in with it any more. With the last one your recovery codes go too."})
	if !sure {
		return err
	}
	switch err := remove(); {
	case errors.Is(err, staff.ErrLastFactor):
		return s.renderOwn(w, r, http.StatusUnprocessableEntity, text.Sentence(staff.ErrLastFactor.Error()))
	case errors.Is(err, domain.ErrNotFound): // it was removed meanwhile
	case err != nil:
		return err
	}
	s.Say(r.Context(), "Removed.")
	return page.SeeOther(w, r, "/account/sign-in")
}

func (s *Room) beginPasskey(w http.ResponseWriter, r *http.Request) error {
	f, err := page.ReadForm(w, r)
	if err != nil {
		return err
	}
	if ok, err := s.Proven(w, r, f, onlyYou("Add a passkey?", "Go on")); !ok {
		return err
	}
	return page.SeeOther(w, r, "/account/sign-in/passkey")
}

func (s *Room) showPasskey(w http.ResponseWriter, r *http.Request) error {
	f := page.EmptyForm()
	f.Values.Set("name", staff.DeviceWords(r.UserAgent()))
	return s.renderPasskey(w, r, http.StatusOK, f)
}

func (s *Room) renderPasskey(w http.ResponseWriter, r *http.Request, status int, f *page.Form) error {
	v, _ := page.ViewerOf(r.Context())
	factors, err := s.store.SecondFactors(r.Context(), v.Member.ID)
	if err != nil {
		return err
	}
	options, err := s.makePasskey(r, v.Member, factors.Passkeys)
	if err != nil && !errors.Is(err, errNoPasskeys) {
		return err
	}
	p := s.ownPage(r, "Add a passkey")
	p.Scripts = append(p.Scripts, "js/passkey.js")
	return page.Render(w, r, status, passkeyPage(p, passkeyView{Form: f.View(), Options: options, Why: s.noPasskeys()}))
}

func (s *Room) addPasskey(w http.ResponseWriter, r *http.Request) error {
	f, err := page.ReadForm(w, r)
	if err != nil {
		return err
	}
	if ok, err := s.Proven(w, r, f, onlyYou("Add a passkey?", "Add it")); !ok {
		return err
	}
	v, _ := page.ViewerOf(r.Context())
	name := text.Line(f.Text("name"))
	if why := staff.PasskeyNameProblem(name); why != "" {
		f.Fail("name", why)
		return s.renderPasskey(w, r, http.StatusUnprocessableEntity, f)
	}
	k, ok, err := s.madePasskey(r, v.Member, f.Raw("passkey"))
	if err != nil && !errors.Is(err, errNoPasskeys) {
		return err
	}
	if !ok {
		f.Fail("name", "The browser made no passkey that can be used. Try again.")
		return s.renderPasskey(w, r, http.StatusUnprocessableEntity, f)
	}
	k.Name = name
	codes, hashes := newRecovery(v.Member.ID)
	kept, err := s.store.AddPasskey(r.Context(), v.Member.ID, k, hashes, s.Access(r, v.Member.ID, "", ""))
	if f.Takes(err) {
		return s.renderPasskey(w, r, http.StatusUnprocessableEntity, f)
	}
	if err != nil {
		return err
	}
	return s.factorAdded(w, r, "The passkey is kept. A passkey or a code is asked for from now on.", codes, kept)
}

// takeOffFactors lets somebody in again who lost their second factors.
func (s *Room) takeOffFactors(w http.ResponseWriter, r *http.Request) error {
	f, err := page.ReadForm(w, r)
	if err != nil {
		return err
	}
	id, err := page.PathID(r, "id")
	if err != nil {
		return err
	}
	if id == page.Actor(r).StaffID {
		return page.SeeOther(w, r, "/account/sign-in")
	}
	sure, err := s.Sure(w, r, f, view.SureView{Title: "Remove this person's second factors?", Button: "Remove them", Prove: true,
		Text: "Their passkeys, the codes of their app and their recovery codes stop working: the password alone lets them in. Make sure that it was they who asked."})
	if !sure {
		return err
	}
	return s.afterStaffChange(w, r, s.store.TakeOffFactors(r.Context(), id, page.Actor(r), s.Access(r, id, "", "")))
}

// factorsView says what somebody has besides the password.
func (s *Room) factorsView(r *http.Request, f store.SecondFactors) factorsView {
	v := factorsView{App: s.Moment(r, f.AppMadeAt), AppUsed: s.Moment(r, f.AppUsedAt), Any: f.Any(), RecoveryLeft: f.RecoveryLeft}
	if _, err := s.passkeys(r); err != nil {
		v.NoPasskeys = s.noPasskeys()
	}
	v.CanPasskey = v.NoPasskeys == ""
	for _, k := range f.Passkeys {
		v.Passkeys = append(v.Passkeys, passkeyRow{ID: k.ID, Name: k.Name, Host: k.RPID, Made: s.Moment(r, k.MadeAt), Used: s.Moment(r, k.UsedAt)})
	}
	return v
}
