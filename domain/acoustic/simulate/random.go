package simulate

import (
	"math"
	"math/rand/v2"
)

// usualBeats are the usual beats per hour and how often each is drawn; oddBeats some that were made now and then.
var (
	usualBeats = []struct{ beats, weight float64 }{
		{14400, 2}, {16200, 1}, {18000, 6}, {19800, 3}, {21600, 6}, {25200, 2}, {28800, 8}, {36000, 3}, {43200, 1},
	}
	oddBeats = []float64{17280, 18514.3, 19333.3, 20222.2, 12000, 12342.9, 13500, 15600, 21000, 32400}
)

const oddShare = 0.04

// RandomBeatsPerHour draws beats per hour: mostly one of the usual ones.
func RandomBeatsPerHour(rng *rand.Rand) float64 {
	if rng.Float64() < oddShare {
		return oddBeats[rng.IntN(len(oddBeats))]
	}
	sum := 0.0
	for _, u := range usualBeats {
		sum += u.weight
	}
	draw := sum * rng.Float64()
	for _, u := range usualBeats {
		if draw -= u.weight; draw < 0 {
			return u.beats
		}
	}
	return usualBeats[len(usualBeats)-1].beats
}

// RandomWatch draws a watch over the range of what comes to a bench. It runs through the recording; whoever wants one
// that stops or misses beats says so.
func RandomWatch(rng *rand.Rand) Watch {
	w := Watch{
		BeatsPerHour:        RandomBeatsPerHour(rng),
		RateSPerDay:         clamp(25*rng.NormFloat64(), -120, 120),
		AmplitudeDeg:        clamp(265+45*rng.NormFloat64(), 130, 330),
		LiftAngleDeg:        clamp(51+3*rng.NormFloat64(), 38, 60),
		AmplitudeScatterDeg: between(rng, 0.1, 1),
		WanderDeg:           between(rng, 0, 2), WanderS: between(rng, 2, 30),
		ScatterUs:       between(rng, 5, 30),
		LoudnessScatter: between(rng, 0.05, 0.3),
		ModeScatter:     between(rng, 0.02, 0.15),
	}
	if rng.Float64() < 0.15 {
		w.RateSPerDay = between(rng, -120, 120)
	}
	if rng.Float64() < 0.25 {
		w.AmplitudeDeg, w.LiftAngleDeg = between(rng, 130, 330), between(rng, 38, 60)
	}
	w.BeatErrorMs = clamp(0.5*rng.NormFloat64(), -4, 4)
	if rng.Float64() < 0.15 {
		w.BeatErrorMs = between(rng, -4, 4)
	}
	w.JitterUs = w.ScatterUs * between(rng, 0.1, 0.5)
	w.AmplitudeDriftDeg = 2 * rng.NormFloat64()
	if rng.Float64() < 0.5 {
		w.SwayDeg, w.SwayS = between(rng, 0.2, 4), between(rng, 3, 90)
	}
	if rng.Float64() < 0.3 {
		w.IsochronismSPerDayPerDeg = 0.05 * rng.NormFloat64()
	}
	if rng.Float64() < 0.6 {
		w.WheelPatternUs = RandomWheelPattern(rng, 12+rng.IntN(10), logBetween(rng, 2, 60))
	}
	if rng.Float64() < 0.2 {
		w.Train = []TrainWave{{PeriodS: between(rng, 6, 12), Us: between(rng, 1, 8)}}
	}
	first := RandomVoice(rng)
	w.Voices = [2]Voice{first, first.Sibling(rng)}
	if rng.Float64() < 0.25 {
		w.Voices[1] = RandomVoice(rng)
	}
	for range rng.IntN(4) {
		w.Body = append(w.Body, Mode{Hz: logBetween(rng, 900, 9000), DecayMs: logBetween(rng, 0.5, 6),
			Gain: between(rng, 0.1, 1.5)})
	}
	return w
}

// RandomWheelPattern draws the delays of an escape wheel of so many teeth, the greatest of them maxUs. The mean of
// each pallet's is zero: what they have in common is beat error, not pattern.
func RandomWheelPattern(rng *rand.Rand, teeth int, maxUs float64) []float64 {
	pattern := make([]float64, 2*teeth)
	out, phase := between(rng, 0, 1), 2*math.Pi*rng.Float64() // a wheel out of round, and single bad teeth
	for i := range pattern {
		pattern[i] = out*math.Sin(math.Pi*float64(i)/float64(teeth)+phase) + 0.5*rng.NormFloat64()
	}
	greatest := 0.0
	for pallet := range 2 {
		mean := 0.0
		for i := pallet; i < len(pattern); i += 2 {
			mean += pattern[i] / float64(teeth)
		}
		for i := pallet; i < len(pattern); i += 2 {
			pattern[i] -= mean
			greatest = max(greatest, math.Abs(pattern[i]))
		}
	}
	for i := range pattern {
		pattern[i] *= maxUs / greatest
	}
	return pattern
}

// RandomVoice draws the three sounds of a swing.
func RandomVoice(rng *rand.Rand) Voice {
	v := Voice{
		Unlocking: randomClick(rng), Impulse: randomClick(rng), Drop: randomClick(rng),
		ImpulseAt: between(rng, 0.25, 0.6),
	}
	v.Unlocking.DB, v.Impulse.DB = between(rng, -26, -6), between(rng, -14, -3)
	return v
}

// Sibling draws the other swing's voice: the same parts, met by the other pallet.
func (v Voice) Sibling(rng *rand.Rand) Voice {
	other := Voice{
		Unlocking: siblingClick(v.Unlocking, rng), Impulse: siblingClick(v.Impulse, rng), Drop: siblingClick(v.Drop, rng),
		ImpulseAt: clamp(v.ImpulseAt+0.07*rng.NormFloat64(), 0.25, 0.6),
	}
	other.Unlocking.DB = clamp(v.Unlocking.DB+3*rng.NormFloat64(), -26, -6)
	other.Impulse.DB = clamp(v.Impulse.DB+2*rng.NormFloat64(), -14, -3)
	other.Drop.DB = clamp(1.5*rng.NormFloat64(), -4, 4)
	return other
}

func randomClick(rng *rand.Rand) Click {
	c := Click{
		AttackUs: logBetween(rng, 20, 200), Noise: between(rng, 0.02, 0.3), NoiseDecayMs: logBetween(rng, 0.1, 1),
	}
	for range 2 + rng.IntN(4) {
		c.Modes = append(c.Modes, Mode{
			Hz: logBetween(rng, 1500, 18000), DecayMs: logBetween(rng, 0.2, 3), Gain: between(rng, 0.2, 1),
			PhaseRad: 2 * math.Pi * rng.Float64(),
		})
	}
	return c
}

func siblingClick(c Click, rng *rand.Rand) Click {
	modes := make([]Mode, len(c.Modes))
	for i, m := range c.Modes {
		modes[i] = Mode{
			Hz: clamp(m.Hz*math.Exp(0.05*rng.NormFloat64()), 1000, 19000), DecayMs: m.DecayMs * math.Exp(0.2*rng.NormFloat64()),
			Gain: m.Gain * math.Exp(0.4*rng.NormFloat64()), PhaseRad: m.PhaseRad + 0.8*rng.NormFloat64(),
		}
	}
	c.Modes = modes
	c.AttackUs = clamp(c.AttackUs*math.Exp(0.2*rng.NormFloat64()), 20, 200)
	return c
}

// RandomRoom draws a room with a given signal to noise and, now and then, each of what disturbs: but never a second
// watch, whose figures a listener might rightly give.
func RandomRoom(rng *rand.Rand, snrDB float64) Room {
	room := Room{
		SNRdB: snrDB, PeakDBFS: between(rng, -40, -6), ClockPPM: clamp(15*rng.NormFloat64(), -60, 60),
		DCOffset: 0.003 * rng.NormFloat64(),
	}
	if rng.Float64() < 0.4 {
		room.PinkShare = rng.Float64()
		room.RumbleShare = (1 - room.PinkShare) * rng.Float64()
	}
	if rng.Float64() < 0.3 {
		room.Hum = &Hum{Hz: pick(rng, 50, 60), DB: between(rng, -40, -6), Harmonics: 1 + rng.IntN(8),
			Fall: between(rng, 0.5, 2)}
	}
	if rng.Float64() < 0.12 {
		room.Speech = &Speech{DB: between(rng, -20, 6), PerMinute: between(rng, 1, 8), PitchHz: between(rng, 90, 240)}
	}
	if rng.Float64() < 0.15 {
		room.Knocks = &Knocks{DB: between(rng, 0, 30), PerMinute: between(rng, 1, 6)}
	}
	if rng.Float64() < 0.1 {
		quartz := RandomQuartz(rng)
		room.Quartz = &quartz
	}
	if rng.Float64() < 0.4 {
		room.LowPassHz = logBetween(rng, 5000, 20000)
	}
	switch rng.IntN(6) {
	case 0:
		room.Bits = 24
	case 1, 2:
		room.Bits = 16
	case 3:
		// Eight bits only where the drop stands high enough to be more than a few steps.
		room.Bits, room.PeakDBFS = 8, between(rng, -12, -3)
	}
	if rng.Float64() < 0.06 {
		room.PeakDBFS, room.ClipAt = between(rng, 0, 8), 1
	}
	return room
}

// RandomQuartz draws a quartz clock.
func RandomQuartz(rng *rand.Rand) Quartz {
	q := Quartz{DB: between(rng, -20, 0), RateSPerDay: 0.5 * rng.NormFloat64(), Step: randomClick(rng)}
	for i := range q.Step.Modes {
		q.Step.Modes[i].Hz /= 3 // larger parts than a watch's
	}
	return q
}

// Recording is all that a recording is made from.
type Recording struct {
	Watch           Watch
	Room            Room
	RateHz, Seconds float64
	Seed            uint64
}

// RandomRecording draws a watch, a room with the given signal to noise, a usual sample rate and a length of 15 to 30 s.
func RandomRecording(rng *rand.Rand, snrDB float64) Recording {
	return Recording{
		Watch: RandomWatch(rng), Room: RandomRoom(rng, snrDB), RateHz: pick(rng, 44100, 48000, 48000, 96000),
		Seconds: between(rng, 15, 30), Seed: rng.Uint64(),
	}
}

// BenchRecording draws a recording as it is made on a bench: a watch within what is repaired, its resonances between 1.5 and
// 8.5 kHz, its unlocking 3 to 20 dB below the drop, its amplitude drifting by up to 4 degrees and breathing, and the
// noise of the room white, so that its level says all of it. RandomRecording goes far beyond in every respect.
func BenchRecording(rng *rand.Rand, snrDB float64) Recording {
	r := RandomRecording(rng, snrDB)
	r.Room = Room{SNRdB: snrDB, PeakDBFS: max(r.Room.PeakDBFS, -20), ClockPPM: r.Room.ClockPPM, Bits: 16}
	w := &r.Watch
	w.Body = nil
	w.WanderDeg, w.SwayDeg = min(w.WanderDeg, 1.5), min(w.SwayDeg, 1)
	w.AmplitudeDriftDeg = max(-4, min(4, w.AmplitudeDriftDeg))
	w.AmplitudeDeg = max(w.AmplitudeDeg, 180)
	for i := range w.Voices {
		v := &w.Voices[i]
		v.Unlocking.DB = -3 - 17*rng.Float64()
		for _, c := range []*Click{&v.Unlocking, &v.Impulse, &v.Drop} {
			c.AttackUs = 20 + 0.3*c.AttackUs
			for k := range c.Modes {
				c.Modes[k].Hz = 1500 + 7000*rng.Float64()
				c.Modes[k].DecayMs = 0.5 + 1.5*rng.Float64()
			}
		}
		for k := range v.Drop.Modes {
			v.Drop.Modes[k].DecayMs += 0.5
		}
	}
	return r
}

// Sound makes the recording.
func (r Recording) Sound() ([]float32, Truth) {
	return Sound(r.Watch, r.Room, r.RateHz, r.Seconds, r.Seed)
}

func between(rng *rand.Rand, low, high float64) float64 { return low + (high-low)*rng.Float64() }

func pick(rng *rand.Rand, from ...float64) float64 { return from[rng.IntN(len(from))] }

func clamp(x, low, high float64) float64 { return max(low, min(high, x)) }
