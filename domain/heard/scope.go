package heard

import (
	"fmt"
	"math"
	"time"

	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/timing"
)

// timeless is the time of a reading that is judged but not kept.
var timeless time.Time

// scope says which readings a limit is taken over, and how.
type scope struct {
	quantity timing.Quantity
	states   []float64                  // hours after winding
	in       func(timing.Position) bool // nil for every position
	// end says that the limit holds for each reading by itself: −1 a least figure by its lower end, +1 a greatest by its
	// upper; 0 when it is a statistic of several.
	end int
	// share is the statistic's standard uncertainty as a multiple of that of one reading, all being alike and
	// independent, over h horizontal and v vertical positions.
	share  func(h, v float64) float64
	remedy string
}

const (
	remedyClock   = "Calibrate the recorder, or measure the other positions better."
	remedyOthers  = "Measure the other positions better."
	remedyGreater = "Another position decides it: measure that one better."
)

// scopes repeats of each criterion of [timing.Criteria] what its statistic is taken over.
var scopes = map[timing.Key]scope{
	timing.MeanRate: {quantity: timing.Rate, states: []float64{0}, remedy: remedyClock,
		share: func(h, v float64) float64 { return 1 / math.Sqrt(h+v) }},
	timing.DeltaRate: {quantity: timing.Rate, states: []float64{0}, remedy: remedyOthers,
		share: func(h, v float64) float64 { return math.Sqrt2 }},
	timing.HorizontalLessVertical: {quantity: timing.Rate, states: []float64{0}, remedy: remedyOthers,
		share: func(h, v float64) float64 { return math.Sqrt(1/math.Max(h, 1) + 1/math.Max(v, 1)) }},
	timing.Isochronism: {quantity: timing.Rate, states: []float64{0, 24}, remedy: remedyOthers,
		share: func(h, v float64) float64 { return math.Sqrt(2 / (h + v)) }},
	timing.GreatestBeatError: {quantity: timing.BeatError, states: []float64{0}, end: +1, remedy: remedyGreater},
	timing.GreatestAmplitude: {quantity: timing.Amplitude, states: []float64{0}, end: +1, remedy: remedyGreater},
	timing.LeastHorizontalAmplitude: {quantity: timing.Amplitude, states: []float64{0}, end: -1,
		in: timing.Position.Horizontal, remedy: remedyGreater},
	timing.LeastVerticalAmplitude: {quantity: timing.Amplitude, states: []float64{24}, end: -1,
		in: timing.Position.Vertical, remedy: remedyGreater},
}

// positions are those that the run's limits are taken over.
func (q Question) positions() []timing.Position {
	if len(q.Limits.Positions) > 0 {
		return q.Limits.Positions
	}
	return timing.Positions()
}

// concerns reports whether the reading asked about enters the statistic.
func (s scope) concerns(q Question) bool {
	if s.in != nil && !s.in(q.Position) {
		return false
	}
	listed := false
	for _, p := range q.positions() {
		listed = listed || p == q.Position
	}
	if !listed {
		return false
	}
	for _, hours := range s.states {
		if timing.HoursText(hours) == timing.HoursText(q.HoursAfterWinding) {
			return true
		}
	}
	return false
}

// single judges one reading's figure by the end of a limit that each reading must keep.
func (q Question) single(r timing.Reading, limit timing.Limit, s scope) Criterion {
	c := Criterion{Limit: limit, Standing: Enough}
	bound := metrology.Limits{Upper: limit.Limits.Upper}
	if s.end < 0 {
		bound = metrology.Limits{Lower: limit.Limits.Lower}
	}
	if bound.Lower == nil && bound.Upper == nil {
		c.Text = fmt.Sprintf("The %s is judged when the run is complete.", limit.Label())
		return c
	}
	v, measured := q.instruments().Value(r, s.quantity)
	if !measured {
		c.Standing, c.Text = KeepListening, fmt.Sprintf("No %s is heard yet.", s.quantity.Label())
		return c
	}
	c.Verdict, _ = metrology.Decide(v, bound, q.Rule)
	figure := s.quantity.Format(v)
	switch c.Verdict {
	case metrology.Pass:
		c.Text = fmt.Sprintf("The %s of %s keeps the limit, %s.", s.quantity.Label(), figure, limit.Text())
	case metrology.Fail:
		c.Text = fmt.Sprintf("The %s of %s is beyond the limit, %s.", s.quantity.Label(), figure, limit.Text())
	default:
		c.Standing = KeepListening
		c.Text = fmt.Sprintf("The limit (%s) lies inside the uncertainty of the %s, %s.", limit.Text(), s.quantity.Label(),
			figure)
	}
	return c
}

// several says whether this rate is fine enough for a statistic that waits for other readings.
func (q Question) several(r timing.Reading, limit timing.Limit, s scope) Criterion {
	c := Criterion{Limit: limit, Standing: Enough, Text: fmt.Sprintf("Fine enough for the %s; the other positions are "+
		"still to be measured.", limit.Label())}
	one := metrology.Value{StdUncertainty: r.RateSPerDay.StdUncertainty, Unit: timing.UnitSPerDay}.Expanded()
	wanted := openEndedUSPerDay
	width, bounded := widthOf(limit)
	if bounded {
		h, v := q.counts()
		wanted = width / (2 * LeastCapability * s.share(h, v))
	}
	clock := metrology.CoverageFactor * q.Clock.StdPPM * timing.SPerDayPerPPM
	if bounded && limit.Key == timing.MeanRate && 2*q.Rule.GuardFactor*clock >= width {
		c.Standing = Barred
		c.Text = fmt.Sprintf("The recorder's clock alone leaves the rate uncertain by ±%.2g s/d, so that no mean can be "+
			"found to keep %s. Calibrate the recorder.",
			clock, limit.Text())
		return c
	}
	if one > wanted {
		c.Standing = KeepListening
		c.Text = fmt.Sprintf("The rate is fitted to ±%.2g s/d; ±%.2g s/d is fine enough for the %s.", one, wanted,
			limit.Label())
	}
	return c
}

// counts are the numbers of horizontal and vertical positions of the run.
func (q Question) counts() (horizontal, vertical float64) {
	for _, p := range q.positions() {
		if p.Horizontal() {
			horizontal++
		} else {
			vertical++
		}
	}
	return horizontal, vertical
}

// widthOf is the width of a limit. A greatest difference has zero for its lower end.
func widthOf(l timing.Limit) (width float64, bounded bool) {
	lower, upper := l.Limits.Lower, l.Limits.Upper
	switch {
	case lower != nil && upper != nil && *upper > *lower:
		return *upper - *lower, true
	case l.Key == timing.DeltaRate && lower == nil && upper != nil && *upper > 0:
		return *upper, true
	}
	return 0, false
}
