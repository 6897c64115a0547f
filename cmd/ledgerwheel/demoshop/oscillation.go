package demoshop

import (
	"hash/fnv"
	"math"
	"math/rand/v2"

	"ledgerwheel/domain/timing"
)

// swing is how a balance and its spring behave at one time: enough of a model that the figures of a run belong
// together as those of a real watch do.
type swing struct {
	rateSPerDay  float64 // dial up at full wind, + gains
	lyingDeg     float64 // amplitude dial up at full wind
	hangingLoss  float64 // of amplitude from lying to hanging, degrees
	dayLoss      float64 // of amplitude over 24 h, degrees
	shortArcs    float64 // gain for each degree of amplitude below lyingDeg, s/d: the spring's isochronism
	hangingSPerD float64 // hanging less lying, from pivots and regulator pins, s/d
	downSPerDay  float64 // dial down less dial up, s/d
	poise        float64 // m·g·r/k of a heavy spot: its torque at a level staff over the spring's stiffness, in radians
	heavyHour    float64 // the hour of the dial that the heavy spot points to when the balance is at rest
	beatMs       float64 // beat error lying
	beatHanging  float64 // added to it, more or less, hanging, ms
	scatter      float64 // of each position beyond what the model knows, standard deviation in s/d
	scatterDeg   float64 // the same of amplitudes
}

const secondsPerDay = 86400

// poiseSPerDay is the change of rate that a heavy spot makes in a vertical position:
//
//	-86400 · (m·g·r/k) · cos(b) · J1(A)/A
//
// with A the amplitude in radians, J1 the Bessel function of the first kind, and b the angle of the spot, the balance
// at rest, from straight up. It vanishes where J1 does, at 3.8317 rad or 219.5 degrees.
func poiseSPerDay(poise, amplitudeDeg, fromTopDeg float64) float64 {
	a := amplitudeDeg * math.Pi / 180
	return -secondsPerDay * poise * math.Cos(fromTopDeg*math.Pi/180) * math.J1(a) / a
}

// knockingDeg is about where the impulse pin meets the back of the fork: from there each degree more makes the watch
// gain by leaps (common practice as remembered; the slope is ours).
const (
	knockingDeg           = 327
	knockingSPerDayPerDeg = 22
)

// amplitude is the model's amplitude, degrees.
func (s swing) amplitude(p timing.Position, hours float64) float64 {
	a := s.lyingDeg - s.dayLoss*hours/24
	if p.Vertical() {
		a -= s.hangingLoss
	}
	return a
}

// rate is the model's rate at that amplitude, s/d.
func (s swing) rate(p timing.Position, amplitudeDeg float64) float64 {
	r := s.rateSPerDay + s.shortArcs*(s.lyingDeg-amplitudeDeg)
	if p == timing.DialDown {
		r += s.downSPerDay
	}
	if hour, vertical := p.UppermostHour(); vertical {
		const degreesPerHour = 30
		r += s.hangingSPerD + poiseSPerDay(s.poise, amplitudeDeg, (s.heavyHour-float64(hour))*degreesPerHour)
	}
	return r + max(0, amplitudeDeg-knockingDeg)*knockingSPerDayPerDeg
}

// The steps to which the shop's bench instrument shows its figures.
const (
	rateStep      = 0.1 // s/d
	amplitudeStep = 1   // degrees
	beatStep      = 0.1 // ms
)

// readings are the six positions at each state of wind, as the bench instrument would show them. The seed makes each
// watch differ from the next, and each filling show the same.
func (s swing) readings(seed string, hours ...float64) []timing.Reading {
	h := fnv.New64a()
	h.Write([]byte(seed))
	random := rand.New(rand.NewPCG(h.Sum64(), 1))
	temperature := 21 + float64(random.IntN(5))/2
	var all []timing.Reading
	for _, state := range hours {
		for _, p := range timing.Positions() {
			a := s.amplitude(p, state) + s.scatterDeg*random.NormFloat64()
			rate := s.rate(p, a) + s.scatter*random.NormFloat64()
			beat := s.beatMs
			if p.Vertical() {
				beat += s.beatHanging * random.NormFloat64()
			}
			all = append(all, timing.Reading{Position: p, HoursAfterWinding: state, TemperatureC: &temperature,
				RateSPerDay:  shown(rate, rateStep),
				AmplitudeDeg: shown(a, amplitudeStep),
				BeatErrorMs:  shown(math.Abs(beat), beatStep)})
		}
	}
	return all
}

// shown is a figure to the step of the display.
func shown(x, step float64) *timing.Figure {
	// Multiplied by the whole number of steps in one, so that 3.4 is the nearest binary fraction to 3.4.
	perUnit := math.Round(1 / step)
	v := math.Round(x*perUnit)/perUnit + 0 // a sum of noughts is never a negative one
	return &timing.Figure{Value: v, Step: step}
}
