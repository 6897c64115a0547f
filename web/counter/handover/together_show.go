package handover

import (
	"cmp"
	"fmt"
	"net/http"
	"net/url"
	"strings"

	"github.com/a-h/templ"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/stock"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/sheet"
	"ledgerwheel/web/view"
)

// renderTogether shows the watches of a visit, with f as it was typed; nil for a form that is new.
func (s *Room) renderTogether(w http.ResponseWriter, r *http.Request, status int, v store.VisitLeaving, f *page.Form) error {
	b := togetherBuilder{s: s, r: r, visit: v, typed: f}
	p := s.Page(r, "Hand over, ticket "+v.ID.String())
	p.Scripts = append(p.Scripts, "js/handover.js")
	return page.Render(w, r, status, together(p, b.view()))
}

// togetherBuilder makes the page of several watches that leave.
type togetherBuilder struct {
	s     *Room
	r     *http.Request
	visit store.VisitLeaving
	typed *page.Form
}

// one is the builder of one watch's sheet, whose lines are shown here too.
func (b togetherBuilder) one(sh store.HandOverSheet) handOverBuilder {
	return handOverBuilder{s: b.s, r: b.r, sheet: sh, typed: sheet.Refused{What: formLeaving, Form: b.typed}}
}

// form is what was typed, or what the record suggests.
func (b togetherBuilder) form() view.Form {
	if b.typed != nil {
		return b.typed.View()
	}
	values := url.Values{"collected_by": {b.visit.Sheets[0].Head.Customer.Name}}
	for _, sh := range b.visit.Sheets {
		one, number := b.one(sh), sh.Head.Docket.Number.String()
		if ok, _, missing := one.stays(); ok && len(missing) == 0 {
			values.Set("go-"+number, "yes")
		}
		if one.cardProblem() == "" {
			values.Set("card", "yes")
		}
		if len(sh.OldParts()) > 0 {
			values.Set("old_parts-"+number, string(docket.OldPartsReturned))
		}
	}
	return view.Form{Values: values}
}

// stays says whether the watch may be ticked at all, why not, and what is still missing besides what the form asks.
func (b handOverBuilder) stays() (ok bool, why string, missing []docket.Need) {
	h := b.sheet.Head
	m, ok := docket.LeavingMove(h.Docket.Stage)
	if !ok || h.Docket.Closed() {
		if why = docket.WaitsFor(h.Docket.Stage, h.Facts); why == h.Docket.Stage.Label() {
			why = ""
		} else {
			why = "waits for " + why
		}
		return false, why, nil
	}
	if !page.May(b.r, m.May) {
		return false, "handed over by " + sheet.RoleNames(m.May), nil
	}
	for _, n := range docket.BesidesLeaving(m.Unmet(h.Facts)) {
		if n.Key == docket.NeedPaid {
			continue
		}
		missing = append(missing, n)
		if n.Waiver != docket.ByOwnerReason || !page.May(b.r, staff.Override) {
			ok = false
		}
	}
	return ok, "", missing
}

func (b togetherBuilder) view() togetherView {
	first, f := b.visit.Sheets[0].Head, b.form()
	viewer, _ := page.ViewerOf(b.r.Context())
	v := togetherView{Number: b.visit.ID.String(), URL: togetherURL(b.visit.ID), VisitURL: sheet.VisitURL(b.visit.ID), Customer: first.Customer.Name,
		CustomerURL: sheet.CustomerURL(first.Customer.ID), Phone: first.Customer.PhoneIn(viewer.Shop.PhoneRegion), Problems: f.Problems,
		Papers: b.papers()}
	goes, waived, gone := false, false, 0
	for _, sh := range b.visit.Sheets {
		row, ok, missing := b.watch(sh, f)
		v.Watches = append(v.Watches, row)
		if row.Gone {
			gone++
		}
		goes, waived = goes || ok, waived || ok && len(missing) > 0
	}
	if !goes {
		switch gone {
		case 0:
			v.Why = "None of these can be handed over now."
		case len(v.Watches):
			v.Why = "All of them have left."
		default:
			v.Why = "What is still here is collected later, by the same ticket."
		}
		return v
	}
	v.Form = b.leaveForm(f, waived)
	return v
}

// watch is the line of one watch.
func (b togetherBuilder) watch(sh store.HandOverSheet, f view.Form) (row togetherWatch, ok bool, missing []docket.Need) {
	h, one := sh.Head, b.one(sh)
	number := h.Docket.Number.String()
	ok, why, missing := one.stays()
	row = togetherWatch{Number: number, Title: sheet.WatchWords(h), Serial: h.Watch.Serial, URL: view.DocketURL(number, "hand-over") + "?" + alone + "=yes",
		Version: cmp.Or(f.Values.Get("version-"+number), fmt.Sprint(h.Docket.Version)), Mark: view.NotMeasured, Word: h.Docket.Stage.Label(), Text: why}
	if photos := one.photos(); len(photos) > 0 {
		row.Photo = &photos[0]
	}
	if h.Facts.DueMinor > 0 {
		row.Due = one.money(h.Facts.DueMinor)
	}
	for _, n := range missing {
		row.Text = strings.TrimSpace(row.Text + " " + n.Sentence())
		if slug, name := sheet.NeedSheet(n.Key); slug != "" && slug != "hand-over" {
			row.Links = append(row.Links, view.LinkView{Text: "To " + name, Href: view.DocketURL(number, slug)})
		}
	}
	switch {
	case h.Docket.Closed():
		row.Gone, row.Mark, row.Word = true, view.Pass, "gone"
		row.Text = b.s.Moment(b.r, h.Docket.HandedBackAt) + ", to " + sh.Left.CollectedBy
		row.URL = view.DocketURL(number, "hand-over")
		if l := one.card(); l != nil {
			row.Lines = append(row.Lines, *l)
		}
	case ok || len(missing) > 0:
		row.Mark = view.Pass
		if len(missing) > 0 {
			row.Mark = view.Fail
		}
		if l := one.test(); l != nil && l.Mark != view.Pass { // else ready says it
			row.Lines = append(row.Lines, *l)
		}
		if l := one.card(); l != nil && one.cardProblem() != "" { // else the form offers it
			if sh.Card == nil {
				l.Word = sheet.RoleNames(staff.IssueCard) + " issues it"
			}
			row.Lines = append(row.Lines, *l)
		}
	}
	row.Problem = f.Problems["go-"+number]
	if !ok {
		return row, false, missing
	}
	tick := f.Field("go-"+number, row.Title).WithAttr("data-sums", true)
	row.Tick = &tick
	row.Kept = sh.OldParts()
	if fitted(sh) || len(row.Kept) > 0 {
		old := f.Field("old_parts-"+number, "Old parts").Need()
		for _, o := range docket.OldPartsAnswers() {
			old.Options = append(old.Options, view.Option{Value: string(o), Text: oldPartsShort[o]})
		}
		row.OldParts = &old
	}
	return row, true, missing
}

func fitted(sh store.HandOverSheet) bool {
	for _, p := range sh.Parts {
		if p.State == stock.Fitted {
			return true
		}
	}
	return false
}

// leaveForm is what is said once. waived says that a watch may go for the owner's reason alone.
func (b togetherBuilder) leaveForm(f view.Form, waived bool) *togetherForm {
	one := b.one(b.visit.Sheets[0])
	field := func(name, label string) view.Field { return f.Field(name, label) }
	var any []store.HandOverSheet // those that are ticked
	owed, cards := false, false
	for _, sh := range b.visit.Sheets {
		if sh.Head.Docket.Closed() {
			continue
		}
		owed = owed || sh.Head.Facts.DueMinor > 0
		cards = cards || b.one(sh).cardProblem() == ""
		if f.Values.Get("go-"+sh.Head.Docket.Number.String()) != "" {
			any = append(any, sh)
		}
	}
	due, code := dueOf(any), one.sheet.Head.Docket.Currency
	v := &togetherForm{Sum: b.s.sumView(b.r, due, code), Ticket: field("ticket", "Scan or type the ticket").Need(), Other: one.others(f, field),
		Check: view.ButtonView{Text: "Check", Name: "do", Value: doCheck, TestID: "check-ticket",
			Attrs: templ.Attributes{"data-piece-button": true, "data-scan-check": true}},
		Button: view.ButtonView{Text: "Hand over those ticked", Kind: view.Chief, TestID: "hand-over", Attrs: templ.Attributes{"id": "leave"}}}
	if owed && page.May(b.r, staff.TakePayment) {
		v.Pay = one.payFields(field, func(f view.Field) view.Field { return f.WithAttr("data-sums", true) })
		v.Pay.Way = v.Pay.Way.WithAttr("data-sums", true)
		if b.typed != nil {
			v.Pay.Change = b.s.changeWords(b.r, &page.Form{Values: f.Values, Problems: map[string]string{}}, due, code)
		}
	}
	if cards {
		label := fmt.Sprintf("Issue the warranty cards: %d months from today", one.viewer().Shop.WarrantyMonths)
		if !page.May(b.r, staff.IssueCard) {
			label += ", by the owner's standing order"
		}
		card := field("card", label)
		v.Card = &card
	}
	if page.May(b.r, staff.Override) && (waived || v.Pay != nil) {
		reason := field("reason", "The owner's reason").WithRows(2).WithHint("It goes into the journal of each.")
		v.Reason, v.Later = &reason, !waived
	}
	b.focus(v, f, due)
	return v
}

// focus gives the keyboard to what the form still lacks: the ticket of one that is new.
func (b togetherBuilder) focus(v *togetherForm, f view.Form, due int64) {
	ticket := f.Values.Get("ticket") != ""
	switch {
	case b.typed != nil && f.Values.Get("do") != doCheck:
		return
	case b.typed == nil || f.Problems["ticket"] != "":
		v.Ticket = v.Ticket.Focused()
		return
	}
	if ticket {
		v.Said = "The ticket of these watches."
	}
	switch {
	case v.Pay != nil && due > 0 && f.Values.Get("pay") == "":
		v.Pay.Way = v.Pay.Way.Focused()
	case !ticket && f.Values.Get("shown") == "":
		v.Ticket = v.Ticket.Focused()
	default:
		v.Button.Attrs["autofocus"] = true
	}
}

// papers are those of the watches that have left, or were paid for.
func (b togetherBuilder) papers() []view.LinkView {
	var paid, card bool
	for _, sh := range b.visit.Sheets {
		paid = paid || len(sh.Payments) > 0
		card = card || sh.Card != nil && sh.Card.Live()
	}
	at := sheet.VisitURL(b.visit.ID) + "/papers/"
	var links []view.LinkView
	if card && page.May(b.r, staff.PrintCard) {
		links = append(links, view.LinkView{Text: "Print the warranty cards", Href: at + "cards", TestID: "to-cards"})
	}
	if paid && page.May(b.r, staff.PrintPapers) {
		links = append(links, view.LinkView{Text: "Print the receipt", Href: at + "receipt", TestID: "to-receipt"})
	}
	return links
}
