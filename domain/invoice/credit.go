package invoice

import (
	"slices"
	"time"

	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/text"
)

// Crediting is what of a document a credit note takes off: all that is left, some of its lines, or a sum.
type Crediting struct {
	Lines      []int // of the document, by place
	GrossMinor int64 // a sum, tax included; 0 with no Lines is all that is left
	Why        string
}

// Credited makes the credit note that answers a document of which left is left. Nothing in it takes off more of any rate
// than that. The error is ErrOverCredited, estimate.ErrTooLarge, or ErrNothingCredited.
func Credited(of Document, left estimate.Totals, c Crediting, on time.Time) (Document, error) {
	d := of
	d.Kind, d.Number, d.Answers, d.Why, d.IssuedOn = Credit, "", of.Number, text.Line(c.Why), on
	d.SetOffs, d.Tax, d.Notes, d.SuppliedOn = nil, nil, nil, time.Time{}
	if len(c.Lines) > 0 {
		d.Lines = nil
		for i, l := range of.Lines {
			if slices.Contains(c.Lines, i) {
				d.Lines = append(d.Lines, l)
			}
		}
	} else {
		gross := c.GrossMinor
		if gross == 0 {
			gross = left.GrossMinor
		}
		// A sum holds its tax; where none is charged there is one rate, of nothing.
		d.Rule = DepositRule(of.Rule)
		d.Lines = nil
		for _, s := range Spread(gross, weightsOf(left)) {
			d.Lines = append(d.Lines, estimate.Line{Kind: estimate.Other, Description: of.Tongue.Say("paper.credit_of", "number", of.Number),
				QuantityMilli: 1000, UnitMinor: s.Minor, TaxBasisPoints: s.TaxBasisPoints})
		}
	}
	return d, d.within(left)
}

// within holds a credit note to what is left.
func (d *Document) within(left estimate.Totals) error {
	sum, err := d.Totals()
	switch {
	case err != nil:
		return err
	case sum.GrossMinor <= 0:
		return ErrNothingCredited
	case d.Treatment == Standard:
		if err := d.keepWithin(left); err != nil {
			return err
		}
		if sum, err = d.Totals(); err != nil {
			return err
		}
	}
	return MayCredit(left, sum)
}

// Settled is an issued document with what answers it, as the record has them.
type Settled struct {
	Document
	ID     int64
	Totals estimate.Totals
}

// Book is every document that was issued for one docket, oldest first.
type Book []Settled

// find gives the document of that number.
func (b Book) find(number string) (Settled, bool) {
	i := slices.IndexFunc(b, func(s Settled) bool { return s.Number == number })
	if i < 0 {
		return Settled{}, false
	}
	return b[i], true
}

// Left is what may still be credited of the document of that number: what credit notes have left of it, and of a deposit
// what no bill that stands takes off.
func (b Book) Left(number string) estimate.Totals {
	of, ok := b.find(number)
	if !ok || of.Kind == Credit {
		return estimate.Totals{}
	}
	left := of.Totals
	for _, s := range b {
		if s.Kind == Credit && s.Answers == number {
			left = left.Plus(Minus(s.Totals))
		}
		if s.Kind == Bill && b.stands(s) {
			for _, off := range s.SetOffs {
				if off.Number == number {
					left = left.Plus(Minus(off.Totals))
				}
			}
		}
	}
	return left
}

// stands reports whether a bill was not taken back whole by credit notes.
func (b Book) stands(bill Settled) bool {
	credited := int64(0)
	for _, s := range b {
		if s.Kind == Credit && s.Answers == bill.Number {
			credited += s.Totals.GrossMinor
		}
	}
	return credited == 0 || credited < bill.Totals.GrossMinor
}

// Standing is the bill that stands; ok is false where none was issued, or it was credited whole. A docket has one.
func (b Book) Standing() (bill Settled, ok bool) {
	for _, s := range slices.Backward(b) {
		if s.Kind == Bill && b.stands(s) {
			return s, true
		}
	}
	return Settled{}, false
}

// Billed reports whether a bill was ever issued: from then on what is owed follows from the documents.
func (b Book) Billed() bool {
	return slices.ContainsFunc(b, func(s Settled) bool { return s.Kind == Bill })
}

// Deposits are the deposit invoices of which anything is left, oldest first.
func (b Book) Deposits() []SetOff {
	var list []SetOff
	for _, s := range b {
		if s.Kind != Deposit {
			continue
		}
		if left := b.Left(s.Number); left.GrossMinor > 0 {
			list = append(list, SetOff{s.Number, left})
		}
	}
	return list
}

// Sum is what the documents come to by rate, credit notes taken off.
func (b Book) Sum() estimate.Totals {
	var sum estimate.Totals
	for _, s := range b {
		if s.Kind == Credit {
			sum = sum.Plus(Minus(s.Totals))
		} else {
			sum = sum.Plus(s.Totals)
		}
	}
	return sum
}

// Account is what the documents and payments come to.
func (b Book) Account(paidMinor, roundedMinor int64) Account {
	a := Account{PaidMinor: paidMinor, RoundedMinor: roundedMinor}
	for _, s := range b {
		if s.Kind == Credit {
			a.CreditedMinor += s.Totals.GrossMinor
		} else {
			a.BilledMinor += s.Totals.GrossMinor
		}
	}
	return a
}
