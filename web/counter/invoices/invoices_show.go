package invoices

import (
	"cmp"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/invoice"
	"ledgerwheel/domain/money"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/stock"
	"ledgerwheel/domain/text"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/sheet"
	"ledgerwheel/web/view"
)

func (s *Room) render(w http.ResponseWriter, r *http.Request, status int, typed sheet.Refused) error {
	n, err := page.PathNumber(r)
	if err != nil {
		return err
	}
	record, err := s.store.InvoiceSheet(r.Context(), n)
	if err != nil {
		return err
	}
	p, d := s.DocketPage(r, record.Head, "hand-over")
	b := builder{s: s, r: r, record: record, book: record.Book(), typed: typed}
	v := invoicesView{Problems: typed.Problems(), Issued: b.issued(), Account: b.account()}
	_, stands := b.book.Standing()
	switch {
	case stands:
	case !page.May(r, staff.IssueInvoices):
		v.Why = "Invoices are issued by " + sheet.RoleNames(staff.IssueInvoices) + "."
	default:
		if v.Bill, err = b.bill(); err != nil {
			return err
		}
		if v.Bill == nil && len(v.Issued) == 0 {
			v.Why = "There is nothing to bill: nothing was agreed, and nothing is charged."
		}
		if v.Bill != nil && !d.Closed {
			v.Deposit = b.deposit()
			v.Early = underWork(record.Head.Docket.Stage)
		}
	}
	return page.Render(w, r, status, invoicesPage(p, d, v))
}

// underWork reports whether the work is still to be done, so that a deposit may be asked for, but the bill hardly.
func underWork(s docket.Stage) bool {
	return s.Order() >= 0 && s.Order() < docket.StageFinalTest.Order()
}

// builder makes the parts of the page.
type builder struct {
	s      *Room
	r      *http.Request
	record store.InvoiceSheet
	book   invoice.Book
	typed  sheet.Refused
}

func (b builder) money(minor int64) string {
	return money.Format(minor, b.record.Head.Docket.Currency, page.LocaleOf(b.r))
}

func (b builder) issued() []issuedRow {
	number := b.record.Head.Docket.Number.String()
	var rows []issuedRow
	for _, v := range b.record.Invoices {
		row := issuedRow{Number: v.Number, Kind: text.Capital(v.Kind.Words()), Day: b.s.Day(b.r, v.IssuedOn), By: v.By, Amount: b.money(v.Totals.GrossMinor),
			URL: view.DocketURL(number, "papers/invoices/"+page.Itoa64(v.ID))}
		left := b.book.Left(v.Number).GrossMinor
		switch {
		case v.Kind == invoice.Credit:
			row.Amount, row.Note = b.money(-v.Totals.GrossMinor), "answers "+v.Answers+": "+v.Why
		case left < v.Totals.GrossMinor:
			row.Note = b.leftOf(v.Number, left)
		}
		if v.Kind != invoice.Credit && left > 0 && page.May(b.r, staff.CreditInvoices) {
			row.CreditURL = view.DocketURL(number, "invoices/"+page.Itoa64(v.ID)+"/credit")
		}
		rows = append(rows, row)
	}
	return rows
}

// leftOf says what became of a document: which bill took a deposit off, and what credit notes left of it.
func (b builder) leftOf(number string, leftMinor int64) string {
	said := ""
	for _, bill := range b.record.Invoices {
		if slices.ContainsFunc(bill.SetOffs, func(s invoice.SetOff) bool { return s.Number == number }) {
			said = "taken off " + bill.Number
		}
	}
	switch {
	case said == "":
		return b.money(leftMinor) + " is left of it"
	case leftMinor > 0:
		return said + "; " + b.money(leftMinor) + " is left of it"
	}
	return said
}

// account is what was billed, credited, paid and is still owed.
func (b builder) account() []view.TermView {
	if len(b.book) == 0 {
		return nil
	}
	m := b.record.Head.Money
	a := b.book.Account(m.PaidMinor, m.RoundedMinor)
	terms := []view.TermView{view.Term("Billed", b.money(a.BilledMinor))}
	if a.CreditedMinor > 0 {
		terms = append(terms, view.Term("Credited", b.money(-a.CreditedMinor)))
	}
	terms = append(terms, view.Term("Paid", b.money(a.PaidMinor)))
	if a.RoundedMinor != 0 {
		terms = append(terms, view.Term("Rounded in cash", b.money(a.RoundedMinor)))
	}
	owed := view.TermView{Term: "Owed", Cell: view.Txt(b.money(a.OwedMinor())), TestID: "account-owed"}
	if a.OwedMinor() < 0 {
		owed.Term, owed.Cell = "To give back", view.Txt(b.money(-a.OwedMinor()))
	}
	return append(terms, owed)
}

// bill is the form that issues the bill, nil where there is nothing to bill.
func (b builder) bill() (*billForm, error) {
	basis := b.record.Basis()
	if basis.OwedMinor == 0 && len(basis.Lines) == 0 {
		return nil, nil
	}
	f := page.EmptyForm()
	f.Values.Set("reference", basis.Reference)
	f.Values.Set("treatment", standardWord)
	mine := b.typed.Form != nil && b.typed.What == formBill
	if mine {
		f = b.typed.Form
	}
	reading := page.EmptyForm()
	reading.Values = f.Values
	choices := readChoices(reading, basis.Currency, page.LocaleOf(b.r))
	v := &billForm{Currency: basis.Currency, Beside: b.beside(basis), Open: mine}
	if err := b.comes(v, basis, choices); err != nil {
		return nil, err
	}
	v.DiffOpen = len(v.Differs) > 0 && mine
	viewer, _ := page.ViewerOf(b.r.Context())
	if f.Values.Get("word_by") == "" {
		f.Values.Set("word_by", viewer.Member.Name)
		f.Values.Set("word_on", b.s.Today(b.r).Format(time.DateOnly))
	}
	v.Form = f.View()
	for i, l := range basis.Lines {
		if l.Kind != estimate.Discount {
			v.Lines = append(v.Lines, v.Form.Field("line_off-"+strconv.Itoa(i), "Discount: "+l.Description).WithUnit("%").WithWidth(view.Third).Maybe())
		}
	}
	v.Treatment = treatments(v.Form.Field("treatment", "How it is taxed"))
	b.series(v)
	word := v.Form.Field("word", "The customer agreed")
	for _, h := range docket.WordHows(viewer.Member.Role) {
		word.Options = append(word.Options, view.Option{Value: string(h), Text: text.Capital(h.Words())})
	}
	v.Word = &word
	return v, nil
}

// treatments offers how a document may be taxed.
func treatments(f view.Field) view.Field {
	for _, t := range invoice.Treatments {
		f.Options = append(f.Options, view.Option{Value: cmp.Or(string(t), standardWord), Text: text.Capital(t.Words())})
	}
	return f
}

// series offers the series where there is more than the usual one.
func (b builder) series(v *billForm) {
	field := v.Form.Field("series", "Series of numbers").WithWidth(view.Half)
	for _, s := range b.record.Series {
		if s.Ended {
			continue
		}
		o := view.Option{Value: page.Itoa64(s.ID), Text: s.Name}
		if s.Usual {
			o.Value = ""
			field.Options = append([]view.Option{o}, field.Options...)
			continue
		}
		field.Options = append(field.Options, o)
	}
	if len(field.Options) > 1 {
		v.Series = &field
	}
}

// comes says what the bill comes to, and where that differs from what was agreed.
func (b builder) comes(v *billForm, basis invoice.Basis, choices invoice.Choices) error {
	d, over, err := basis.Bill(choices, b.s.Today(b.r))
	if err != nil {
		return err
	}
	whole, err := d.Whole()
	if err != nil {
		return err
	}
	sum, err := d.Totals()
	if err != nil {
		return err
	}
	agreed := docket.AgreedMinor(b.record.Head.Docket.Stage, b.record.Head.Facts)
	v.Comes = []view.TermView{view.Term("Agreed", b.money(agreed)), {Term: "The invoice comes to", Cell: view.Txt(b.money(whole.GrossMinor)), TestID: "comes-to"}}
	for _, s := range d.SetOffs {
		v.Comes = append(v.Comes, view.Term("Less deposit "+s.Number, b.money(-s.Totals.GrossMinor)))
	}
	if len(d.SetOffs) > 0 {
		v.Comes = append(v.Comes, view.Term("Still to bill", b.money(sum.GrossMinor)))
	}
	if by := whole.GrossMinor - agreed; by != 0 && d.Treatment == invoice.Standard {
		words := b.money(by) + " more than was agreed"
		if by < 0 {
			words = b.money(-by) + " less than was agreed"
		}
		v.Differs = append(v.Differs, words)
	}
	for _, s := range over {
		v.Differs = append(v.Differs, b.money(s.Totals.GrossMinor)+" of deposit "+s.Number+" is more than the bill: a credit note gives it back")
	}
	for _, p := range unnamed(b.record.Parts, basis.Lines) {
		v.Differs = append(v.Differs, "Fitted, and in no line: "+p)
	}
	for field, why := range d.Problems() {
		if b.typed.Form != nil && b.typed.What == formBill && b.typed.Form.Problems[field] == "" && b.typed.Form.Text("do") == doCheck {
			b.typed.Form.Fail(field, why)
		}
	}
	return nil
}

// unnamed are fitted parts that no line speaks of.
func unnamed(parts []store.PartRow, lines []estimate.Line) []string {
	var list []string
	for _, p := range parts {
		if p.State != stock.Fitted {
			continue
		}
		named := false
		for _, l := range lines {
			named = named || strings.Contains(strings.ToLower(l.Description), strings.ToLower(p.Description)) ||
				strings.Contains(strings.ToLower(p.Description), strings.ToLower(l.Description))
		}
		if !named && len(lines) > 0 {
			list = append(list, p.Description)
		}
	}
	return list
}

func (b builder) beside(basis invoice.Basis) beside {
	var out beside
	for _, l := range basis.Lines {
		amount, err := l.AmountMinor(basis.Rule.Rounding)
		if err == nil {
			out.Agreed = append(out.Agreed, view.Term(l.Description, b.money(amount)))
		}
	}
	for _, p := range b.record.Parts {
		if p.State == stock.Fitted {
			out.Fitted = append(out.Fitted, p.Description)
		}
	}
	out.Spent = "no time was written down"
	if m := b.record.Minutes; m > 0 {
		out.Spent = fmt.Sprintf("%d h %d min at the bench", m/60, m%60)
	}
	return out
}

// deposit is the form that asks for a deposit, nil where all was invoiced.
func (b builder) deposit() *depositForm {
	basis := b.record.Basis()
	left := basis.OwedMinor
	for _, s := range basis.Deposits {
		left -= s.Totals.GrossMinor
	}
	if left <= 0 {
		return nil
	}
	f := page.EmptyForm()
	f.Values.Set("deposit_treatment", standardWord)
	mine := b.typed.Form != nil && b.typed.What == formDeposit
	if mine {
		f = b.typed.Form
	}
	chosen := f.Values.Get("deposit_treatment")
	v := &depositForm{Form: f.View(), Currency: basis.Currency, Left: b.money(left), Open: mine || underWork(b.record.Head.Docket.Stage),
		TaxOpen: chosen != standardWord && chosen != "" || f.Problems["deposit_treatment"] != "" || f.Problems["deposit_sentence"] != ""}
	v.Treatment = treatments(v.Form.Field("deposit_treatment", "How it is taxed"))
	return v
}

func (s *Room) renderCredit(w http.ResponseWriter, r *http.Request, status int, f *page.Form) error {
	record, of, err := s.document(r)
	if err != nil {
		return err
	}
	b := builder{s: s, r: r, record: record, book: record.Book()}
	p, d := s.DocketPage(r, record.Head, "hand-over")
	v := creditView{Problems: f.Problems, Form: f.View(), Number: of.Number, Left: b.money(b.book.Left(of.Number).GrossMinor), Currency: of.Currency,
		Action: view.DocketURL(d.Number, "invoices/"+page.Itoa64(of.ID)+"/credit"), Back: view.DocketURL(d.Number, "invoices")}
	v.Lines = v.Form.Field("lines", "Lines")
	for i, l := range of.Lines {
		amount, err := l.AmountMinor(of.Rule.Rounding)
		if err != nil {
			return err
		}
		v.Lines.Options = append(v.Lines.Options, view.Option{Value: strconv.Itoa(i), Text: l.Description + ", " + b.money(amount)})
	}
	return page.Render(w, r, status, creditPage(p, d, v))
}
