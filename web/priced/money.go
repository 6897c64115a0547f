package web

import (
	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/money"
	"ledgerwheel/domain/shop"
	"ledgerwheel/web/view"
)

// prices writes amounts of one currency as the shop does.
type prices struct {
	currency string
	shop     shop.Shop
}

func pricesOf(currency string, sh shop.Shop) prices { return prices{currency, sh} }

func (m prices) format(minor int64) string {
	return money.Format(minor, m.currency, m.shop.Locale)
}

// totals are the sums below the lines: net, tax by rate and the whole; or, where prices include tax, the whole and
// the tax within it.
func (m prices) totals(t estimate.Totals, rule estimate.TaxRule) []view.TotalRow {
	var rows []view.TotalRow
	if !rule.PricesIncludeTax {
		rows = append(rows, view.TotalRow{Label: "Net", Amount: m.format(t.NetMinor)})
	}
	for _, rate := range t.ByRate {
		if rate.TaxBasisPoints == 0 && rate.TaxMinor == 0 {
			continue
		}
		label := m.shop.TaxName + " " + estimate.FormatPercent(rate.TaxBasisPoints) + " %"
		if rule.PricesIncludeTax {
			label += ", included"
		}
		rows = append(rows, view.TotalRow{Label: label, Amount: m.format(rate.TaxMinor)})
	}
	return append(rows, view.TotalRow{Label: "Total", Amount: m.format(t.GrossMinor), Strong: true})
}
