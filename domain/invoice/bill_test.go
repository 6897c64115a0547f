package invoice_test

import (
	"errors"
	"testing"
	"time"

	"pgregory.net/rapid"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/invoice"
)

var day = time.Date(2026, 12, 1, 0, 0, 0, 0, time.UTC)

// drawBasis is a docket with agreed lines, for some of which another sum is charged.
func drawBasis(t *rapid.T) invoice.Basis {
	b := invoice.Basis{Docket: "26-00001-O", Currency: rapid.SampledFrom([]string{"GBP", "CHF", "JPY", "KWD"}).Draw(t, "currency"), TaxName: "VAT",
		Seller: invoice.Party{Name: "Tern Quay Watch Works", TaxNumber: "1"}, Buyer: invoice.Party{Name: "Ada", TaxNumber: "2"}, Lines: drawLines(t),
		Rule: drawRule(t), UsualBasisPoints: 2000, Why: "as said"}
	sum, err := estimate.Sum(b.Lines, b.Rule)
	if err != nil {
		t.Fatal(err)
	}
	b.OwedMinor = sum.GrossMinor
	if rapid.Bool().Draw(t, "charged") {
		b.OwedMinor = rapid.Int64Range(0, 2*sum.GrossMinor+100).Draw(t, "charge")
	}
	return b
}

// issue keeps a document in the book as the record does, and holds its figures to what the database asks of them.
func issue(t *rapid.T, book invoice.Book, d invoice.Document, number string) invoice.Book {
	d.Number = number
	sum, err := d.Totals()
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range append(sum.ByRate, estimate.RateTotal{NetMinor: sum.NetMinor, TaxMinor: sum.TaxMinor, GrossMinor: sum.GrossMinor}) {
		if r.NetMinor < 0 || r.TaxMinor < 0 || r.GrossMinor != r.NetMinor+r.TaxMinor {
			t.Fatalf("%s %s: %+v of %+v", d.Kind, number, r, d)
		}
	}
	return append(book, invoice.Settled{Document: d, ID: int64(len(book) + 1), Totals: sum})
}

// A bill comes to exactly what is owed, whatever the rule of tax, and with the deposits before it and the credit notes of what is
// too much to the same; credited whole, nothing is left of anything.
func TestBillComesToWhatIsOwed(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		b := drawBasis(t)
		var book invoice.Book
		next := func() string { return string(rune('a' + len(book))) }
		for range rapid.IntRange(0, 2).Draw(t, "deposits") {
			b.Deposits = book.Deposits()
			d, err := b.DepositInvoice(rapid.Int64Range(1, max(1, b.OwedMinor)).Draw(t, "deposit"), invoice.Choices{}, day)
			if errors.Is(err, invoice.ErrDeposit) {
				continue
			}
			if err != nil {
				t.Fatal(err)
			}
			book = issue(t, book, d, next())
		}
		b.Deposits = book.Deposits()
		owed := b.OwedMinor
		if rapid.Bool().Draw(t, "less now") {
			b.OwedMinor = rapid.Int64Range(0, b.OwedMinor).Draw(t, "less")
			owed = b.OwedMinor
		}
		d, left, err := b.Bill(invoice.Choices{}, day)
		if err != nil {
			t.Fatal(err)
		}
		if whole, err := d.Whole(); err != nil || whole.GrossMinor != owed {
			t.Fatalf("%d is owed, the bill comes to %+v, %v", owed, whole, err)
		}
		book = issue(t, book, d, next())
		for _, s := range left {
			of := book[s.Number[0]-'a']
			credit, err := invoice.Credited(of.Document, book.Left(s.Number), invoice.Crediting{GrossMinor: s.Totals.GrossMinor, Why: "too much"}, day)
			if err != nil {
				t.Fatalf("what is left of %s: %v", s.Number, err)
			}
			book = issue(t, book, credit, next())
		}
		a := book.Account(0, 0)
		if got := a.OwedMinor(); got != owed {
			t.Fatalf("%d is owed, the documents come to %d", owed, got)
		}
		// Everything is taken back, in parts.
		for _, s := range book {
			if s.Kind == invoice.Credit {
				continue
			}
			for range 3 {
				rest := book.Left(s.Number)
				if rest.GrossMinor <= 0 {
					break
				}
				c := invoice.Crediting{Why: "all of it"}
				if rapid.Bool().Draw(t, "in parts") {
					c.GrossMinor = rapid.Int64Range(1, rest.GrossMinor).Draw(t, "part")
				}
				credit, err := invoice.Credited(s.Document, rest, c, day)
				if err != nil {
					t.Fatalf("%+v of %+v: %v", c, rest, err)
				}
				if sum, _ := credit.Totals(); c.GrossMinor > 0 && sum.GrossMinor != c.GrossMinor {
					t.Fatalf("%d was to be credited, not %d", c.GrossMinor, sum.GrossMinor)
				}
				book = issue(t, book, credit, next())
			}
			if _, err := invoice.Credited(s.Document, book.Left(s.Number), invoice.Crediting{GrossMinor: book.Left(s.Number).GrossMinor + 1, Why: "more"}, day); err == nil {
				t.Fatalf("more than is left of %s may be credited", s.Number)
			}
		}
	})
}

// A discount lowers the bill by what was given, on a line and on the whole. VAT goes with what is charged: 10 % off £120.00 with
// 20 % tax leaves £108.00, of which £18.00 is tax (HMRC Notice 700, section 7.3 and the VAT fraction of section 17).
func TestDiscounts(t *testing.T) {
	t.Parallel()
	b := invoice.Basis{Currency: "GBP", Rule: estimate.TaxRule{PricesIncludeTax: true}, OwedMinor: 12000,
		Lines: []estimate.Line{{Kind: estimate.Labour, Description: "Service", QuantityMilli: 1000, UnitMinor: 12000, TaxBasisPoints: 2000}}}
	for _, c := range []invoice.Choices{{OffBasisPoints: 1000}, {OffMinor: 1200}, {LineOffBasisPoints: map[int]int{0: 1000}}} {
		d, _, err := b.Bill(c, day)
		sum, _ := d.Totals()
		if err != nil || sum.GrossMinor != 10800 || sum.TaxMinor != 1800 {
			t.Errorf("%+v: %+v, %v", c, sum, err)
		}
	}
	if bad := (invoice.Choices{OffMinor: 5, OffBasisPoints: 5, Supplied: day.AddDate(0, 0, 1)}).Problems(day); bad["off"] == "" || bad["supplied_on"] == "" {
		t.Errorf("%v", bad)
	}
}

// A credit note by line takes off that line, at its own rate of tax.
func TestCreditByLine(t *testing.T) {
	t.Parallel()
	b := invoice.Basis{Currency: "CHF", Rule: estimate.TaxRule{}, OwedMinor: 10810 + 2050,
		Lines: []estimate.Line{{Kind: estimate.Labour, Description: "Service", QuantityMilli: 1000, UnitMinor: 10000, TaxBasisPoints: 810},
			{Kind: estimate.Part, Description: "Book", QuantityMilli: 1000, UnitMinor: 2000, TaxBasisPoints: 250}}}
	d, _, err := b.Bill(invoice.Choices{}, day)
	if err != nil {
		t.Fatal(err)
	}
	d.Number = "a"
	sum, _ := d.Totals()
	credit, err := invoice.Credited(d, sum, invoice.Crediting{Lines: []int{1}, Why: "came back"}, day)
	off, _ := credit.Totals()
	if err != nil || off.GrossMinor != 2050 || off.TaxMinor != 50 || len(credit.Lines) != 1 || credit.Answers != "a" {
		t.Errorf("%+v, %v", credit, err)
	}
	if _, err := invoice.Credited(d, invoice.Left(sum, off), invoice.Crediting{Lines: []int{1}, Why: "again"}, day); !errors.Is(err, invoice.ErrOverCredited) {
		t.Errorf("the same line again: %v", err)
	}
}

// The money of a docket follows the documents once a bill was issued, and the estimate before.
func TestMoneyFollowsTheDocuments(t *testing.T) {
	t.Parallel()
	f := docket.Facts{Estimate: docket.EstimateApproved, TotalMinor: 300, ApprovedMinor: 300}
	m := docket.Money{InvoicedMinor: 100, PaidMinor: 100}
	if due := m.DueMinor(docket.StageService, f); due != 200 {
		t.Errorf("with a deposit of 100 paid, %d is due of 300", due)
	}
	m.Billed, m.InvoicedMinor, m.RoundedMinor = true, 260, -2
	if due := m.DueMinor(docket.StageReady, f); due != 158 {
		t.Errorf("billed 260, paid 100, forgave 2: %d", due)
	}
}
