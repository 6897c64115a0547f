package estimates

import (
	"context"
	"net/http"
	"net/url"
	"strings"

	"ledgerwheel/domain/link"
	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/text"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/paper"
	"ledgerwheel/web/priced"
	"ledgerwheel/web/sheet"
	"ledgerwheel/web/view"
)

// linkPanel is the private link as the shop hands it out.
func (s *Room) linkPanel(r *http.Request, sheet store.EstimateSheet, m priced.Money) (*linkPanel, error) {
	v := &linkPanel{URL: view.DocketURL(sheet.Head.Docket.Number.String(), "link")}
	l := sheet.Link
	if !l.Serves(s.Now()) {
		if l.ID != 0 {
			v.Ended = text.Sentence(l.Check(s.Now()).Error())
		}
		return v, nil
	}
	v.Address = s.linkAddress(l.ID, m.Shop)
	v.Until, v.Made = s.Moment(r, l.ExpiresAt), l.MadeBy+", "+s.Moment(r, l.MadeAt)
	say := page.VoiceOf(sheet.Head.Docket.Tongue, m.Shop)
	v.Message = linkMessage(sheet, m, say, v.Address)
	if mail := sheet.Head.Customer.Email; mail != "" {
		q := url.Values{"subject": {say.Say("link.subject", "number", sheet.Head.Docket.Number.String())}, "body": {v.Message}}
		// mail programs take %20, not +, for a blank (RFC 6068)
		v.MailURL = (&url.URL{Scheme: "mailto", Opaque: url.PathEscape(mail), RawQuery: strings.ReplaceAll(q.Encode(), "+",
			"%20")}).String()
	}
	var err error
	v.QR, err = paper.QRSVG(v.Address)
	return v, err
}

func (s *Room) linkAddress(id int64, sh shop.Shop) string {
	return s.PublicURL + "/c/" + link.Token(sh.LinkSecret, id)
}

func (s *Room) makeLink(w http.ResponseWriter, r *http.Request) error {
	return s.changeLink(w, r, s.store.MakeLink, "A new private link is made; the one before leads nowhere now.")
}

func (s *Room) endLink(w http.ResponseWriter, r *http.Request) error {
	return s.changeLink(w, r, s.store.EndLink, "The private link is ended.")
}

func (s *Room) changeLink(w http.ResponseWriter, r *http.Request, change func(context.Context, store.Change) error,
	said string) error {
	f, c, err := s.ChangeForm(w, r)
	if err != nil {
		return err
	}
	return s.Settle(w, r, sheet.Ending{Form: f, Change: c, Err: change(r.Context(), c), Said: said,
		To:    view.DocketURL(c.Number.String(), "estimate") + "#link",
		Again: func(status int) error { return s.renderEstimate(w, r, status, estimateTyped{form: f}) }})
}

// linkMessage is what the shop may write to the customer along with the link, in the customer's language.
func linkMessage(record store.EstimateSheet, m priced.Money, say page.Voice, url string) string {
	h := record.Head
	watch, number := sheet.WatchWords(h), h.Docket.Number.String()
	lines := []string{say.Say("link.dear", "name", h.Customer.Name), ""}
	if waiting, ok := record.Estimate.Waiting(); ok {
		lines = append(lines, say.Say("link.estimate", "watch", watch, "number", number, "revision", waiting.Number,
			"amount", m.In(say.Tongue).Format(priced.AgreedOrOffered(waiting).GrossMinor), "until", say.Day(waiting.ValidUntil)))
	} else {
		lines = append(lines, say.Say("link.follow", "watch", watch, "number", number))
	}
	return strings.Join(append(lines, url, "", say.Say("link.yours"), "", m.Shop.Name), "\n")
}
