package simulate

import (
	"math"
	"math/rand/v2"
)

// Bustle is what else sounds in a room again and again, and is no watch.
type Bustle struct {
	Kind BustleKind
	DB   float64
	// PerS is how often it sounds a second: keys, drops, clicks, or the beats of the music.
	PerS float64
	// Scatter is the standard deviation of the time from one sound to the next, as a share of it.
	Scatter float64
	Sounds  []Click // of a loop, evenly spread over it
}

// BustleKind is a kind of bustle.
type BustleKind uint8

// The kinds. How each sounds is from memory of its physics, and common practice where a number is given.
const (
	// Typing is keys struck and let go.
	Typing BustleKind = iota
	// Music is plucked chords with a drum, played by people.
	Music
	// Rain is drops at random times on a pane or sill.
	Rain
	// Drip is a tap's drops: a tick, then the ringing of the bubble it leaves, whose pitch rises.
	Drip
	// Loop is one piece of sound over and over, every time the same to the sample.
	Loop
)

// BustleKinds are all of them.
func BustleKinds() []BustleKind { return []BustleKind{Typing, Music, Rain, Drip, Loop} }

// String returns the kind's word.
func (k BustleKind) String() string {
	return [...]string{"typing", "music", "rain", "drip", "loop"}[k]
}

// RandomBustle draws one of a kind. A loop has the tempo of a metronome or of a watch.
func RandomBustle(kind BustleKind, rng *rand.Rand) Bustle {
	b := Bustle{Kind: kind, DB: between(rng, -6, 6)}
	switch kind {
	case Typing: // 25 to 80 words a minute
		b.PerS, b.Scatter = between(rng, 2, 7), between(rng, 0.25, 0.6)
	case Music: // 60 to 180 beats a minute, kept to some hundredths of a beat
		b.PerS, b.Scatter = between(rng, 1, 3), between(rng, 0.01, 0.04)
	case Rain:
		b.PerS, b.Scatter = logBetween(rng, 10, 400), 1
	case Drip: // even dripping, up to where it runs together
		b.PerS, b.Scatter = between(rng, 0.5, 8), logBetween(rng, 0.003, 0.1)
	case Loop:
		b.PerS = logBetween(rng, 0.6, 12)
		for range 1 + rng.IntN(3) {
			b.Sounds = append(b.Sounds, randomClick(rng))
		}
	}
	return b
}

// bustle makes it.
type bustle struct {
	b      Bustle
	height float64
	rateHz float64
	next   float64
	count  int
	keys   []*ring // of one keyboard, or the drum
	loop   []float64
	chord  float64 // Hz of its root
	rng    *rand.Rand
}

func newBustle(b Bustle, dropPeak, rateHz float64, rng *rand.Rand) *bustle {
	made := &bustle{b: b, height: dropPeak * fromDB(b.DB), rateHz: rateHz, rng: rng, next: rng.Float64() / b.PerS,
		chord: logBetween(rng, 110, 330)}
	switch b.Kind {
	case Typing:
		for range 12 {
			made.keys = append(made.keys, newRing(thud(rng, 300, 6000, 2, 12), rateHz, made.height))
		}
	case Music:
		made.keys = []*ring{newRing(thud(rng, 60, 300, 40, 120), rateHz, made.height),
			newRing(Click{AttackUs: 200, Noise: 0.5, NoiseDecayMs: 25}, rateHz, made.height)}
	case Loop:
		made.loop = made.piece()
	}
	return made
}

// thud draws the sound of a part struck, its resonances between two frequencies and dying between two times.
func thud(rng *rand.Rand, lowHz, highHz, shortMs, longMs float64) Click {
	c := Click{AttackUs: between(rng, 50, 400), Noise: between(rng, 0.05, 0.3), NoiseDecayMs: between(rng, 0.5, 3)}
	for range 3 + rng.IntN(4) {
		c.Modes = append(c.Modes, Mode{Hz: logBetween(rng, lowHz, highHz), DecayMs: logBetween(rng, shortMs, longMs),
			Gain: between(rng, 0.3, 1), PhaseRad: 2 * math.Pi * rng.Float64()})
	}
	return c
}

// piece is the loop: whole samples long, its tails going on where it begins again.
func (b *bustle) piece() []float64 {
	loop := make([]float64, int(math.Round(float64(len(b.b.Sounds))*b.rateHz/b.b.PerS)))
	for i, c := range b.b.Sounds {
		r := newRing(c, b.rateHz, b.height)
		var m mix
		r.sound(&m, 0, 1, 0, b.rng)
		from := i * len(loop) / len(b.b.Sounds)
		for k, v := range m.strip {
			loop[(from+k)%len(loop)] += v
		}
	}
	return loop
}

func (b *bustle) until(m *mix, t float64) {
	if b.loop != nil {
		for first := int64(b.count) * int64(len(b.loop)); float64(first) < t*b.rateHz; first += int64(len(b.loop)) {
			m.add(first, b.loop)
			b.count++
		}
		return
	}
	for ; b.next < t; b.next += b.pause() {
		switch b.b.Kind {
		case Typing:
			// Let go some 60 to 130 ms after it was struck, and softer.
			key := b.keys[b.rng.IntN(len(b.keys))]
			key.sound(m, b.next, lognormal(0.4, b.rng), 0.1, b.rng)
			key.sound(m, b.next+between(b.rng, 0.06, 0.13), 0.4*lognormal(0.4, b.rng), 0.3, b.rng)
		case Music:
			b.bar(m)
		case Rain:
			newRing(thud(b.rng, 800, 9000, 0.3, 5), b.rateHz, b.height*fromDB(-20*b.rng.Float64())).sound(m, b.next, 1, 0, b.rng)
		case Drip:
			b.drop(m)
		}
		b.count++
	}
}

// pause is the time to the next sound; that of rain has the exponential distribution of what comes at random.
func (b *bustle) pause() float64 {
	if b.b.Kind == Rain {
		return b.rng.ExpFloat64() / b.b.PerS
	}
	return max(0.02, lognormal(b.b.Scatter, b.rng)/b.b.PerS)
}

// bar adds one beat of the music: a plucked chord, the drum on every other beat, brushes twice a beat.
func (b *bustle) bar(m *mix) {
	if b.count%4 == 0 {
		b.chord *= [...]float64{1, 4. / 3, 3. / 4, 9. / 8, 8. / 9}[b.rng.IntN(5)]
		b.chord = clamp(b.chord, 80, 500)
	}
	late := func() float64 { return b.b.Scatter / b.b.PerS * math.Abs(b.rng.NormFloat64()) }
	for _, part := range [...]float64{1, 5. / 4, 3. / 2} {
		var pluck Click
		pluck.AttackUs = 1500
		for k := 1; k <= 12; k++ { // a string's harmonics fall and die faster the higher they are
			pluck.Modes = append(pluck.Modes, Mode{Hz: b.chord * part * float64(k), DecayMs: 400 / float64(k), Gain: 1 / float64(k),
				PhaseRad: 2 * math.Pi * b.rng.Float64()})
		}
		newRing(pluck, b.rateHz, b.height*lognormal(0.3, b.rng)/3).sound(m, b.next+late(), 1, 0, b.rng)
	}
	if b.count%2 == 0 {
		b.keys[0].sound(m, b.next+late(), lognormal(0.2, b.rng), 0.1, b.rng)
	}
	for half := range 2 {
		b.keys[1].sound(m, b.next+float64(half)/2/b.b.PerS+late(), 0.5*lognormal(0.3, b.rng), 0, b.rng)
	}
}

// drop adds a tap's drop: the tick of its landing, and 5 to 25 ms later a bubble of 0.8 to 4 kHz (Minnaert, Phil. Mag.
// 16, 1933, 235: some 3.3 m/s over its radius), whose pitch rises by a tenth as it nears the surface.
func (b *bustle) drop(m *mix) {
	newRing(thud(b.rng, 1500, 9000, 0.3, 2), b.rateHz, b.height*lognormal(0.2, b.rng)).sound(m, b.next, 1, 0, b.rng)
	hz, decayS := logBetween(b.rng, 800, 4000), between(b.rng, 0.005, 0.02)
	bubble := make([]float64, int(6*decayS*b.rateHz))
	angle := 0.0
	for i := range bubble {
		s := float64(i) / b.rateHz
		angle += 2 * math.Pi * hz * (1 + 0.1*s/decayS/6) / b.rateHz
		bubble[i] = b.height * math.Exp(-s/decayS) * math.Sin(angle)
	}
	m.add(int64((b.next+between(b.rng, 0.005, 0.025))*b.rateHz), bubble)
}
