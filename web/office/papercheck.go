package office

import (
	"fmt"
	"net/url"
	"strings"
	"time"

	"ledgerwheel/domain/money"
	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/text"
	"ledgerwheel/domain/tongue"
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
	own := page.VoiceOf(tongue.Of(sh.Locale), sh)
	list := []samplePaper{{Name: "claim ticket", of: sampleTicket(own)}, {Name: "estimate", of: sampleEstimate(own)},
		{Name: "invoice", of: sampleInvoice(own)}, {Name: "warranty card", of: sampleCard(own)}}
	for _, t := range tongue.All {
		say := page.VoiceOf(t, sh)
		if sh.TermsFor(t) != sh.TicketTerms {
			list = append(list, samplePaper{Name: "claim ticket in " + t.Words(), of: sampleTicket(say)})
		}
		if sh.CoversFor(t) != sh.WarrantyCovers {
			list = append(list, samplePaper{Name: "warranty card in " + t.Words(), of: sampleCard(say)})
		}
	}
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

// href leads to the paper alone, to be printed.
func (p samplePaper) href() string {
	return "/first-steps/print.pdf?paper=" + url.QueryEscape(p.Name)
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
	{"ticket_terms_en", "these terms", func(sh *shop.Shop) *string { return &sh.TicketTermsEn }, []string{"claim ticket in English"}},
	{"ticket_terms_de", "these terms", func(sh *shop.Shop) *string { return &sh.TicketTermsDe }, []string{"claim ticket in German"}},
	{"ticket_terms_fr", "these terms", func(sh *shop.Shop) *string { return &sh.TicketTermsFr }, []string{"claim ticket in French"}},
	{"warranty_covers_en", "these words", func(sh *shop.Shop) *string { return &sh.WarrantyCoversEn }, []string{"warranty card in English"}},
	{"warranty_covers_de", "these words", func(sh *shop.Shop) *string { return &sh.WarrantyCoversDe }, []string{"warranty card in German"}},
	{"warranty_covers_fr", "these words", func(sh *shop.Shop) *string { return &sh.WarrantyCoversFr }, []string{"warranty card in French"}},
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

func sampleDetails(say page.Voice) []paper.Field {
	return []paper.Field{{Label: say.Say("paper.reference"), Value: "MR-214"}, {Label: say.Say("paper.serial"), Value: "HP 0418822"}}
}

func sampleTicket(say page.Voice) paper.ClaimTicket {
	return paper.ClaimTicket{Issuer: page.IssuerOf(say.Shop), Lang: say.Lang(), Tongue: say.Tongue, Docket: sampleDocket, Code: sampleURL,
		Customer: sampleCustomer, Watch: sampleWatch, Details: sampleDetails(say), Complaint: "Stops overnight.",
		Condition: "Light scratches on the crystal near 4.", Received: say.Moment(sampleDay), Promised: say.Day(sampleDay),
		DeclaredValue: sampleAmount(say, 145000), ApprovalLimit: sampleAmount(say, 18000),
		Terms: page.NonEmptyLines(say.Shop.TermsFor(say.Tongue)), TakenInBy: "Ines Calloway"}
}

func sampleAmount(say page.Voice, minor int64) string {
	return money.Format(minor, say.Shop.Currency, say.Shop.Locale)
}

// sampleLedger is one line and what it comes to, its tax as the settings name it.
func sampleLedger(say page.Voice) ([]paper.Line, []paper.Total) {
	amount := sampleAmount(say, 16500)
	return []paper.Line{{Description: "Full service", Quantity: "1", UnitPrice: amount, Amount: amount}},
		[]paper.Total{{Label: say.Shop.TaxName, Amount: sampleAmount(say, 0)},
			{Label: say.Say("paper.total"), Amount: amount, Strong: true}}
}

func sampleEstimate(say page.Voice) paper.Estimate {
	lines, totals := sampleLedger(say)
	return paper.Estimate{Issuer: page.IssuerOf(say.Shop), Lang: say.Lang(), Tongue: say.Tongue, Docket: sampleDocket, Revision: "1",
		Date: say.Day(sampleDay), ValidUntil: say.Day(sampleDay.AddDate(0, 0, say.Shop.EstimateDays)),
		Customer: []string{sampleCustomer}, Watch: []paper.Field{{Label: say.Say("paper.watch"), Value: sampleWatch}}, Lines: lines,
		Totals: totals, HowTo: []string{say.Say("paper.or_tell_us")}}
}

func sampleInvoice(say page.Voice) paper.Invoice {
	lines, totals := sampleLedger(say)
	return paper.Invoice{Issuer: page.BillerOf(say), Lang: say.Lang(), Tongue: say.Tongue, Number: sampleDocket, Docket: sampleDocket,
		Date: say.Day(sampleDay), DueDate: say.Say("paper.on_collection"), Customer: []string{sampleCustomer},
		Watch: []paper.Field{{Label: say.Say("paper.watch"), Value: sampleWatch}}, Lines: lines, Totals: totals,
		Due: sampleAmount(say, 16500)}
}

func sampleCard(say page.Voice) paper.WarrantyCard {
	return paper.WarrantyCard{Issuer: page.IssuerOf(say.Shop), Lang: say.Lang(), Tongue: say.Tongue, Number: "OHCE-R7N3-NAKD-TFZI",
		Docket: sampleDocket, Watch: sampleWatch, Serials: sampleDetails(say), WorkDone: []string{"Full service"},
		Rates: []paper.CardRate{{Symbol: "CH", Rate: say.Figures("+3.2"), Amplitude: "296"},
			{Symbol: "FH", Rate: say.Figures("+2.1"), Amplitude: "292"}},
		RatesNote: text.Capital(say.Say("wind.full")), Term: say.Count("paper.card.months", say.Shop.WarrantyMonths),
		From:   say.CardDay(sampleDay),
		Until:  say.CardDay(sampleDay.AddDate(0, say.Shop.WarrantyMonths, 0)),
		Covers: say.Shop.CoversFor(say.Tongue), Code: sampleURL, CheckAt: "shop.example/w"}
}
