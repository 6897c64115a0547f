package recorder

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"
)

// clicks is the sound of something that clicks at the given instants, as a recorder of the rate takes it down.
type clicks struct {
	rateHz   float64
	seconds  float64
	noise    float64 // rms, full scale ±1
	level    float64 // of a click's loudest
	toneHz   float64 // it rings at
	decayMs  float64
	polarity bool // alternates, as a coil hears a quartz motor
	hum      float64
}

func (c clicks) sound(r *rand.Rand, at []float64) []float32 {
	out := make([]float32, int(c.rateHz*c.seconds))
	for i := range out {
		out[i] = float32(c.noise*r.NormFloat64() + c.hum*math.Sin(2*math.Pi*50*float64(i)/c.rateHz))
	}
	for k, t := range at {
		sign := 1.0
		if c.polarity && k%2 == 1 {
			sign = -1
		}
		for i := int(t*c.rateHz) + 1; i < int((t+8*c.decayMs/1e3)*c.rateHz); i++ {
			if i < 0 || i >= len(out) {
				continue
			}
			x := float64(i)/c.rateHz - t
			rise := 1 - math.Exp(-x/0.3e-3)
			out[i] += float32(sign * c.level * rise * rise * math.Exp(-x*1e3/c.decayMs) * math.Sin(2*math.Pi*c.toneHz*x))
		}
	}
	return out
}

func seconds(n int, ppm, start float64) []float64 {
	at := make([]float64, n)
	for i := range at {
		at[i] = start + float64(i)*(1+ppm*1e-6)
	}
	return at
}

func TestPulsesInSound(t *testing.T) {
	t.Parallel()
	for _, tc := range []struct {
		name string
		c    clicks
		ppm  float64
		// tolUs is how well a single pulse must be placed, microseconds rms; it follows from noise over steepness.
		tolUs float64
	}{
		{"a clear reference at 48 kHz", clicks{rateHz: 48000, seconds: 60, noise: 1e-4, level: 0.3, toneHz: 4000, decayMs: 2},
			40, 1},
		{"44.1 kHz, hum far louder", clicks{rateHz: 44100, seconds: 60, noise: 1e-4, level: 0.05, toneHz: 5200, decayMs: 1.5,
			hum: 0.2}, -25, 2},
		{"a quartz watch at a coil: polarity alternates", clicks{rateHz: 48000, seconds: 60, noise: 1e-3, level: 0.05,
			toneHz: 2200, decayMs: 3, polarity: true}, 12, 5},
		{"a faint watch, click 12 dB over the noise", clicks{rateHz: 48000, seconds: 90, noise: 0.01, level: 0.06,
			toneHz: 3500, decayMs: 3}, 0, 25},
		{"96 kHz, off by 900 ppm", clicks{rateHz: 96000, seconds: 45, noise: 1e-3, level: 0.2, toneHz: 8000, decayMs: 1}, 900,
			2},
		{"8 kHz", clicks{rateHz: 8000, seconds: 60, noise: 1e-4, level: 0.2, toneHz: 1800, decayMs: 4}, -300, 3},
		{"8 kHz, a short ring of about four samples", clicks{rateHz: 8000, seconds: 90, noise: 6e-4, level: 0.37,
			toneHz: 1900, decayMs: 2}, 20, 3},
	} {
		r := rand.New(rand.NewPCG(21, 22))
		at := seconds(int(tc.c.seconds), tc.ppm, 0.4321)
		times, err := pulsesIn(tc.c.sound(r, at), tc.c.rateHz)
		if err != nil || len(times) < int(0.9*tc.c.seconds) {
			t.Errorf("%s: %d pulses, %v", tc.name, len(times), err)
			continue
		}
		e, err := FromPulses(times, Reference{})
		if err != nil || math.Abs(e.PPM-tc.ppm) > 3*e.StdPPM+0.02 || e.ScatterUs > tc.tolUs {
			t.Errorf("%s: %+v, %v, made with %v ppm and to be placed within %v µs", tc.name, e, err, tc.ppm, tc.tolUs)
		}
		// The averaged pulse says where its instant is; all pulses share that, so only their distance from it must not move.
		if first := times[0] - at[0]; math.Abs(first-math.Round(first)) > 0.01 {
			t.Errorf("%s: the first pulse is %.4f s off its click", tc.name, first)
		}
		t.Logf("%s: %d pulses, scatter %.2f µs, %s", tc.name, len(times), e.ScatterUs, e.Value().FormatSigned())
	}
}

// Pulses that fall out, knocks on the bench and a late beginning are borne.
func TestPulsesThroughDisturbance(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(23, 24))
	at := seconds(150, 7, 45.2)
	at = append(at[:60:60], at[85:]...) // the watch was moved for 25 s
	c := clicks{rateHz: 48000, seconds: 210, noise: 2e-3, level: 0.05, toneHz: 4000, decayMs: 2}
	sound := c.sound(r, at)
	for range 40 {
		k := int(r.Float64() * 205 * 48000)
		for i := range 2400 {
			sound[k+i] += float32(0.6 * math.Exp(-float64(i)/480) * r.NormFloat64())
		}
	}
	sound[5000], sound[9000] = float32(math.NaN()), float32(math.Inf(-1))
	f, err := newPulseFinder(48000)
	if err != nil {
		t.Fatal(err)
	}
	for len(sound) > 0 { // in pieces of odd length, as a socket gives them
		n := min(len(sound), 4097)
		f.Write(sound[:n])
		sound = sound[n:]
		if len(f.sound) > int((learnS+1)*48000) {
			t.Fatalf("%d samples are kept", len(f.sound))
		}
	}
	train, err := f.Train()
	if err != nil || train.Missed < 20 || len(train.TimesS) < 95 {
		t.Fatalf("%d pulses, %d missed, %v", len(train.TimesS), train.Missed, err)
	}
	e, err := FromPulses(train.TimesS, Reference{})
	if err != nil || math.Abs(e.PPM-7) > 3*e.StdPPM {
		t.Errorf("%+v, %v", e, err)
	}
	again, err := f.Train()
	if err != nil || len(again.TimesS) != len(train.TimesS) {
		t.Errorf("asked twice: %d pulses, then %d, %v", len(train.TimesS), len(again.TimesS), err)
	}
}

func TestPulsesRefuse(t *testing.T) {
	t.Parallel()
	const rate = 48000
	r := rand.New(rand.NewPCG(25, 26))
	every := func(d float64) []float64 {
		var at []float64
		for s := 0.3; s < 40; s += d {
			at = append(at, s)
		}
		return at
	}
	var stray []float64
	for s := 0.2; s < 40; s += r.ExpFloat64() * 0.7 {
		stray = append(stray, s)
	}
	c := clicks{rateHz: rate, seconds: 42, noise: 1e-3, level: 0.1, toneHz: 4000, decayMs: 2}
	tone := make([]float32, 42*rate)
	for i := range tone {
		tone[i] = float32(0.3 * math.Sin(2*math.Pi*3000*float64(i)/rate))
	}
	for name, tc := range map[string]struct {
		sound []float32
		want  error
	}{
		"noise":                       {c.sound(r, nil), ErrNoPulses},
		"silence":                     {make([]float32, 42*rate), ErrNoPulses},
		"a tone":                      {tone, ErrNoPulses},
		"clicks at any time":          {c.sound(r, stray), ErrNoPulses},
		"a watch of 18000":            {c.sound(r, every(0.2)), ErrManyPulses},
		"a watch of 19800":            {c.sound(r, every(1/5.5)), ErrManyPulses},
		"a watch of 28800":            {c.sound(r, every(0.125)), ErrManyPulses},
		"a watch of 36000":            {c.sound(r, every(0.1)), ErrManyPulses},
		"two pulses a second":         {c.sound(r, every(0.5)), ErrManyPulses},
		"three seconds":               {c.sound(r, every(1))[:3*rate], ErrNoPulses},
		"nothing":                     {nil, ErrNoPulses},
		"a train 3 % off":             {c.sound(r, every(1.03)), ErrNoPulses},
		"a watch of 21600 that gains": {c.sound(r, every(0.99990/6)), ErrManyPulses},
	} {
		if times, err := pulsesIn(tc.sound, rate); !errors.Is(err, tc.want) {
			t.Errorf("%s: %d pulses, %v", name, len(times), err)
		}
	}
	for _, hz := range []float64{0, -1, 7999, 1e9, math.NaN(), math.Inf(1)} {
		if _, err := pulsesIn(nil, hz); err == nil || errors.Is(err, ErrNoPulses) {
			t.Errorf("%v samples a second: %v", hz, err)
		}
	}
}

// TestNoPulsesInNoise counts how often pulses are heard where there are none.
func TestNoPulsesInNoise(t *testing.T) {
	t.Parallel()
	for seed := range uint64(40) {
		c := clicks{rateHz: 8000, seconds: 41, noise: 0.01}
		if times, err := pulsesIn(c.sound(rand.New(rand.NewPCG(seed, 1)), nil), 8000); err == nil {
			t.Errorf("seed %d: %d pulses in noise", seed, len(times))
		}
	}
}

// BenchmarkPulseFinder listens to a minute at 48 kHz.
func BenchmarkPulseFinder(b *testing.B) {
	c := clicks{rateHz: 48000, seconds: 60, noise: 1e-3, level: 0.1, toneHz: 4000, decayMs: 2}
	sound := c.sound(rand.New(rand.NewPCG(1, 1)), seconds(60, 5, 0.3))
	for b.Loop() {
		if _, err := pulsesIn(sound, 48000); err != nil {
			b.Fatal(err)
		}
	}
}

// pulsesIn returns the arrivals of one pulse a second in a whole recording, in seconds from its first sample.
func pulsesIn(samples []float32, rateHz float64) ([]float64, error) {
	f, err := newPulseFinder(rateHz)
	if err != nil {
		return nil, err
	}
	f.Write(samples)
	t, err := f.Train()
	return t.TimesS, err
}
