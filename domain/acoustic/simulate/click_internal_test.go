package simulate

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"
)

// A sound placed anywhere between two samples has the values of the continuous waveform at the sample times.
func TestSoundLiesBetweenSamples(t *testing.T) {
	t.Parallel()
	rng := rand.New(rand.NewPCG(1, 2))
	for range 50 {
		click := randomClick(rng)
		click.Noise = 0
		rateHz := pick(rng, 44100, 48000, 96000)
		r := newRing(click, rateHz, 0.5)
		onset := 0.01 + 0.01*rng.Float64()
		var m mix
		r.sound(&m, onset, 1, 0, rng)
		peak := 0.0
		for i, got := range m.strip {
			after := float64(i)/rateHz - onset
			want := 0.0
			if after >= 0 {
				want = r.at(after)
			}
			// Each resonance is cut off at exp(-9.5) of its gain: 7.5e-5, of at most some units of peak; the recurrence
			// itself loses 1e-10.
			if math.Abs(got-want) > 1e-3 || after < 0 && got != 0 {
				t.Fatalf("%v Hz, sample %d, %v s after the onset: %v, want %v", rateHz, i, after, got, want)
			}
			peak = max(peak, math.Abs(got))
		}
		// A crest lies within a sixty-fourth of a period of a step: it is 0.5 % higher at most.
		if peak > 0.504 || peak < 0.3 {
			t.Errorf("peak %v, want 0.5 or a little less between the samples", peak)
		}
	}
}

// What is cut off by the beginning of the recording, and what lies across two blocks, is the same sound.
func TestMixAcrossBlocks(t *testing.T) {
	t.Parallel()
	sound := []float64{1, 2, 3, 4, 5, 6}
	var m mix
	m.add(-2, sound)
	m.add(-9, sound)
	m.add(3, sound)
	first, second := make([]float64, 5), make([]float64, 5)
	m.take(first)
	m.add(8, sound)
	m.take(second)
	for i, want := range []float64{3, 4, 5, 7, 2} {
		if first[i] != want {
			t.Errorf("first block: %v", first)
		}
	}
	for i, want := range []float64{3, 4, 5, 7, 2} {
		if second[i] != want {
			t.Errorf("second block: %v", second)
		}
	}
}

// An Ornstein-Uhlenbeck process keeps its standard deviation, and after the time it forgets in, 1/e of its value.
func TestWander(t *testing.T) {
	t.Parallel()
	rng := rand.New(rand.NewPCG(5, 5))
	o := newWander(3, 2, rng)
	const steps, n = 20, 400000 // 20 steps of 0.1 s are the 2 s
	values := make([]float64, n)
	squares := 0.0
	for i := range values {
		values[i] = o.step(0.1, rng)
		squares += values[i] * values[i]
	}
	product := 0.0
	for i := range n - steps {
		product += values[i] * values[i+steps]
	}
	// 40 000 s hold some 10 000 independent values: variance to 1.4 %, correlation to 0.01; four of each.
	if variance := squares / n; math.Abs(variance/9-1) > 0.06 {
		t.Errorf("variance %v, want 9", variance)
	}
	if kept := product / squares; math.Abs(kept-1/math.E) > 0.04 {
		t.Errorf("kept %v after the time it forgets in, want 1/e", kept)
	}
}

// Pink noise has equal power in every octave: the filter's response falls by 3.01 dB each.
func TestPinkFalls(t *testing.T) {
	t.Parallel()
	power := func(cycles float64) float64 { // cycles a sample
		z := cmplx.Exp(complex(0, -2*math.Pi*cycles))
		sum := complex(pinkDirect, 0)
		for _, p := range pinkPoles {
			sum += complex(p.share, 0) / (1 - complex(p.pole, 0)*z)
		}
		return real(sum)*real(sum) + imag(sum)*imag(sum)
	}
	reference := power(0.01) * 0.01
	for cycles := 0.0008; cycles < 0.4; cycles *= 2 {
		if off := 10 * math.Log10(power(cycles)*cycles/reference); math.Abs(off) > 1 {
			t.Errorf("%v of the sample rate: %.2f dB off pink", cycles, off)
		}
	}
}

// The ringing of a case dies as its decay says, and at its resonance the gain is what was asked.
func TestBandPass(t *testing.T) {
	t.Parallel()
	m := Mode{Hz: 3000, DecayMs: 5, Gain: 0.7}
	q := bandPass(m, 48000)
	y := 0.0
	for i := range 4800 {
		v := q.step(math.Sin(2 * math.Pi * m.Hz / 48000 * float64(i)))
		if i > 4000 {
			y = max(y, math.Abs(v))
		}
	}
	if math.Abs(y-m.Gain) > 0.01*m.Gain { // sixteen samples a period hit the crest to 1 %
		t.Errorf("gain %v, want %v", y, m.Gain)
	}
	early, late := 0.0, 0.0
	for i := range 960 {
		v := math.Abs(q.step(0))
		if i < 240 {
			early = max(early, v)
		} else if i < 480 {
			late = max(late, v)
		}
	}
	if ratio := early / late; math.Abs(ratio-math.E) > 0.15 {
		t.Errorf("5 ms later it rings %.3f times less, want e", ratio)
	}
}
