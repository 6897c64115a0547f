package timing

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"time"

	"ledgerwheel/domain/metrology"
)

// Offset is one comparison of a watch or sea clock with a reference: how far it was ahead then.
type Offset struct {
	At       time.Time // by the reference
	FastS    float64   // what it showed less the reference, s; plus is fast
	HalfS    float64   // both were read together to within this much either way, s, rectangular
	HandsSet bool      // its hands were set just after this comparison, so the next interval can't begin here
}

// Interval is the rate between two comparisons that follow one another.
type Interval struct {
	From, To time.Time
	Days     float64
	Rate     metrology.Value // s/d, the reference's own rate taken off
}

// DailyRates is what several comparisons tell.
type DailyRates struct {
	// Mean is the mean daily rate over all intervals, each weighted by its days, s/d. Its uncertainty is that of the
	// readings and of the reference's rate: how well the mean of those days is known, not how the watch will go.
	Mean      metrology.Value
	Days      float64 // of the intervals together
	Intervals []Interval
	// Variation is the mean of the absolute differences of rates that follow one another, s/d, as criterion V of ISO
	// 3159 takes it of pairs; nil with fewer than two intervals.
	Variation *float64
	// Scatter is the standard deviation of the intervals' rates about their mean, s/d; nil with fewer than two.
	Scatter *float64
	// Greatest is the interval whose rate lies farthest from Mean.
	Greatest Interval
}

// Bounds of comparisons.
const (
	leastIntervalH  = 1.0
	maxDailyOffS    = 3600.0 // s/d; beyond it hands were set
	maxOffsetDays   = 400
	maxHalfS        = 600.0
	mostComparisons = 400
)

// OffsetError says what is wrong with one comparison.
type OffsetError struct {
	Row int    // from 1, in the order given; 0 is all of them
	Why string // a sentence
}

func (e *OffsetError) Error() string { return e.Why }

// DailyRatesOf returns the rates between comparisons and their mean. reference is the reference clock's own rate, s/d,
// plus when it gains: it is added, since a clock that gains makes the watch seem to lose. Between comparisons T days apart
//
//	rate = (fast after − fast before)/T + reference,  u² = (u²(after) + u²(before))/T² + u²(reference)
//
// In the mean over days without a gap the readings between cancel and the first and last remain (JCGM 100, 5.2); the
// reference's rate is shared by all intervals and stays whole. Intervals before and after hands were set are joined by
// their days. That T is counted by the reference's own days changes it by less than a part in ten thousand and is left
// out. Errors are *OffsetError.
func DailyRatesOf(list []Offset, reference metrology.Value) (DailyRates, error) {
	if err := offsetProblem(list); err != nil {
		return DailyRates{}, err
	}
	order := slices.Clone(list)
	slices.SortStableFunc(order, func(a, b Offset) int { return cmp.Compare(a.At.UnixNano(), b.At.UnixNano()) })
	var out DailyRates
	gained, weights := 0.0, make([]float64, len(order)) // of each reading in the sum of gains
	for i := 1; i < len(order); i++ {
		before, after := order[i-1], order[i]
		if before.HandsSet {
			continue
		}
		days := after.At.Sub(before.At).Hours() / 24
		rate := (after.FastS - before.FastS) / days
		out.Intervals = append(out.Intervals, Interval{From: before.At, To: after.At, Days: days,
			Rate: metrology.Value{Value: rate + reference.Value, Unit: UnitSPerDay, StdUncertainty: math.Hypot(
				math.Hypot(metrology.FromHalfWidth(before.HalfS), metrology.FromHalfWidth(after.HalfS))/days,
				reference.StdUncertainty)}})
		gained, out.Days = gained+after.FastS-before.FastS, out.Days+days
		weights[i-1]--
		weights[i]++
	}
	if len(out.Intervals) == 0 {
		return DailyRates{}, &OffsetError{0, "Give two comparisons without the hands set between them."}
	}
	square := 0.0
	for i, w := range weights {
		u := w * metrology.FromHalfWidth(order[i].HalfS) / out.Days
		square += u * u
	}
	out.Mean = metrology.Value{Value: gained/out.Days + reference.Value, Unit: UnitSPerDay,
		StdUncertainty: math.Hypot(math.Sqrt(square), reference.StdUncertainty)}
	out.spread()
	return out, nil
}

// spread fills in how the intervals differ.
func (d *DailyRates) spread() {
	off := func(i Interval) float64 { return math.Abs(i.Rate.Value - d.Mean.Value) }
	d.Greatest = slices.MaxFunc(d.Intervals, func(a, b Interval) int { return cmp.Compare(off(a), off(b)) })
	n := len(d.Intervals)
	if n < 2 {
		return
	}
	mean, steps, square := 0.0, 0.0, 0.0
	for i, x := range d.Intervals {
		mean += x.Rate.Value / float64(n)
		if i > 0 {
			steps += math.Abs(x.Rate.Value-d.Intervals[i-1].Rate.Value) / float64(n-1)
		}
	}
	for _, x := range d.Intervals {
		square += (x.Rate.Value - mean) * (x.Rate.Value - mean)
	}
	scatter := math.Sqrt(square / float64(n-1))
	d.Variation, d.Scatter = &steps, &scatter
}

// offsetProblem says what is wrong with the first comparison that can't be used.
func offsetProblem(list []Offset) error {
	if len(list) < 2 || len(list) > mostComparisons {
		return &OffsetError{0, fmt.Sprintf("Give from 2 to %d comparisons, one a line.", mostComparisons)}
	}
	at := make([]int, len(list))
	for i, o := range list {
		at[i] = i
		switch {
		case o.At.IsZero() || math.IsNaN(o.FastS) || math.Abs(o.FastS) > 86400/2:
			return &OffsetError{i + 1, "The watch may be at most 12 hours off: beyond that nobody can tell fast from slow."}
		case !(o.HalfS >= 0 && o.HalfS <= maxHalfS):
			return &OffsetError{i + 1, fmt.Sprintf("Give how well both were read, from 0 to %.0f s.", maxHalfS)}
		}
	}
	slices.SortStableFunc(at, func(a, b int) int { return cmp.Compare(list[a].At.UnixNano(), list[b].At.UnixNano()) })
	for i := 1; i < len(at); i++ {
		before, after := list[at[i-1]], list[at[i]]
		hours := after.At.Sub(before.At).Hours()
		switch {
		case hours < leastIntervalH:
			return &OffsetError{at[i] + 1, "It lies less than an hour from another comparison."}
		case hours > 24*maxOffsetDays:
			return &OffsetError{at[i] + 1, fmt.Sprintf("It lies more than %d days from the one before.", maxOffsetDays)}
		case !before.HandsSet && math.Abs(after.FastS-before.FastS)/hours*24 > maxDailyOffS:
			return &OffsetError{at[i] + 1, "The watch changed by more than an hour a day: if its hands were set after the " +
				"comparison before, write set at the end of that line."}
		}
	}
	return nil
}
