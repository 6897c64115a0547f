package chronometer

import (
	"fmt"
	"math"
	"math/big"
	"time"
)

// Comparison is one reading of the watch against a reference clock, so that a shop without a timing instrument can run
// a trial. Two of them, a day apart, give that day's rate.
type Comparison struct {
	Day       int       // whose end this reading is, 1 to 15; 0 for the reading that day 1 begins with
	Reference time.Time // the true instant
	Watch     time.Time // the instant the watch showed then, in the same zone and without summer time between readings
	StdS      float64   // standard uncertainty of the comparison, in s: how well watch and clock were read together
}

// ComparisonError says what is wrong with the comparison of one day.
type ComparisonError struct {
	Day int
	Why string // a sentence
}

func (e *ComparisonError) Error() string {
	return fmt.Sprintf("comparison of day %d: %s", e.Day, e.Why)
}

// Bounds within which two comparisons make a daily rate.
const (
	maxOff      = 12 * time.Hour // beyond it, nobody can tell whether the watch is fast or slow
	minInterval = 12 * time.Hour
	maxInterval = 36 * time.Hour
	// maxDailyChange tells hands that were set, or a change of summer time, from a rate. Our choice: the poorest watch
	// that still runs stays well within half an hour a day.
	maxDailyChange = 30 * time.Minute
	maxComparisonS = 3600
)

// DialHours says how many hours a dial or a typed time tells apart.
const (
	TwelveHourDial     = 12
	TwentyFourHourTime = 24
)

// WatchInstant returns the instant nearest to reference at which a watch in reference's zone shows the time of day
// given as seconds after 0 o'clock. So a watch read as 23:59:58 at 00:00:01 is three seconds slow, not a day fast. A
// twelve-hour dial tells instants apart within ±6 h of the reference, a 24-hour time within ±12 h. It fails when the
// time of day is outside the dial.
func WatchInstant(reference time.Time, secondsOfDay float64, dialHours int) (time.Time, error) {
	if dialHours != TwelveHourDial && dialHours != TwentyFourHourTime {
		return time.Time{}, fmt.Errorf("a dial of %d hours is not known: use 12 or 24", dialHours)
	}
	if !(secondsOfDay >= 0 && secondsOfDay < 86400) {
		return time.Time{}, fmt.Errorf("the time the watch shows must be from 0:00:00 to before 24:00:00")
	}
	turn := time.Duration(dialHours) * time.Hour
	shown := time.Duration(math.Round(secondsOfDay*1e9)) % turn
	clock := time.Duration(reference.Hour())*time.Hour + time.Duration(reference.Minute())*time.Minute +
		time.Duration(reference.Second())*time.Second + time.Duration(reference.Nanosecond())
	off := (shown - clock%turn) % turn
	switch {
	case off > turn/2:
		off -= turn
	case off < -turn/2:
		off += turn
	}
	return reference.Add(off), nil
}

// problem returns why c cannot be used, or "".
func (c Comparison) problem() string {
	off := c.Watch.Sub(c.Reference)
	switch {
	case c.Day < 0 || c.Day > Days:
		return "It belongs to none of the fifteen days."
	case c.Reference.IsZero() || c.Watch.IsZero():
		return "Give the reference time and the time the watch showed."
	case off > maxOff || off < -maxOff:
		return "The watch is off by more than 12 hours: it can't be told whether it is fast or slow. Check both times and dates."
	case !(c.StdS >= 0 && c.StdS <= maxComparisonS):
		return "The uncertainty must be from 0 to 3600 s."
	}
	return ""
}

// FromComparisons returns the rates of all days whose two comparisons are there. For day i with reference interval T
// and states E,
//
//	Mi = (E(i) - E(i-1)) · 86400 s / T      u²(Mi) = (86400 s / T)² · (u²(i) + u²(i-1))
//
// Neighbouring days share a comparison, so their errors oppose each other:
//
//	cov(Mi, Mi+1) = - (86400 s / T(i)) · (86400 s / T(i+1)) · u²(i)
//
// and in a mean over days the shared readings cancel, leaving the first and the last (JCGM 100, 5.2.2 for the
// covariance). The error of the interval itself is left out: it enters as rate/86400. It fails with a
// *ComparisonError on the first comparison that cannot be used.
func FromComparisons(list []Comparison) (Rates, error) {
	var at [Days + 1]*Comparison
	for i := range list {
		c := &list[i]
		if why := c.problem(); why != "" {
			return Rates{}, &ComparisonError{c.Day, why}
		}
		if at[c.Day] != nil {
			return Rates{}, &ComparisonError{c.Day, "There are two comparisons for this day; keep one."}
		}
		at[c.Day] = c
	}
	var r Rates
	var scale [Days + 1]float64
	for day := 1; day <= Days; day++ {
		before, after := at[day-1], at[day]
		if before == nil || after == nil {
			continue
		}
		rate, interval, why := between(*before, *after)
		if why != "" {
			return Rates{}, &ComparisonError{day, why}
		}
		scale[day] = float64(24*time.Hour) / float64(interval)
		r.put(day, rate, scale[day]*scale[day]*(before.StdS*before.StdS+after.StdS*after.StdS))
		if r.exact[day-1] != nil {
			shared := -scale[day-1] * scale[day] * before.StdS * before.StdS
			r.cov[day-1][day], r.cov[day][day-1] = shared, shared
		}
	}
	return r, nil
}

// between returns the exact rate between two comparisons, in s/d.
func between(before, after Comparison) (rate *big.Rat, interval time.Duration, why string) {
	interval = after.Reference.Sub(before.Reference)
	switch {
	case interval <= 0:
		return nil, 0, "Its reference time is not after that of the day before."
	case interval < minInterval || interval > maxInterval:
		return nil, 0, "It is not about one day after the one before: a daily rate needs 12 to 36 hours between them."
	}
	gain := after.Watch.Sub(after.Reference) - before.Watch.Sub(before.Reference)
	rate = new(big.Rat).SetFrac64(int64(gain), int64(interval))
	rate.Mul(rate, big.NewRat(86400, 1))
	if x, _ := rate.Float64(); math.Abs(x) > maxDailyChange.Seconds() {
		return nil, 0, "The watch changed by more than half an hour in a day: were its hands set, did it stop, or did " +
			"summer time change?"
	}
	return rate, interval, ""
}
