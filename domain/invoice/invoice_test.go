package invoice_test

import (
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/invoice"
	"ledgerwheel/domain/tongue"
)

// Two series that are both kept never give one number, whatever the years.
func TestSeriesNeverMeet(t *testing.T) {
	t.Parallel()
	before := rapid.StringOfN(rapid.SampledFrom([]rune("AB1-/ {}")), 0, 6, -1)
	drawSeries := func(t *rapid.T, id int64) invoice.Series {
		b := before.Draw(t, "before")
		if rapid.Bool().Draw(t, "year") {
			at := rapid.IntRange(0, len(b)).Draw(t, "at")
			b = b[:at] + "{year}" + b[at:]
		}
		return invoice.Series{ID: id, Name: "s", Before: b, Digits: rapid.IntRange(1, 4).Draw(t, "digits"),
			Yearly: rapid.Bool().Draw(t, "yearly")}
	}
	kept, refused := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		one, other := drawSeries(t, 1), drawSeries(t, 2)
		if len(one.Problems(nil)) > 0 || len(other.Problems([]invoice.Series{one})) > 0 {
			refused++
			return
		}
		kept++
		given := map[string]string{}
		for _, s := range []invoice.Series{one, other} {
			for _, year := range []int{1111, 2026, 2027} {
				for n := 1; n <= 30; n++ {
					number := s.Number(year, n)
					is := fmt.Sprintf("series %d, number %d", s.ID, n)
					if s.Yearly {
						is += fmt.Sprintf(" of %d", year)
					}
					if strings.Contains(s.Before, "{year}") && !s.Yearly {
						is = fmt.Sprintf("series %d, year %d, number %d", s.ID, year, n) // a number runs on over the years
					}
					if was, ok := given[number]; ok && was != is {
						t.Fatalf("%q is %s and %s", number, was, is)
					}
					given[number] = is
				}
			}
		}
	})
	t.Logf("%d pairs kept, %d refused", kept, refused)
}

func TestSeriesNumbers(t *testing.T) {
	t.Parallel()
	yearly := invoice.Series{Name: "Invoices", Before: "TQ{year}-", Digits: 5, Yearly: true}
	if got := yearly.Number(2027, 17); got != "TQ2027-00017" || len(yearly.Problems(nil)) > 0 {
		t.Errorf("%q, %v", got, yearly.Problems(nil))
	}
	for _, bad := range []invoice.Series{{Name: "a", Before: "{year}", Digits: 4, Yearly: true}, {Name: "a", Before: "A", Digits: 4, Yearly: true},
		{Name: "a", Before: "{month}-", Digits: 4}, {Name: "a", Before: "R1", Digits: 4}, {Name: "a", Before: "R-", Digits: 0},
		{Name: "a", Before: "{year}-{year}-", Digits: 4}, {Name: "", Before: "R-", Digits: 4}, {Name: "a", Before: "é-", Digits: 4}} {
		if len(bad.Problems(nil)) == 0 {
			t.Errorf("%+v may be kept", bad)
		}
	}
	if why := (invoice.Series{ID: 2, Name: "b", Before: "tq2026-", Digits: 2}).Problems([]invoice.Series{yearly})["before"]; why == "" {
		t.Error("a series that can meet the yearly one may be kept")
	}
}

func drawLines(t *rapid.T) []estimate.Line {
	var lines []estimate.Line
	for range rapid.IntRange(1, 6).Draw(t, "lines") {
		lines = append(lines, estimate.Line{Kind: estimate.Labour, Description: "work", QuantityMilli: rapid.Int64Range(1, 5000).Draw(t, "quantity"),
			UnitMinor: rapid.Int64Range(0, 50_000).Draw(t, "price"), TaxBasisPoints: rapid.SampledFrom([]int{0, 250, 770, 810, 1900, 2000}).Draw(t, "rate")})
	}
	return lines
}

func drawRule(t *rapid.T) estimate.TaxRule {
	return estimate.TaxRule{PricesIncludeTax: rapid.Bool().Draw(t, "inclusive"), PerLine: rapid.Bool().Draw(t, "per line"),
		Rounding: rapid.SampledFrom(estimate.Roundings).Draw(t, "rounding")}
}

// A discount on the whole comes to exactly what was given, and to each rate its share to within one minor unit.
func TestDiscountIsSpread(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		lines, rule := drawLines(t), drawRule(t)
		sum, err := estimate.Sum(lines, rule)
		if err != nil {
			t.Fatal(err)
		}
		priced := func(s estimate.Totals) int64 {
			if rule.PricesIncludeTax {
				return s.GrossMinor
			}
			return s.NetMinor
		}
		whole := priced(sum)
		if whole == 0 {
			return
		}
		off := rapid.Int64Range(1, whole).Draw(t, "off")
		minus, err := invoice.DiscountLines(lines, rule, off, "discount")
		if err != nil {
			t.Fatal(err)
		}
		after, err := estimate.Sum(append(lines, minus...), rule)
		if err != nil || priced(after) != whole-off {
			t.Fatalf("%d less %d is %d: %v", whole, off, priced(after), err)
		}
		for _, l := range minus {
			base := int64(0)
			for _, r := range sum.ByRate {
				if r.TaxBasisPoints == l.TaxBasisPoints {
					base = r.NetMinor
					if rule.PricesIncludeTax {
						base = r.GrossMinor
					}
				}
			}
			if exact := float64(off) * float64(base) / float64(whole); float64(-l.UnitMinor)-exact > 1 || exact-float64(-l.UnitMinor) > 1 {
				t.Fatalf("the rate of %d bears %d of %d, its share is %.3f", l.TaxBasisPoints, -l.UnitMinor, off, exact)
			}
		}
	})
}

// Deposits and the invoice that takes them off come to what was agreed, in the whole and in the tax of each rate, and a
// credit note over what is left takes back the rest, to the minor unit.
func TestDepositsAndCreditsComeToTheWhole(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		lines, rule := drawLines(t), drawRule(t)
		agreed, err := estimate.Sum(lines, rule)
		if err != nil {
			t.Fatal(err)
		}
		if agreed.GrossMinor < 2 {
			return
		}
		bill := invoice.Document{Kind: invoice.Bill, Currency: "EUR", Rule: rule, Lines: lines}
		deposits := estimate.Totals{}
		for range rapid.IntRange(0, 3).Draw(t, "deposits") {
			left := agreed.GrossMinor - deposits.GrossMinor
			if left < 1 {
				break
			}
			asked := rapid.Int64Range(1, left).Draw(t, "deposit")
			dl, err := invoice.DepositLines(invoice.Left(agreed, deposits), asked, "deposit")
			if err != nil {
				t.Fatal(err)
			}
			d := invoice.Document{Kind: invoice.Deposit, Currency: "EUR", Rule: invoice.DepositRule(rule), Lines: dl}
			sum, err := d.Totals()
			if err != nil || sum.GrossMinor != asked {
				t.Fatalf("a deposit of %d is %d: %v", asked, sum.GrossMinor, err)
			}
			deposits = deposits.Plus(sum)
			bill.SetOffs = append(bill.SetOffs, invoice.SetOff{Number: "d", Totals: sum})
		}
		last, err := bill.Totals()
		if err != nil {
			t.Fatal(err)
		}
		whole := deposits.Plus(last)
		if whole.GrossMinor != agreed.GrossMinor || whole.TaxMinor != agreed.TaxMinor || whole.NetMinor != agreed.NetMinor {
			t.Fatalf("%+v and %+v are not %+v", deposits, last, agreed)
		}
		if left := invoice.Left(whole, agreed); left.GrossMinor != 0 || left.TaxMinor != 0 || invoice.MayCredit(agreed, agreed) != nil {
			t.Fatalf("credited whole, %+v is left", left)
		}
		one := estimate.Totals{GrossMinor: 1, NetMinor: 1, ByRate: []estimate.RateTotal{{TaxBasisPoints: agreed.ByRate[0].TaxBasisPoints, NetMinor: 1, GrossMinor: 1}}}
		if err := invoice.MayCredit(invoice.Left(agreed, agreed), one); !errors.Is(err, invoice.ErrOverCredited) {
			t.Fatalf("one more: %v", err)
		}
	})
}

func TestUntaxedInvoicesSayWhy(t *testing.T) {
	t.Parallel()
	day := time.Date(2027, 3, 1, 0, 0, 0, 0, time.UTC)
	d := invoice.Document{Kind: invoice.Bill, Number: "TQ-1", IssuedOn: day, Seller: invoice.Party{Name: "Tern Quay", TaxNumber: "GB 1"},
		Buyer: invoice.Party{Name: "Harbour Auctions"}, Currency: "GBP", Rule: estimate.TaxRule{PricesIncludeTax: true}, Treatment: invoice.ReverseCharge,
		Lines: []estimate.Line{{Kind: estimate.Labour, Description: "Service", QuantityMilli: 1000, UnitMinor: 12000, TaxBasisPoints: 2000}}}
	bad := d.Problems()
	if !strings.Contains(bad["treatment"], "customer's page") || bad["sentence"] == "" {
		t.Errorf("without the buyer's number and a sentence: %v", bad)
	}
	d.Seller.TaxNumber, d.Buyer.TaxNumber = "", "DE136695976"
	if bad := d.Problems(); !strings.Contains(bad["treatment"], "settings") {
		t.Errorf("without the shop's number: %v", bad)
	}
	d.Seller.TaxNumber = "DE136695976"
	if bad := d.Problems(); !strings.Contains(bad["treatment"], "one country") {
		t.Errorf("both registered in one country: %v", bad)
	}
	d.Seller.TaxNumber = "GB980780684"
	d.Sentence = "Reverse charge"
	if bad := d.Problems(); len(bad) > 0 {
		t.Errorf("%v", bad)
	}
	// 120.00 with 20 % is 100.00 without: the VAT fraction of one sixth (HMRC Notice 700, section 17).
	if sum, err := d.Totals(); err != nil || sum.GrossMinor != 10000 || sum.TaxMinor != 0 {
		t.Errorf("%+v, %v", sum, err)
	}
	d.Kind, d.Answers = invoice.Credit, ""
	if bad := d.Problems(); bad["answers"] == "" || bad["why"] == "" {
		t.Errorf("a credit note that answers nothing: %v", bad)
	}
}

// The words that must stand on an invoice by reverse charge, in each language of the papers: article 226(11a) of the VAT Directive
// in its English, German (also section 14a(5) of the German Umsatzsteuergesetz) and French text.
func TestWordsOfReverseCharge(t *testing.T) {
	t.Parallel()
	for in, law := range map[tongue.Tongue]string{tongue.English: "Reverse charge", tongue.German: "Steuerschuldnerschaft des Leistungsempfängers",
		tongue.French: "Autoliquidation"} {
		for typed, want := range map[string]string{"": law + ".", " Article 196. ": law + ". Article 196.", strings.ToUpper(law) + " here": strings.ToUpper(law) + " here"} {
			c := invoice.Choices{Treatment: invoice.ReverseCharge, Sentence: typed}
			if got := c.Tidied(in).Sentence; got != want {
				t.Errorf("%s, %q typed: %q, want %q", in, typed, got, want)
			}
		}
	}
}
