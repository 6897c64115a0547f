package estimate

import (
	"strings"

	"ledgerwheel/domain/stock"
)

// Holds reports whether the lines for parts of r, but for those the customer left out, are enough for the part p
// beside those fitted already. A line is for a part whose description it names; what is fitted by another word for
// money takes nothing from it.
func (r Revision) Holds(p stock.PartLine, fitted []stock.PartLine) bool {
	name := words(p.Description)
	wanted := int64(p.Quantity) * 1000
	for _, f := range fitted {
		if f.ID != p.ID && f.State == stock.Fitted && f.Money.Payer == stock.PayerNone && words(f.Description) == name {
			wanted += int64(f.Quantity) * 1000
		}
	}
	for _, l := range r.Lines {
		if l.Kind == Part && !l.Declined && strings.Contains(words(l.Description), name) {
			wanted -= l.QuantityMilli
		}
	}
	return wanted <= 0
}

// HoldsPart is Holds of the revision that is charged for (see [Estimate.Billed]); false where there is none.
func (e Estimate) HoldsPart(newestAgreed bool, p stock.PartLine, fitted []stock.PartLine) bool {
	r, ok := e.Billed(newestAgreed)
	return ok && r.Holds(p, fitted)
}

// words are s as sameWords, with a space at either end and none but letters and digits between, so that a part of a
// word is no word.
func words(s string) string {
	spaced := strings.Map(func(r rune) rune {
		if strings.ContainsRune(",;:.()/-", r) {
			return ' '
		}
		return r
	}, s)
	return " " + sameWords(spaced) + " "
}
