package handover

import (
	"cmp"
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"time"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/money"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/text"
	"ledgerwheel/domain/warranty"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/sheet"
	"ledgerwheel/web/view"
)

func (s *Room) renderHandOver(w http.ResponseWriter, r *http.Request, status int, typed sheet.Refused) error {
	n, err := page.PathNumber(r)
	if err != nil {
		return err
	}
	sheet, err := s.store.HandOverSheet(r.Context(), n)
	if err != nil {
		return err
	}
	p, d := s.DocketPage(r, sheet.Head, "hand-over")
	b := handOverBuilder{s: s, r: r, sheet: sheet, typed: typed}
	v := handOverView{Problems: typed.Problems(), Accounts: b.accounts(), Due: b.money(max(0, sheet.Head.Facts.DueMinor)),
		NothingDue: sheet.Head.Facts.DueMinor <= 0, Papers: b.papers(), OldParts: sheet.OldParts()}
	if page.May(r, staff.TakePayment) {
		v.Payment, v.Refund, v.Charge = b.paymentForm(), b.refundForm(), b.chargeForm()
	}
	if d.Closed {
		v.Left = b.left()
	} else {
		v.Leave, v.Why, v.Needs = b.leave()
	}
	v.Card = b.card()
	return page.Render(w, r, status, handOver(p, d, v))
}

// handOverBuilder makes the parts of the hand-over sheet.
type handOverBuilder struct {
	s     *Room
	r     *http.Request
	sheet store.HandOverSheet
	typed sheet.Refused
}

func (b handOverBuilder) money(minor int64) string {
	return formatMoney(b.r, minor, b.sheet.Head.Docket.Currency)
}

// fields gives the fields of one form; see moveBuilder.fields.
func (b handOverBuilder) fields(what string, blank url.Values) view.Form {
	if b.typed.Form != nil && b.typed.What == what {
		return b.typed.Form.View()
	}
	if blank == nil {
		blank = url.Values{}
	}
	return view.Form{Values: blank}
}

// field is a field of one form of the page. Only the form that was refused carries the ids to which the summary of
// problems leads.
func (b handOverBuilder) field(what string, f view.Form, name, label string) view.Field {
	field := f.Field(name, label)
	if b.typed.What != what {
		field.ID = what + "-" + name
	}
	return field
}

// accounts is the docket's money, line by line: what is owed, what was paid, what is due.
func (b handOverBuilder) accounts() []accountLine {
	h := b.sheet.Head
	var lines []accountLine
	if billed, ok := b.sheet.Billed(); ok {
		lines = append(lines, accountLine{What: "Estimate, revision " + strconv.Itoa(billed.Number), Note: agreedHow(billed),
			Amount: b.money(docket.AgreedMinor(h.Docket.Stage, h.Facts)), Struck: h.ChargedMinor != nil})
	} else {
		why := "no estimate was agreed"
		if h.Docket.Stage.Exit() {
			why = "the watch goes back unrepaired"
		}
		lines = append(lines, accountLine{What: "Nothing by the estimate", Note: why, Amount: b.money(0),
			Struck: h.ChargedMinor != nil})
	}
	if h.ChargedMinor != nil {
		lines = append(lines, accountLine{What: "Charged instead", Note: chargedWhy(b.sheet),
			Amount: b.money(*h.ChargedMinor)})
	}
	for _, p := range b.sheet.Payments {
		what := "Paid, " + p.Method.Words()
		if p.Minor < 0 {
			what = "Given back, " + p.Method.Words()
		}
		note := b.s.Moment(b.r, p.At) + ", " + p.By
		if p.Note != "" {
			note += ": " + p.Note
		}
		lines = append(lines, accountLine{What: what, Note: note, Amount: b.money(-p.Minor), Payment: true})
	}
	due := accountLine{What: "Still due", Amount: b.money(h.Facts.DueMinor), Sum: true}
	if h.Facts.DueMinor < 0 {
		due.What, due.Amount = "Paid beyond what is owed", b.money(-h.Facts.DueMinor)
	}
	return append(lines, due)
}

// chargedWhy says why another amount stands in place of the estimate, and what lets it.
func chargedWhy(sheet store.HandOverSheet) string {
	word := sheet.ChargedWord.Sentence()
	if word == "" {
		return sheet.ChargedReason
	}
	return text.Sentence(sheet.ChargedReason) + " " + word
}

func agreedHow(r estimate.Revision) string {
	if r.State == estimate.Approved && r.Answer != nil {
		return "approved by " + r.Answer.Name
	}
	if r.State == estimate.Approved {
		return "approved"
	}
	return "within the approval limit"
}

func (b handOverBuilder) paymentForm() *moneyFormView {
	h := b.sheet.Head
	blank := url.Values{}
	if h.Facts.DueMinor > 0 {
		blank.Set("amount", money.Plain(h.Facts.DueMinor, h.Docket.Currency))
	}
	f := b.fields(formPayment, blank)
	m := b.moneyForm(formPayment, f)
	m.Heading, m.Open = "Take a payment", h.Facts.DueMinor > 0 || b.typed.What == formPayment
	m.Button = view.ButtonView{Text: "Take the payment", Kind: view.Chief, TestID: "take-payment"}
	m.Fields[1].Label = "How it is paid"
	note := b.field(formPayment, f, "note", "Note").Maybe().WithHint("A voucher's number, or what “otherwise” means.")
	m.Fields = append(m.Fields, note)
	if f.Problems["beyond"] != "" || f.Values.Get("beyond") != "" {
		beyond := b.field(formPayment, f, "beyond", "More than is due, as a deposit is")
		m.Beyond = &beyond
	}
	return m
}

func (b handOverBuilder) refundForm() *moneyFormView {
	if b.sheet.Head.PaidMinor <= 0 && b.typed.What != formRefund {
		return nil
	}
	f := b.fields(formRefund, nil)
	m := b.moneyForm(formRefund, f)
	m.Heading, m.Open = "Give money back", b.typed.What == formRefund
	m.Button = view.ButtonView{Text: "Give it back", TestID: "give-back"}
	m.Fields[1].Label = "How it goes back"
	m.Fields = append(m.Fields, b.field(formRefund, f, "note", "Why").Need().WithHint("This goes into the journal."))
	return m
}

// moneyForm holds the questions that taking and giving back share: how much, and how.
func (b handOverBuilder) moneyForm(what string, f view.Form) *moneyFormView {
	h := b.sheet.Head
	amount := b.field(what, f, "amount", "Amount").Need().WithUnit(h.Docket.Currency).WithWidth(view.Third)
	method := b.field(what, f, "method", "").Need()
	for _, m := range docket.Methods() {
		method.Options = append(method.Options, view.Option{Value: string(m), Text: text.Capital(m.Words())})
	}
	return &moneyFormView{Slug: what, Action: view.DocketURL(h.Docket.Number.String(), "hand-over/"+what),
		Fields: []view.Field{amount, method}}
}

func (b handOverBuilder) chargeForm() *moneyFormView {
	h := b.sheet.Head
	blank := url.Values{}
	if h.ChargedMinor != nil {
		blank.Set("charged", money.Plain(*h.ChargedMinor, h.Docket.Currency))
	}
	f := b.fields(formCharge, blank)
	hint := "Leave it empty to charge as the estimate says."
	if !page.May(b.r, staff.Override) {
		hint += " Less than was agreed is for the owner to charge."
	}
	m := &moneyFormView{Slug: formCharge, Heading: "Charge another amount",
		Action: view.DocketURL(h.Docket.Number.String(), "hand-over/"+formCharge),
		Open:   b.typed.What == formCharge, Button: view.ButtonView{Text: "Charge this", TestID: "charge"},
		Fields: []view.Field{
			b.field(formCharge, f, "charged", "Total charge").WithUnit(h.Docket.Currency).WithWidth(view.Third).WithHint(hint),
			b.field(formCharge, f, "reason", "Why").Need().WithHint("This goes into the journal, and onto the invoice."),
		}}
	m.Fields = append(m.Fields, b.wordFields(f)...)
	return m
}

// wordFields ask how the customer agreed to more, once a charge is above what was allowed.
func (b handOverBuilder) wordFields(f view.Form) []view.Field {
	if f.Values.Get("word") == "" && f.Problems["word"] == "" {
		return nil
	}
	viewer, _ := page.ViewerOf(b.r.Context())
	how := b.field(formCharge, f, "word", "How the customer agreed to more").Need()
	for _, h := range docket.WordHows(viewer.Member.Role) {
		how.Options = append(how.Options, view.Option{Value: string(h), Text: text.Capital(h.Words())})
	}
	on := b.field(formCharge, f, "word_on", "On which day").WithWidth(view.Third)
	on.Type, on.Value = "date", cmp.Or(on.Value, b.s.Today(b.r).Format(time.DateOnly))
	by := b.field(formCharge, f, "word_by", "Who took the customer's word").WithWidth(view.Half)
	return []view.Field{how, on, by.WithValue(cmp.Or(by.Value, viewer.Member.Name))}
}

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
	reason := false
	for _, n := range docket.BesidesLeaving(m.Unmet(h.Facts)) {
		need := view.NeedView{Text: n.Sentence()}
		if slug, name := sheet.NeedSheet(n.Key); slug != "" && slug != "hand-over" {
			need.Href, need.Sheet = view.DocketURL(number, slug), name
		}
		missing = append(missing, need)
		reason = reason || n.Waiver == docket.ByOwnerReason && page.May(b.r, staff.Override)
	}
	return b.leaveForm(m, reason), "", missing
}

func (b handOverBuilder) leaveForm(m docket.Move, reason bool) *leaveFormView {
	h := b.sheet.Head
	blank := url.Values{"proof": {string(docket.ProofTicket)}, "collected_by": {h.Customer.Name}}
	if len(b.sheet.OldParts()) > 0 {
		blank.Set("old_parts", string(docket.OldPartsReturned))
	}
	f := b.fields(formLeaving, blank)
	field := func(name, label string) view.Field { return b.field(formLeaving, f, name, label) }
	v := &leaveFormView{
		Proof: field("proof", "Who may have it").Need().WithOptions(
			view.Option{Value: string(docket.ProofTicket), Text: proofWords(docket.ProofTicket)},
			view.Option{Value: string(docket.ProofIdentity), Text: proofWords(docket.ProofIdentity)}),
		Ticket: field("ticket", "Number on the ticket").WithHint("Scan either code, or type the number with or " +
			"without dashes.").WithWidth(view.Half),
		Identity:    field("identity", "Without the ticket: how you made sure").WithHint("Such as: passport seen, name as on the docket.").WithWidth(view.Half),
		CollectedBy: field("collected_by", "Taken by").Need().WithHint("The name of the person who takes the watch.").WithAutocomplete("off"),
		OldParts:    field("old_parts", "Old parts").Need(),
		Button:      view.ButtonView{Text: m.Label, Kind: view.Chief, TestID: "hand-over"},
	}
	for _, o := range docket.OldPartsAnswers() {
		v.OldParts.Options = append(v.OldParts.Options, view.Option{Value: string(o), Text: text.Capital(o.Words())})
	}
	if b.typed.Form == nil && h.Facts.DueMinor <= 0 {
		v.Ticket = v.Ticket.Focused() // nothing is left to do but to scan
	}
	if reason || f.Values.Get("reason") != "" {
		field := field("reason", "The owner's reason").WithRows(2).WithHint("Stands in for what is missing above. It goes " +
			"into the journal.")
		v.Reason = &field
	}
	return v
}

// left says how the watch left.
func (b handOverBuilder) left() []view.TermView {
	h, l := b.sheet.Head, b.sheet.Left
	how := "the claim ticket"
	if l.Proof == docket.ProofIdentity {
		how = l.Identity
	}
	terms := []view.TermView{view.Term("Left on", b.s.Moment(b.r, h.Docket.HandedBackAt)),
		view.Term("Taken by", l.CollectedBy),
		view.Term("Checked by", how), view.Term("Old parts", h.OldParts)}
	if h.Docket.OwnerReason != "" {
		terms = append(terms, view.Term("Owner's reason", h.Docket.OwnerReason))
	}
	return terms
}

// papers are those that go with the watch.
func (b handOverBuilder) papers() []view.LinkView {
	number := b.sheet.Head.Docket.Number.String()
	var links []view.LinkView
	if b.sheet.HasInvoice() && page.May(b.r, staff.PrintPapers) {
		links = append(links, view.LinkView{Text: "Invoice", Href: view.DocketURL(number, "papers/invoice"),
			TestID: "to-invoice"})
	}
	if c := b.sheet.Card; c != nil && c.Live() && page.May(b.r, staff.PrintCard) {
		links = append(links, view.LinkView{Text: "Warranty card", Href: view.DocketURL(number, "papers/warranty-card"),
			TestID: "to-card-paper"})
	}
	return links
}

// card says how it stands with the docket's warranty card; nil where it will have none.
func (b handOverBuilder) card() *cardLine {
	h := b.sheet.Head
	c := b.sheet.Card
	if c == nil && !warranty.MayIssue(h.Docket.Stage) {
		return nil
	}
	line := &cardLine{Mark: view.NotMeasured, Word: "none yet", Text: "No warranty card has been issued.",
		Link: view.LinkView{Text: "To the warranty card", Href: view.DocketURL(h.Docket.Number.String(), "card"),
			TestID: "to-card"}}
	switch {
	case c == nil && page.May(b.r, staff.IssueCard):
		line.Link.Text = "Issue the warranty card"
	case c == nil:
		line.Text = fmt.Sprintf("No warranty card has been issued; it is for %s to issue.", sheet.RoleNames(staff.IssueCard))
	case !c.Fate.VoidedAt.IsZero():
		line.Mark, line.Word, line.Text = view.Fail, "void", "Card "+c.Code.Grouped()+" was declared void."
	default:
		line.Mark, line.Word, line.Text = view.Pass, "issued", "Card "+c.Code.Grouped()+", "+b.s.Moment(b.r, c.IssuedAt)+"."
	}
	return line
}
