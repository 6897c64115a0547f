package figures

import (
	"math"
	"time"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/estimate"
)

// Measure is what a cell counts. The value is kept in the database.
type Measure string

// The measures: what Value means, and to which month an outcome counts.
const (
	Turnaround  Measure = "turnaround"   // days from taking in to ready; the month in which the watch became ready
	Promise     Measure = "promise"      // days from the day promised first to ready, below zero for early; the month promised first
	PromiseLast Measure = "promise-last" // the same by the day that stood at last; the month promised first
	PromiseOpen Measure = "promise-open" // 0: promised and not ready yet; the month promised first
	FirstPass   Measure = "first-pass"   // 1 where the first final test passed, else 0; the month of that test
	CameBack    Measure = "came-back"    // 1 where the watch came back under warranty, else 0; the month in which it was handed over
	Estimate    Measure = "estimate"     // 1 approved, 0 declined; the month of the newest answer
	Taken       Measure = "taken"        // 0; counts minor units of money taken, in the month of the till's day
	Billed      Measure = "billed"       // 0; counts minor units billed, net, of watches that left, all of whose parts have a known cost; the month of leaving
	PartsCost   Measure = "parts-cost"   // 0; counts what their parts cost
	Margins     Measure = "margins"      // 1 where all parts' costs are known, else 0; counts watches that were billed; the month of leaving
)

// StageTime counts hours in a stage, see [Coarse]; the month in which the watch became ready.
func StageTime(s docket.Stage) Measure { return Measure("stage-" + string(s)) }

// Refused counts the lines of a kind that customers did not want, with value 0; the month of the newest answer.
func Refused(k estimate.Kind) Measure { return Measure("refused-" + string(k)) }

// Quantity is what is measured of a watch before and after the work.
type Quantity string

// The quantities, each at full wind, with the resolution at which they are kept.
const (
	Rate    Quantity = "rate"    // tenths of a second a day
	Delta   Quantity = "delta"   // tenths of a second a day
	Lying   Quantity = "lying"   // degrees of amplitude
	Hanging Quantity = "hanging" // degrees of amplitude
	Loss    Quantity = "loss"    // degrees of amplitude, over 24 hours
)

// Quantities returns them in the order in which a page shows them.
func Quantities() []Quantity { return []Quantity{Rate, Delta, Lying, Hanging, Loss} }

// Before and After are kept for watches that were measured both times; the month in which the watch became ready.
func (q Quantity) Before() Measure { return Measure(string(q) + "-before") }

// After is Before's other side.
func (q Quantity) After() Measure { return Measure(string(q) + "-after") }

// PerUnit is how many steps of the resolution make a second a day, or a degree.
func (q Quantity) PerUnit() float64 {
	if q == Rate || q == Delta {
		return 10
	}
	return 1
}

// Of is the figure of m.
func (q Quantity) Of(m Measured) *float64 {
	switch q {
	case Rate:
		return m.RateSPerDay
	case Delta:
		return m.DeltaSPerDay
	case Lying:
		return m.LyingDeg
	case Hanging:
		return m.HangingDeg
	}
	return m.LossDeg
}

// Dimension is by what figures are told apart.
type Dimension string

// The dimensions. ByAll has one key, "".
const (
	ByAll     Dimension = "all"
	ByBench   Dimension = "bench"   // the id of who did the work, "0" for nobody
	ByCalibre Dimension = "calibre" // the id in the shop's list, "0" for none
	ByWork    Dimension = "work"    // the service wanted
)

// Dimensions returns every dimension.
func Dimensions() []Dimension { return []Dimension{ByAll, ByBench, ByCalibre, ByWork} }

// Key names a cell: of these, so many had this value. The value of a measure is a whole number at the resolution that the measure
// states, so that a median or any other quantile of a span of months is exact at that resolution.
type Key struct {
	Measure   Measure
	Dimension Dimension
	Key       string
	Month     Month
	Currency  string // of the measures that count money
	Value     int
}

// Bounds of what is kept, so that the number of cells has one too: what lies beyond counts as the bound.
const (
	MostDays   = 400  // of a turnaround, and of a day promised and not kept, on both sides
	MostHours  = 9600 // in a stage
	MostRate   = 3000 // tenths of a second a day, on both sides
	MostDegree = 400
)

// Coarse is a time in whole hours up to three days, and above in days of 24 hours each, rounded down.
func Coarse(seconds int64) int {
	hours := seconds / int64(time.Hour/time.Second)
	if hours > 72 {
		hours -= hours % 24
	}
	return int(min(hours, MostHours))
}

// Cells are what an outcome adds to the shop's figures: each count, in each of the dimensions.
func Cells(o Outcome) map[Key]int64 {
	c := cells{o: o, sum: map[Key]int64{}}
	c.promises()
	c.bench()
	c.customer()
	c.money()
	return c.sum
}

type cells struct {
	o   Outcome
	sum map[Key]int64
}

// add counts n in every dimension.
func (c cells) add(m Measure, month Month, currency string, value int, n int64) {
	if n == 0 {
		return
	}
	for _, d := range Dimensions() {
		c.sum[Key{m, d, KeyOf(c.o, d), month, currency, value}] += n
	}
}

func (c cells) promises() {
	o := c.o
	if !o.ReadyOn.IsZero() {
		c.add(Turnaround, MonthOf(o.ReadyOn), "", within(daysFrom(o.ReceivedOn, o.ReadyOn), 0, MostDays), 1)
	}
	if o.FirstPromisedOn.IsZero() || o.Ended == Declined || o.Ended == Withdrawn {
		return
	}
	month := MonthOf(o.FirstPromisedOn)
	if o.ReadyOn.IsZero() {
		c.add(PromiseOpen, month, "", 0, 1)
		return
	}
	c.add(Promise, month, "", within(daysFrom(o.FirstPromisedOn, o.ReadyOn), -MostDays, MostDays), 1)
	if !o.PromisedOn.IsZero() {
		c.add(PromiseLast, month, "", within(daysFrom(o.PromisedOn, o.ReadyOn), -MostDays, MostDays), 1)
	}
}

func (c cells) bench() {
	o := c.o
	if !o.TestedOn.IsZero() {
		c.add(FirstPass, MonthOf(o.TestedOn), "", one(o.FirstPassed), 1)
	}
	if o.ReadyOn.IsZero() {
		return
	}
	month := MonthOf(o.ReadyOn)
	for stage, seconds := range o.Seconds {
		c.add(StageTime(stage), month, "", Coarse(seconds), 1)
	}
	for _, q := range Quantities() {
		before, after := q.Of(o.Before), q.Of(o.After)
		if before == nil || after == nil {
			continue
		}
		c.add(q.Before(), month, "", q.kept(*before), 1)
		c.add(q.After(), month, "", q.kept(*after), 1)
	}
}

// kept is a figure at the resolution of its quantity.
func (q Quantity) kept(v float64) int {
	most := MostDegree
	if q == Rate || q == Delta {
		most = MostRate
	}
	return within(int(math.Round(max(min(v*q.PerUnit(), 1e6), -1e6))), -most, most)
}

func (c cells) customer() {
	o := c.o
	if o.Ended == HandedOver {
		c.add(CameBack, MonthOf(o.LeftOn), "", one(!o.CameBackOn.IsZero()), 1)
	}
	if o.AnsweredOn.IsZero() {
		return
	}
	c.add(Estimate, MonthOf(o.AnsweredOn), "", one(o.Approved), 1)
	for kind, n := range o.Refused {
		c.add(Refused(kind), MonthOf(o.AnsweredOn), "", 0, int64(n))
	}
}

func (c cells) money() {
	o := c.o
	for month, minor := range o.Taken {
		c.add(Taken, month, o.Currency, 0, minor)
	}
	if o.LeftOn.IsZero() || o.BilledMinor == nil {
		return
	}
	month, known := MonthOf(o.LeftOn), o.PartsUnknown == 0
	c.add(Margins, month, o.Currency, one(known), 1)
	if known {
		c.add(Billed, month, o.Currency, 0, *o.BilledMinor)
		c.add(PartsCost, month, o.Currency, 0, o.PartsMinor)
	}
}

func one(yes bool) int {
	if yes {
		return 1
	}
	return 0
}

// daysFrom counts from one civil day to another.
func daysFrom(from, to time.Time) int { return int(to.Sub(from) / (24 * time.Hour)) }

func within(v, least, most int) int { return max(least, min(v, most)) }
