package simulate

import (
	"math"
	"math/rand/v2"
)

// stopMargin is the amplitude at which a dying watch is taken to stop, over the least that unlocks the lever.
const stopMargin = 1.04

// wander is an Ornstein-Uhlenbeck process.
type wander struct {
	std, forgetS, value float64
}

func newWander(std, forgetS float64, rng *rand.Rand) wander {
	if std == 0 || forgetS <= 0 {
		return wander{}
	}
	return wander{std: std, forgetS: forgetS, value: std * rng.NormFloat64()}
}

// step goes on by dt seconds, exactly for any dt.
func (o *wander) step(dt float64, rng *rand.Rand) float64 {
	if o.std == 0 {
		return 0
	}
	keep := math.Exp(-dt / o.forgetS)
	o.value = keep*o.value + o.std*math.Sqrt(1-keep*keep)*rng.NormFloat64()
	return o.value
}

// beat is one beat as the balance makes it, in true seconds from the first sample.
type beat struct {
	number                   int64
	rest, unlocking, impulse float64
	drop                     float64
	amplitudeDeg             float64
	beatErrorMs              float64 // of a watch that always swings like this beat
	missing                  bool
}

// balance brings forth the beats of a watch one after another.
type balance struct {
	w         Watch
	rng       *rand.Rand
	seconds   float64 // length of the recording
	restDeg   float64 // displacement of the rest point
	leastDeg  float64 // amplitude below which the lever stays locked
	stopS     float64
	swayPhase float64
	trainRad  []float64
	amplitude wander
	rate      wander
	rest      float64 // next passage of the rest point
	number    int64
	missing   bool
}

// newBalance sets a balance swinging so that it passes its rest point within the first interval after startS.
func newBalance(w Watch, startS, seconds float64, rng *rand.Rand) *balance {
	b := &balance{w: w, rng: rng, seconds: seconds, restDeg: w.displacementDeg(), stopS: math.Inf(1)}
	b.leastDeg = stopMargin * (w.LiftAngleDeg/2 + math.Abs(b.restDeg))
	b.swayPhase = 2 * math.Pi * rng.Float64()
	for range w.Train {
		b.trainRad = append(b.trainRad, 2*math.Pi*rng.Float64())
	}
	b.amplitude = newWander(w.WanderDeg, w.WanderS, rng)
	b.rate = newWander(w.RateWanderSPerDay, w.RateWanderS, rng)
	b.number = rng.Int64N(2 * 60)
	b.rest = startS + rng.Float64()*3600/w.BeatsPerHour
	if startS <= 0 {
		// Already running when the recorder is switched on: the first sample may lie in the midst of a sound.
		b.rest -= 3600 / w.BeatsPerHour
	}
	if w.StopS > 0 {
		b.stopS = w.StopS
	}
	if w.RunDown != nil {
		b.stopS = min(b.stopS, w.RunDown.ReserveS)
	}
	return b
}

// next returns the next beat; false once the watch has stopped.
func (b *balance) next() (beat, bool) {
	if b.w.BeatsPerHour <= 0 || b.rest > b.stopS {
		return beat{}, false
	}
	amplitude := b.amplitudeDeg(b.rest)
	rate := b.w.RateSPerDay + b.w.IsochronismSPerDayPerDeg*(amplitude-b.w.AmplitudeDeg) +
		b.rate.step(3600/b.w.BeatsPerHour, b.rng)
	interval := 3600 / b.w.BeatsPerHour / (1 + rate/86400)
	amplitude += b.w.AmplitudeScatterDeg * b.rng.NormFloat64()
	amplitude = max(amplitude, b.leastDeg/stopMargin)

	swing := b.number & 1
	displaced := b.restDeg
	if swing == 1 {
		displaced = -displaced
	}
	voice := b.w.Voices[swing]
	half := b.w.LiftAngleDeg / 2
	at := b.rest + b.delayS(b.rest)
	passes := func(deg float64) float64 {
		return at + arcsine((displaced+deg)/amplitude)*interval/math.Pi + 1e-6*b.w.JitterUs*b.rng.NormFloat64()
	}
	made := beat{
		number: b.number, rest: b.rest, amplitudeDeg: amplitude,
		beatErrorMs: b.w.dropBeatErrorMs(b.restDeg, amplitude),
		unlocking:   passes(-half + voice.UnlockingLate*2*half),
		impulse:     passes(-half + voice.ImpulseAt*2*half),
		drop:        passes(half + voice.DropLate*2*half),
		missing:     b.misses(),
	}
	b.rest += interval
	b.number++
	return made, true
}

// amplitudeDeg returns the amplitude at a true time, without the scatter of single swings.
func (b *balance) amplitudeDeg(t float64) float64 {
	w := b.w
	amplitude := w.AmplitudeDeg + w.AmplitudeDriftDeg*(t/b.seconds-0.5)
	amplitude += b.amplitude.step(3600/w.BeatsPerHour, b.rng)
	if w.SwayS > 0 {
		amplitude += w.SwayDeg * math.Sin(2*math.Pi*t/w.SwayS+b.swayPhase)
	}
	if r := w.RunDown; r != nil {
		steepness := r.Steepness
		if steepness == 0 {
			steepness = 20
		}
		gone := max(0, min(1, t/r.ReserveS))
		amplitude -= r.SagDeg * gone
		amplitude -= max(0, amplitude-b.leastDeg) * math.Pow(gone, steepness)
	}
	if w.StopS > 0 && w.DyingS > 0 && t > w.StopS-w.DyingS && amplitude > b.leastDeg {
		amplitude *= math.Pow(b.leastDeg/amplitude, (t-w.StopS+w.DyingS)/w.DyingS)
	}
	return max(amplitude, b.leastDeg)
}

// delayS returns what the beat at a true time is late by: scatter, escape wheel, train.
func (b *balance) delayS(t float64) float64 {
	late := b.w.ScatterUs * b.rng.NormFloat64()
	if n := int64(len(b.w.WheelPatternUs)); n > 0 {
		late += b.w.WheelPatternUs[b.number%n]
	}
	for i, wave := range b.w.Train {
		late += wave.Us * math.Sin(2*math.Pi*t/wave.PeriodS+b.trainRad[i])
	}
	return 1e-6 * late
}

// misses says whether the next beat is unheard: a chain of two states whose runs have the wanted mean length and
// whose long-term share is the wanted one.
func (b *balance) misses() bool {
	share := min(b.w.MissedShare, 0.99)
	if share <= 0 {
		return false
	}
	leave := 1 / max(1, b.w.MissedRunBeats)
	enter := min(1, leave*share/(1-share))
	if b.missing {
		b.missing = b.rng.Float64() >= leave
	} else {
		b.missing = b.rng.Float64() < enter
	}
	return b.missing
}
