package page

import (
	"net/http"
	"strings"

	"github.com/a-h/templ"

	"ledgerwheel/domain/health"
	"ledgerwheel/domain/staff"
	"ledgerwheel/web/view"
)

// navigation is the masthead, each word for those who may use it.
var navigation = []struct {
	text, href string
	needs      staff.Permission
}{
	{"Today", "/", staff.ViewDockets},
	{"Dockets", "/dockets", staff.ViewDockets},
	{"Take in", "/intake", staff.TakeIn},
	{"Customers", "/customers", staff.ViewDockets},
	{"Till", "/till", staff.CloseTill},
	{"Parts", "/parts", staff.OrderParts},
	{"Listen", "/listen", staff.TakeReadings},
	{"Bench tools", "/bench", staff.UseBenchTools},
	{"Owner", "/owner", staff.ManageSettings},
}

// Page is what the layout needs for a page of the shop's own people.
func (s *Host) Page(r *http.Request, title string) view.Page {
	v, _ := ViewerOf(r.Context())
	p := view.Page{Title: title, Shop: v.Shop.Name, Path: r.URL.RequestURI(), Theme: s.themeOf(r), Find: &view.Find{Slash: s.SlashOf(r)},
		Who: &view.Who{Name: v.Member.Name, Role: v.Member.Role.Label(), Href: "/account"}}
	if r.Method != http.MethodGet {
		p.Path = "/"
	}
	for _, n := range navigation {
		if staff.Can(v.Member.Role, n.needs) {
			p.Nav = append(p.Nav, view.NavItem{Text: n.text, Href: n.href, TestID: "nav-" +
				strings.ToLower(strings.ReplaceAll(n.text, " ", "-")),
				Current: r.URL.Path == n.href || n.href != "/" && strings.HasPrefix(r.URL.Path, n.href+"/")})
		}
	}
	p.Trouble = s.troubleViews(staff.Can(v.Member.Role, staff.ManageSettings))
	if said := s.Sessions.PopString(r.Context(), sessionFlash); said != "" {
		p.Flash = &view.NoticeView{Kind: view.Done, Text: said, TestID: "flash"}
	}
	return p
}

// troubleViews say what is wrong: what stops the work to everybody, and what only warns to the owner, who can put it right.
func (s *Host) troubleViews(owner bool) []view.NoticeView {
	var all []view.NoticeView
	for _, t := range s.troubles() {
		if owner || t.Stops() {
			all = append(all, view.NoticeView{Kind: view.Mend, Title: t.Title(), Text: t.Sentence(), TestID: "trouble"})
		}
	}
	return all
}

func (s *Host) troubles() []health.Trouble {
	if s.Troubles == nil {
		return nil
	}
	return s.Troubles()
}

// PlainPage is for strangers, customers and signing in.
func (s *Host) PlainPage(r *http.Request, title string) view.Page {
	p := view.Page{Title: title, Theme: s.themeOf(r), Path: r.URL.RequestURI(), Plain: true}
	if r.Method != http.MethodGet {
		p.Path = "/"
	}
	return p
}

// RenderPlain shows a page that stands outside the shop's own, such as an error. It asks the record nothing,
// since the record may be what failed.
func (s *Host) RenderPlain(w http.ResponseWriter, r *http.Request, status int, title string, body templ.Component) {
	if err := Render(w, r, status, view.PlainPage(s.PlainPage(r, title), body)); err != nil {
		s.Log.Error("error page", "id", RequestIDOf(r.Context()), "error", err)
		http.Error(w, http.StatusText(status), status)
	}
}

// SlashOf reports whether the key "/" leads to the find box: until it is switched off (WCAG 2.2, 2.1.4).
func (s *Host) SlashOf(r *http.Request) bool {
	c, err := r.Cookie(s.CookieName(view.SlashCookie))
	return err != nil || c.Value != view.SlashOff
}

func (s *Host) themeOf(r *http.Request) view.Theme {
	c, err := r.Cookie(s.CookieName(view.ThemeCookie))
	if err != nil {
		return view.ThemeAuto
	}
	return view.ThemeOf(c.Value)
}

// loggedPath is the path as the log may know it: what follows a private link's prefix is a secret.
func loggedPath(r *http.Request) string {
	for _, prefix := range []string{"/c/", "/join/", "/calendar/"} {
		if strings.HasPrefix(r.URL.Path, prefix) {
			return prefix + "…"
		}
	}
	return r.URL.Path
}
