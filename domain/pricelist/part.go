package pricelist

import (
	"strings"

	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/ledger"
	"ledgerwheel/domain/money"
)

// OfPart makes a line of an estimate that of a part of the catalogue: its name, and where none was typed its price in the
// estimate's currency, under the estimate's rule, with its rate of tax. The error is estimate.ErrTooLarge.
func OfPart(f estimate.LineForm, p ledger.Part, currency string, rule estimate.TaxRule) (estimate.LineForm, error) {
	f.Kind, f.PartID, f.Description = string(estimate.Part), p.ID, p.Name
	if strings.TrimSpace(f.UnitPrice) != "" || p.PriceMinor == nil || p.Currency != currency {
		return f, nil
	}
	minor, err := Price{Minor: *p.PriceMinor, Currency: p.Currency, IncludesTax: p.IncludesTax, TaxBasisPoints: p.TaxBasisPoints}.Under(rule)
	if err != nil {
		return f, err
	}
	f.UnitPrice, f.TaxRate = money.Plain(minor, currency), estimate.FormatPercent(p.TaxBasisPoints)
	return f, nil
}
