package invoices_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/invoice"
	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/tongue"
	"ledgerwheel/web/counter/invoices"
	"ledgerwheel/web/paper"
)

var under = shop.Shop{Name: "Tern Quay", Address: "2 Quay Steps\nSaltby", Phone: "01632 960 118", Locale: "en-GB", TimeZone: "Europe/London", Currency: "GBP", TaxName: "VAT"}

// billed is a bill over a service of £150.00 and a glass of £26.00 with 20 % in them, and a book at no tax, less a deposit of £60.00.
func billed() invoice.Document {
	deposit, err := estimate.Sum([]estimate.Line{{QuantityMilli: 1000, UnitMinor: 6000, TaxBasisPoints: 2000}}, estimate.TaxRule{PricesIncludeTax: true})
	if err != nil {
		panic(err)
	}
	day := time.Date(2026, 11, 24, 0, 0, 0, 0, time.UTC)
	return invoice.Document{Kind: invoice.Bill, Number: "2026-0412", IssuedOn: day, SuppliedOn: day.AddDate(0, 0, -2),
		Seller:    invoice.Party{Name: "Tern Quay", Address: "2 Quay Steps\nSaltby", TaxNumber: "XX 123"},
		Buyer:     invoice.Party{Name: "Gullmark Ltd", Address: "1 Mole End", TaxNumber: "YY 456"},
		Reference: "PO 77", Docket: "26-00042-6", About: "Halvorsen Meridian", TaxName: "VAT", Currency: "GBP",
		Notes: []string{"Tested at 5 bar."}, Rule: estimate.TaxRule{PricesIncludeTax: true},
		Lines: []estimate.Line{
			{Kind: estimate.Labour, Description: "Full service", QuantityMilli: 1000, UnitMinor: 15000, TaxBasisPoints: 2000},
			{Kind: estimate.Part, Description: "Glass", QuantityMilli: 1000, UnitMinor: 2600, TaxBasisPoints: 2000},
			{Kind: estimate.Other, Description: "Booklet", QuantityMilli: 2000, UnitMinor: 350}},
		SetOffs: []invoice.SetOff{{Number: "2026-0398", Totals: deposit}}}
}

func rows(inv paper.Invoice) []string {
	var list []string
	for _, t := range inv.Totals {
		list = append(list, t.Label+": "+t.Amount)
	}
	return list
}

// TestDocumentPaper holds the sums below the lines to figures worked out by hand: of £176.00 with 20 % in it less £60.00 of
// deposit £116.00 is left, of which 116 / 6 = £19.33 is tax; with the booklets £123.00 is due.
func TestDocumentPaper(t *testing.T) {
	inv, err := invoices.DocumentPaper(billed(), under, invoices.Standing{DueMinor: 12300})
	if err != nil {
		t.Fatal(err)
	}
	want := []string{"Lines come to: £183.00", "Less deposit, invoice 2026-0398: \u2212£60.00", "VAT 0 % on £7.00, included: £0.00",
		"VAT 20 % on £96.67, included: £19.33", "Total: £123.00"}
	if got := rows(inv); !slices.Equal(got, want) {
		t.Errorf("totals are\n%q, want\n%q", got, want)
	}
	if inv.Number != "2026-0412" || inv.Title != "Invoice" || inv.Due != "£123.00" || inv.Settled {
		t.Errorf("it says %q %q, due %q, settled %t", inv.Title, inv.Number, inv.Due, inv.Settled)
	}
	if inv.Issuer.TaxNumber != "VAT no. XX 123" || !slices.Contains(inv.Customer, "VAT no. YY 456") {
		t.Errorf("tax numbers are %q and within %q", inv.Issuer.TaxNumber, inv.Customer)
	}
	facts := []paper.Field{{Label: "Work done", Value: "Sun 22 Nov 2026"}, {Label: "Your order", Value: "PO 77"}}
	if !slices.Equal(inv.Facts, facts) {
		t.Errorf("facts are %q, want %q", inv.Facts, facts)
	}
}

// TestDocumentWithoutTax takes the tax out of prices that hold it, line by line as the sum goes.
func TestDocumentWithoutTax(t *testing.T) {
	d := billed()
	d.SetOffs, d.Treatment, d.Sentence = nil, invoice.ReverseCharge, "Reverse charge: the buyer owes the tax."
	inv, err := invoices.DocumentPaper(d, under, invoices.Standing{DueMinor: 15367})
	if err != nil {
		t.Fatal(err)
	}
	want := []string{"Lines come to: £183.00", "VAT not charged: \u2212£29.33", "Total: £153.67"}
	if got := rows(inv); !slices.Equal(got, want) {
		t.Errorf("totals are\n%q, want\n%q", got, want)
	}
	for _, l := range inv.Lines {
		if l.Tax != "none" {
			t.Errorf("the line of %s says tax of %s", l.Description, l.Tax)
		}
	}
	if inv.Sentence != d.Sentence {
		t.Errorf("the sentence is %q", inv.Sentence)
	}
	d.Rule.PricesIncludeTax = false
	if inv, err = invoices.DocumentPaper(d, under, invoices.Standing{}); err != nil || !slices.Equal(rows(inv), []string{"Total: £183.00"}) {
		t.Errorf("with prices that hold no tax: %q, %v", rows(inv), err)
	}
}

// TestDocumentsInEveryLanguage sets every kind in every language and by both ways of writing prices.
func TestDocumentsInEveryLanguage(t *testing.T) {
	for _, kind := range invoice.Kinds {
		for _, say := range tongue.All {
			for _, includes := range []bool{true, false} {
				d := billed()
				d.Kind, d.Tongue, d.Rule.PricesIncludeTax = kind, say, includes
				if kind != invoice.Bill {
					d.SetOffs = nil
				}
				if kind == invoice.Credit {
					d.Answers, d.Why = "2026-0390", "Glass was charged twice."
				}
				inv, err := invoices.DocumentPaper(d, under, invoices.Standing{DueMinor: 12300})
				if err != nil {
					t.Fatal(err)
				}
				pdf, err := paper.PDF(inv, d.IssuedOn, nil)
				if err != nil || len(pdf) == 0 {
					t.Fatalf("%s in %s: %v", kind, say, err)
				}
				all := strings.Join(rows(inv), "\n") + inv.Title + inv.DueWords + inv.DueDate
				for _, f := range inv.Facts {
					all += f.Label
				}
				if strings.Contains(all, "paper.") || inv.Title == "" {
					t.Errorf("%s in %s prints a key: %s", kind, say, all)
				}
				if kind == invoice.Credit && (inv.DueWords == "" || len(inv.Payments) > 0 || !strings.Contains(all, inv.DueWords)) {
					t.Errorf("a credit note in %s asks for money: %+v", say, inv)
				}
			}
		}
	}
}
