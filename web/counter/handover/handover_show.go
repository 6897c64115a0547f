package handover

import (
	"cmp"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"time"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/invoice"
	"ledgerwheel/domain/money"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/text"
	"ledgerwheel/domain/visit"
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
	if typed.Form == nil && r.URL.Query().Get(alone) == "" && leavesTogether(sheet) {
		return page.SeeOther(w, r, togetherURL(visit.Number(sheet.Head.VisitID)))
	}
	p, d := s.DocketPage(r, sheet.Head, "hand-over")
	b := handOverBuilder{s: s, r: r, sheet: sheet, typed: typed}
	p.Scripts = append(p.Scripts, "js/handover.js")
	v := handOverView{Problems: typed.Problems(), Accounts: b.accounts(), Sums: b.sums(), Papers: b.papers(),
		Photos: b.photos(), Beside: b.beside()}
	if d.Closed {
		v.Left = b.left()
	} else {
		v.Leave, v.Why, v.Needs = b.leave()
	}
	if page.May(r, staff.TakePayment) {
		v.Payment, v.Refund, v.Charge = b.paymentForm(v.Leave == nil), b.refundForm(), b.chargeForm()
		if _, stands := sheet.Book().Standing(); stands {
			v.Charge = nil // a credit note answers an invoice
		}
	}
	v.Unfolded = v.Leave == nil && sheet.Head.Facts.DueMinor > 0 || typed.Form != nil && typed.What != formLeaving
	return page.Render(w, r, status, handOver(p, d, v))
}

// leavesTogether reports whether the watch may leave, as far as its stage tells, and so may another of its ticket.
func leavesTogether(h store.HandOverSheet) bool {
	_, leaves := docket.LeavingMove(h.Head.Docket.Stage)
	return leaves && !h.Head.Docket.Closed() && slices.ContainsFunc(h.Beside, store.Beside.Leaves)
}

// handOverBuilder makes the parts of the hand-over sheet.
type handOverBuilder struct {
	s     *Room
	r     *http.Request
	sheet store.HandOverSheet
	typed sheet.Refused
}

func (b handOverBuilder) viewer() store.Viewer {
	v, _ := page.ViewerOf(b.r.Context())
	return v
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
	if h.Money.Billed {
		for i := range lines {
			lines[i].Struck = true
		}
	}
	for _, d := range b.sheet.Invoices {
		line := accountLine{What: text.Capital(d.Kind.Words()) + " " + d.Number, Note: b.s.Day(b.r, d.IssuedOn), Amount: b.money(d.Totals.GrossMinor)}
		switch {
		case d.Kind == invoice.Credit:
			line.Amount, line.Note = b.money(-d.Totals.GrossMinor), line.Note+", answers "+d.Answers+": "+d.Why
		case !h.Money.Billed:
			line.Note, line.Amount = line.Note+", "+line.Amount+" of what is owed", ""
		}
		lines = append(lines, line)
	}
	for _, p := range b.sheet.Payments {
		what := "Paid, " + p.Method.Words()
		if p.Minor < 0 {
			what = "Given back, " + p.Method.Words()
		}
		note := b.s.Moment(b.r, p.At) + ", " + p.By
		if p.Rounded != 0 {
			note += ", " + b.money(p.Rounded) + " by rounding in cash"
		}
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

// sums is what the accounts come to, in a line.
func (b handOverBuilder) sums() string {
	h := b.sheet.Head
	owed := h.Money.OwedMinor(h.Docket.Stage, h.Facts)
	return b.money(owed) + " in total, " + b.money(h.PaidMinor) + " paid"
}

// paymentForm takes money by itself; open says that this is what the page is for.
func (b handOverBuilder) paymentForm(open bool) *moneyFormView {
	h := b.sheet.Head
	blank := url.Values{}
	if h.Facts.DueMinor > 0 {
		blank.Set("amount", money.Plain(h.Facts.DueMinor, h.Docket.Currency))
	}
	f := b.fields(formPayment, blank)
	m := b.moneyForm(formPayment, f)
	m.Heading, m.Open = "Take a payment", open && h.Facts.DueMinor > 0 || b.typed.What == formPayment
	m.Button = view.ButtonView{Text: "Take the payment", TestID: "take-payment"}
	if open {
		m.Button.Kind = view.Chief
	} else {
		m.Heading = "Take a payment and keep the watch"
	}
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
	came := map[docket.Method]int64{}
	for _, p := range b.sheet.Payments {
		came[p.Method] += p.Minor
	}
	ways := docket.WaysBack(came, page.May(b.r, staff.Override))
	blank := url.Values{}
	if over := -b.sheet.Head.Facts.DueMinor; over > 0 {
		blank.Set("amount", money.Plain(over, b.sheet.Head.Docket.Currency))
	}
	f := b.fields(formRefund, blank)
	m := b.moneyForm(formRefund, f)
	m.Fields[1].Options = nil
	for _, w := range ways {
		o := view.Option{Value: string(w.Method), Text: text.Capital(w.Method.Words()) + ", up to " + b.money(w.CameMinor)}
		if w.CameMinor == 0 {
			o.Text, o.Hint = text.Capital(w.Method.Words()), "None came this way: say why."
		}
		m.Fields[1].Options = append(m.Fields[1].Options, o)
	}
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

// left says how the watch left.
func (b handOverBuilder) left() []view.TermView {
	h, l := b.sheet.Head, b.sheet.Left
	how := "the claim ticket"
	if l.Proof == docket.ProofIdentity {
		how = l.Identity
	} else if l.Identity != "" {
		how += "; " + text.Uncapital(l.Identity)
	}
	terms := []view.TermView{view.Term("Left on", b.s.Moment(b.r, h.Docket.HandedBackAt)),
		view.Term("Taken by", l.CollectedBy),
		view.Term("Checked by", how), view.Term("Old parts", h.OldParts)}
	if h.Docket.OwnerReason != "" {
		terms = append(terms, view.Term("Owner's reason", h.Docket.OwnerReason))
	}
	for _, p := range b.sheet.Payments {
		if p.Given > p.Minor && p.At.Equal(h.Docket.HandedBackAt) {
			terms = append(terms, view.TermView{Term: "Change to give", Cell: view.Txt(b.money(p.Given-p.Minor) + " of " +
				b.money(p.Given)), TestID: "change-given"})
		}
	}
	return terms
}
