package promise

import (
	"cmp"
	"math"
	"slices"
	"time"

	"ledgerwheel/domain/docket"
)

// Watch is one docket as the record has it: what is known of it, and how long it stood where.
type Watch struct {
	ID       int64
	Received time.Time
	// Stays are in the order of time; the last one is open (Until zero) while the watch is in the shop.
	Stays []Stay
	// Kind is what sort of work it is, as far as it is known when the watch is taken in; Comeback is under warranty.
	Kind     string
	Comeback bool
	// Bench is whose bench has it, or had it last; 0 for none.
	Bench int64
	// PartsDue is the day on which the last part that was ordered for it should come, midnight UTC; zero for none.
	PartsDue time.Time
}

// Stay is one stay in a stage.
type Stay struct {
	Stage        docket.Stage
	Since, Until time.Time
}

// piece is a stay with its length: in open days where the shop works (own), in days of the calendar where it waits.
type piece struct {
	stage        int // its place on the rail
	own          bool
	since, until float64 // places on the calendar; until is +Inf while it lasts
	length       float64 // of a finished stay
	load, inShop float64 // what stood at the same bench, and in the shop, when it began
	log, logLoad float64 // the logarithms of its length and of what stood in the shop, for the pace
}

// path is the pieces of one watch up to its being ready.
type path []piece

// stages is how many there are on the rail.
const stages = 9

// past is a watch laid onto the calendar.
type past struct {
	Watch
	path
	received float64
	ready    float64 // when it was first ready; +Inf if it never was
	gone     float64 // when it was declined, withdrawn or handed over without being ready; +Inf if it wasn't
	load     float64 // what stood in the shop when it came
	total    float64 // open days of the shop's own work until ready
}

// Shop is what is known of a shop: watches that it had and has, and when it is open.
type Shop struct {
	cal     *Calendar
	watches []past // by receipt
	made    []path // watches made up of the start
	start   Start
	ended   []ended // by their ends
	until   float64 // the place up to which anything is known
}

// NewShop lays watches onto the calendar. Watches that were received before the calendar begins are left out. now is up to
// when the record goes.
func NewShop(cal *Calendar, start Start, watches []Watch, now time.Time) *Shop {
	s := &Shop{cal: cal, start: start, made: start.paths(), until: cal.at(now)}
	for _, w := range watches {
		if p := cal.lay(w); p.received >= 0 && p.received <= s.until {
			s.watches = append(s.watches, p)
		}
	}
	slices.SortFunc(s.watches, func(a, b past) int {
		return cmp.Or(cmp.Compare(a.received, b.received), cmp.Compare(a.ID, b.ID))
	})
	s.weigh()
	for i := range s.watches {
		for j := range s.watches[i].path {
			p := &s.watches[i].path[j]
			p.log, p.logLoad = math.Log(p.length+leastLength), math.Log(p.inShop+1)
		}
	}
	s.ended = s.endedStays()
	return s
}

// lay puts one watch onto the calendar, up to its being ready or going away.
func (c *Calendar) lay(w Watch) past {
	p := past{Watch: w, received: c.at(w.Received), ready: math.Inf(1), gone: math.Inf(1)}
	for _, stay := range w.Stays {
		since := c.at(stay.Since)
		switch {
		case stay.Stage == docket.StageReady:
			p.ready = since
			return p
		case stay.Stage.Exit() || stay.Stage == docket.StageHandedOver:
			p.gone = since
			return p
		}
		one := piece{stage: stay.Stage.Order(), own: !waits(stay.Stage), since: since, until: math.Inf(1)}
		if !stay.Until.IsZero() {
			one.until = c.at(stay.Until)
			one.length = c.length(one.own, one.since, one.until)
			if one.own {
				p.total += one.length
			}
		}
		p.path = append(p.path, one)
	}
	return p
}

// length is how long a stay from since to until is by its own clock.
func (c *Calendar) length(own bool, since, until float64) float64 {
	if own {
		return c.open(until) - c.open(since)
	}
	return until - since
}

// change is a step of what stands at a bench, or in the shop.
type change struct {
	at    float64
	by    float64
	bench int64
	load  *float64 // where what stands at that moment is written, of the bench; nil for none
	whole *float64 // the same, of the shop
}

// waitingCounts is how much a watch that waits outside counts of one that the shop can work at.
const waitingCounts = 0.5

func counts(own bool) float64 {
	if own {
		return 1
	}
	return waitingCounts
}

// weigh writes down what stood at each bench and in the shop whenever a stay began. It uses nothing later than that moment.
func (s *Shop) weigh() {
	var changes []change
	for i := range s.watches {
		w := &s.watches[i]
		changes = append(changes, change{at: w.received, whole: &w.load})
		for j := range w.path {
			p := &w.path[j]
			changes = append(changes, change{at: p.since, load: &p.load, whole: &p.inShop, bench: w.Bench},
				change{at: p.since, by: counts(p.own), bench: w.Bench})
			if !math.IsInf(p.until, 1) {
				changes = append(changes, change{at: p.until, by: -counts(p.own), bench: w.Bench})
			} else if end := math.Min(w.ready, w.gone); !math.IsInf(end, 1) {
				changes = append(changes, change{at: end, by: -counts(p.own), bench: w.Bench})
			}
		}
	}
	slices.SortStableFunc(changes, func(a, b change) int { return cmp.Compare(a.at, b.at) })
	var shop float64
	bench := map[int64]float64{}
	for _, c := range changes {
		shop += c.by
		bench[c.bench] += c.by
		if c.whole != nil {
			*c.whole = shop
		}
		if c.load != nil {
			*c.load = bench[c.bench]
		}
	}
}

// stateAt says where a watch stood at x: the piece that it was in, and for how long by its own clock. ok is false where it
// was not in work then.
func (s *Shop) stateAt(w *past, x float64) (now piece, stood float64, ok bool) {
	if w.received > x || w.ready <= x || w.gone <= x {
		return piece{}, 0, false
	}
	for j := len(w.path) - 1; j >= 0; j-- {
		if p := w.path[j]; p.since <= x {
			return p, s.cal.length(p.own, p.since, x), true
		}
	}
	return piece{}, 0, false
}

// loadAt is what stands at x at a bench; in the whole shop for bench 0.
func (s *Shop) loadAt(x float64, bench int64) (load float64) {
	for i := range s.watches {
		if w := &s.watches[i]; bench == 0 || w.Bench == bench {
			if p, _, ok := s.stateAt(w, x); ok {
				load += counts(p.own)
			}
		}
	}
	return load
}
