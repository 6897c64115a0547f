package outside

import (
	"errors"
	"fmt"
	"net/http"
	"time"

	"github.com/go-chi/chi/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/link"
	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/tongue"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
)

// What one machine may ask of private links in the window: a page full of photographs, looked at a few times; answers
// rarely.
const (
	linkLooksPerMachine   = 600
	linkAnswersPerMachine = 20
	linkWindow            = 5 * time.Minute
)

func (s *Room) customerLinkRoutes() []page.Route {
	looks := s.PerMachine(s.tooManyLooks(linkLooksPerMachine))
	answers := s.PerMachine(s.tooManyLooks(linkAnswersPerMachine))
	asks := s.PerMachine(s.tooManyLooks(linkAnswersPerMachine))
	return []page.Route{
		page.Get("/c/{token}", page.Public, looks(s.showLinkPage)),
		page.Post("/c/{token}/answer", page.Public, answers(s.answerByLink)),
		page.Post("/c/{token}/question", page.Public, asks(s.askByLink)),
		page.Get("/c/{token}/invoice.pdf", page.Public, looks(s.sendLinkInvoice)),
		page.Get("/c/{token}/receipt.pdf", page.Public, looks(s.sendLinkReceipt)),
		page.Get("/c/{token}/train.css", page.Public, looks(s.sendTrainStyles)),
		page.Get("/c/{token}/photos/{id}/{size}", page.Public, looks(s.showLinkPhoto)),
	}
}

// tooManyLooks bounds how often one machine may open or answer private links.
func (s *Room) tooManyLooks(times int) page.Bound {
	return page.Bound{Times: times, Within: linkWindow, Refuse: func(w http.ResponseWriter, r *http.Request) {
		hideFromSearch(w)
		t := readerTongue(r, "", "")
		s.renderOver(w, r, http.StatusTooManyRequests, t, "page.busy", "page.busy.text")
	}}
}

// shopOf is the shop's settings, read anew for those who are not signed in.
func (s *Room) shopOf(r *http.Request) (shop.Shop, error) {
	if v, ok := page.ViewerOf(r.Context()); ok {
		return v.Shop, nil
	}
	return s.store.Shop(r.Context())
}

// opened is a private link that serves, and what it leads to.
type opened struct {
	id     int64
	token  string // as in the address
	in     tongue.Tongue
	shop   shop.Shop
	found  store.LinkPage
	locale string // in which the shop typed what the page shows
	// asked is the language that the address asks for, "" for none: it stays in every address of the page.
	asked tongue.Tongue
}

// at is an address below the link's own, in the language that was asked for.
func (o opened) at(below string) string {
	address := "/c/" + o.token + below
	if o.asked != "" {
		address += "?in=" + string(o.asked)
	}
	return address
}

// say is a sentence in the reader's language.
func (o opened) say(key string, with ...any) string { return o.in.Say(key, with...) }

// open checks the token in the address and reads what it leads to. Where it leads nowhere, or no longer, that is said to
// the reader and ok is false.
func (s *Room) open(w http.ResponseWriter, r *http.Request) (o opened, ok bool, err error) {
	hideFromSearch(w)
	o.token, o.asked = chi.URLParam(r, "token"), askedTongue(r)
	if o.shop, err = s.shopOf(r); err != nil {
		return o, false, err
	}
	o.in = readerTongue(r, "", o.shop.Locale)
	var there bool
	if o.id, there = link.ID(o.shop.LinkSecret, o.token); !there {
		return o, false, s.linkFailed(w, r, o, fmt.Errorf("private link: %w", domain.ErrNotFound))
	}
	if o.found, err = s.store.LinkPage(r.Context(), o.id); err == nil {
		o.locale = o.shop.Locale
		if rev, offered := o.found.Estimate.Shown(); offered { // what was offered goes on saying what it said
			o.locale = o.found.Row(rev.Number).Shop.Locale
		}
		o.in = readerTongue(r, o.found.Tongue, o.locale)
		err = o.found.Link.Check(s.Now())
	}
	if err != nil {
		return o, false, s.linkFailed(w, r, o, err)
	}
	return o, true, nil
}

// askedTongue is the language that the address asks for, "" for none.
func askedTongue(r *http.Request) tongue.Tongue {
	if t := tongue.Tongue(r.URL.Query().Get("in")); t.Known() {
		return t
	}
	return ""
}

// readerTongue is the language that the reader is spoken to in: that asked for, else the customer's, else the browser's,
// else the shop's.
func readerTongue(r *http.Request, customers tongue.Tongue, shopLocale string) tongue.Tongue {
	if t := askedTongue(r).Or(customers); t != "" {
		return t
	}
	if wanted := r.Header.Get("Accept-Language"); wanted != "" {
		return tongue.Of(wanted)
	}
	return tongue.Of(shopLocale)
}

// hideFromSearch keeps private pages out of search engines, whoever publishes their address.
func hideFromSearch(w http.ResponseWriter) {
	w.Header().Set("X-Robots-Tag", "noindex, nofollow, noarchive")
}

// linkFailed answers for a private link that leads nowhere, or no longer.
func (s *Room) linkFailed(w http.ResponseWriter, r *http.Request, o opened, err error) error {
	status, title, text := http.StatusNotFound, "page.link.nowhere", "page.link.nowhere.text"
	switch {
	case errors.Is(err, link.ErrEnded):
		status, title, text = http.StatusGone, "page.link.over", "page.link.ended"
	case errors.Is(err, link.ErrExpired):
		status, title, text = http.StatusGone, "page.link.over", "page.link.expired"
	case !errors.Is(err, domain.ErrNotFound):
		return err
	}
	s.Log.Warn("private link refused", "id", page.RequestIDOf(r.Context()), "status", status, "error", err)
	s.renderOver(w, r, status, o.in, title, text)
	return nil
}

// renderOver says in the reader's language why there is nothing to be seen.
func (s *Room) renderOver(w http.ResponseWriter, r *http.Request, status int, t tongue.Tongue, title, text string) {
	p := s.outsidePage(r, t.Say(title))
	p.Lang, p.Words = string(t), frameWords(t)
	v := overView{Title: t.Say(title), Text: t.Say(text), RequestID: page.RequestIDOf(r.Context()), Request: t.Say("page.request")}
	if err := page.Render(w, r, status, overPage(p, v)); err != nil {
		s.Log.Error("error page", "id", v.RequestID, "error", err)
		http.Error(w, http.StatusText(status), status)
	}
}

func (s *Room) showLinkPhoto(w http.ResponseWriter, r *http.Request) error {
	size, err := page.PathSize(r)
	if err != nil {
		return err
	}
	photoID, err := page.PathID(r, "id")
	if err != nil {
		return err
	}
	hideFromSearch(w)
	o := opened{token: chi.URLParam(r, "token")}
	if o.shop, err = s.shopOf(r); err != nil {
		return err
	}
	o.in = readerTongue(r, "", o.shop.Locale)
	id, there := link.ID(o.shop.LinkSecret, o.token)
	if !there {
		return s.linkFailed(w, r, o, fmt.Errorf("private link: %w", domain.ErrNotFound))
	}
	p, l, err := s.store.LinkPhoto(r.Context(), id, photoID)
	if err == nil {
		err = l.Check(s.Now())
	}
	if err != nil {
		return s.linkFailed(w, r, o, err)
	}
	return s.SendPicture(w, r, p.Sum, size)
}
