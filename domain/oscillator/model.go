package oscillator

import (
	"fmt"
	"math"

	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/timing"
)

// Changes says what was done to the watch before a run. Each run has its own mean rate in any case.
type Changes struct {
	Everything bool // serviced: nothing measured before still holds
	Poise      bool
}

// Occasion is one run of a docket and what was done before it.
type Occasion struct {
	Run     timing.Run
	Changed *Changes // nil: taken from the run's kind
}

// changes returns what was done before the run: a service changes everything, an adjustment the poise (unless the
// caller knows better), a final run follows its forerunner without a touch but for the regulator.
func (o Occasion) changes() Changes {
	switch {
	case o.Changed != nil:
		return *o.Changed
	case o.Run.Kind == timing.Adjustment:
		return Changes{Poise: true}
	case o.Run.Kind == timing.Final:
		return Changes{}
	}
	return Changes{Everything: true}
}

// Options are what the fit and the advice need besides the runs.
type Options struct {
	Instruments timing.Instruments
	Limits      timing.RateLimits
	Rule        metrology.Rule
	Balance     Balance
	// RepeatabilitySPerDay is the standard deviation of the rate when the watch is laid again in the same position.
	// 0 takes defaultRepeatabilitySPerDay.
	RepeatabilitySPerDay float64
}

// defaultRepeatabilitySPerDay is common practice: laid again, a sound watch comes back within about ±2 s/d.
const defaultRepeatabilitySPerDay = 1.0

func (o Options) repeatability() float64 {
	if o.RepeatabilitySPerDay > 0 {
		return o.RepeatabilitySPerDay
	}
	return defaultRepeatabilitySPerDay
}

// The amplitudes between which the balance swings free and the readings mean what they say (common practice: below,
// the lift takes most of the swing; above, the impulse jewel meets the fork from outside).
const (
	leastFreeAmplitudeDeg = 90
	bankingAmplitudeDeg   = 330
)

const (
	referenceAmplitudeDeg = 270.0
	slopeSpanDeg          = 100.0
	// leastSpreadDeg of amplitude within one kind of position is needed to tell isochronism.
	leastSpreadDeg = 15
)

// Wide priors keep the normal equations solvable where the readings leave something open; what stays open then shows
// as an uncertainty near the prior. Only the slope's is informative, and only where no later state of wind was read:
// within ±20 s/d for 100°, as remembered of watches in order.
const (
	priorBase       = 20000 // s/d
	priorDifference = 2000  // s/d
	priorPoise      = 5000  // s/d: 86400·S
	priorSlope      = 300   // s/d for 100°
	priorSlopeBlind = 10    // s/d for 100°
)

// observation is one reading as the model sees it.
type observation struct {
	run       int
	reading   timing.Reading
	rate, amp float64
	rateStd   float64 // independent, with repeatability
	ampStd    float64 // independent
}

// cell names where the observation stands.
func (o observation) cell() string {
	return fmt.Sprintf("%s %s", o.reading.Position, timing.StateWords(o.reading.HoursAfterWinding))
}

// epoch holds the indices of parameters that one run shares with others.
type epoch struct{ base, poise, horizontal, side, slope int }

// model is the list of parameters and their priors.
type model struct {
	epochs []epoch // by run
	clocks map[string]int
	lift   int // -1 when the lift angle is taken as exact
	prior  []float64
	blind  map[int]bool // slopes that no spread of amplitude supports
}

func (m *model) add(priorStd float64) int {
	m.prior = append(m.prior, priorStd)
	return len(m.prior) - 1
}

func newModel(occasions []Occasion, obs []observation, o Options) *model {
	m := &model{clocks: map[string]int{}, lift: -1, blind: map[int]bool{}}
	for i, occasion := range occasions {
		e := epoch{}
		changed := occasion.changes()
		if i > 0 && !changed.Everything {
			e = m.epochs[i-1]
		} else {
			e.horizontal, e.side, e.slope = m.add(priorDifference), m.add(priorDifference), m.add(priorSlope)
		}
		if i == 0 || changed.Everything || changed.Poise {
			e.poise = m.add(priorPoise)
			m.add(priorPoise)
		}
		e.base = m.add(priorBase)
		m.epochs = append(m.epochs, e)
	}
	for _, ob := range obs {
		name := ob.reading.Instrument
		if _, seen := m.clocks[name]; seen {
			continue
		}
		if u := clockStd(o.Instruments, name); u > 0 {
			m.clocks[name] = m.add(u)
		}
	}
	if o.Instruments.LiftAngleRel > 0 {
		m.lift = m.add(o.Instruments.LiftAngleRel)
	}
	m.markBlindSlopes(obs)
	return m
}

func clockStd(i timing.Instruments, name string) float64 {
	if u, listed := i.ClockStdSPerDay[name]; listed {
		return u
	}
	return i.OtherClockStdSPerDay
}

// markBlindSlopes narrows the prior of slopes that the readings cannot tell.
func (m *model) markBlindSlopes(obs []observation) {
	type group struct {
		slope, run int
		flat       bool
	}
	low, high := map[group]float64{}, map[group]float64{}
	spread := map[int]float64{}
	for _, ob := range obs {
		g := group{m.epochs[ob.run].slope, ob.run, ob.reading.Position.Horizontal()}
		if _, seen := low[g]; !seen {
			low[g], high[g] = ob.amp, ob.amp
		}
		low[g], high[g] = math.Min(low[g], ob.amp), math.Max(high[g], ob.amp)
		spread[g.slope] = math.Max(spread[g.slope], high[g]-low[g])
	}
	for _, e := range m.epochs {
		if spread[e.slope] < leastSpreadDeg {
			m.prior[e.slope] = priorSlopeBlind
			m.blind[e.slope] = true
		}
	}
}

// entry is one coefficient of a sparse row.
type entry struct {
	at int
	c  float64
}

// row returns the model's coefficients for a position and amplitude in a run; ampSlope is the present estimate of the
// change of rate per degree of amplitude there, for the lift angle's share. clock is -1 for none.
func (m *model) row(run int, p timing.Position, amp, ampSlope float64, clock int) []entry {
	e := m.epochs[run]
	r := append(make([]entry, 0, 8), entry{e.base, 1}, entry{e.slope, (amp - referenceAmplitudeDeg) / slopeSpanDeg})
	switch p {
	case timing.DialUp:
		r = append(r, entry{e.horizontal, 1}, entry{e.side, 0.5})
	case timing.DialDown:
		r = append(r, entry{e.horizontal, 1}, entry{e.side, -0.5})
	default:
		hour, _ := p.UppermostHour()
		sin, cos := math.Sincos(radians(float64(hour) * degreesPerHour))
		k := -PoiseFactor(amp)
		r = append(r, entry{e.poise, k * cos}, entry{e.poise + 1, k * sin})
	}
	if clock >= 0 {
		r = append(r, entry{clock, 1})
	}
	if m.lift >= 0 {
		r = append(r, entry{m.lift, ampSlope * amp})
	}
	return r
}

func (m *model) clock(instrument string) int {
	if at, ok := m.clocks[instrument]; ok {
		return at
	}
	return -1
}

// amplitudeSlope returns the estimated change of rate per degree of amplitude, s/d per degree.
func (m *model) amplitudeSlope(theta []float64, run int, p timing.Position, amp float64) float64 {
	e := m.epochs[run]
	d := theta[e.slope] / slopeSpanDeg
	if hour, vertical := p.UppermostHour(); vertical {
		sin, cos := math.Sincos(radians(float64(hour) * degreesPerHour))
		d -= poiseFactorSlope(amp) * (theta[e.poise]*cos + theta[e.poise+1]*sin)
	}
	return d
}
