package outside

import (
	"net/http"
	"net/url"

	"github.com/go-chi/chi/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/customer"
	"ledgerwheel/domain/link"
	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/tongue"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
)

// noMailPath leads, with a token, to where a customer asks for no more mail. It stands in every mail.
const noMailPath = "/no-mail/"

func (s *Room) noMailRoutes() []page.Route {
	looks := s.PerMachine(s.tooManyLooks(linkLooksPerMachine))
	answers := s.PerMachine(s.tooManyLooks(linkAnswersPerMachine))
	return []page.Route{
		page.Get(noMailPath+"{token}", page.Public, looks(s.showNoMail)),
		page.Post(noMailPath+"{token}", page.Public, answers(s.stopMail)),
	}
}

// noMailOf checks the token in the address. A wrong one is not found.
func (s *Room) noMailOf(r *http.Request) (customer.Customer, shop.Shop, error) {
	sh, err := s.shopOf(r)
	if err != nil {
		return customer.Customer{}, sh, err
	}
	id, ok := link.Read(sh.LinkSecret, link.NoMail, chi.URLParam(r, "token"))
	if !ok {
		return customer.Customer{}, sh, domain.ErrNotFound
	}
	c, _, err := s.store.Customer(r.Context(), id)
	return c, sh, err
}

// showNoMail asks whether no more mail is wanted: looking at a link, as programs against viruses do, changes nothing.
func (s *Room) showNoMail(w http.ResponseWriter, r *http.Request) error {
	hideFromSearch(w)
	c, sh, err := s.noMailOf(r)
	if err != nil {
		return err
	}
	in := c.Tongue.Or(tongue.Of(sh.Locale))
	v := noMailView{Action: noMailPath + url.PathEscape(chi.URLParam(r, "token")), Stopped: !c.Mail.StoppedAt.IsZero(), Phone: sh.Phone,
		Title: in.Say("mail.title"), Ask: in.Say("mail.ask", "shop", sh.Name), Stop: in.Say("mail.do_stop"),
		Done: in.Say("mail.done", "shop", sh.Name), Again: in.Say("mail.do_again")}
	p := s.outsidePage(r, v.Title)
	p.Shop, p.Home, p.Lang, p.Words = sh.Name, v.Action, string(in), frameWords(in)
	return page.Render(w, r, http.StatusOK, noMailPage(p, v))
}

// stopMail takes the customer's wish. A mail program that asks by itself, with one click (RFC 8058), sends nothing else; the
// page's own form says which of the two is wished.
func (s *Room) stopMail(w http.ResponseWriter, r *http.Request) error {
	hideFromSearch(w)
	c, _, err := s.noMailOf(r)
	if err != nil {
		return err
	}
	f, err := page.ReadForm(w, r)
	if err != nil {
		return err
	}
	stop := f.Text("mail") != "again"
	if err := s.store.StopMail(r.Context(), c.ID, stop, store.Actor{Customer: true, Name: c.Name}, s.Now()); err != nil {
		return err
	}
	if f.Raw("List-Unsubscribe") != "" { // a mail program follows no redirection (RFC 8058 section 3.1)
		return s.showNoMail(w, r)
	}
	return page.SeeOther(w, r, noMailPath+url.PathEscape(chi.URLParam(r, "token")))
}
