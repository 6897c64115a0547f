package timing

import "ledgerwheel/domain/metrology"

// FigureChange is one figure of the grid before and after; a nil value was not measured.
type FigureChange struct {
	Position          Position
	HoursAfterWinding float64
	Quantity          Quantity
	Before, After     *metrology.Value
	Change            Statistic // after less before
}

// StatisticChange is one statistic before and after.
type StatisticChange struct {
	HoursAfterWinding float64 // of a statistic of one state of wind
	OfRun             bool    // true for isochronism and the loss over 24 h, which belong to no one state
	Before, After     Statistic
	Change            Statistic // after less before
}

// Comparison sets two runs side by side.
type Comparison struct {
	Figures    []FigureChange // what either run measured, by state of wind, position and quantity
	Statistics []StatisticChange
}

// Compare sets two runs that pass Problems side by side. The runs are taken at different times, perhaps with
// different instruments, so nothing is taken as shared between them: the uncertainty of a change is that of both
// figures in quadrature, which errs on the safe side where one clock measured both.
func Compare(before, after Run, o Options) Comparison {
	var c Comparison
	before, after = before.Averaged(), after.Averaged()
	b, a := StatisticsOf(before, o), StatisticsOf(after, o)
	for _, hours := range states(append(append([]Reading{}, before.Readings...), after.Readings...)) {
		for _, p := range Positions() {
			c.Figures = append(c.Figures, figureChanges(before, after, p, hours, o.Instruments)...)
		}
		bs, inBefore := b.At(hours)
		as, inAfter := a.At(hours)
		if inBefore && inAfter {
			later := as.List()
			for i, s := range bs.List() {
				c.Statistics = append(c.Statistics, StatisticChange{
					HoursAfterWinding: hours, Before: s, After: later[i], Change: statisticChange(s, later[i])})
			}
		}
	}
	for _, pair := range [][2]Statistic{{b.Isochronism, a.Isochronism}, {b.AmplitudeLoss24h, a.AmplitudeLoss24h}} {
		c.Statistics = append(c.Statistics, StatisticChange{
			OfRun: true, Before: pair[0], After: pair[1], Change: statisticChange(pair[0], pair[1])})
	}
	return c
}

func figureChanges(before, after Run, p Position, hours float64, instruments Instruments) []FigureChange {
	var out []FigureChange
	earlier, _ := before.Reading(p, hours)
	later, _ := after.Reading(p, hours)
	for _, q := range Quantities() {
		b, inBefore := instruments.Value(earlier, q)
		a, inAfter := instruments.Value(later, q)
		if !inBefore && !inAfter {
			continue
		}
		change := FigureChange{Position: p, HoursAfterWinding: hours, Quantity: q}
		if inBefore {
			change.Before = &b
		}
		if inAfter {
			change.After = &a
		}
		switch {
		case !inBefore:
			change.Change.Why = "needs the figure before"
		case !inAfter:
			change.Change.Why = "needs the figure after"
		default:
			change.Change.Value = difference(b, a)
		}
		change.Change.Label, change.Change.Signed = "change of "+q.Label(), true
		out = append(out, change)
	}
	return out
}

func statisticChange(before, after Statistic) Statistic {
	change := Statistic{Key: before.Key, Label: "change of " + before.Label, Signed: true}
	switch {
	case !before.Computable():
		change.Why = "before: " + before.Why
	case !after.Computable():
		change.Why = "after: " + after.Why
	default:
		change.Value = difference(before.Value, after.Value)
	}
	return change
}

// difference returns after less before, the two taken as independent.
func difference(before, after metrology.Value) metrology.Value {
	return metrology.Linear(after.Unit,
		metrology.Term{Coefficient: 1, Value: after.Value, StdUncertainty: after.StdUncertainty},
		metrology.Term{Coefficient: -1, Value: before.Value, StdUncertainty: before.StdUncertainty})
}
