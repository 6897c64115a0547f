package simulate

import (
	"math"
	"math/rand/v2"
)

// blockSamples are made at a time.
const blockSamples = 1 << 14

// The streams of chance: each source has its own, so that one can be changed and the others stay.
const (
	chanceBalance = iota + 1
	chanceSound
	chanceLevel
	chanceNoise
	chanceHum
	chanceSpeech
	chanceKnocks
	chanceQuartz
	chanceBustle
	chanceSecond = 100 // and the three of a watch above it
)

// Sound returns a recording of the watch in the room: samples of full scale ±1, and the truth. Equal arguments give
// equal samples.
func Sound(w Watch, room Room, rateHz, seconds float64, seed uint64) ([]float32, Truth) {
	samples := make([]float32, 0, int(math.Round(rateHz*seconds)))
	truth := Stream(w, room, rateHz, seconds, seed, func(chunk []float32) { samples = append(samples, chunk...) })
	return samples, truth
}

// Stream makes the same recording as Sound and hands it over piece by piece: a day's recording takes no more memory
// than a minute's. A chunk is good only until write returns.
func Stream(w Watch, room Room, rateHz, seconds float64, seed uint64, write func(chunk []float32)) Truth {
	s := newStudio(w, room, rateHz, seconds, seed)
	samples := int64(math.Round(rateHz * seconds))
	block, chunk := make([]float64, blockSamples), make([]float32, blockSamples)
	for first := int64(0); first < samples; first += blockSamples {
		n := min(blockSamples, samples-first)
		s.make(block[:n], first)
		s.recorder.record(chunk[:n], block[:n], first)
		write(chunk[:n])
	}
	return s.witness.close(s.watch.stopped)
}

// studio holds all that sounds.
type studio struct {
	watch, second *ticking
	microphone    *biquad
	disturbers    []disturber
	events        mix
	noise         *noise
	hum           *hum
	recorder      recorder
	witness       *witness
	rateHz        float64 // samples a true second
	buffer        []float64
}

func newStudio(w Watch, room Room, rateHz, seconds float64, seed uint64) *studio {
	chance := func(stream uint64) *rand.Rand { return rand.New(rand.NewPCG(seed, stream)) }
	trueHz := rateHz * (1 + 1e-6*room.ClockPPM)
	level := fromDB(room.PeakDBFS)
	s := &studio{
		rateHz: trueHz, microphone: newMicrophone(room.LowPassHz, trueHz),
		witness: newWitness(w, room, rateHz, seconds), buffer: make([]float64, blockSamples),
		recorder: recorder{room: room, rateHz: rateHz},
	}
	s.watch = newTicking(w, room, trueHz, seconds, level, chanceBalance, chance)
	s.watch.heard = s.witness.see
	if room.Second != nil {
		second := room.Second.Watch
		s.second = newTicking(second, Room{LowPassHz: room.LowPassHz}, trueHz, seconds, level*fromDB(room.Second.DB),
			chanceSecond, chance)
		s.second.heard = func(beat) {}
	}
	if room.Quartz != nil {
		s.disturbers = append(s.disturbers, newQuartz(*room.Quartz, level, trueHz, chance(chanceQuartz)))
	}
	if room.Knocks != nil && room.Knocks.PerMinute > 0 {
		s.disturbers = append(s.disturbers, newKnocks(*room.Knocks, level, trueHz, chance(chanceKnocks)))
	}
	if room.Speech != nil && room.Speech.PerMinute > 0 {
		s.disturbers = append(s.disturbers, newSpeech(*room.Speech, level, trueHz, chance(chanceSpeech)))
	}
	if room.Bustle != nil && room.Bustle.PerS > 0 {
		s.disturbers = append(s.disturbers, newBustle(*room.Bustle, level, trueHz, chance(chanceBustle)))
	}
	rms := 0.0
	if room.SNRdB <= 200 {
		rms = level / fromDB(room.SNRdB)
	}
	s.noise = newNoise(room, rms, trueHz, chance(chanceNoise))
	humHeight := 0.0
	if room.Hum != nil {
		humHeight = level * fromDB(room.Hum.DB)
	}
	s.hum = newHum(room.Hum, humHeight, trueHz, chance(chanceHum))
	s.witness.truth.DropPeak, s.witness.truth.NoiseRMS = level, rms
	return s
}

// make fills the block that begins with sample number first.
func (s *studio) make(block []float64, first int64) {
	end := float64(first+int64(len(block))) / s.rateHz
	s.watch.make(block, end)
	if s.second != nil {
		buffer := s.buffer[:len(block)]
		s.second.make(buffer, end)
		for i, v := range buffer {
			block[i] += v
		}
	}
	s.microphone.filter(block)
	if len(s.disturbers) > 0 {
		for _, d := range s.disturbers {
			d.until(&s.events, end)
		}
		buffer := s.buffer[:len(block)]
		s.events.take(buffer)
		for i, v := range buffer {
			block[i] += v
		}
	}
	s.hum.add(block, first)
	s.noise.add(block)
}

// ticking is a watch that sounds.
type ticking struct {
	watch   Watch
	balance *balance
	rings   [2]rings
	body    body
	mix     mix
	scale   float64
	rng     *rand.Rand
	heard   func(beat)
	stopped bool
}

// rings are the three sounds of a swing made ready.
type rings struct{ unlocking, impulse, drop *ring }

// newTicking makes the watch ready, so loud that the mean peak of its drops, as the microphone hears them, is level.
// Its three streams of chance begin with the one given.
func newTicking(w Watch, room Room, rateHz, seconds, level float64, stream uint64,
	chance func(uint64) *rand.Rand) *ticking {
	t := &ticking{watch: w, rng: chance(stream + 1), body: newBody(w.Body, rateHz)}
	if w.BeatsPerHour <= 0 {
		return t
	}
	t.balance = newBalance(w, room.StartS, seconds, chance(stream))
	for swing, v := range w.Voices {
		t.rings[swing] = rings{
			unlocking: newRing(v.Unlocking, rateHz, fromDB(v.Unlocking.DB)),
			impulse:   newRing(v.Impulse, rateHz, fromDB(v.Impulse.DB)),
			drop:      newRing(v.Drop, rateHz, fromDB(v.Drop.DB)),
		}
	}
	if peak := t.dropPeak(room, rateHz, chance(stream+2)); peak > 0 {
		t.scale = level / peak
	}
	return t
}

// make fills the block that ends at a true time.
func (t *ticking) make(block []float64, end float64) {
	if t.balance == nil {
		clear(block)
		return
	}
	// A beat's first sound lies at most half an interval before its passage of the rest point.
	for !t.stopped && t.balance.rest-1800/t.watch.BeatsPerHour-1e-3 < end {
		b, running := t.balance.next()
		if !running {
			t.stopped = true
			break
		}
		t.heard(b)
		if !b.missing {
			t.sound(&t.mix, b, t.rng)
		}
	}
	t.mix.take(block)
	for i := range block {
		block[i] *= t.scale
	}
	t.body.colour(block)
}

// sound adds the three sounds of a beat. A watch that swings less sounds fainter.
func (t *ticking) sound(m *mix, b beat, rng *rand.Rand) {
	r := t.rings[b.number&1]
	level := math.Sqrt(b.amplitudeDeg / t.watch.AmplitudeDeg)
	loudness, modes := t.watch.LoudnessScatter, t.watch.ModeScatter
	r.unlocking.sound(m, b.unlocking, level*lognormal(loudness, rng), modes, rng)
	r.impulse.sound(m, b.impulse, level*lognormal(loudness, rng), modes, rng)
	r.drop.sound(m, b.drop, level*lognormal(loudness, rng), modes, rng)
}

// dropPeak returns the mean peak of the drops as the microphone hears them, without those of a swing that is hardly
// heard, from 64 beats of mean amplitude sounded one by one.
func (t *ticking) dropPeak(room Room, rateHz float64, rng *rand.Rand) float64 {
	const beats, windowS = 64, 0.006
	w := t.watch
	lift := arcsine(w.LiftAngleDeg/2/w.AmplitudeDeg) / (math.Pi * w.hz())
	aheadS, sum, heard := lift+0.001, 0.0, 0.0
	block := make([]float64, int((aheadS+windowS)*rateHz))
	for i := range beats {
		drop := aheadS + rng.Float64()/rateHz
		b := beat{number: int64(i), amplitudeDeg: w.AmplitudeDeg, drop: drop, unlocking: drop - lift}
		b.impulse = b.unlocking + lift*w.Voices[i&1].ImpulseAt
		var m mix
		t.sound(&m, b, rng)
		m.take(block)
		newBody(w.Body, rateHz).colour(block)
		newMicrophone(room.LowPassHz, rateHz).filter(block)
		peak := 0.0
		for _, v := range block[int(aheadS*rateHz):] {
			peak = max(peak, math.Abs(v))
		}
		if w.Voices[i&1].Drop.DB > faintDB {
			sum, heard = sum+peak, heard+1
		}
	}
	return sum / max(1, heard)
}

// recorder turns the sound into samples.
type recorder struct {
	room   Room
	rateHz float64
}

func (r recorder) record(chunk []float32, block []float64, first int64) {
	limit := math.Inf(1)
	if r.room.ClipAt > 0 {
		limit = r.room.ClipAt
	}
	steps := 0.0
	if r.room.Bits > 0 {
		steps = math.Ldexp(1, r.room.Bits-1)
		limit = min(limit, (steps-1)/steps)
	}
	for i, v := range block {
		v = max(-limit, min(limit, v+r.room.DCOffset))
		if steps > 0 {
			v = math.RoundToEven(v*steps) / steps
		}
		chunk[i] = float32(v)
	}
	for _, gap := range r.room.Silences {
		from := int64(gap.StartS*r.rateHz) - first
		to := int64((gap.StartS+gap.Seconds)*r.rateHz) - first
		from, to = max(0, from), min(int64(len(chunk)), to)
		if from < to {
			clear(chunk[from:to])
		}
	}
}
