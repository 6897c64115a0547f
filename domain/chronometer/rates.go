package chronometer

import (
	"errors"
	"fmt"
	"math"
	"math/big"

	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/timing"
)

// Rates are the daily rates known so far, kept exactly as they were typed or as they follow from the clock readings,
// with the covariance of their errors. The zero value knows no day. Copies are independent.
type Rates struct {
	exact [Days + 1]*big.Rat // by day, s/d; nil is not known. A rational is never changed once it is here.
	value [Days + 1]float64  // the same, rounded
	cov   [Days + 1][Days + 1]float64
}

// Set enters a typed rate for day 1 to 15 with its own uncertainty: what is stated and what the step of its figures
// adds. It fails, changing nothing, on a day outside the programme or a figure that is not finite or not a rate.
func (r *Rates) Set(day int, f timing.Figure) error {
	if _, ok := DayOf(day); !ok {
		return fmt.Errorf("day %d is not one of the fifteen", day)
	}
	if !(math.Abs(f.Value) <= maxRateSPerDay) {
		return fmt.Errorf("day %d: give a rate from −%d to +%[2]d s/d", day, int(maxRateSPerDay))
	}
	for _, u := range []float64{f.Step, f.StdUncertainty} {
		if !(u >= 0 && u <= maxRateSPerDay) {
			return fmt.Errorf("day %d: the step and the uncertainty must be zero or more", day)
		}
	}
	u := f.Independent()
	r.put(day, exactly(f), u*u)
	return nil
}

// maxRateSPerDay is the bound of timing: it catches slips of the hand, not poor watches.
const maxRateSPerDay = 9999.0

// exactly returns the decimal that was typed: the text a form would show again, so that 0.1 is one tenth. A figure
// without a step is taken as the binary number it is.
func exactly(f timing.Figure) *big.Rat {
	if f.Step > 0 {
		if x, ok := new(big.Rat).SetString(f.InputText(timing.Rate)); ok {
			if rounded, _ := x.Float64(); rounded == f.Value { // otherwise the figure is finer than its step
				return x
			}
		}
	}
	return new(big.Rat).SetFloat64(f.Value)
}

// put enters an exact rate with a variance of its own, in (s/d)².
func (r *Rates) put(day int, x *big.Rat, variance float64) {
	r.exact[day] = x
	r.value[day], _ = x.Float64()
	for other := range r.cov {
		r.cov[day][other], r.cov[other][day] = 0, 0
	}
	r.cov[day][day] = variance
}

// ShareClock adds the standard uncertainty, in s/d, of the one clock that all known rates were taken against. It moves
// all rates together: it stays whole in M and cancels in every difference. Call it once, after the last rate is set.
func (r *Rates) ShareClock(stdSPerDay float64) error {
	if !(stdSPerDay >= 0) || math.IsInf(stdSPerDay, 0) {
		return errors.New("the uncertainty of the clock must be zero or more")
	}
	for _, i := range r.Known() {
		for _, j := range r.Known() {
			r.cov[i][j] += stdSPerDay * stdSPerDay
		}
	}
	return nil
}

// Known returns the days whose rates are known, ascending.
func (r Rates) Known() []int {
	var days []int
	for day := 1; day <= Days; day++ {
		if r.exact[day] != nil {
			days = append(days, day)
		}
	}
	return days
}

// Rate returns the rate of a day, in s/d, with its standard uncertainty; ok is false when it is not known.
func (r Rates) Rate(day int) (v metrology.Value, ok bool) {
	if day < 1 || day > Days || r.exact[day] == nil {
		return metrology.Value{Unit: timing.UnitSPerDay}, false
	}
	return metrology.Value{Value: r.value[day], StdUncertainty: math.Sqrt(r.cov[day][day]), Unit: timing.UnitSPerDay}, true
}

// Covariance returns the covariance of the errors of two days' rates, in (s/d)²; 0 where one is not known.
func (r Rates) Covariance(day, other int) float64 {
	if day < 1 || day > Days || other < 1 || other > Days {
		return 0
	}
	return r.cov[day][other]
}

// Until returns the rates of days 1 to day: what was known then.
func (r Rates) Until(day int) Rates {
	for later := max(1, day+1); later <= Days; later++ {
		r.clear(later)
	}
	return r
}

func (r *Rates) clear(day int) {
	r.exact[day], r.value[day] = nil, 0
	for other := range r.cov {
		r.cov[day][other], r.cov[other][day] = 0, 0
	}
}

// missing returns which of the days are not known.
func (r Rates) missing(days []int) []int {
	var list []int
	for _, day := range days {
		if r.exact[day] == nil {
			list = append(list, day)
		}
	}
	return list
}
