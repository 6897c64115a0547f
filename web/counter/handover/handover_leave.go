package handover

import (
	"cmp"
	"fmt"
	"net/url"

	"github.com/a-h/templ"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/stock"
	"ledgerwheel/domain/text"
	"ledgerwheel/domain/till"
	"ledgerwheel/domain/warranty"
	"ledgerwheel/web/page"
	"ledgerwheel/web/sheet"
	"ledgerwheel/web/view"
)

// leave gives the form by which the watch leaves, or says why there is none, and what is still missing.
func (b handOverBuilder) leave() (form *leaveFormView, why string, missing []view.NeedView) {
	h := b.sheet.Head
	m, ok := docket.LeavingMove(h.Docket.Stage)
	if !ok {
		return nil, "A watch is handed over once it is ready. This docket is at " + h.Docket.Stage.Label() + ".", nil
	}
	if !page.May(b.r, m.May) {
		return nil, "The watch is handed over by " + sheet.RoleNames(m.May) + ".", nil
	}
	number := h.Docket.Number.String()
	form = b.leaveForm(m)
	for _, n := range docket.BesidesLeaving(m.Unmet(h.Facts)) {
		owner := n.Waiver == docket.ByOwnerReason && page.May(b.r, staff.Override)
		if n.Key == docket.NeedPaid && form.Pay != nil {
			if owner {
				form.askReason(b, true)
			}
			continue
		}
		need := view.NeedView{Text: n.Sentence()}
		if slug, name := sheet.NeedSheet(n.Key); slug != "" && slug != "hand-over" {
			need.Href, need.Sheet = view.DocketURL(number, slug), name
		}
		missing = append(missing, need)
		if owner {
			form.askReason(b, false)
		}
	}
	return form, "", missing
}

// askReason asks for the owner's reason; later says that it is for what is not paid now, and for nothing else.
func (v *leaveFormView) askReason(b handOverBuilder, later bool) {
	v.Later = later && (v.Reason == nil || v.Later)
	f := b.field(formLeaving, b.fields(formLeaving, nil), "reason", "The owner's reason").WithRows(2).WithHint("It goes into the journal.")
	v.Reason = &f
}

func (b handOverBuilder) leaveForm(m docket.Move) *leaveFormView {
	f := b.fields(formLeaving, b.blank())
	field := func(name, label string) view.Field { return b.field(formLeaving, f, name, label) }
	due := b.sheet.Head.Facts.DueMinor
	v := &leaveFormView{Due: b.money(max(0, due)), Kept: b.sheet.OldParts(),
		Ticket:   field("ticket", "Scan or type the ticket").Need(),
		Other:    b.others(f, field),
		OldParts: field("old_parts", "Old parts").Need(),
		Card:     b.cardField(field),
		Check: view.ButtonView{Text: "Check", Name: "do", Value: doCheck, TestID: "check-ticket",
			Attrs: templ.Attributes{"data-piece-button": true, "data-scan-check": true}},
		Button: view.ButtonView{Text: m.Label, Kind: view.Chief, TestID: "hand-over", Attrs: templ.Attributes{"id": "leave"}},
	}
	for _, o := range docket.OldPartsAnswers() {
		v.OldParts.Options = append(v.OldParts.Options, view.Option{Value: string(o), Text: oldPartsShort[o]})
	}
	if due > 0 && page.May(b.r, staff.TakePayment) {
		v.Pay = b.pay(field)
	}
	if b.typed.Form == nil {
		v.Ticket = v.Ticket.Focused()
	} else if f.Values.Get("do") == doCheck {
		v.checked(f)
	}
	return v
}

// checked says that the ticket is the right one, and gives the keyboard to what the form still lacks.
func (v *leaveFormView) checked(f view.Form) {
	ticket := f.Values.Get("ticket") != ""
	if ticket && f.Problems["ticket"] == "" {
		v.Said = "This watch's ticket."
	}
	switch {
	case f.Problems["ticket"] != "":
		v.Ticket = v.Ticket.Focused()
	case v.Pay != nil && f.Values.Get("pay") == "":
		v.Pay.Way = v.Pay.Way.Focused()
	case !ticket && f.Values.Get("shown") == "":
		v.Ticket = v.Ticket.Focused()
	case f.Values.Get("old_parts") == "":
		v.OldParts = v.OldParts.Focused()
	default:
		v.Button.Attrs["autofocus"] = true
	}
}

// The choices as one line of a telephone has room for.
var (
	oldPartsShort = map[docket.OldParts]string{docket.OldPartsReturned: "With the watch", docket.OldPartsLeft: "Left with us",
		docket.OldPartsNone: "None"}
	payShort = map[docket.PayWay]string{docket.PayCash: "Cash", docket.PayCard: "Card", docket.PayTransfer: "Transfer",
		docket.PayInParts: "Several", docket.PayLater: "Not now"}
)

// blank is the form before anything is typed: the customer collects it, and what the record knows of old parts.
func (b handOverBuilder) blank() url.Values {
	values := url.Values{"collected_by": {b.sheet.Head.Customer.Name}}
	fitted := false
	for _, p := range b.sheet.Parts {
		fitted = fitted || p.State == stock.Fitted
	}
	switch {
	case len(b.sheet.OldParts()) > 0:
		values.Set("old_parts", string(docket.OldPartsReturned))
	case !fitted:
		values.Set("old_parts", string(docket.OldPartsNone))
	}
	if b.cardProblem() == "" {
		values.Set("card", "yes")
	}
	return values
}

// pay asks how what is due is paid. Each amount asks the program what change goes back, with the other amounts beside it.
func (b handOverBuilder) pay(field func(name, label string) view.Field) *payFields {
	h := b.sheet.Head
	return b.payFields(field, func(f view.Field) view.Field {
		return f.WithAttr("data-suggest-url", view.DocketURL(h.Docket.Number.String(), "hand-over/change")).
			WithAttr("data-suggest-into", "change").WithAttr("data-suggest-least", "1").
			WithAttr("data-suggest-with", "pay given-cash given-card given-transfer given-other given-note")
	})
}

// payFields ask how it is paid; asking is what has an amount ask the program what goes back.
func (b handOverBuilder) payFields(field func(name, label string) view.Field, asking func(view.Field) view.Field) *payFields {
	amount := func(name, label string) view.Field {
		return asking(field(name, label).WithUnit(b.sheet.Head.Docket.Currency).WithWidth(view.Third))
	}
	p := &payFields{Way: field("pay", "How it is paid").Need(), Cash: amount("given-cash", "Cash given"),
		Card: amount("given-card", "Card"), Transfer: amount("given-transfer", "Bank transfer"),
		Other: amount("given-other", "Otherwise"),
		Note:  field("given-note", "What “otherwise” means").WithHint("Such as a voucher's number.").WithWidth(view.Half)}
	p.Way.HideName = true
	if viewer, _ := page.ViewerOf(b.r.Context()); writtenDown(viewer.Shop) {
		p.Way.Hint = till.NotCertified
	}
	for _, w := range docket.PayWays() {
		if w != docket.PayLater || page.May(b.r, staff.Override) {
			p.Way.Options = append(p.Way.Options, view.Option{Value: string(w), Text: payShort[w]})
		}
	}
	return p
}

// others ask who takes the watch, and how that was checked where the ticket alone does not do.
func (b handOverBuilder) others(f view.Form, field func(name, label string) view.Field) otherFields {
	viewer, _ := page.ViewerOf(b.r.Context())
	o := otherFields{Says: cmp.Or(f.Values.Get("collected_by"), "?"),
		CollectedBy: field("collected_by", "Taken by").WithAutocomplete("off").WithAttr("dir", "auto").WithWidth(view.Half),
		Shown: field("shown", "What was shown").WithHint("The kind alone: no number is kept.").WithWidth(view.Half).
			WithOptions(view.Option{Text: "Nothing besides the ticket"}),
		Identity: field("identity", "What else was done to make sure").Maybe()}
	for _, k := range docket.ShownKinds() {
		o.Shown.Options = append(o.Shown.Options, view.Option{Value: string(k), Text: text.Capital(k.Words())})
	}
	if asks := viewer.Shop.NoTicketAsks(); len(asks) > 0 {
		done := field("done", "Without the ticket: tick what was done")
		for _, ask := range asks {
			done.Options = append(done.Options, view.Option{Value: ask, Text: ask})
		}
		o.Done = &done
	}
	for _, name := range []string{"collected_by", "shown", "done", "identity", "ticket"} {
		o.Open = o.Open || f.Problems[name] != ""
	}
	o.Open = o.Open || f.Values.Get("shown") != "" || f.Values.Get("identity") != "" || len(f.Values["done"]) > 0
	return o
}

// cardProblem says why the card can't be issued with the hand-over; "" where it can.
func (b handOverBuilder) cardProblem() string {
	h, viewer := b.sheet.Head, b.viewer()
	switch {
	case h.Docket.Stage != docket.StageReady || b.sheet.Card != nil && b.sheet.Card.Live():
		return "no card is issued now"
	case page.May(b.r, staff.IssueCard):
		return ""
	case !page.May(b.r, staff.IssueByOrder):
		return "not theirs to issue"
	}
	return warranty.OrderProblem(viewer.Shop.CardByClerk, h.Facts)
}

// cardField offers to issue the card in the same press; nil where none can be issued.
func (b handOverBuilder) cardField(field func(name, label string) view.Field) *view.Field {
	if b.cardProblem() != "" {
		return nil
	}
	label := fmt.Sprintf("Issue the warranty card: %d months from today", b.viewer().Shop.WarrantyMonths)
	if !page.May(b.r, staff.IssueCard) {
		label += ", by the owner's standing order"
	}
	card := field("card", label)
	return &card
}
