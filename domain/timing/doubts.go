package timing

import (
	"fmt"
	"math"

	"ledgerwheel/domain/figure"
	"ledgerwheel/domain/metrology"
)

// Typed figures are looked at once, before they are saved. A slip of the hand, such as a digit too many or a figure in
// the wrong column, puts a figure far from the others of its run; a watch seldom does. So a figure is asked about where
// it lies farther from the median of the others at its state of wind than watches bring about, and that is how many
// of their own spreads or how much at least, whichever is more. The bounds are this program's own, chosen so that
// TestPlausibleRunsAreSeldomAsked and TestSlipsAreAsked come out as they say; no standard has any.
//
// Three things make a rate differ that are no slip, and are not asked about:
//   - poise and the spring: they move two opposite hanging positions by as much up as down, so that 3H + 9H stays
//     6H + 12H; a slip breaks that;
//   - knocking, where the amplitude beside it is at the banking, or a watch that is about to stop;
//   - a watch as it came in, which may be wild: its bounds are wider.
const (
	leastOthers   = 3   // fewer say nothing of what the watch does
	doubtSpreads  = 8.0 // of the others
	knockingDeg   = 315.0
	stoppingDeg   = 150.0
	greatestByEye = 340.0 // the impulse pin meets the outside of the fork before: bench rule, about 330°
)

// doubtLeast is how far from the others a figure lies at least before it is asked about, in its unit: of a watch that
// was worked on, and of one as it came in.
var doubtLeast = map[Quantity]struct{ worked, received float64 }{
	Rate:      {18, 60},
	Amplitude: {60, 100},
	BeatError: {1.8, 6},
}

// Doubts returns a question, one sentence or two, for each typed figure of s that looks like a slip of the hand, by the
// field names of its grid. A figure that stands in before already, and what was heard, is not asked about.
func (s Sheet) Doubts(before Sheet) map[string]string {
	asked := map[string]string{}
	for _, r := range s.Run.Readings {
		then, _ := before.Run.Like(r)
		for _, q := range Quantities() {
			f, was := r.Figure(q), then.Figure(q)
			if f == nil || f.StdUncertainty > 0 || was != nil && was.InputText(q) == f.InputText(q) {
				continue
			}
			if why := s.Run.doubt(r, q); why != "" {
				asked[r.FieldName(q)] = why
			}
		}
	}
	return asked
}

// doubt says why the figure of q in r looks like a slip, or "".
func (r Run) doubt(at Reading, q Quantity) string {
	x := at.Figure(q).Value
	if q == Amplitude && x > greatestByEye {
		return fmt.Sprintf("%s is more than a balance can swing: near 330° it knocks. Is it so?", at.Figure(q).shown(q))
	}
	others := r.others(at, q)
	if len(others) < leastOthers || q == Rate && at.explained() {
		return ""
	}
	middle, spread := metrology.Middle(others)
	least := doubtLeast[q].worked
	if r.Kind == AsReceived {
		least = doubtLeast[q].received
	}
	bound := math.Max(least, doubtSpreads*spread)
	if math.Abs(x-middle) <= bound {
		return ""
	}
	if broken, known := r.balanceOfHanging(at); q == Rate && known && math.Abs(broken) <= bound {
		return ""
	}
	return fmt.Sprintf("%s lies far from the other positions, whose middle is %s. Is it so?", at.Figure(q).shown(q),
		Figure{Value: figure.Significant(middle, 3)}.shown(q))
}

// explained reports whether the amplitude beside a rate says why it may be anything.
func (r Reading) explained() bool {
	a := r.AmplitudeDeg
	return a != nil && (a.Value >= knockingDeg || a.Value < stoppingDeg)
}

// others are the figures of q at the same state of wind in the other positions.
func (r Run) others(at Reading, q Quantity) []float64 {
	var list []float64
	for _, other := range r.Readings {
		if f := other.Figure(q); f != nil && other.Position != at.Position &&
			sameHours(other.HoursAfterWinding, at.HoursAfterWinding) {
			list = append(list, f.Value)
		}
	}
	return list
}

// balanceOfHanging is 3H + 9H less 6H + 12H at a state of wind, which poise and the spring leave near zero; known is
// false where a position hangs not, or one of the four has no rate.
func (r Run) balanceOfHanging(at Reading) (sum float64, known bool) {
	if at.Position.Horizontal() {
		return 0, false
	}
	for p, sign := range map[Position]float64{ThreeUp: 1, NineUp: 1, SixUp: -1, TwelveUp: -1} {
		reading, found := r.Reading(p, at.HoursAfterWinding)
		if p == at.Position {
			reading = at // which may be one taken again
		}
		if !found || reading.RateSPerDay == nil {
			return 0, false
		}
		sum += sign * reading.RateSPerDay.Value
	}
	return sum, true
}

// shown is the figure with its unit, as a sentence has it.
func (f Figure) shown(q Quantity) string {
	f.StdUncertainty = 0
	return figureText(&f, q)
}

// ConfirmedText is what the record keeps with a figure that was asked about: the question, and who said that it is so.
func ConfirmedText(question, by string) string {
	return fmt.Sprintf("Asked when typed: %s Confirmed by %s.", question, by)
}
