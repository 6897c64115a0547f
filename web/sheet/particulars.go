package sheet

import (
	"cmp"
	"fmt"
	"net/http"
	"slices"
	"strconv"

	"ledgerwheel/domain/customer"
	"ledgerwheel/domain/money"
	"ledgerwheel/domain/promise"
	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/stock"
	"ledgerwheel/domain/text"
	"ledgerwheel/domain/tongue"
	"ledgerwheel/domain/visit"
	"ledgerwheel/domain/watch"
	"ledgerwheel/store"
	"ledgerwheel/store/files"
	"ledgerwheel/web/page"
	"ledgerwheel/web/paper"
	"ledgerwheel/web/view"
)

func CustomerURL(id int64) string { return "/customers/" + strconv.FormatInt(id, 10) }

// VisitURL is the address of the page of watches that were brought at once.
func VisitURL(n visit.Number) string { return "/visits/" + n.String() }

// CustomerParticulars are a customer's particulars for people in the country home, ISO 3166-1 alpha-2.
func CustomerParticulars(c customer.Customer, home string) []view.TermView {
	phone := view.Term("Telephone", c.PhoneIn(home))
	switch {
	case c.PhoneE164 != "":
		phone.Cell.Href = "tel:" + c.PhoneE164
	case c.PhoneUnread:
		phone.Cell.Note = "not read as a number; type it again to make it one"
	}
	email := view.Term("E-mail", c.Email)
	if c.Email != "" {
		email.Cell.Href = "mailto:" + c.Email
	}
	terms := []view.TermView{phone, email, linesTerm("Address", c.Address), view.Term("Would rather be reached",
		c.PreferredContact.Words()), view.Term("Language", spoken(c.Tongue)),
		linesTerm("Notes", c.Notes)}
	if c.TaxNumber != "" {
		terms = slices.Insert(terms, 3, view.Term("VAT number", c.TaxNumber))
	}
	return terms
}

// spoken names the language that a customer chose; "" for nobody's choice, which is the shop's own.
func spoken(t tongue.Tongue) string {
	if t == "" {
		return ""
	}
	return t.Words()
}

// linesTerm keeps the ends of lines; nothing is shown as any other term without text.
func linesTerm(term, text string) view.TermView {
	if text == "" {
		return view.Term(term, "")
	}
	return TypedTerm(term, text)
}

func WatchWords(h store.Head) string {
	if h.Watch.Model == "" {
		return h.Watch.Maker
	}
	return h.Watch.Maker + " " + h.Watch.Model
}

// WatchTerms are a watch's particulars, those not known left out; a calibre of the shop's list leads to its page.
func WatchTerms(w watch.Watch, k watch.Calibre) []view.TermView {
	var terms []view.TermView
	for _, t := range [][2]string{
		{"Maker", w.Maker}, {"Model", w.Model}, {"Reference", w.Reference}, {"Case serial", w.Serial},
		{"Movement serial", w.MovementSerial}, {"Calibre", w.CalibreName}, {"Case material", w.CaseMaterial},
		{"Strap", w.Strap},
		{"Luminous paint", w.Lume.Words()}, {"Winding", w.Winding.Words()},
		{"Water resistance marked", w.WaterResistanceMarked},
		{"Crown", "at " + strconv.Itoa(w.CrownAt)}, {"Notes", w.Notes},
	} {
		if t[1] == "" {
			continue
		}
		term := TypedTerm(t[0], t[1])
		if t[0] == "Calibre" && k.ID != 0 {
			term.Cell = view.Cell{Text: t[1], Href: "/calibres/" + page.Itoa64(k.ID), Auto: true}
		}
		terms = append(terms, term)
	}
	return terms
}

// SaidTerms are what was agreed at the counter.
func (s *Frame) SaidTerms(r *http.Request, h store.Head, sh shop.Shop) []view.TermView {
	i := h.Docket.Intake
	terms := []view.TermView{
		view.Term("Service wanted", text.Capital(i.Wanted.Label())),
		view.Term("Declared value", Amount(i.DeclaredValueMinor, i.Currency, sh, "not declared")),
		view.Term("Approval limit", Amount(i.ApprovalLimitMinor, i.Currency, sh, "none: always ask")),
		view.Term("Promised for", cmp.Or(s.Day(r, i.PromisedOn), "no day")),
		view.Term("Language of papers", i.Tongue.Words()),
		view.Term("Taken in", s.Moment(r, h.Docket.ReceivedAt)+" by "+h.ReceivedBy),
	}
	if i.OrderNumber != "" {
		terms = append(terms, TypedTerm("Their order number", i.OrderNumber))
	}
	if h.ComebackOf != "" {
		terms = append(terms, view.TermView{Term: "Comeback of", Cell: view.Lnk(h.ComebackOf, view.DocketURL(h.ComebackOf,
			""))})
	}
	for _, n := range h.Comebacks {
		terms = append(terms, view.TermView{Term: "Came back as", Cell: view.Lnk(n, view.DocketURL(n, ""))})
	}
	return terms
}

// outlookTerms say by when a watch in work will be ready, where the day that was promised slips.
func (s *Frame) outlookTerms(r *http.Request, o *store.Outlook) []view.TermView {
	if o == nil || o.Percent == nil || !promise.Slips(*o.Percent) {
		return nil
	}
	return []view.TermView{view.Term("Likely ready by", s.Day(r, o.LikelyOn)+"; the promised day "+promise.InTen(*o.Percent))}
}

// Amount writes minor units as people of the shop's country do; nil is said in words.
func Amount(minor *int64, currency string, sh shop.Shop, none string) string {
	if minor == nil {
		return none
	}
	return money.Format(*minor, currency, sh.Locale)
}

// PaperDetails are what a paper of a docket tells its watch by, after the number that a firm gave its order.
func PaperDetails(h store.Head, t tongue.Tongue) []paper.Field {
	if h.Docket.OrderNumber == "" {
		return TicketDetails(h.Watch, t)
	}
	return append([]paper.Field{{Label: t.Say("paper.your_order"), Value: h.Docket.OrderNumber}}, TicketDetails(h.Watch, t)...)
}

func TicketDetails(w watch.Watch, t tongue.Tongue) []paper.Field {
	var fields []paper.Field
	for _, f := range []paper.Field{{Label: t.Say("paper.reference"), Value: w.Reference},
		{Label: t.Say("paper.serial"), Value: w.Serial}, {Label: t.Say("paper.movement"), Value: w.MovementSerial},
		{Label: t.Say("paper.case"), Value: w.CaseMaterial}, {Label: t.Say("paper.strap"), Value: w.Strap}} {
		if f.Value != "" {
			fields = append(fields, f)
		}
	}
	return fields
}

func OldPartOptions() []view.Option {
	var list []view.Option
	for _, o := range stock.OldParts {
		list = append(list, view.Option{Value: string(o), Text: text.Capital(o.Words())})
	}
	return list
}

// PhotoViews are photographs as grids show them, without the removed.
func PhotoViews(photos []store.Photo) []view.CaptionedPhoto {
	var views []view.CaptionedPhoto
	for i, p := range photos {
		if p.Removed() {
			continue
		}
		id := strconv.FormatInt(p.ID, 10)
		base := "/photos/" + id + "/"
		v := view.CaptionedPhoto{ID: id, CustomerSees: p.CustomerSees, Photo: view.PhotoView{
			Thumb: base + string(files.Thumb), Full: base + string(files.Full), Caption: p.Caption,
			Alt: cmp.Or(p.Caption, fmt.Sprintf("Photograph %d, about the %s", i+1, p.About))}}
		v.Photo.Width, v.Photo.Height = page.ThumbSize(p.WidthPx, p.HeightPx)
		views = append(views, v)
	}
	return views
}

// RemovedPhotos say of each photograph that was removed when, by whom and why.
func (s *Frame) RemovedPhotos(r *http.Request, photos []store.Photo) []view.RemovedPhoto {
	var views []view.RemovedPhoto
	for i, p := range photos {
		if p.Removed() {
			views = append(views, view.RemovedPhoto{What: cmp.Or(p.Caption, fmt.Sprintf("Photograph %d", i+1)),
				When: s.Moment(r, p.RemovedAt), By: p.RemovedBy, Why: p.RemovedWhy})
		}
	}
	return views
}
