package chronometer

import (
	"math/big"
	"slices"

	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/timing"
)

// Criterion names one of the seven in code, form fields and JSON.
type Criterion string

// The seven criteria.
const (
	MeanDailyRate                Criterion = "mean_daily_rate"                // M
	MeanVariation                Criterion = "mean_variation"                 // V
	GreatestVariation            Criterion = "greatest_variation"             // Vmax
	HorizontalVerticalDifference Criterion = "horizontal_vertical_difference" // D
	LargestDeviation             Criterion = "largest_deviation"              // P
	ThermalVariation             Criterion = "thermal_variation"              // C
	RateResumption               Criterion = "rate_resumption"                // R
)

// unitSPerDayPerC is the unit of the thermal variation.
const unitSPerDayPerC = "s/d per °C"

// thermalSpanC is the divisor of the thermal variation: 38 °C less 8 °C.
const thermalSpanC = 30

// facts is what is known of a criterion. Limits are decimal text so that a decision at a limit is exact; each end is
// included, and "" is an open end.
type facts struct {
	criterion Criterion
	symbol    string
	label     string
	formula   string
	unit      string
	signed    bool
	needs     []int
	limits    [2][2]string // by category, lower and upper
}

var tenDays = []int{1, 2, 3, 4, 5, 6, 7, 8, 9, 10}

// table holds formulae and limits. Category 1: a digest of ISO 3159:1976, an observatory's page, a jeweller's glossary
// of DIN 8319 and a Japanese article, which agree. Category 2: a dealer's glossary and a forum post, which agree, but
// for C and R, where the forum post stands alone. The German glossaries print C and R as maxima without sign; the
// others give them signed, as here.
var table = [7]facts{
	{MeanDailyRate, "M", "mean daily rate", "(M1 + … + M10) / 10", timing.UnitSPerDay, true,
		tenDays, [2][2]string{{"-4", "6"}, {"-5", "8"}}},
	{MeanVariation, "V", "mean variation in rates", "(|M1 − M2| + |M3 − M4| + … + |M9 − M10|) / 5", timing.UnitSPerDay,
		false,
		tenDays, [2][2]string{{"", "2"}, {"", "3.4"}}},
	{GreatestVariation, "Vmax", "greatest variation in rates", "greatest of |M1 − M2|, |M3 − M4|, …, |M9 − M10|",
		timing.UnitSPerDay, false,
		tenDays, [2][2]string{{"", "5"}, {"", "7"}}},
	{HorizontalVerticalDifference, "D", "vertical less horizontal", "(M1 + M2) / 2 − (M9 + M10) / 2", timing.UnitSPerDay,
		true,
		[]int{1, 2, 9, 10}, [2][2]string{{"-6", "8"}, {"-8", "10"}}},
	{LargestDeviation, "P", "largest deviation from the mean", "greatest of |Mi − M|, i = 1 to 10", timing.UnitSPerDay,
		false,
		tenDays, [2][2]string{{"", "10"}, {"", "15"}}},
	{ThermalVariation, "C", "thermal variation", "(M13 − M11) / 30", unitSPerDayPerC, true,
		[]int{11, 13}, [2][2]string{{"-0.6", "0.6"}, {"-0.7", "0.7"}}},
	{RateResumption, "R", "rate resumption", "M15 − (M1 + M2) / 2", timing.UnitSPerDay, true,
		[]int{1, 2, 15}, [2][2]string{{"-5", "5"}, {"-6", "6"}}},
}

// Criteria returns the seven in the order of the bulletin: M, V, Vmax, D, P, C, R.
func Criteria() []Criterion {
	list := make([]Criterion, len(table))
	for i, f := range table {
		list[i] = f.criterion
	}
	return list
}

// of returns the facts of c; it panics on a criterion that is none of the seven.
func of(c Criterion) facts {
	i := slices.IndexFunc(table[:], func(f facts) bool { return f.criterion == c })
	if i < 0 {
		panic("chronometer: no criterion " + string(c))
	}
	return table[i]
}

// Symbol returns the letter of the criterion: M, V, Vmax, D, P, C or R.
func (c Criterion) Symbol() string { return of(c).symbol }

// Label names the criterion in words.
func (c Criterion) Label() string { return of(c).label }

// Formula returns the formula as printed.
func (c Criterion) Formula() string { return of(c).formula }

// Unit returns the unit as printed: s/d, of the thermal variation s/d per °C.
func (c Criterion) Unit() string { return of(c).unit }

// Signed reports whether the criterion has a direction, so that a gain is printed with a plus sign.
func (c Criterion) Signed() bool { return of(c).signed }

// Needs returns the days whose rates enter, ascending; the last is the day the criterion is known from.
func (c Criterion) Needs() []int { return slices.Clone(of(c).needs) }

// KnownFrom returns the day the criterion is known from when no day is missed: 10, 13 or 15.
func (c Criterion) KnownFrom() int {
	needs := of(c).needs
	return needs[len(needs)-1]
}

// Limits returns the limits of c for a category, both ends included, in the unit of c. It panics on a category that is
// not Valid.
func (c Criterion) Limits(category Category) metrology.Limits {
	lower, upper := c.exactLimits(category)
	var l metrology.Limits
	if lower != nil {
		x, _ := lower.Float64()
		l.Lower = &x
	}
	if upper != nil {
		x, _ := upper.Float64()
		l.Upper = &x
	}
	return l
}

// exactLimits returns the limits as they stand in the table; nil is an open end.
func (c Criterion) exactLimits(category Category) (lower, upper *big.Rat) {
	if !category.Valid() {
		panic("chronometer: no limits of " + category.String())
	}
	pair := of(c).limits[category-1]
	return decimal(pair[0]), decimal(pair[1])
}

// decimal reads decimal text of this package exactly; "" is nil.
func decimal(text string) *big.Rat {
	if text == "" {
		return nil
	}
	x, ok := new(big.Rat).SetString(text)
	if !ok {
		panic("chronometer: not a decimal: " + text)
	}
	return x
}

// using returns the criteria that the rate of a day enters: none for days 12 and 14.
func using(day int) []Criterion {
	var list []Criterion
	for _, f := range table {
		if slices.Contains(f.needs, day) {
			list = append(list, f.criterion)
		}
	}
	return list
}
