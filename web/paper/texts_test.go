package paper

import (
	"reflect"
	"slices"
	"strings"
	"testing"
)

// teller is a paper that tells its texts.
type teller interface {
	sheetMaker
	Texts() []string
}

// Why a string of a paper is no text that [Missing] need look at.
const (
	notPrinted = "names the language, or stands in what the file says of itself"
	inCode     = "is drawn as a bar code, or as a link that codes hold: plain ASCII"
	ownFigure  = "the program's own figure, number or day, in Latin digits"
	ownWord    = "a standard's or the program's own word"
)

var noText = map[string]string{
	"ClaimTicket.Lang": notPrinted, "ClaimTicket.Code": inCode, "ClaimTicket.Docket": ownFigure,
	"ClaimTicket.Received": ownFigure, "ClaimTicket.Promised": ownFigure,

	"BagLabel.Lang": notPrinted, "BagLabel.Shop": notPrinted, "BagLabel.Code": inCode, "BagLabel.Docket": ownFigure,
	"BagLabel.Promised": ownFigure,

	"Estimate.Lang": notPrinted, "Estimate.ApprovalURL": inCode, "Estimate.Docket": ownFigure,
	"Estimate.Revision": ownFigure, "Estimate.Date": ownFigure, "Estimate.ValidUntil": ownFigure,
	"Estimate.Lines.Quantity": ownFigure, "Estimate.Lines.Tax": ownFigure,

	"Invoice.Lang": notPrinted, "Invoice.Number": ownFigure, "Invoice.Docket": ownFigure, "Invoice.Date": ownFigure,
	"Invoice.Lines.Quantity": ownFigure, "Invoice.Lines.Tax": ownFigure, "Invoice.Payments.Date": ownFigure,

	"WarrantyCard.Lang": notPrinted, "WarrantyCard.Code": inCode, "WarrantyCard.Number": ownFigure,
	"WarrantyCard.Docket": ownFigure, "WarrantyCard.From": ownFigure, "WarrantyCard.Until": ownFigure,
	"WarrantyCard.Rates.Symbol": ownWord, "WarrantyCard.Rates.Rate": ownFigure, "WarrantyCard.Rates.Amplitude": ownFigure,

	"Bulletin.Lang": notPrinted, "Bulletin.Docket": ownFigure, "Bulletin.Date": ownFigure,
	"Bulletin.Runs.Rows.Position.Symbol": ownWord, "Bulletin.Runs.Rows.Position.Words": ownWord,
	"Bulletin.Runs.Rows.Readings.Rate": ownFigure, "Bulletin.Runs.Rows.Readings.RateU": ownFigure,
	"Bulletin.Runs.Rows.Readings.Amplitude": ownFigure, "Bulletin.Runs.Rows.Readings.BeatError": ownFigure,
	"Bulletin.Statistics.Name": ownWord, "Bulletin.Statistics.Values": ownFigure, "Bulletin.Statistics.Limit": ownFigure,
	"Bulletin.Statistics.Verdict": ownWord,

	"TrialBulletin.Lang": notPrinted, "TrialBulletin.Docket": ownFigure, "TrialBulletin.Date": ownFigure,
	"TrialBulletin.Criteria.Symbol": ownWord, "TrialBulletin.Criteria.Name": ownWord,
	"TrialBulletin.Criteria.Formula": ownWord, "TrialBulletin.Criteria.Value": ownFigure,
	"TrialBulletin.Criteria.Limits": ownFigure, "TrialBulletin.Criteria.SimpleWord": ownWord,
	"TrialBulletin.Days.Number": ownFigure, "TrialBulletin.Days.Position.Symbol": ownWord,
	"TrialBulletin.Days.Position.Words": ownWord, "TrialBulletin.Days.Asked": ownFigure,
	"TrialBulletin.Days.Was": ownFigure, "TrialBulletin.Days.Rate": ownFigure, "TrialBulletin.Days.Read": ownFigure,
}

// A string that a paper gains is told by Texts or named above: never both, never neither.
func TestNoTextIsForgotten(t *testing.T) {
	t.Parallel()
	known := map[string]bool{}
	for _, empty := range []teller{ClaimTicket{}, BagLabel{}, Estimate{}, Invoice{}, WarrantyCard{}, Bulletin{},
		TrialBulletin{}} {
		filled := reflect.New(reflect.TypeOf(empty)).Elem()
		paths := nameStrings(filled, filled.Type().Name())
		told := filled.Interface().(teller).Texts()
		for _, path := range paths {
			known[path] = true
			if _, named := noText[path]; named == slices.Contains(told, path) {
				t.Errorf("%s: told by Texts: %t, named as no text: %t", path, !named, named)
			}
		}
		if len(paths) < 5 {
			t.Errorf("%s: only %d strings found", filled.Type(), len(paths))
		}
	}
	for path := range noText {
		if !known[path] {
			t.Errorf("%s is named but no paper has it", path)
		}
	}
}

// nameStrings puts into every string of v its own path, one element into every slice, and gives all paths.
func nameStrings(v reflect.Value, path string) (paths []string) {
	switch v.Kind() {
	case reflect.String:
		v.SetString(path)
		return []string{path}
	case reflect.Struct:
		for i := range v.NumField() {
			paths = append(paths, nameStrings(v.Field(i), path+"."+v.Type().Field(i).Name)...)
		}
	case reflect.Slice:
		v.Set(reflect.MakeSlice(v.Type(), 1, 1))
		return nameStrings(v.Index(0), path)
	}
	return paths
}

// What a paper tells of itself must hold of its PDF: the samples, which the type has in full, print no Replacement;
// with a text in Japanese and an emoji each tells so and prints one.
func TestWhatIsToldIsWhatIsPrinted(t *testing.T) {
	t.Parallel()
	const words, want = "時計 \U0001F600", "時計\U0001F600"
	trial := TrialBulletin{Issuer: sampleIssuer, Docket: sampleDocket, Days: []TrialDay{{Number: "1", Note: "read late"}}}
	ticket, label, estimate, invoice := sampleTicket(TicketA6), sampleLabel(), sampleEstimate(), sampleInvoice()
	card, bulletin, strange := sampleWarranty(), sampleBulletin(), trial
	ticket.Customer, label.Model, card.Watch, invoice.Notes = words, words, words, []string{words}
	estimate.Customer, bulletin.Notes = []string{words}, []string{words}
	strange.Days = []TrialDay{{Number: "1", Note: words}}
	for _, p := range []teller{sampleTicket(TicketA6), sampleLabel(), sampleEstimate(), sampleInvoice(), sampleWarranty(),
		sampleBulletin(), trial} {
		if told := string(Missing(strings.Join(p.Texts(), "\n"))); told != "" || replacedIn(t, p) {
			t.Errorf("%T: tells %q, prints replacements: %t", p, told, replacedIn(t, p))
		}
	}
	for _, p := range []teller{ticket, label, estimate, invoice, card, bulletin, strange} {
		if told := string(Missing(strings.Join(p.Texts(), "\n"))); told != want || !replacedIn(t, p) {
			t.Errorf("%T: tells %q, want %q; prints replacements: %t", p, told, want, replacedIn(t, p))
		}
	}
}

func replacedIn(t *testing.T, p teller) bool {
	t.Helper()
	s, _ := laid(t, p)
	return s.replaced()
}
