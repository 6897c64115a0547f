package web

import (
	"context"
	"ledgerwheel/domain/link"
	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/text"
	"ledgerwheel/store"
	"ledgerwheel/web/paper"
	"ledgerwheel/web/view"
	"net/http"
	"net/url"
	"strconv"
	"strings"
)

// linkPanel is the private link as the shop hands it out.
func (s *Server) linkPanel(r *http.Request, sheet store.EstimateSheet, m prices) (*view.LinkPanel, error) {
	v := &view.LinkPanel{URL: view.DocketURL(sheet.Head.Docket.Number.String(), "link")}
	l := sheet.Link
	if !l.Serves(s.now()) {
		if l.ID != 0 {
			v.Ended = text.Sentence(l.Check(s.now()).Error())
		}
		return v, nil
	}
	v.Address = s.linkAddress(l.ID, m.shop)
	v.Until, v.Made = s.moment(r, l.ExpiresAt), l.MadeBy+", "+s.moment(r, l.MadeAt)
	until := ""
	if waiting, ok := sheet.Estimate.Waiting(); ok {
		until = s.day(r, waiting.ValidUntil)
	}
	v.Message = linkMessage(sheet, m, v.Address, until)
	if mail := sheet.Head.Customer.Email; mail != "" {
		q := url.Values{"subject": {"Your watch, docket " + sheet.Head.Docket.Number.String()}, "body": {v.Message}}
		// mail programs take %20, not +, for a blank (RFC 6068)
		v.MailURL = (&url.URL{Scheme: "mailto", Opaque: url.PathEscape(mail), RawQuery: strings.ReplaceAll(q.Encode(), "+", "%20")}).String()
	}
	var err error
	v.QR, err = paper.QRSVG(v.Address)
	return v, err
}

func (s *Server) linkAddress(id int64, sh shop.Shop) string {
	return s.publicURL + "/c/" + link.Token(sh.LinkSecret, id)
}

func (s *Server) makeLink(w http.ResponseWriter, r *http.Request) error {
	return s.changeLink(w, r, s.store.MakeLink, "A new private link is made; the one before leads nowhere now.")
}

func (s *Server) endLink(w http.ResponseWriter, r *http.Request) error {
	return s.changeLink(w, r, s.store.EndLink, "The private link is ended.")
}

func (s *Server) changeLink(w http.ResponseWriter, r *http.Request, change func(context.Context, store.Change) error, said string) error {
	f, c, err := s.changeForm(w, r)
	if err != nil {
		return err
	}
	return s.settle(w, r, ending{form: f, change: c, err: change(r.Context(), c), said: said,
		to:    view.DocketURL(c.Number.String(), "estimate") + "#link",
		again: func(status int) error { return s.renderEstimate(w, r, status, estimateTyped{form: f}) }})
}

// linkMessage is what the shop may write to the customer along with the link.
func linkMessage(sheet store.EstimateSheet, m prices, url, until string) string {
	h := sheet.Head
	name, watch, number := h.Customer.Name, watchWords(h), h.Docket.Number.String()
	lines := []string{"Dear " + name + ",", ""}
	if waiting, ok := sheet.Estimate.Waiting(); ok {
		lines = append(lines, "The estimate for your "+watch+" (docket "+number+", revision "+strconv.Itoa(waiting.Number)+") comes to "+
			m.format(agreedOrOffered(waiting).GrossMinor)+". Please look at it and approve or decline it by "+until+":")
	} else {
		lines = append(lines, "Follow your "+watch+" (docket "+number+") here:")
	}
	return strings.Join(append(lines, url, "", "The link is yours alone: whoever has it can answer for you.", "", m.shop.Name), "\n")
}
