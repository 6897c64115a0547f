package figures

import (
	"math"
	"strconv"

	"ledgerwheel/domain/figures"
	"ledgerwheel/domain/money"
	"ledgerwheel/web/chart"
)

var quantityWords = map[figures.Quantity]struct{ name, unit string }{
	figures.Rate: {"Mean rate", "s/d"}, figures.Delta: {"Delta", "s/d"}, figures.Lying: {"Amplitude lying", "°"},
	figures.Hanging: {"Amplitude hanging", "°"}, figures.Loss: {"Amplitude lost over 24 h", "°"},
}

// rates are the medians before and after the work, of watches that were measured both times.
func rates(b builder) report {
	r := report{columns: []column{figured("Watches measured both times", "")}, chart: chart.FigureRows{Title: "Delta after the work", Unit: "delta in the final run, s/d", Range: "the lozenge is the median, the line goes to 8 in 10"}}
	for _, q := range figures.Quantities() {
		w := quantityWords[q]
		r.columns = append(r.columns, figured(w.name+" before", w.unit), figured("after", w.unit))
	}
	return b.each(r, func(c figures.Counts) (l line) {
		l.cells = []cell{count(c.Histogram(figures.Rate.After()).N())}
		for _, q := range figures.Quantities() {
			write := func(x float64) cell { return places(x, 0) }
			switch q {
			case figures.Rate:
				write = func(x float64) cell { return signed(x, 1) }
			case figures.Delta:
				write = func(x float64) cell { return places(x, 1) }
			}
			before, _ := middle(c.Histogram(q.Before()), q.PerUnit(), write)
			after, drawn := middle(c.Histogram(q.After()), q.PerUnit(), write)
			if l.cells = append(l.cells, before[1], after[1]); q == figures.Delta {
				l.low, l.mid, l.high = drawn.low, drawn.mid, drawn.high
			}
		}
		return l
	})
}

// currencies are those counted, the shop's at least.
func (b builder) currencies(usual string) []string {
	if list := b.counts.Currencies(); len(list) > 0 {
		return list
	}
	return []string{usual}
}

func (b builder) amount(minor int64, code string) cell {
	return cell{text: money.Format(minor, code, b.locale), csv: money.Plain(minor, code)}
}

// major is an amount in whole units, for the chart.
func major(minor int64, code string) *float64 {
	digits, _ := money.Digits(code)
	return of(float64(minor) / math.Pow10(digits))
}

// takings are what was taken, less what was given back, in each currency.
func takings(b builder) report {
	codes := b.currencies(b.currency)
	r := report{chart: chart.FigureRows{Title: "Taken, less given back", Unit: "taken, " + codes[0], FromZero: true}}
	for _, code := range codes {
		r.columns = append(r.columns, figured("Taken", code))
	}
	return b.each(r, func(c figures.Counts) (l line) {
		for _, code := range codes {
			l.cells = append(l.cells, b.amount(c.Of(in(code)).Sum(figures.Taken), code))
		}
		l.mid = major(c.Of(in(codes[0])).Sum(figures.Taken), codes[0])
		return l
	})
}

func in(code string) func(figures.Key) bool {
	return func(k figures.Key) bool { return k.Currency == code }
}

// margins are what was billed without tax less what the parts cost, in each currency.
func margins(b builder) report {
	codes := b.currencies(b.currency)
	r := report{columns: []column{figured("Watches billed and gone", ""), figured("of which a part's cost is not known", "")},
		chart: chart.FigureRows{Title: "Billed less parts", Unit: "billed without tax, less what the parts cost, " + codes[0], FromZero: true}}
	for _, code := range codes {
		r.columns = append(r.columns, figured("Billed", code), figured("Parts cost", code), figured("Margin", code), figured("Margin of what was billed", "%"))
	}
	return b.each(r, func(c figures.Counts) (l line) {
		known := c.Share(figures.Margins, 1, 1)
		l.cells = []cell{count(int64(known.N)), words(strconv.Itoa(known.N - known.K))}
		for i, code := range codes {
			of := c.Of(in(code))
			billed, cost := of.Sum(figures.Billed), of.Sum(figures.PartsCost)
			share := blank
			if billed > 0 {
				share = places(100*float64(billed-cost)/float64(billed), 0)
			}
			if l.cells = append(l.cells, b.amount(billed, code), b.amount(cost, code), b.amount(billed-cost, code), share); i == 0 {
				l.mid = major(billed-cost, code)
			}
		}
		return l
	})
}

func amountSaid(minor int64, code, locale string) string { return money.Format(minor, code, locale) }
