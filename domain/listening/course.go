package listening

import (
	"slices"

	"ledgerwheel/domain/timing"
)

// Plan is what a watchmaker wants to listen to.
type Plan struct {
	Positions []timing.Position // in the order they are gone through
	// Through goes from one position to the next by itself; otherwise the first is listened to until it is stopped.
	Through bool
	// SettleS is how long the watch has to be turned and to settle before it is listened to, seconds.
	SettleS float64
	// MostS is the longest that one position is listened to when going through them, seconds.
	MostS float64
	// LeastS is how long the watch is heard, seconds, before a position is decided; 0 for DefaultLeastS.
	LeastS float64
}

// DecidesAfterS is how long the watch is heard before a position is decided, seconds, before that is made whole turns
// of the escape wheel.
func (p Plan) DecidesAfterS() float64 {
	if p.LeastS == 0 {
		return DefaultLeastS
	}
	return p.LeastS
}

// Common practice: an amplitude has settled some ten to thirty seconds after the watch was turned.
const (
	DefaultSettleS = 15
	DefaultMostS   = 60

	leastSettle, mostSettle = 0, 600
	leastMost, mostMost     = 10, 1800
	leastLeast, mostLeast   = 5, 1800
)

// cueS is how long a position is called out, seconds: two tones and two or three words.
const cueS = 3

// Problems says, by form field, what is wrong with the plan: "position", "settle",
// "most", "least".
func (p Plan) Problems() map[string]string {
	bad := map[string]string{}
	if len(p.Positions) == 0 || slices.ContainsFunc(p.Positions, func(p timing.Position) bool { return !p.Valid() }) {
		bad["position"] = "Choose one of the six positions."
	}
	switch {
	case !(p.SettleS >= leastSettle && p.SettleS <= mostSettle):
		bad["settle"] = "Give seconds from 0 to 600."
	case p.Through && p.SettleS < cueS:
		bad["settle"] = "Give 3 seconds at least: the position is called out meanwhile, and that must not be measured."
	}
	if !(p.MostS >= leastMost && p.MostS <= mostMost) {
		bad["most"] = "Give seconds from 10 to 1800."
	}
	if least := p.DecidesAfterS(); !(least >= leastLeast && least <= mostLeast) {
		bad["least"] = "Give seconds from 5 to 1800."
	} else if p.Through && bad["most"] == "" && least > p.MostS {
		bad["least"] = "Give no more than the longest in one position: nothing would ever be decided."
	}
	return bad
}

// Round returns the positions from one on, all six once, in the order of the grid.
func Round(from timing.Position) []timing.Position {
	all := timing.Positions()
	at := max(0, slices.Index(all, from))
	return append(all[at:], all[:at]...)
}

// NextAfter returns the position that follows in the order of the grid.
func NextAfter(p timing.Position) timing.Position { return Round(p)[1] }

// Phase is where listening stands.
type Phase string

// The phases.
const (
	Settling  Phase = "settling"  // the watch is turned and settles; nothing is measured
	Measuring Phase = "measuring" // listened to
	Decided   Phase = "decided"   // listened to, and good enough
	Over      Phase = "over"      // no position is left, or it was stopped
)

// Step is what follows from more sound.
type Step string

// The steps.
const (
	Stay  Step = ""
	Begin Step = "begin" // the watch has settled: measure from here
	Next  Step = "next"  // the position is done, the next one begins with settling
	End   Step = "end"   // the last position is done
)

// Course leads through a plan. Its time is that of the sound: seconds since the session's first sample.
type Course struct {
	plan  Plan
	at    int     // the position
	since float64 // when the present phase of the position began
	phase Phase
}

// NewCourse begins a plan that has no Problems at a time. Only turning from one position to another needs to settle:
// where one position is listened to, SettleS counts all the same, for the hands to come off the watch.
func NewCourse(p Plan, nowS float64) *Course {
	c := &Course{plan: p, since: nowS, phase: Settling}
	if p.SettleS == 0 {
		c.phase = Measuring
	}
	return c
}

// Position is the one being listened to, or the last one.
func (c *Course) Position() timing.Position { return c.plan.Positions[c.at] }

// Place says which position of how many that is, from 1.
func (c *Course) Place() (number, of int) {
	if !c.plan.Through {
		return 1, 1
	}
	return c.at + 1, len(c.plan.Positions)
}

// Phase is where listening stands.
func (c *Course) Phase() Phase { return c.phase }

// MeasuredS is how long the present position has been measured, and LeftS how long settling or measuring goes on at
// most; 0 where it goes on until it is stopped.
func (c *Course) MeasuredS(nowS float64) float64 {
	if c.phase == Settling {
		return 0
	}
	return nowS - c.since
}

// LeftS is how long the present phase goes on at most, 0 where it goes on until it is stopped.
func (c *Course) LeftS(nowS float64) float64 {
	switch {
	case c.phase == Settling:
		return max(0, c.since+c.plan.SettleS-nowS)
	case c.plan.Through && c.phase != Over:
		return max(0, c.since+c.plan.MostS-nowS)
	}
	return 0
}

// Until is the time at which what was heard has to be looked at next: after more seconds, or when the phase is over.
func (c *Course) Until(nowS, more float64) float64 {
	switch {
	case c.phase == Settling:
		return c.since + c.plan.SettleS
	case c.plan.Through && nowS < c.since+c.plan.MostS:
		return min(nowS+more, c.since+c.plan.MostS)
	}
	return nowS + more
}

// Advance says what follows at a time from what was heard so far in the position.
func (c *Course) Advance(nowS float64, h Heard) Step {
	switch c.phase {
	case Over:
		return Stay
	case Settling:
		if nowS < c.since+c.plan.SettleS {
			return Stay
		}
		c.phase, c.since = Measuring, nowS
		return Begin
	}
	c.phase = Measuring
	if h.Decided(c.plan.DecidesAfterS()) {
		c.phase = Decided
	}
	if c.plan.Through && (c.phase == Decided || nowS-c.since >= c.plan.MostS) {
		return c.Skip(nowS)
	}
	return Stay
}

// Skip leaves the position for the next one.
func (c *Course) Skip(nowS float64) Step {
	if c.phase == Over {
		return Stay
	}
	if !c.plan.Through || c.at == len(c.plan.Positions)-1 {
		c.phase = Over
		return End
	}
	c.at++
	c.since, c.phase = nowS, Settling
	if c.plan.SettleS == 0 {
		c.phase = Measuring
	}
	return Next
}

// Stop ends the course.
func (c *Course) Stop() { c.phase = Over }
