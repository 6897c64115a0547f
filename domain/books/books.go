// Package books turns what was billed, paid, moved and counted into double entries: accounts by rate of tax and by way of
// payment, which balance voucher by voucher to the minor unit.
package books

import (
	"cmp"
	"maps"
	"slices"
	"strconv"
	"strings"
	"time"

	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/invoice"
	"ledgerwheel/domain/till"
)

// Account names what an account is for; Sales, Tax and Way make those of a rate of tax and a way of payment.
type Account string

// The accounts that every shop has.
const (
	Debtors      Account = "debtors"       // what customers owe
	Prepaid      Account = "prepaid"       // deposits that were invoiced and not set off yet, without tax
	Bank         Account = "bank"          // where the till's cash goes and its change comes from
	Expenses     Account = "expenses"      // paid out of the till
	LoanDeposits Account = "loan-deposits" // held for what was lent
	Kept         Account = "kept"          // of such deposits, for harm
	Drawn        Account = "drawn"         // taken out by the owner
	Difference   Account = "difference"    // cash counted over or under the book
	Rounding     Account = "rounding"      // cash rounded to its least coin
	Before       Account = "before"        // money that passed before the books began
)

// Sales is the account of sales at a rate of tax in basis points, Tax that of the tax itself, Way that of a way of payment.
func Sales(basisPoints int) Account { return Account("sales:" + strconv.Itoa(basisPoints)) }
func Tax(basisPoints int) Account   { return Account("tax:" + strconv.Itoa(basisPoints)) }
func Way(w till.Way) Account        { return Account("way:" + string(w)) }

// Untaxed is the account of sales on which no tax was charged for a reason that the document gives: returns of tax ask for
// them by themselves, beside what is taxed at 0 %.
func Untaxed(t invoice.Treatment) Account { return Account("sales:" + string(t)) }

// Words says a in plain words, as long as the owner gave it no name.
func (a Account) Words() string {
	kind, of, _ := strings.Cut(string(a), ":")
	rate, _ := strconv.Atoi(of)
	switch {
	case a == Untaxed(invoice.ReverseCharge):
		return "Sales by reverse charge"
	case a == Untaxed(invoice.Exempt):
		return "Sales exempt from tax"
	case kind == "sales":
		return "Sales at " + estimate.FormatPercent(rate) + " % tax"
	case kind == "tax":
		return "Tax at " + estimate.FormatPercent(rate) + " %"
	case a == Way(till.Cash):
		return "Cash in the till"
	case kind == "way" && of == "card":
		return "Card payments"
	case kind == "way" && of == "transfer":
		return "Bank transfers"
	case kind == "way":
		return "Other payments"
	}
	return map[Account]string{Debtors: "Customers", Prepaid: "Deposits of customers", Bank: "Bank", Expenses: "Paid out of the till",
		LoanDeposits: "Deposits for what is lent", Kept: "Kept of deposits for what is lent", Drawn: "Taken out by the owner", Difference: "Differences of the till",
		Rounding: "Cash rounding", Before: "Paid before the books began"}[a]
}

// Usual lists the accounts that a shop with these rates of tax needs, in the order of a form.
func Usual(rates []int) []Account {
	all := []Account{Debtors}
	for _, r := range slices.Sorted(slices.Values(rates)) {
		all = append(all, Sales(r), Tax(r))
	}
	all = append(all, Untaxed(invoice.ReverseCharge), Untaxed(invoice.Exempt))
	for _, w := range []till.Way{till.Cash, "card", "transfer", "other"} {
		all = append(all, Way(w))
	}
	return append(all, Prepaid, Bank, Expenses, LoanDeposits, Kept, Drawn, Difference, Rounding, Before)
}

// Invoice is a document that was issued, as far as the books ask. Rates of a credit note are what it takes off, above zero.
type Invoice struct {
	On         time.Time
	Number     string
	Kind       invoice.Kind
	Treatment  invoice.Treatment
	OfDeposit  bool // a credit note that answers a deposit invoice
	Rates      []estimate.RateTotal
	SetOffs    []estimate.RateTotal // deposits that were taken off, by rate
	GrossMinor int64
}

// Payment is money that was taken, or below zero given back.
type Payment struct {
	On           time.Time
	Docket       string
	Way          till.Way
	Minor        int64
	RoundedMinor int64 // of Minor, what cash rounding added, below zero for forgave
	// Earlier is one of before the books began, on the day on which what it paid was first billed.
	Earlier bool
}

// Move is cash that moved without a payment, and Count the difference that a count found.
type Move struct {
	On    time.Time
	Kind  till.MoveKind
	Minor int64
	Note  string
}
type Count struct {
	On    time.Time
	Minor int64
}

// Facts is what the books of a span of days are made of, in one currency.
type Facts struct {
	Invoices []Invoice
	Payments []Payment
	Moves    []Move
	Counts   []Count
}

// Line is one side of a double entry: exactly one of debit and credit is above zero.
type Line struct {
	On          time.Time
	Voucher     string // what the line belongs to; the lines of a voucher balance
	Text        string
	Account     Account
	DebitMinor  int64
	CreditMinor int64
}

// voucher gathers the lines of one.
type voucher struct {
	on         time.Time
	name, text string
	lines      []Line
}

// debit puts an amount on an account; below zero it is a credit.
func (v *voucher) debit(a Account, minor int64) {
	l := Line{On: v.on, Voucher: v.name, Text: v.text, Account: a, DebitMinor: minor}
	if minor < 0 {
		l.DebitMinor, l.CreditMinor = 0, -minor
	}
	if minor != 0 {
		v.lines = append(v.lines, l)
	}
}

func (v *voucher) credit(a Account, minor int64) { v.debit(a, -minor) }

// Lines are the double entries of f, day by day, those of a day as invoices, payments, moves, counts.
func Lines(f Facts) []Line {
	var all []Line
	for _, i := range f.Invoices {
		all = append(all, i.lines()...)
	}
	for _, p := range f.Payments {
		all = append(all, p.lines()...)
	}
	for _, m := range f.Moves {
		all = append(all, m.lines()...)
	}
	for _, c := range f.Counts {
		all = append(all, c.lines()...)
	}
	slices.SortStableFunc(all, func(a, b Line) int { return a.On.Compare(b.On) })
	return all
}

// lines of a document: customers owe it; sales and tax get it by rate. A deposit is no sale until the bill that takes it
// off. A credit note goes the other way.
func (i Invoice) lines() []Line {
	v := voucher{on: i.On, name: i.Number, text: i.Kind.Words()}
	sign := int64(1)
	if i.Kind == invoice.Credit {
		sign = -1
	}
	v.debit(Debtors, sign*i.GrossMinor)
	sales, tax := map[int]int64{}, map[int]int64{}
	prepaid := int64(0)
	for _, r := range i.Rates {
		sales[r.TaxBasisPoints] += r.NetMinor
		tax[r.TaxBasisPoints] += r.TaxMinor
	}
	for _, s := range i.SetOffs {
		sales[s.TaxBasisPoints] += s.NetMinor
		prepaid += s.NetMinor
	}
	for _, r := range slices.Sorted(maps.Keys(sales)) {
		if i.Kind == invoice.Deposit || i.OfDeposit {
			v.credit(Prepaid, sign*sales[r])
		} else {
			v.credit(i.sales(r), sign*sales[r])
		}
		v.credit(Tax(r), sign*tax[r])
	}
	v.debit(Prepaid, sign*prepaid)
	return v.lines
}

// sales is the account of what was sold at a rate.
func (i Invoice) sales(basisPoints int) Account {
	if i.Treatment != invoice.Standard {
		return Untaxed(i.Treatment)
	}
	return Sales(basisPoints)
}

func (p Payment) lines() []Line {
	v := voucher{on: p.On, name: p.Docket, text: "payment"}
	if p.Minor < 0 {
		v.text = "given back"
	}
	if p.Earlier {
		v.text = "paid before the books began"
		v.debit(Before, p.Minor)
	} else {
		v.debit(Way(p.Way), p.Minor)
	}
	v.credit(Debtors, p.Minor-p.RoundedMinor)
	v.credit(Rounding, p.RoundedMinor)
	return v.lines
}

// against is the other account of a move of the till's cash.
var against = map[till.MoveKind]Account{till.Float: Bank, till.Banked: Bank, till.Expense: Expenses, till.Deposits: LoanDeposits, till.Kept: Kept, till.Drawn: Drawn}

func (m Move) lines() []Line {
	v := voucher{on: m.On, name: "till", text: m.Kind.Words()}
	if m.Note != "" {
		v.text += ": " + m.Note
	}
	v.debit(Way(till.Cash), m.Minor)
	v.credit(against[m.Kind], m.Minor)
	return v.lines
}

func (c Count) lines() []Line {
	v := voucher{on: c.On, name: "till", text: "counted"}
	v.debit(Way(till.Cash), c.Minor)
	v.credit(Difference, c.Minor)
	return v.lines
}

// Sum is what an account got in all.
type Sum struct {
	Account                 Account
	DebitMinor, CreditMinor int64
}

// Sums adds lines up by account, in the order of their names.
func Sums(lines []Line) []Sum {
	at := map[Account]*Sum{}
	for _, l := range lines {
		if at[l.Account] == nil {
			at[l.Account] = &Sum{Account: l.Account}
		}
		at[l.Account].DebitMinor += l.DebitMinor
		at[l.Account].CreditMinor += l.CreditMinor
	}
	var all []Sum
	for _, s := range at {
		all = append(all, *s)
	}
	slices.SortFunc(all, func(a, b Sum) int { return cmp.Compare(a.Account, b.Account) })
	return all
}

// ByDay adds lines up by day and account: one voucher a day.
func ByDay(lines []Line) []Line {
	var all []Line
	for len(lines) > 0 {
		n := 0
		for n < len(lines) && lines[n].On.Equal(lines[0].On) {
			n++
		}
		for _, s := range Sums(lines[:n]) {
			v := voucher{on: lines[0].On, name: lines[0].On.Format(time.DateOnly), text: "day"}
			v.debit(s.Account, s.DebitMinor)
			v.credit(s.Account, s.CreditMinor)
			all = append(all, v.lines...)
		}
		lines = lines[n:]
	}
	return all
}

// Totals is what a span of days came to, in minor units.
type Totals struct {
	BilledMinor, CreditedMinor int64 // with tax
	TaxByRate                  []estimate.RateTotal
	Takings                    []till.Taking // by way, less what was given back
	BankedMinor                int64         // taken to the bank, less change that came from it
	DifferenceMinor            int64
	RoundedMinor               int64
	// OwedMinor is by how much that raised what customers owe.
	OwedMinor int64
}

// Total adds f up.
func Total(f Facts) Totals {
	var t Totals
	var sum estimate.Totals
	for _, i := range f.Invoices {
		rates := estimate.Totals{ByRate: i.Rates}
		if i.Kind == invoice.Credit {
			t.CreditedMinor += i.GrossMinor
			rates = invoice.Minus(rates)
		} else {
			t.BilledMinor += i.GrossMinor
		}
		sum = sum.Plus(rates)
	}
	t.TaxByRate = sum.ByRate
	d := till.Day{}
	paid := int64(0)
	for _, p := range f.Payments {
		paid += p.Minor - p.RoundedMinor
		if !p.Earlier {
			d.Takings = append(d.Takings, till.Taking{Way: p.Way, Minor: p.Minor})
			t.RoundedMinor += p.RoundedMinor
		}
	}
	t.Takings = d.ByWay()
	for _, m := range f.Moves {
		if against[m.Kind] == Bank {
			t.BankedMinor -= m.Minor
		}
	}
	for _, c := range f.Counts {
		t.DifferenceMinor += c.Minor
	}
	t.OwedMinor = t.BilledMinor - t.CreditedMinor - paid
	return t
}

// Named is an account as the owner names it.
type Named struct {
	Account Account
	Number  string
	Name    string
}

const (
	maxNumber = 20
	maxName   = 60
)

// NamedProblems says, by form field, what stops accounts being named so: "number-" or "name-" and the account.
func NamedProblems(list []Named) map[string]string {
	bad := map[string]string{}
	for _, n := range list {
		if len(n.Number) > maxNumber || strings.ContainsFunc(n.Number, func(r rune) bool { return r < '!' || r > '~' }) {
			bad["number-"+string(n.Account)] = "Use at most 20 letters, digits and signs, without a space."
		}
		if len([]rune(n.Name)) > maxName {
			bad["name-"+string(n.Account)] = "Keep the name to 60 characters."
		}
	}
	return bad
}
