package simulate

import (
	"math"
	"math/rand/v2"
)

const (
	// quietNepers is where a dying sound is cut off: exp(-9.5) is 80 dB down.
	quietNepers = 9.5
	// bandShare is the highest frequency made, of the sample rate: a recorder's own filter lets no more through.
	bandShare = 0.46
)

// mix is a strip of sound that is added to at any place ahead and taken off in order.
type mix struct {
	base    int64 // number of the first sample of strip
	strip   []float64
	scratch []float64
}

// span returns the n samples from number first on, to be added to. What lies before the strip is cut off, and skip
// says how many samples that were.
func (m *mix) span(first int64, n int) (room []float64, skip int) {
	from := first - m.base
	if from < 0 {
		skip = int(min(-from, int64(n)))
		from = 0
	}
	need := int(from) + n - skip
	if need > len(m.strip) {
		m.strip = append(m.strip, make([]float64, need-len(m.strip))...)
	}
	return m.strip[from:need], skip
}

// take copies the next samples into block and forgets them.
func (m *mix) take(block []float64) {
	n := copy(block, m.strip)
	clear(block[n:])
	left := copy(m.strip, m.strip[n:])
	m.strip = m.strip[:left]
	m.base += int64(len(block))
}

// add adds a finished sound at sample number first.
func (m *mix) add(first int64, sound []float64) {
	room, skip := m.span(first, len(sound))
	for i, v := range sound[skip:] {
		room[i] += v
	}
}

// ring is a click made ready for a sample rate.
type ring struct {
	rateHz      float64
	modes       []ringMode
	attack      float64 // 1/s; 0: at once
	attackSteps int
	samples     int
	noise       float64
	noiseDecay  float64 // 1/s
	noiseSteps  int
}

type ringMode struct {
	gain, decay, omega, phase float64 // decay 1/s, omega rad/s
	c1, c2                    float64 // of the recurrence y[n] = c1·y[n-1] - c2·y[n-2]
	samples                   int
}

// newRing makes the click ready, at a level that is its peak: the peak of its resonances is level.
func newRing(c Click, rateHz, level float64) *ring {
	r := &ring{rateHz: rateHz}
	if c.AttackUs > 0 {
		r.attack = 1e6 / c.AttackUs
		r.attackSteps = int(math.Ceil(quietNepers / r.attack * rateHz))
	}
	for _, m := range c.Modes {
		if m.Hz > bandShare*rateHz || m.DecayMs <= 0 {
			continue
		}
		decay, omega := 1e3/m.DecayMs, 2*math.Pi*m.Hz
		per := math.Exp(-decay / rateHz)
		r.modes = append(r.modes, ringMode{
			gain: m.Gain, decay: decay, omega: omega, phase: m.PhaseRad,
			c1: 2 * per * math.Cos(omega/rateHz), c2: per * per,
			samples: int(math.Ceil(quietNepers / decay * rateHz)),
		})
	}
	scale := level
	if peak := r.peak(); peak > 0 {
		scale /= peak
	}
	for i := range r.modes {
		r.modes[i].gain *= scale
		r.samples = max(r.samples, r.modes[i].samples)
	}
	if c.Noise > 0 && c.NoiseDecayMs > 0 {
		r.noise, r.noiseDecay = c.Noise*level, 1e3/c.NoiseDecayMs
		r.noiseSteps = int(math.Ceil(quietNepers / r.noiseDecay * rateHz))
		r.samples = max(r.samples, r.noiseSteps)
	}
	return r
}

// peak returns the greatest height of the continuous waveform, looked for over a period of its lowest resonance, 4 ms
// at least, in steps of a thirty-second of a period of its highest.
func (r *ring) peak() float64 {
	lowest, highest := math.Inf(1), 1000.0
	for _, m := range r.modes {
		lowest, highest = min(lowest, m.omega/(2*math.Pi)), max(highest, m.omega/(2*math.Pi))
	}
	span, step := max(0.004, 1/lowest), 1/(32*highest)
	peak := 0.0
	for t := 0.0; t < span; t += step {
		peak = max(peak, math.Abs(r.at(t)))
	}
	return peak
}

// at returns the resonances t seconds after the onset.
func (r *ring) at(t float64) float64 {
	sum := 0.0
	for _, m := range r.modes {
		sum += m.gain * math.Exp(-m.decay*t) * math.Sin(m.omega*t+m.phase)
	}
	if r.attack > 0 {
		sum *= -math.Expm1(-r.attack * t)
	}
	return sum
}

// sound adds the click with its onset at a time in seconds (of the clock that rateHz belongs to), its loudness
// multiplied by level and each resonance's by a lognormal chance of its own.
func (r *ring) sound(m *mix, onset, level, modeScatter float64, rng *rand.Rand) {
	place := onset * r.rateHz
	first := math.Ceil(place)
	after := (first - place) / r.rateHz
	if cap(m.scratch) < r.samples {
		m.scratch = make([]float64, r.samples)
	}
	buffer := m.scratch[:r.samples]
	clear(buffer)
	for i := range r.modes {
		mode := &r.modes[i]
		gain := level * mode.gain
		if modeScatter > 0 {
			gain *= lognormal(modeScatter, rng)
		}
		mode.into(buffer, after, gain, r.rateHz)
	}
	r.burst(buffer, after, level, rng)
	if r.attack > 0 {
		swell, per := math.Exp(-r.attack*after), math.Exp(-r.attack/r.rateHz)
		for i := range buffer[:min(len(buffer), r.attackSteps)] {
			buffer[i] *= 1 - swell
			swell *= per
		}
	}
	m.add(int64(first), buffer)
}

// into adds the resonance, evaluated from the given time after its onset on.
func (m *ringMode) into(buffer []float64, after, gain, rateHz float64) {
	y1 := gain * math.Exp(-m.decay*after) * math.Sin(m.omega*after+m.phase)
	before := after - 1/rateHz
	y2 := gain * math.Exp(-m.decay*before) * math.Sin(m.omega*before+m.phase)
	c1, c2 := m.c1, m.c2
	buffer = buffer[:m.samples]
	for i := range buffer {
		buffer[i] += y1
		y1, y2 = c1*y1-c2*y2, y1
	}
}

// burst adds the noise.
func (r *ring) burst(buffer []float64, after, level float64, rng *rand.Rand) {
	if r.noise == 0 {
		return
	}
	height, per := level*r.noise*math.Exp(-r.noiseDecay*after), math.Exp(-r.noiseDecay/r.rateHz)
	for i := range buffer[:r.noiseSteps] {
		buffer[i] += height * rng.NormFloat64()
		height *= per
	}
}

// lognormal returns a chance factor of mean 1.
func lognormal(std float64, rng *rand.Rand) float64 {
	return math.Exp(std*rng.NormFloat64() - std*std/2)
}

// fromDB returns the ratio of two heights.
func fromDB(db float64) float64 { return math.Pow(10, db/20) }
