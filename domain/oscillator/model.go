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
	Pins       bool // lying against hanging, and long arcs against short, may have changed
	Spring     bool // likewise its own error in positions; whoever touches the spring touches what the pins do
	Poise      bool
}

// Occasion is one run of a docket and what was done before it.
type Occasion struct {
	Run     timing.Run
	Changed *Changes // nil: taken from the run itself
	// RunDowns are the readings of each run-down that belongs to the run. They stand beside its own in the fit, and no verdict
	// is taken on them.
	RunDowns [][]timing.Reading
}

// changes returns what was done before the run: what it says was touched; else a service changes everything, an
// adjustment the poise (unless the caller knows better), a final run follows its forerunner without a touch but for the
// regulator.
func (o Occasion) changes() Changes {
	switch {
	case o.Changed != nil:
		return *o.Changed
	case o.Run.Kind == timing.Adjustment && len(o.Run.Touched) > 0:
		return touched(o.Run.Touched)
	case o.Run.Kind == timing.Adjustment:
		return Changes{Poise: true}
	case o.Run.Kind == timing.Final:
		return Changes{}
	}
	return Changes{Everything: true}
}

func touched(list []timing.Touch) Changes {
	var c Changes
	for _, t := range list {
		switch t {
		case timing.TouchedCleaned:
			c.Everything = true
		case timing.TouchedPins:
			c.Pins = true
		case timing.TouchedSpring:
			c.Spring, c.Pins = true, true
		case timing.TouchedPoise:
			c.Poise = true
		}
	}
	return c
}

// Options are what the fit and the advice need besides the runs.
type Options struct {
	Instruments timing.Instruments
	Limits      timing.RateLimits
	Rule        metrology.Rule
	Balance     Balance
	// RepeatabilitySPerDay is the standard deviation of the rate when the watch is laid again in the same position, where
	// it is known. 0 lets the readings and the prior of the package say it.
	RepeatabilitySPerDay float64
	// Known is what the docket knows of the watch beside the readings.
	Known Known
}

// liftRel is the relative standard uncertainty of the lift angle: the stated one, or that of a lift angle nobody
// determined.
func (o Options) liftRel() float64 {
	if o.Instruments.LiftAngleRel > 0 {
		return o.Instruments.LiftAngleRel
	}
	return timing.UsualLiftAngleRel
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

// observation is one reading as the model sees it. Amplitudes are as shown, before the lift angle's error.
type observation struct {
	run       int
	reading   timing.Reading
	rate, amp float64
	rateStd   float64 // independent, without repeatability
	ampStd    float64 // independent
}

// cell names where the observation stands.
func (o observation) cell() string {
	return fmt.Sprintf("%s %s", o.reading.Position, timing.StateWords(o.reading.HoursAfterWinding))
}

// epoch holds the indices of parameters that one run shares with others.
type epoch struct{ base, poise, spring, horizontal, side, slope int }

// focusSize is how many unknowns the last run's hanging rates turn about: the spring's own error (four) and the poise
// (two). They stand last in the list of parameters.
const focusSize = 6

// model is the list of parameters and their priors.
type model struct {
	epochs []epoch // by run
	clocks map[string]int
	prior  []float64    // standard deviations; those of the focus are weighed apart
	blind  map[int]bool // slopes that no spread of amplitude supports
	focus  int          // index of the first of the focus
}

func (m *model) add(priorStd ...float64) int {
	m.prior = append(m.prior, priorStd...)
	return len(m.prior) - len(priorStd)
}

// newModel lists the unknowns of the runs, those of the last run's spring and poise last.
func newModel(occasions []Occasion, obs []observation, o Options) *model {
	m := &model{clocks: map[string]int{}, blind: map[int]bool{}, epochs: make([]epoch, len(occasions))}
	lastSpring, lastPoise := 0, 0 // the first run since when each is what it is now
	for i, occasion := range occasions {
		changed := occasion.changes()
		if changed.Everything || changed.Spring {
			lastSpring = i
		}
		if changed.Everything || changed.Poise {
			lastPoise = i
		}
	}
	for i, occasion := range occasions {
		changed := occasion.changes()
		if i == 0 {
			changed = Changes{Everything: true}
		}
		e := &m.epochs[i]
		if i > 0 {
			*e = m.epochs[i-1]
		}
		if changed.Everything {
			e.side = m.add(priorSide)
		}
		if changed.Everything || changed.Pins {
			e.horizontal, e.slope = m.add(priorHorizontal), m.add(priorSlope)
		}
		if (changed.Everything || changed.Spring) && i != lastSpring {
			e.spring = m.add(priorSpring, priorSpring, priorSpring, priorSpring)
		}
		if (changed.Everything || changed.Poise) && i != lastPoise {
			e.poise = m.add(priorPoise, priorPoise)
		}
		e.base = m.add(priorBase)
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
	m.markBlindSlopes(obs)
	m.focus = m.add(priorSpring, priorSpring, priorSpring, priorSpring, priorPoise, priorPoise)
	for i := range m.epochs {
		if i >= lastSpring {
			m.epochs[i].spring = m.focus
		}
		if i >= lastPoise {
			m.epochs[i].poise = m.focus + 4
		}
	}
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

// row returns the model's coefficients for a position and a true amplitude in a run. clock is -1 for none.
func (m *model) row(run int, p timing.Position, amp float64, clock int) []entry {
	return m.appendRow(make([]entry, 0, 10), run, p, amp, clock)
}

func (m *model) appendRow(r []entry, run int, p timing.Position, amp float64, clock int) []entry {
	e := m.epochs[run]
	r = append(r, entry{e.base, 1}, entry{e.slope, (amp - referenceAmplitudeDeg) / slopeSpanDeg})
	switch p {
	case timing.DialUp:
		r = append(r, entry{e.horizontal, 1}, entry{e.side, 0.5})
	case timing.DialDown:
		r = append(r, entry{e.horizontal, 1}, entry{e.side, -0.5})
	default:
		hour, _ := p.UppermostHour()
		sin, cos := math.Sincos(radians(float64(hour) * degreesPerHour))
		k, j := -PoiseFactor(amp), springShape(amp)
		r = append(r, entry{e.spring, cos}, entry{e.spring + 1, sin}, entry{e.spring + 2, j * cos},
			entry{e.spring + 3, j * sin}, entry{e.poise, k * cos}, entry{e.poise + 1, k * sin})
	}
	if clock >= 0 {
		r = append(r, entry{clock, 1})
	}
	return r
}

func (m *model) clock(instrument string) int {
	if at, ok := m.clocks[instrument]; ok {
		return at
	}
	return -1
}

// amplitudeSlope returns the estimated change of rate per degree of amplitude, s/d per degree. The spring's own error
// is left out: its share is small beside the poise's.
func (m *model) amplitudeSlope(theta []float64, run int, p timing.Position, amp float64) float64 {
	e := m.epochs[run]
	d := theta[e.slope] / slopeSpanDeg
	if hour, vertical := p.UppermostHour(); vertical {
		sin, cos := math.Sincos(radians(float64(hour) * degreesPerHour))
		d -= poiseFactorSlope(amp) * (theta[e.poise]*cos + theta[e.poise+1]*sin)
	}
	return d
}
