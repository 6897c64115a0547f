package chronometer

import (
	"fmt"
	"strings"
)

// CalibrationRow says how forecasts made after one day turned out over simulated watches. A deviation is the greatest
// difference, over tenths of predicted probability that hold a hundred watches or more, between the mean prediction and
// the share that passed. A Brier score is the mean square of prediction less outcome: 0 is best, 0.25 is a coin.
type CalibrationRow struct {
	AfterDay         int
	Brier, Deviation float64 // watches as DefaultAssumptions say
	// Watches that are not as assumed: spreads 20 to 50 % greater, scatter greater, carried over by a fifth from day to
	// day, and threefold on one day in twenty.
	OtherBrier, OtherDeviation float64
}

// Backtest is the calibration of the forecast.
type Backtest struct {
	Watches int // simulated trials of each kind, category 1
	Rows    []CalibrationRow
}

// Calibration returns how well ForecastPass was calibrated in the backtest that this package's tests repeat and hold.
func Calibration() Backtest {
	return Backtest{Watches: 4000, Rows: []CalibrationRow{
		{AfterDay: 2, Brier: 0.136, Deviation: 0.046, OtherBrier: 0.226, OtherDeviation: 0.180},
		{AfterDay: 5, Brier: 0.113, Deviation: 0.059, OtherBrier: 0.188, OtherDeviation: 0.176},
		{AfterDay: 10, Brier: 0.024, Deviation: 0.007, OtherBrier: 0.048, OtherDeviation: 0.058},
		{AfterDay: 12, Brier: 0.011, Deviation: 0.002, OtherBrier: 0.028, OtherDeviation: 0.028},
		{AfterDay: 14, Brier: 0.005, Deviation: 0.001, OtherBrier: 0.017, OtherDeviation: 0.012},
	}}
}

// String states the calibration for a page or a paper.
func (b Backtest) String() string {
	days, own, other := make([]string, len(b.Rows)), 0.0, 0.0
	for i, r := range b.Rows {
		days[i] = fmt.Sprint(r.AfterDay)
		own, other = max(own, r.Deviation), max(other, r.OtherDeviation)
	}
	return fmt.Sprintf("Tested on %d simulated trials, forecast after days %s: among watches like those assumed, the "+
		"share that passed "+
		"was within %.0f percentage points of the forecast at every level that a hundred or more had; among watches worse "+
		"than assumed it was too hopeful, by up to %.0f. "+
		"It has not been tested on real watches.", b.Watches, strings.Join(days, ", "), 100*own, 100*other)
}
