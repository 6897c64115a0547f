package office

import (
	"crypto/rand"
	"errors"
	"net/http"

	"github.com/go-chi/chi/v5"

	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/text"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/view"
)

func (s *Room) peopleRoutes() []page.Route {
	return []page.Route{
		page.Get("/staff", page.Needs(staff.ManageStaff), s.showStaff),
		page.Post("/staff", page.Needs(staff.ManageStaff), s.invite),
		page.Post("/staff/{id}/reset", page.Needs(staff.ManageStaff), s.resetMember),
		page.Post("/staff/{id}/role", page.Needs(staff.ManageStaff), s.setRole),
		page.Post("/staff/{id}/disable", page.Needs(staff.ManageStaff), s.setDisabled(true)),
		page.Post("/staff/{id}/enable", page.Needs(staff.ManageStaff), s.setDisabled(false)),
		page.Get("/join/{secret}", page.Public, s.showJoin),
		page.Post("/join/{secret}", page.Public, s.join),
		page.Get("/account", page.Needs(staff.ManageOwn), s.showAccount),
		page.Post("/account/keys", page.Needs(staff.ManageOwn), s.chooseKeys),
		page.Post("/account/password", page.Needs(staff.ManageOwn), s.changePassword),
	}
}

func (s *Room) showStaff(w http.ResponseWriter, r *http.Request) error {
	return s.renderStaff(w, r, http.StatusOK, page.EmptyForm(), "")
}

// renderStaff shows the list, the form to invite, and a link that was just made: it is shown this once.
func (s *Room) renderStaff(w http.ResponseWriter, r *http.Request, status int, f *page.Form, link string) error {
	people, err := s.store.Staff(r.Context())
	if err != nil {
		return err
	}
	v, _ := page.ViewerOf(r.Context())
	listed := staffView{Form: f.View(), Link: link, LinkHours: int(staff.InviteFor.Hours())}
	for _, p := range people {
		listed.People = append(listed.People, staffMember{
			ID: p.Member.ID, Name: p.Member.Name, Email: p.Member.Email, Role: p.Member.Role.Label(),
			RoleKey: string(p.Member.Role),
			State:   s.memberState(r, p), Disabled: p.Member.Disabled, Self: p.Member.ID == v.Member.ID,
			Second: p.HasSecond,
		})
	}
	for _, role := range staff.Roles() {
		listed.Roles = append(listed.Roles, view.Option{Value: string(role), Text: role.Label()})
	}
	for _, rule := range staff.Rules() {
		row := permissionRow{Words: rule.Words}
		for _, role := range staff.Roles() {
			row.Held = append(row.Held, staff.Can(role, rule.Permission))
		}
		listed.Table = append(listed.Table, row)
	}
	return page.Render(w, r, status, staffPage(s.Page(r, "Staff"), listed))
}

func (s *Room) memberState(r *http.Request, p store.StaffRow) string {
	switch {
	case p.Member.Disabled:
		return "disabled"
	case p.HasPassword && p.HasSecond:
		return "can sign in, with a second factor"
	case p.HasPassword:
		return "can sign in"
	case p.Invite.Check(s.Now()) == nil:
		return "link open until " + s.Moment(r, p.Invite.ExpiresAt())
	}
	return "link expired"
}

func (s *Room) invite(w http.ResponseWriter, r *http.Request) error {
	f, err := page.ReadForm(w, r)
	if err != nil {
		return err
	}
	m := staff.Member{Name: staff.NormalName(f.Text("name")), Email: staff.NormalEmail(f.Text("email")),
		Role: staff.Role(f.Text("role"))}
	f.FailAll(m.Problems())
	if !f.OK() {
		return s.renderStaff(w, r, http.StatusUnprocessableEntity, f, "")
	}
	if ok, err := s.Proven(w, r, f, peopleChange("Invite "+m.Name+"?", "Make the link")); !ok {
		return err
	}
	secret := rand.Text()
	if _, err := s.store.Invite(r.Context(), m, secret, page.Actor(r), s.Now()); err != nil {
		if f.Takes(err) {
			return s.renderStaff(w, r, http.StatusUnprocessableEntity, f, "")
		}
		return err
	}
	return s.renderStaff(w, r, http.StatusOK, page.EmptyForm(), s.PublicURL+"/join/"+secret)
}

func (s *Room) resetMember(w http.ResponseWriter, r *http.Request) error {
	id, err := page.PathID(r, "id")
	if err != nil {
		return err
	}
	if id == page.Actor(r).StaffID {
		f := page.EmptyForm()
		f.Fail("", "To change your own password, use your account page.")
		return s.renderStaff(w, r, http.StatusUnprocessableEntity, f, "")
	}
	f, err := page.ReadForm(w, r)
	if err != nil {
		return err
	}
	if ok, err := s.Proven(w, r, f, peopleChange("Make a new password link?", "Make the link")); !ok {
		return err
	}
	secret := rand.Text()
	if err := s.store.Reset(r.Context(), id, secret, page.Actor(r), s.Now()); err != nil {
		return err
	}
	return s.renderStaff(w, r, http.StatusOK, page.EmptyForm(), s.PublicURL+"/join/"+secret)
}

// peopleChange is asked before anything changes about who works here.
func peopleChange(title, button string) view.SureView {
	return view.SureView{Title: title, Button: button, Text: "Who may come in, and as what, changes by this."}
}

func (s *Room) setRole(w http.ResponseWriter, r *http.Request) error {
	f, err := page.ReadForm(w, r)
	if err != nil {
		return err
	}
	id, err := page.PathID(r, "id")
	if err != nil {
		return err
	}
	role := staff.Role(f.Text("role"))
	if !role.Known() {
		return page.BadRequest(errors.New("unknown role"))
	}
	if role == staff.Owner {
		sure, err := s.Sure(w, r, f, view.SureView{Title: "Give the owner's rights?", Button: "Make this person an owner", Prove: true,
			Text: "An owner may do everything: see and change all settings, people, keys and rate limits, and take the owner's " +
				"rights away from you. What an owner does in the meantime stays done."})
		if !sure {
			return err
		}
	} else if ok, err := s.Proven(w, r, f, peopleChange("Change this person's role?", "Make them "+role.Label())); !ok {
		return err
	}
	return s.afterStaffChange(w, r, s.store.SetRole(r.Context(), id, role, page.Actor(r), s.Now()))
}

func (s *Room) setDisabled(disabled bool) page.Handler {
	title, button := "Let this person in again?", "Let in again"
	if disabled {
		title, button = "Disable this person?", "Disable"
	}
	return func(w http.ResponseWriter, r *http.Request) error {
		f, err := page.ReadForm(w, r)
		if err != nil {
			return err
		}
		id, err := page.PathID(r, "id")
		if err != nil {
			return err
		}
		if ok, err := s.Proven(w, r, f, peopleChange(title, button)); !ok {
			return err
		}
		return s.afterStaffChange(w, r, s.store.SetDisabled(r.Context(), id, disabled, page.Actor(r), s.Now()))
	}
}

func (s *Room) afterStaffChange(w http.ResponseWriter, r *http.Request, err error) error {
	if errors.Is(err, staff.ErrLastOwner) {
		f := page.EmptyForm()
		f.Fail("", "The shop needs at least one owner who can sign in. Make somebody else an owner first.")
		return s.renderStaff(w, r, http.StatusUnprocessableEntity, f, "")
	}
	if err != nil {
		return err
	}
	s.Say(r.Context(), "Changed.")
	return page.SeeOther(w, r, "/staff")
}

func (s *Room) showJoin(w http.ResponseWriter, r *http.Request) error {
	return s.renderJoin(w, r, http.StatusOK, page.EmptyForm())
}

// renderJoin shows the form of a link that works, or why it does not.
func (s *Room) renderJoin(w http.ResponseWriter, r *http.Request, status int, f *page.Form) error {
	m, inv, err := s.store.InviteOf(r.Context(), chi.URLParam(r, "secret"))
	if err != nil {
		return err
	}
	if err := inv.Check(s.Now()); err != nil {
		return s.spentLink(w, r, err)
	}
	return page.Render(w, r, status, join(s.PlainPage(r, "Set your password"), joinView{Form: f.View(), Name: m.Name,
		Email:  m.Email,
		Action: r.URL.Path}))
}

// spentLink answers for a link that worked once.
func (s *Room) spentLink(w http.ResponseWriter, r *http.Request, why error) error {
	said := view.ErrorText{Title: "This link no longer works", Text: text.Sentence(why.Error()),
		RequestID: page.RequestIDOf(r.Context())}
	return page.Render(w, r, http.StatusGone, view.PlainPage(s.PlainPage(r, said.Title), view.ErrorPage(said)))
}

func (s *Room) join(w http.ResponseWriter, r *http.Request) error {
	f, err := page.ReadForm(w, r)
	if err != nil {
		return err
	}
	secret := chi.URLParam(r, "secret")
	m, _, err := s.store.InviteOf(r.Context(), secret)
	if err != nil {
		return err
	}
	sh, err := s.store.Shop(r.Context())
	if err != nil {
		return err
	}
	f.NewPassword(m, sh.Name)
	if !f.OK() {
		return s.renderJoin(w, r, http.StatusUnprocessableEntity, f)
	}
	hash, err := HashPassword(f.Raw("password"))
	if err != nil {
		return err
	}
	id, _, err := s.store.Join(r.Context(), secret, hash, s.Now())
	if errors.Is(err, staff.ErrInviteExpired) || errors.Is(err, staff.ErrInviteUsed) ||
		errors.Is(err, staff.ErrInviteRevoked) {
		return s.spentLink(w, r, err)
	}
	if err != nil {
		return err
	}
	c, err := s.store.CredentialsByID(r.Context(), id)
	if err != nil {
		return err
	}
	return s.passwordRight(w, r, c, "with a password just set", nil)
}

func (s *Room) showAccount(w http.ResponseWriter, r *http.Request) error {
	return s.renderAccount(w, r, http.StatusOK, page.EmptyForm())
}

// chooseKeys switches the key "/" off and on.
func (s *Room) chooseKeys(w http.ResponseWriter, r *http.Request) error {
	f, err := page.ReadForm(w, r)
	if err != nil {
		return err
	}
	c := &http.Cookie{Name: s.CookieName(view.SlashCookie), Value: view.SlashOff, Path: "/", MaxAge: 365 * 24 * 3600,
		SameSite: http.SameSiteLaxMode, HttpOnly: true, Secure: s.Sessions.Cookie.Secure}
	if f.Checked("slash") {
		c.MaxAge = -1
	}
	http.SetCookie(w, c)
	s.Say(r.Context(), "The keys are saved.")
	return page.SeeOther(w, r, "/account")
}

func (s *Room) renderAccount(w http.ResponseWriter, r *http.Request, status int, f *page.Form) error {
	v, _ := page.ViewerOf(r.Context())
	own := accountView{Form: f.View(), Slash: s.SlashOf(r), Name: v.Member.Name, Email: v.Member.Email, Role: v.Member.Role.Label()}
	for _, rule := range staff.Rules() {
		if staff.Can(v.Member.Role, rule.Permission) {
			own.May = append(own.May, rule.Words)
		}
	}
	return page.Render(w, r, status, account(s.Page(r, "Your account"), own))
}

func (s *Room) changePassword(w http.ResponseWriter, r *http.Request) error {
	f, err := page.ReadForm(w, r)
	if err != nil {
		return err
	}
	v, _ := page.ViewerOf(r.Context())
	if f.Raw("current") == "" {
		f.Fail("current", "Give your present password.")
	} else if ok, _, over, err := s.Proves(r, page.Proof{Password: f.Raw("current")}); err != nil {
		return err
	} else if over { // a browser left open is no place to guess at
		return page.SeeOther(w, r, "/sign-in")
	} else if !ok {
		f.Fail("current", "That is not your present password.")
	}
	f.NewPassword(v.Member, v.Shop.Name)
	if !f.OK() {
		return s.renderAccount(w, r, http.StatusUnprocessableEntity, f)
	}
	hash, err := HashPassword(f.Raw("password"))
	if err != nil {
		return err
	}
	epoch, err := s.store.SetOwnPassword(r.Context(), v.Member.ID, hash, s.Now())
	if err != nil {
		return err
	}
	if err := s.begin(w, r, v.Member.ID, epoch, "with a password just changed"); err != nil {
		return err
	}
	s.Say(r.Context(), "Your password is changed. Your other sessions are over.")
	return page.SeeOther(w, r, "/account")
}
