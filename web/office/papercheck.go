package office

import (
	"fmt"
	"strings"
	"time"

	"ledgerwheel/domain/money"
	"ledgerwheel/domain/shop"
	"ledgerwheel/web/page"
	"ledgerwheel/web/paper"
	"ledgerwheel/web/paper/typeface"
)

// samplePaper is a paper as it would print with the settings that are typed, with invented content.
type samplePaper struct {
	Name   string
	of     paper.Paper
	Sheets paper.Sheets
}

// samplePapers are the papers that the settings stand on.
func samplePapers(sh shop.Shop) ([]samplePaper, error) {
	list := []samplePaper{{Name: "claim ticket", of: sampleTicket(sh)}, {Name: "estimate", of: sampleEstimate(sh)},
		{Name: "invoice", of: sampleInvoice(sh)}, {Name: "warranty card", of: sampleCard(sh)}}
	for i := range list {
		var err error
		if list[i].Sheets, err = paper.Set(list[i].of); err != nil {
			return nil, fmt.Errorf("sample %s: %w", list[i].Name, err)
		}
	}
	return list, nil
}

// Says is the paper's name and, where it runs on, how many pages it takes.
func (p samplePaper) Says() string {
	if p.Sheets.Overflows() {
		return fmt.Sprintf("%s, %d pages", p.Name, p.Sheets.Pages())
	}
	return p.Name
}

// settingTexts are the settings that stand on papers: each with how to take it away, to see what it alone leads to.
var settingTexts = []struct {
	field, words string
	of           func(*shop.Shop) *string
	on           []string // the papers it stands on
}{
	{"name", "this name", func(sh *shop.Shop) *string { return &sh.Name },
		[]string{"claim ticket", "estimate", "invoice", "warranty card"}},
	{"address", "this address", func(sh *shop.Shop) *string { return &sh.Address },
		[]string{"claim ticket", "estimate", "invoice", "warranty card"}},
	{"phone", "this telephone number", func(sh *shop.Shop) *string { return &sh.Phone },
		[]string{"claim ticket", "estimate", "invoice", "warranty card"}},
	{"email", "this address", func(sh *shop.Shop) *string { return &sh.Email },
		[]string{"claim ticket", "estimate", "invoice", "warranty card"}},
	{"tax_name", "this name", func(sh *shop.Shop) *string { return &sh.TaxName }, []string{"estimate", "invoice"}},
	{"ticket_terms", "these terms", func(sh *shop.Shop) *string { return &sh.TicketTerms }, []string{"claim ticket"}},
	{"warranty_covers", "these words", func(sh *shop.Shop) *string { return &sh.WarrantyCovers },
		[]string{"warranty card"}},
}

// paperWarnings say, by form field, what a text leads to on the papers it stands on: a further page, or a character
// that won't print.
func paperWarnings(sh shop.Shop, papers []samplePaper) map[string][]string {
	warn := map[string][]string{}
	for _, t := range settingTexts {
		if words := page.LackingWords(typeface.Lacking(*t.of(&sh))); words != "" {
			warn[t.field] = append(warn[t.field], "On the "+strings.Join(t.on, ", ")+": "+words)
		}
	}
	for _, p := range papers {
		if !p.Sheets.Overflows() {
			continue
		}
		field, words := longest(sh, p.Name)
		warn[field] = append(warn[field], fmt.Sprintf("With %s the %s takes %d pages.", words, p.Name, p.Sheets.Pages()))
	}
	return warn
}

// longest is the text of a paper that takes most room.
func longest(sh shop.Shop, name string) (field, words string) {
	most := -1
	for _, t := range settingTexts {
		for _, on := range t.on {
			if n := len([]rune(*t.of(&sh))); on == name && n > most {
				most, field, words = n, t.field, t.words
			}
		}
	}
	return field, words
}

// What is invented for the sample papers.
const (
	sampleDocket   = "26-00143-K"
	sampleCustomer = "Rosalind Achterberg"
	sampleWatch    = "Halvorsen & Pike Meridian"
	sampleURL      = "https://shop.example/w/OHCER7N3NAKDTFZI"
)

var sampleDay = time.Date(2026, 11, 24, 9, 30, 0, 0, time.UTC)

func sampleDetails() []paper.Field {
	return []paper.Field{{Label: "Reference", Value: "MR-214"}, {Label: "Serial", Value: "HP 0418822"}}
}

func sampleTicket(sh shop.Shop) paper.ClaimTicket {
	return paper.ClaimTicket{Issuer: page.IssuerOf(sh), Lang: sh.Locale, Docket: sampleDocket, Code: sampleURL,
		Customer: sampleCustomer, Watch: sampleWatch, Details: sampleDetails(), Complaint: "Stops overnight.",
		Condition: "Light scratches on the crystal near 4.", Received: sampleDate(), Promised: sampleDate(),
		DeclaredValue: sampleAmount(sh, 145000), ApprovalLimit: sampleAmount(sh, 18000),
		Terms: page.NonEmptyLines(sh.TicketTerms), TakenInBy: "Ines Calloway"}
}

func sampleDate() string { return sampleDay.Format("Mon 2 Jan 2006") }

func sampleAmount(sh shop.Shop, minor int64) string {
	return money.Format(minor, sh.Currency, sh.Locale)
}

// sampleLedger is one line and what it comes to, its tax as the settings name it.
func sampleLedger(sh shop.Shop) ([]paper.Line, []paper.Total) {
	amount := sampleAmount(sh, 16500)
	return []paper.Line{{Description: "Full service", Quantity: "1", UnitPrice: amount, Amount: amount}},
		[]paper.Total{{Label: sh.TaxName, Amount: sampleAmount(sh, 0)}, {Label: "Total", Amount: amount, Strong: true}}
}

func sampleEstimate(sh shop.Shop) paper.Estimate {
	lines, totals := sampleLedger(sh)
	return paper.Estimate{Issuer: page.IssuerOf(sh), Lang: sh.Locale, Docket: sampleDocket, Revision: "1",
		Date: sampleDate(), ValidUntil: sampleDay.AddDate(0, 0, sh.EstimateDays).Format("Mon 2 Jan 2006"),
		Customer: []string{sampleCustomer}, Watch: []paper.Field{{Label: "Watch", Value: sampleWatch}}, Lines: lines,
		Totals: totals, HowTo: []string{"Tell us at the counter or by telephone, naming the revision."}}
}

func sampleInvoice(sh shop.Shop) paper.Invoice {
	lines, totals := sampleLedger(sh)
	return paper.Invoice{Issuer: page.IssuerOf(sh), Lang: sh.Locale, Number: sampleDocket, Docket: sampleDocket,
		Date: sampleDate(), DueDate: "on collection", Customer: []string{sampleCustomer},
		Watch: []paper.Field{{Label: "Watch", Value: sampleWatch}}, Lines: lines, Totals: totals,
		Due: sampleAmount(sh, 16500)}
}

func sampleCard(sh shop.Shop) paper.WarrantyCard {
	return paper.WarrantyCard{Issuer: page.IssuerOf(sh), Lang: sh.Locale, Number: "OHCE-R7N3-NAKD-TFZI",
		Docket: sampleDocket, Watch: sampleWatch, Serials: sampleDetails(), WorkDone: []string{"Full service"},
		Rates: []paper.CardRate{{Symbol: "CH", Rate: "+3.2", Amplitude: "296"}, {Symbol: "FH", Rate: "+2.1",
			Amplitude: "292"}},
		RatesNote: "Full wind", Term: fmt.Sprintf("%d months", sh.WarrantyMonths),
		From:   sampleDay.Format("2 Jan 2006"),
		Until:  sampleDay.AddDate(0, sh.WarrantyMonths, 0).Format("2 Jan 2006"),
		Covers: sh.WarrantyCovers, Code: sampleURL, CheckAt: "shop.example/w"}
}
