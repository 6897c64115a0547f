package priced

import (
	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/money"
	"ledgerwheel/domain/shop"
)

// Money writes amounts of one currency as the shop does.
type Money struct {
	Currency string
	Shop     shop.Shop
}

func Of(currency string, sh shop.Shop) Money { return Money{currency, sh} }

func (m Money) Format(minor int64) string {
	return money.Format(minor, m.Currency, m.Shop.Locale)
}

// Totals are the sums below the lines: net, tax by rate and the whole; or, where prices include tax, the whole and
// the tax within it.
func (m Money) Totals(t estimate.Totals, rule estimate.TaxRule) []TotalRow {
	var rows []TotalRow
	if !rule.PricesIncludeTax {
		rows = append(rows, TotalRow{Label: "Net", Amount: m.Format(t.NetMinor)})
	}
	for _, rate := range t.ByRate {
		if rate.TaxBasisPoints == 0 && rate.TaxMinor == 0 {
			continue
		}
		label := m.Shop.TaxName + " " + estimate.FormatPercent(rate.TaxBasisPoints) + " %"
		if rule.PricesIncludeTax {
			label += ", included"
		}
		rows = append(rows, TotalRow{Label: label, Amount: m.Format(rate.TaxMinor)})
	}
	return append(rows, TotalRow{Label: "Total", Amount: m.Format(t.GrossMinor), Strong: true})
}
