package oscillator

import (
	"fmt"
	"slices"
	"time"

	"ledgerwheel/domain/text"
)

// Work is something done to a watch that changes what its readings may mean.
type Work string

// The kinds of work that the steps ask about.
const (
	Demagnetised       Work = "demagnetised"
	Cleaned            Work = "cleaned"
	HairspringReplaced Work = "hairspring replaced"
	MainspringReplaced Work = "mainspring replaced"
	StaffReplaced      Work = "balance staff replaced"
)

// words says the work after "the watch was" or by itself.
func (w Work) words() string {
	switch w {
	case Demagnetised, Cleaned:
		return "the watch was " + string(w)
	case HairspringReplaced:
		return "the hairspring was replaced"
	case MainspringReplaced:
		return "the mainspring was replaced"
	case StaffReplaced:
		return "the balance staff was replaced"
	}
	return string(w)
}

// unties reports whether nothing measured before the work still holds.
func (w Work) unties() bool { return w == Cleaned || w == HairspringReplaced || w == StaffReplaced }

// Seen is something found by looking at the watch that speaks for a step.
type Seen string

// What may be seen.
const (
	SeenMagnetised      Seen = "magnetised hairspring"
	SeenCoilsTouch      Seen = "coils that touch or stick"
	SeenSpringOutOfTrue Seen = "hairspring out of flat or out of true"
	SeenPinsOpen        Seen = "regulator pins too open"
	SeenPivots          Seen = "worn or bent balance pivots"
	SeenDirt            Seen = "dirt or dry oil"
	SeenMainspring      Seen = "tired or wrong mainspring"
	SeenEscapement      Seen = "escapement out of order"
)

// settledBy is the work after which what was seen says nothing more, "" where only the next look tells.
func (s Seen) settledBy() []Work {
	switch s {
	case SeenMagnetised:
		return []Work{Demagnetised, HairspringReplaced}
	case SeenCoilsTouch, SeenSpringOutOfTrue:
		return []Work{HairspringReplaced}
	case SeenPivots:
		return []Work{StaffReplaced}
	case SeenDirt:
		return []Work{Cleaned}
	case SeenMainspring:
		return []Work{MainspringReplaced}
	}
	return nil
}

// Done is work, and which run was the first to be read after it.
type Done struct {
	What Work
	// Before is the index, in the occasions given to Advise, of the first run read after the work; their number for work
	// done after the last of them. See FirstAfter.
	Before int
}

// Known is what a docket knows of its watch beside the readings: work written down and what was seen at diagnosis. The
// zero value knows nothing.
type Known struct {
	Done []Done
	Seen []Seen
}

// FirstAfter is the index of the first of some runs, by the times they were begun at, oldest first, that was begun at a
// time or later; their number where none was.
func FirstAfter(at time.Time, begun []time.Time) int {
	i := slices.IndexFunc(begun, func(t time.Time) bool { return !t.Before(at) })
	if i < 0 {
		return len(begun)
	}
	return i
}

// applied returns the occasions with what the work in between unties.
func (k Known) applied(occasions []Occasion) []Occasion {
	out := occasions
	for _, d := range k.Done {
		if d.Before <= 0 || d.Before >= len(occasions) || !d.What.unties() {
			continue
		}
		if &out[0] == &occasions[0] {
			out = slices.Clone(occasions)
		}
		out[d.Before].Changed = &Changes{Everything: true}
	}
	return out
}

// before and since report whether work was done before a run, and after it.
func (k Known) before(run int, w Work) bool {
	return slices.ContainsFunc(k.Done, func(d Done) bool { return d.What == w && d.Before <= run })
}

func (k Known) since(run int, w Work) bool {
	return slices.ContainsFunc(k.Done, func(d Done) bool { return d.What == w && d.Before > run })
}

// standing reports whether something was seen and nothing that settles it was done before a run.
func (k Known) standing(run int, s Seen) bool {
	return slices.Contains(k.Seen, s) &&
		!slices.ContainsFunc(s.settledBy(), func(w Work) bool { return k.before(run, w) })
}

// known is the docket's knowledge as one run's steps ask for it.
type known struct {
	Known
	run int // among the occasions that Known counts by
}

func (k known) did(w Work) bool { return k.before(k.run, w) }
func (k known) sees(s Seen) bool {
	return k.standing(k.run, s)
}

// told adds to a step's advice what the docket knows: what was seen speaks for it, and work done since the readings comes
// before any other correction.
func (k known) told(s Step, x Advice) Advice {
	for _, seen := range s.Seen {
		if k.sees(seen) {
			x.Evidence = append(slices.Clone(x.Evidence), fmt.Sprintf("Seen at diagnosis: %s.", seen))
		}
	}
	for _, w := range s.SettledBy {
		if k.since(k.run, w) {
			x.Suspicion = true
			x.Correction = fmt.Sprintf("%s since these readings: a new run shows what that did.", text.Capital(w.words()))
			return x
		}
	}
	return x
}
