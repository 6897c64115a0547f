package web

import (
	"context"
	"crypto/rand"
	"errors"
	"net/http"
	"time"

	"github.com/go-chi/chi/v5"

	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/text"
	"ledgerwheel/store"
	"ledgerwheel/web/view"
)

type peopleStore interface {
	Staff(ctx context.Context) ([]store.StaffRow, error)
	Invite(ctx context.Context, m staff.Member, secret string, by store.Actor, at time.Time) (int64, error)
	Reset(ctx context.Context, id int64, secret string, by store.Actor, at time.Time) error
	SetRole(ctx context.Context, id int64, role staff.Role, by store.Actor, at time.Time) error
	SetDisabled(ctx context.Context, id int64, disabled bool, by store.Actor, at time.Time) error
	InviteOf(ctx context.Context, secret string) (staff.Member, staff.Invite, error)
	Join(ctx context.Context, secret, passwordHash string, at time.Time) (id int64, epoch int, err error)
	SetOwnPassword(ctx context.Context, id int64, passwordHash string, at time.Time) (epoch int, err error)
}

func (s *Server) peopleRoutes() []route {
	return []route{
		{"GET", "/staff", needs(staff.ManageStaff), s.showStaff},
		{"POST", "/staff", needs(staff.ManageStaff), s.invite},
		{"POST", "/staff/{id}/reset", needs(staff.ManageStaff), s.resetMember},
		{"POST", "/staff/{id}/role", needs(staff.ManageStaff), s.setRole},
		{"POST", "/staff/{id}/disable", needs(staff.ManageStaff), s.setDisabled(true)},
		{"POST", "/staff/{id}/enable", needs(staff.ManageStaff), s.setDisabled(false)},
		{"GET", "/join/{secret}", public, s.showJoin},
		{"POST", "/join/{secret}", public, s.join},
		{"GET", "/account", needs(staff.ManageOwn), s.showAccount},
		{"POST", "/account/password", needs(staff.ManageOwn), s.changePassword},
	}
}

func (s *Server) showStaff(w http.ResponseWriter, r *http.Request) error {
	return s.renderStaff(w, r, http.StatusOK, emptyForm(), "")
}

// renderStaff shows the list, the form to invite, and a link that was just made: it is shown this once.
func (s *Server) renderStaff(w http.ResponseWriter, r *http.Request, status int, f *form, link string) error {
	people, err := s.store.Staff(r.Context())
	if err != nil {
		return err
	}
	v, _ := viewerOf(r.Context())
	listed := view.StaffView{Form: f.view(), Link: link, LinkHours: int(staff.InviteFor.Hours())}
	for _, p := range people {
		listed.People = append(listed.People, view.StaffMember{
			ID: p.Member.ID, Name: p.Member.Name, Email: p.Member.Email, Role: p.Member.Role.Label(), RoleKey: string(p.Member.Role),
			State: s.memberState(r, p), Disabled: p.Member.Disabled, Self: p.Member.ID == v.Member.ID,
		})
	}
	for _, role := range staff.Roles() {
		listed.Roles = append(listed.Roles, view.Option{Value: string(role), Text: role.Label()})
	}
	for _, rule := range staff.Rules() {
		row := view.PermissionRow{Words: rule.Words}
		for _, role := range staff.Roles() {
			row.Held = append(row.Held, staff.Can(role, rule.Permission))
		}
		listed.Table = append(listed.Table, row)
	}
	return render(w, r, status, view.Staff(s.page(r, "Staff"), listed))
}

func (s *Server) memberState(r *http.Request, p store.StaffRow) string {
	switch {
	case p.Member.Disabled:
		return "disabled"
	case p.HasPassword:
		return "can sign in"
	case p.Invite.Check(s.now()) == nil:
		return "link open until " + s.moment(r, p.Invite.ExpiresAt())
	}
	return "link expired"
}

func (s *Server) invite(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(w, r)
	if err != nil {
		return err
	}
	m := staff.Member{Name: staff.NormalName(f.Text("name")), Email: staff.NormalEmail(f.Text("email")), Role: staff.Role(f.Text("role"))}
	f.FailAll(m.Problems())
	if !f.OK() {
		return s.renderStaff(w, r, http.StatusUnprocessableEntity, f, "")
	}
	secret := rand.Text()
	if _, err := s.store.Invite(r.Context(), m, secret, actor(r), s.now()); err != nil {
		if f.takes(err) {
			return s.renderStaff(w, r, http.StatusUnprocessableEntity, f, "")
		}
		return err
	}
	return s.renderStaff(w, r, http.StatusOK, emptyForm(), s.publicURL+"/join/"+secret)
}

func (s *Server) resetMember(w http.ResponseWriter, r *http.Request) error {
	id, err := pathID(r, "id")
	if err != nil {
		return err
	}
	if id == actor(r).StaffID {
		f := emptyForm()
		f.Fail("", "To change your own password, use your account page.")
		return s.renderStaff(w, r, http.StatusUnprocessableEntity, f, "")
	}
	secret := rand.Text()
	if err := s.store.Reset(r.Context(), id, secret, actor(r), s.now()); err != nil {
		return err
	}
	return s.renderStaff(w, r, http.StatusOK, emptyForm(), s.publicURL+"/join/"+secret)
}

func (s *Server) setRole(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(w, r)
	if err != nil {
		return err
	}
	id, err := pathID(r, "id")
	if err != nil {
		return err
	}
	role := staff.Role(f.Text("role"))
	if !role.Known() {
		return badRequest(errors.New("unknown role"))
	}
	return s.afterStaffChange(w, r, s.store.SetRole(r.Context(), id, role, actor(r), s.now()))
}

func (s *Server) setDisabled(disabled bool) handler {
	return func(w http.ResponseWriter, r *http.Request) error {
		id, err := pathID(r, "id")
		if err != nil {
			return err
		}
		return s.afterStaffChange(w, r, s.store.SetDisabled(r.Context(), id, disabled, actor(r), s.now()))
	}
}

func (s *Server) afterStaffChange(w http.ResponseWriter, r *http.Request, err error) error {
	if errors.Is(err, staff.ErrLastOwner) {
		f := emptyForm()
		f.Fail("", "The shop needs at least one owner who can sign in. Make somebody else an owner first.")
		return s.renderStaff(w, r, http.StatusUnprocessableEntity, f, "")
	}
	if err != nil {
		return err
	}
	s.say(r.Context(), "Changed.")
	return seeOther(w, r, "/staff")
}

func (s *Server) showJoin(w http.ResponseWriter, r *http.Request) error {
	return s.renderJoin(w, r, http.StatusOK, emptyForm())
}

// renderJoin shows the form of a link that works, or why it does not.
func (s *Server) renderJoin(w http.ResponseWriter, r *http.Request, status int, f *form) error {
	m, inv, err := s.store.InviteOf(r.Context(), chi.URLParam(r, "secret"))
	if err != nil {
		return err
	}
	if err := inv.Check(s.now()); err != nil {
		return s.spentLink(w, r, err)
	}
	return render(w, r, status, view.Join(s.plainPage(r, "Set your password"), view.JoinView{Form: f.view(), Name: m.Name, Email: m.Email,
		Action: r.URL.Path}))
}

// spentLink answers for a link that worked once.
func (s *Server) spentLink(w http.ResponseWriter, r *http.Request, why error) error {
	said := view.ErrorText{Title: "This link no longer works", Text: text.Sentence(why.Error()), RequestID: requestIDOf(r.Context())}
	return render(w, r, http.StatusGone, view.PlainPage(s.plainPage(r, said.Title), view.ErrorPage(said)))
}

func (s *Server) join(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(w, r)
	if err != nil {
		return err
	}
	secret := chi.URLParam(r, "secret")
	m, _, err := s.store.InviteOf(r.Context(), secret)
	if err != nil {
		return err
	}
	f.newPassword(m)
	if !f.OK() {
		return s.renderJoin(w, r, http.StatusUnprocessableEntity, f)
	}
	hash, err := HashPassword(f.Raw("password"))
	if err != nil {
		return err
	}
	id, epoch, err := s.store.Join(r.Context(), secret, hash, s.now())
	if errors.Is(err, staff.ErrInviteExpired) || errors.Is(err, staff.ErrInviteUsed) || errors.Is(err, staff.ErrInviteRevoked) {
		return s.spentLink(w, r, err)
	}
	if err != nil {
		return err
	}
	if err := s.begin(r.Context(), id, epoch); err != nil {
		return err
	}
	return seeOther(w, r, "/")
}

func (s *Server) showAccount(w http.ResponseWriter, r *http.Request) error {
	return s.renderAccount(w, r, http.StatusOK, emptyForm())
}

func (s *Server) renderAccount(w http.ResponseWriter, r *http.Request, status int, f *form) error {
	v, _ := viewerOf(r.Context())
	own := view.AccountView{Form: f.view(), Name: v.Member.Name, Email: v.Member.Email, Role: v.Member.Role.Label()}
	for _, rule := range staff.Rules() {
		if staff.Can(v.Member.Role, rule.Permission) {
			own.May = append(own.May, rule.Words)
		}
	}
	return render(w, r, status, view.Account(s.page(r, "Your account"), own))
}

func (s *Server) changePassword(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(w, r)
	if err != nil {
		return err
	}
	v, _ := viewerOf(r.Context())
	c, err := s.store.CredentialsOf(r.Context(), v.Member.Email)
	if err != nil {
		return err
	}
	ok, err := passwordMatches(f.Raw("current"), c.PasswordHash)
	if err != nil {
		return err
	}
	if !ok {
		f.Fail("current", "That is not your present password.")
	}
	f.newPassword(v.Member)
	if !f.OK() {
		return s.renderAccount(w, r, http.StatusUnprocessableEntity, f)
	}
	hash, err := HashPassword(f.Raw("password"))
	if err != nil {
		return err
	}
	epoch, err := s.store.SetOwnPassword(r.Context(), v.Member.ID, hash, s.now())
	if err != nil {
		return err
	}
	if err := s.begin(r.Context(), v.Member.ID, epoch); err != nil {
		return err
	}
	s.say(r.Context(), "Your password is changed. Your other sessions are over.")
	return seeOther(w, r, "/account")
}
