package chronometer

import "fmt"

// Backtest says how forecasts of one category came out over simulated watches. It states no more than this package's
// tests count. Points are percentage points. A level is a tenth of forecast probability that a hundred watches or more
// had after one of the days; its share is of those that passed.
type Backtest struct {
	Category  Category
	Watches   int   // simulated trials of each kind of watch
	AfterDays []int // the days after which forecasts were made, ascending

	// Within is what no level's share differed from its mean forecast by more than, among watches that are as
	// DefaultAssumptions say.
	Within int
	// The rest is of watches worse than assumed: spreads 20 to 50 % greater, scatter greater, carried over by a fifth
	// from day to day, and threefold on one day in twenty. First and Last say how far the mean forecast of all lay above
	// the share of all, after the first and the last day; it lay above after each. UpTo is what no level's forecast lay
	// above its share by more than.
	First, Last, UpTo int
}

// Calibration returns the backtest of ForecastPass for a category. It panics on a category that is not Valid.
func Calibration(category Category) Backtest {
	b := Backtest{Category: category, Watches: 4000, AfterDays: []int{2, 5, 10, 12, 14}}
	switch category {
	case Category1:
		b.Within, b.First, b.Last, b.UpTo = 7, 14, 1, 19
	case Category2:
		b.Within, b.First, b.Last, b.UpTo = 8, 10, 1, 15
	default:
		panic(fmt.Sprintf("chronometer: no category %d", category))
	}
	return b
}

// String states the calibration for a page or a paper.
func (b Backtest) String() string {
	days := ""
	for i, day := range b.AfterDays[:len(b.AfterDays)-1] {
		if i > 0 {
			days += ", "
		}
		days += fmt.Sprint(day)
	}
	first, last := b.AfterDays[0], b.AfterDays[len(b.AfterDays)-1]
	return fmt.Sprintf("Tested on %d simulated trials of category %d, with forecasts after days %s and %d. Among watches "+
		"like those assumed, the share that passed was within %d percentage points of the forecast at every level that a "+
		"hundred or more had. Among watches worse than assumed the forecast was too hopeful on average: by %d points "+
		"after day %d, by %d after day %d, at single levels by up to %d. It has not been tested on real watches.",
		b.Watches, b.Category, days, last, b.Within, b.First, first, b.Last, last, b.UpTo)
}
