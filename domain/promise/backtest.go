package promise

import (
	"cmp"
	"math"
	"slices"
	"time"
)

// Level is the chance with which a day is proposed.
const Level = 0.8

// Levels are the chances whose calibration is looked at.
var Levels = [...]float64{0.5, 0.6, 0.7, Level, 0.9}

// Try is what would have been said of a watch when it was taken in, from what was known then, and what came of it.
type Try struct {
	ID int64
	On time.Time // the civil day of taking in
	Said
	At [len(Levels)]Said // the same for each of Levels
}

// Said is a day that was said, and what came of it.
type Said struct {
	Day time.Time
	// Kept says that the watch was ready on that day or before. Decided is false where the day is still to come, or where the
	// watch went away before without being repaired, so that nothing was kept or broken.
	Kept, Decided bool
}

// tracker corrects what is proposed by what came of earlier proposals. It follows the quantile of the error online: after a
// promise that was broken the days grow, after one that was kept they shrink, four times less, so that in the long run one
// in five is broken however the shop changes (I. Gibbs and E. Candès, "Adaptive conformal inference under distribution
// shift", 2021; here on the logarithm of the days, as the quantile tracker of A. Angelopoulos, E. Candès and R. Tibshirani,
// "Conformal PID control for time series prediction", 2023, with steps that grow smaller to a floor; cited from memory).
type tracker struct {
	log  float64 // of the stretch
	seen int
}

const (
	leastStep = 0.07
	firstStep = 0.2
)

func (t *tracker) stretch() float64 { return math.Exp(t.log) }

func (t *tracker) learn(kept bool) {
	step := math.Max(leastStep, firstStep*10/float64(10+t.seen))
	t.seen++
	if kept {
		t.log -= step * (1 - Level)
	} else {
		t.log += step * Level
	}
	t.log = math.Max(-1.5, math.Min(1.5, t.log))
}

// pending is a proposal that waits for what becomes of it.
type pending struct {
	index int
	due   float64 // the end of the proposed day
	kept  bool
}

// Backtest goes through the shop's past from taking in to taking in. For each watch it proposes a day by what was known at
// that moment, corrected by what had come of the proposals before by then. It gives the proposals in order of taking in, and
// the correction as it stands at the end, a factor on the days.
func (s *Shop) Backtest() (tries []Try, stretch float64) {
	var t tracker
	var open []pending
	for i := range s.watches {
		w := &s.watches[i]
		open = t.settle(open, w.received)
		f := s.forecast(s.taken(w.received, w.Watch, w.load), t.stretch())
		try := Try{ID: w.ID, On: s.cal.day(w.received), Said: s.said(w, f, Level)}
		for k, level := range Levels {
			try.At[k] = s.said(w, f, level)
		}
		if try.Decided {
			open = append(open, pending{len(tries), s.cal.place(try.Day) + 1, try.Kept})
		}
		tries = append(tries, try)
	}
	t.settle(open, s.until)
	return tries, t.stretch()
}

// settle learns from all that was due by x, in order, and gives back what is still open.
func (t *tracker) settle(open []pending, x float64) (left []pending) {
	slices.SortFunc(open, func(a, b pending) int {
		return cmp.Or(cmp.Compare(a.due, b.due), cmp.Compare(a.index, b.index))
	})
	for len(open) > 0 && open[0].due <= x {
		t.learn(open[0].kept)
		open = open[1:]
	}
	return open
}

// said is the day that a forecast gives for w at a chance, and what becomes of it.
func (s *Shop) said(w *past, f Forecast, chance float64) Said {
	day := f.Day(chance)
	end := s.cal.place(day) + 1
	kept := w.ready < end
	return Said{Day: day, Kept: kept, Decided: end <= s.until && (kept || w.gone >= end)}
}

// taken is a watch that is taken in at x.
func (s *Shop) taken(x float64, w Watch, load float64) subject {
	return subject{at: x, id: w.ID, kind: w.Kind, comeback: w.Comeback, fresh: true, load: load}
}
