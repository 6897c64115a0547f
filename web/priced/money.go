package priced

import (
	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/money"
	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/tongue"
)

// Money writes amounts of one currency as the shop does, with words in a language.
type Money struct {
	Currency string
	Shop     shop.Shop
	Tongue   tongue.Tongue // "" is English
}

func Of(currency string, sh shop.Shop) Money { return Money{Currency: currency, Shop: sh} }

// In is m with its words in t; the amounts stay as the shop's locale writes them.
func (m Money) In(t tongue.Tongue) Money {
	m.Tongue = t
	return m
}

// figures writes what was printed with a decimal point as the locale has it.
func (m Money) figures(printed string) string {
	if m.Tongue == "" {
		return printed
	}
	return tongue.Figures(printed, m.Shop.Locale)
}

// Percent writes a rate of tax, in hundredths of a per cent.
func (m Money) Percent(basisPoints int) string {
	return m.figures(estimate.FormatPercent(basisPoints)) + " %"
}

// Quantity writes a quantity of thousandths.
func (m Money) Quantity(milli int64) string { return m.figures(estimate.FormatQuantity(milli)) }

// RuleWords say by which rule tax is worked out.
func (m Money) RuleWords(r estimate.TaxRule) string {
	t := m.Tongue
	prices, base, tie := t.Say("paper.prices_without_tax"), t.Say("paper.tax_by_rate"), t.Say("paper.tax_half_up")
	if r.PricesIncludeTax {
		prices = t.Say("paper.prices_include_tax")
	}
	if r.PerLine {
		base = t.Say("paper.tax_by_line")
	}
	if r.Rounding == estimate.HalfEven {
		tie = t.Say("paper.tax_half_even")
	}
	return t.Say("paper.tax_rule", "prices", prices, "base", base, "tie", tie)
}

func (m Money) Format(minor int64) string {
	return money.Format(minor, m.Currency, m.Shop.Locale)
}

// Totals are the sums below the lines: net, tax by rate and the whole; or, where prices include tax, the whole and
// the tax within it.
func (m Money) Totals(t estimate.Totals, rule estimate.TaxRule) []TotalRow {
	var rows []TotalRow
	if !rule.PricesIncludeTax {
		rows = append(rows, TotalRow{Label: m.Tongue.Say("paper.net"), Amount: m.Format(t.NetMinor)})
	}
	for _, rate := range t.ByRate {
		if rate.TaxBasisPoints == 0 && rate.TaxMinor == 0 {
			continue
		}
		label := m.Shop.TaxName + " " + m.Percent(rate.TaxBasisPoints)
		if rule.PricesIncludeTax {
			label = m.Tongue.Say("paper.tax_included", "tax", label)
		}
		rows = append(rows, TotalRow{Label: label, Amount: m.Format(rate.TaxMinor)})
	}
	return append(rows, TotalRow{Label: m.Tongue.Say("paper.total"), Amount: m.Format(t.GrossMinor), Strong: true})
}
