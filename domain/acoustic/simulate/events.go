package simulate

import (
	"math"
	"math/rand/v2"
)

// disturber is a source of single sounds in the room.
type disturber interface {
	// until adds all sounds that begin before a true time.
	until(m *mix, t float64)
}

// quartz steps once a second.
type quartz struct {
	step     *ring
	next     float64
	interval float64
	rng      *rand.Rand
}

func newQuartz(q Quartz, dropPeak, rateHz float64, rng *rand.Rand) *quartz {
	return &quartz{
		step: newRing(q.Step, rateHz, dropPeak*fromDB(q.DB)), rng: rng,
		interval: 1 / (1 + q.RateSPerDay/86400), next: rng.Float64(),
	}
}

func (q *quartz) until(m *mix, t float64) {
	for ; q.next < t; q.next += q.interval {
		// The steps sound a little different from one to the next; their times are the crystal's.
		q.step.sound(m, q.next, lognormal(0.04, q.rng), 0.05, q.rng)
	}
}

// knocks are thuds at random times.
type knocks struct {
	k      Knocks
	height float64
	rateHz float64
	next   float64
	rng    *rand.Rand
}

func newKnocks(k Knocks, dropPeak, rateHz float64, rng *rand.Rand) *knocks {
	made := &knocks{k: k, height: dropPeak * fromDB(k.DB), rateHz: rateHz, rng: rng}
	made.next = made.pause()
	return made
}

func (k *knocks) pause() float64 { return k.rng.ExpFloat64() * 60 / k.k.PerMinute }

func (k *knocks) until(m *mix, t float64) {
	for ; k.next < t; k.next += k.pause() {
		thud := Click{AttackUs: 100 + 900*k.rng.Float64(), Noise: 0.1, NoiseDecayMs: 3}
		for range 3 + k.rng.IntN(4) {
			thud.Modes = append(thud.Modes, Mode{
				Hz: logBetween(k.rng, 60, 2500), DecayMs: logBetween(k.rng, 4, 60),
				Gain: 0.3 + k.rng.Float64(), PhaseRad: 2 * math.Pi * k.rng.Float64(),
			})
		}
		height := k.height * fromDB(-6*k.rng.Float64())
		newRing(thud, k.rateHz, height).sound(m, k.next, 1, 0, k.rng)
	}
}

// speech is utterances of some syllables.
type speech struct {
	s         Speech
	height    float64
	rateHz    float64
	next      float64
	syllables int // left of this utterance
	rng       *rand.Rand
}

func newSpeech(s Speech, dropPeak, rateHz float64, rng *rand.Rand) *speech {
	made := &speech{s: s, height: dropPeak * fromDB(s.DB), rateHz: rateHz, rng: rng}
	made.next = made.pause()
	return made
}

func (s *speech) pause() float64 { return s.rng.ExpFloat64() * 60 / s.s.PerMinute }

func (s *speech) until(m *mix, t float64) {
	for s.next < t {
		if s.syllables == 0 {
			s.syllables = 2 + s.rng.IntN(8)
		}
		sound := s.syllable()
		m.add(int64(s.next*s.rateHz), sound)
		s.next += float64(len(sound))/s.rateHz + 0.03 + 0.1*s.rng.Float64()
		s.syllables--
		if s.syllables == 0 {
			s.next += s.pause()
		}
	}
}

// syllable returns one syllable: a train of glottal pulses through three formants, now and then with a hiss before it,
// swelling and dying away; its peak is at the wanted height or up to 10 dB below.
func (s *speech) syllable() []float64 {
	rng := s.rng
	samples := int((0.08 + 0.25*rng.Float64()) * s.rateHz)
	sound := make([]float64, samples)
	formants := newBody([]Mode{
		{Hz: logBetween(rng, 280, 850), DecayMs: 4, Gain: 1},
		{Hz: logBetween(rng, 850, 2300), DecayMs: 3, Gain: 0.5},
		{Hz: logBetween(rng, 2300, 3400), DecayMs: 2, Gain: 0.25},
	}, s.rateHz)
	hiss := 0.0
	if rng.Float64() < 0.4 {
		hiss = 0.3
	}
	pitch, glide := s.s.PitchHz*math.Exp(0.15*rng.NormFloat64()), 0.3*(rng.Float64()-0.5)
	peak, cycle := 0.0, 0.0
	for i := range sound {
		along := float64(i) / float64(samples)
		cycle += pitch * (1 + glide*along) / s.rateHz
		pulse := 0.0
		if cycle >= 1 {
			cycle--
			pulse = 30
		}
		pulse += 0.1 * rng.NormFloat64()
		value := 0.0
		for _, q := range formants {
			value += q.step(pulse)
		}
		if along < 0.3 {
			value += hiss * rng.NormFloat64() * (1 - along/0.3)
		}
		sin := math.Sin(math.Pi * along)
		sound[i] = value * sin * sin
		peak = max(peak, math.Abs(sound[i]))
	}
	scale := s.height * fromDB(-10*rng.Float64()) / max(peak, 1e-12)
	for i := range sound {
		sound[i] *= scale
	}
	return sound
}

// logBetween draws evenly on a logarithmic scale.
func logBetween(rng *rand.Rand, low, high float64) float64 {
	return low * math.Exp(rng.Float64()*math.Log(high/low))
}
