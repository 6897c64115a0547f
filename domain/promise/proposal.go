package promise

import (
	"fmt"
	"math"
	"strconv"
	"time"
)

// Propose is the forecast for a watch that is taken in at the moment now. stretch is the correction that Backtest gave; 1 for
// none.
func (s *Shop) Propose(w Watch, now time.Time, stretch float64) Forecast {
	x := s.cal.at(now)
	return s.forecast(s.taken(x, w, s.loadAt(x, 0)), stretch)
}

// Outlook is the forecast for a watch of the shop that is in work at the moment now. ok is false for one that is not.
func (s *Shop) Outlook(id int64, now time.Time, stretch float64) (f Forecast, ok bool) {
	x := s.cal.at(now)
	for i := range s.watches {
		w := &s.watches[i]
		if w.ID != id {
			continue
		}
		at, stood, ok := s.stateAt(w, x)
		if !ok {
			return Forecast{}, false
		}
		q := subject{at: x, id: id, kind: w.Kind, comeback: w.Comeback, stage: at.stage, own: at.own, stood: stood, load: s.loadAt(x, w.Bench) - counts(at.own)}
		if !w.PartsDue.IsZero() {
			q.partsDue = s.cal.place(w.PartsDue)
		}
		return s.forecast(q, stretch), true
	}
	return Forecast{}, false
}

// SlipLine is the chance below which a promised day is said to slip: it is then more likely broken than kept, and the customer
// should be told.
const SlipLine = 0.5

// Slips reports whether a promise with a chance in percent should be taken up with its customer.
func Slips(percent int) bool { return float64(percent) < 100*SlipLine }

// Proposed is what was proposed when a watch was taken in, as it is kept.
type Proposed struct {
	Day           time.Time // kept with the chance Level
	ChancePercent int
	Watches       int // finished watches of the shop's own that it was drawn from
	StartPercent  int // how much of it was the stated start
	// PromisedPercent is the chance, said then, of the day that was promised; nil where none was.
	PromisedPercent *int
}

// Proposed is f as it is kept, with the chance of the day that is promised; zero for none.
func (f Forecast) Proposed(promised time.Time) Proposed {
	p := Proposed{Day: f.Day(Level), ChancePercent: Percent(Level), Watches: f.Watches, StartPercent: Percent(f.StartShare)}
	if !promised.IsZero() {
		percent := Percent(f.Chance(promised))
		p.PromisedPercent = &percent
	}
	return p
}

// Percent rounds a share to whole percents.
func Percent(share float64) int { return int(math.Round(100 * share)) }

// InTen says a chance in percent as people say it: "8 times in 10". A chance is never said to be nothing or certain.
func InTen(percent int) string {
	switch tenths := (percent + 5) / 10; {
	case tenths < 1:
		return "less than once in 10"
	case tenths == 1:
		return "once in 10"
	case tenths > 9:
		return "more than 9 times in 10"
	default:
		return strconv.Itoa(tenths) + " times in 10"
	}
}

// From says what a proposal was drawn from, in a sentence without its full stop.
func (p Proposed) From() string {
	switch {
	case p.Watches == 0:
		return "from the usual times of such work: this shop has no finished watch yet"
	case p.StartPercent >= 25:
		return fmt.Sprintf("from %s of ours and the usual times of such work, which still count %d %%", watches(p.Watches), p.StartPercent)
	}
	return "from " + watches(p.Watches) + " of ours"
}

func watches(n int) string {
	if n == 1 {
		return "1 watch"
	}
	return strconv.Itoa(n) + " watches"
}
