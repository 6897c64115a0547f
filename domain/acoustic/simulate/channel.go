package simulate

import (
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/dsp/fourier"
)

// Channel is what lies between the watch and the file beside noise: the echoes of a room, a recorder that rides the
// gain, and the band of a telephone. Each may be left out. Codecs are not made here: their encoders are programs.
type Channel struct {
	Echo   *Echo
	Riding *Riding
	// LowHz and HighHz bound the band, by Butterworth filters of eighth order; 0: no bound.
	LowHz, HighHz float64
	// RateHz is the rate of the file, a whole part of the recording's; 0: that of the recording.
	RateHz float64
}

// Echo is a room as a microphone in it hears it: the direct sound, and diffuse sound that dies away.
type Echo struct {
	// DirectDB is the energy of the direct sound over that of all echoes: some +6 beside the watch, −6 a metre off in
	// a furnished room (common practice).
	DirectDB float64
	// DecayS is the reverberation time, in which the echoes fall by 60 dB (ISO 3382-2): 0.3 to 0.6 s in a furnished
	// room.
	DecayS float64
}

// Riding is an automatic gain: it holds the level of the sound, at once when it grows and slowly when it falls.
type Riding struct {
	TargetDBFS      float64 // of the level held
	AttackS, EaseS  float64
	GreatestGainDB  float64
	LevelIntegrateS float64
}

// Through returns the samples as the channel leaves them, and their rate. Equal arguments give equal samples.
func (c Channel) Through(samples []float32, rateHz float64, seed uint64) ([]float32, float64) {
	x := make([]float64, len(samples))
	for i, v := range samples {
		x[i] = float64(v)
	}
	if c.Echo != nil {
		x = c.Echo.add(x, rateHz, rand.New(rand.NewPCG(seed, 1)))
	}
	if c.Riding != nil {
		c.Riding.ride(x, rateHz)
	}
	band(x, c.LowHz, c.HighHz, rateHz)
	if c.RateHz > 0 && c.RateHz < rateHz {
		x = decimate(x, int(math.Round(rateHz/c.RateHz)))
		rateHz = c.RateHz
	}
	peak := 1.0
	for _, v := range x {
		peak = max(peak, math.Abs(v)*1.0001)
	}
	out := make([]float32, len(x))
	for i, v := range x { // sixteen bits, as files have
		out[i] = float32(math.RoundToEven(v/peak*32767) / 32768)
	}
	return out, rateHz
}

// add convolves x with the room: a pulse, and Gaussian noise that dies away from a few milliseconds after it on, its
// treble sooner than its bass.
func (e Echo) add(x []float64, rateHz float64, rng *rand.Rand) []float64 {
	h := make([]float64, int(e.DecayS*rateHz))
	first := int((0.001 + 0.004*rng.Float64()) * rateHz)
	low, energy := 0.0, 0.0
	for i := first; i < len(h); i++ {
		t := float64(i) / rateHz
		keep := math.Min(0.9, 0.2+0.8*t/e.DecayS)
		low = keep*low + (1-keep)*rng.NormFloat64()
		h[i] = low * math.Sqrt((1+keep)/(1-keep)) * math.Pow(10, -3*t/e.DecayS)
		energy += h[i] * h[i]
	}
	scale := math.Pow(10, -e.DirectDB/20) / math.Sqrt(energy)
	for i := range h {
		h[i] *= scale
	}
	h[0] = 1
	return convolve(x, h)
}

// convolve returns the first len(x) samples of x convolved with h.
func convolve(x, h []float64) []float64 {
	n := 1
	for n < 4*len(h) {
		n *= 2
	}
	fft := fourier.NewFFT(n)
	piece := make([]float64, n)
	copy(piece, h)
	room := fft.Coefficients(nil, piece)
	out := make([]float64, len(x)+n)
	step := n - len(h)
	var spectrum []complex128
	for a := 0; a < len(x); a += step {
		clear(piece)
		copy(piece, x[a:min(a+step, len(x))])
		spectrum = fft.Coefficients(spectrum, piece)
		for i, v := range room {
			spectrum[i] *= v
		}
		for i, v := range fft.Sequence(piece, spectrum) {
			out[a+i] += v / float64(n)
		}
	}
	return out[:len(x)]
}

// ride multiplies x by the gain that holds its level.
func (r Riding) ride(x []float64, rateHz float64) {
	target := math.Pow(10, r.TargetDBFS/20)
	greatest := math.Pow(10, r.GreatestGainDB/20)
	integrate := 1 - math.Exp(-1/(r.LevelIntegrateS*rateHz))
	attack, ease := 1-math.Exp(-1/(r.AttackS*rateHz)), 1-math.Exp(-1/(r.EaseS*rateHz))
	power, gain := target*target, 1.0
	for i, v := range x {
		power += integrate * (v*v - power)
		want := math.Min(greatest, target/math.Max(math.Sqrt(power), 1e-9))
		if want < gain {
			gain += attack * (want - gain)
		} else {
			gain += ease * (want - gain)
		}
		x[i] = v * gain
	}
}

// The qualities of the sections of a Butterworth filter of eighth order.
var butterworth8 = [...]float64{0.50979558, 0.60134489, 0.89997622, 2.5629154}

// band keeps what lies between lowHz and highHz of x.
func band(x []float64, lowHz, highHz, rateHz float64) {
	for _, q := range butterworth8 {
		if lowHz > 0 {
			section(x, lowHz, q, rateHz, -1)
		}
		if highHz > 0 && highHz < rateHz/2 {
			section(x, highHz, q, rateHz, 1)
		}
	}
}

// section passes x through a second-order low-pass (pass 1) or high-pass (pass −1) of quality q.
func section(x []float64, hz, q, rateHz, pass float64) {
	omega := 2 * math.Pi * hz / rateHz
	alpha, cos := math.Sin(omega)/(2*q), math.Cos(omega)
	a0 := 1 + alpha
	b := (1 - pass*cos) / 2 / a0
	f := biquad{b0: b, b1: 2 * pass * b, b2: b, a1: -2 * cos / a0, a2: (1 - alpha) / a0}
	for i, v := range x {
		x[i] = f.step(v)
	}
}

// decimate keeps one sample of every factor, after a linear-phase low-pass: a sinc of 32 lobes a side in a Blackman
// window, flat to nine tenths of the new band (Oppenheim and Schafer, Discrete-Time Signal Processing, 3rd ed., 7.5).
func decimate(x []float64, factor int) []float64 {
	const lobes = 32
	cut := 0.95 / float64(factor) // of half the old rate
	half := lobes * factor
	h := make([]float64, 2*half+1)
	for i := range h {
		t := float64(i - half)
		sinc := cut
		if t != 0 {
			sinc = math.Sin(math.Pi*cut*t) / (math.Pi * t)
		}
		u := math.Pi * t / float64(half+1)
		h[i] = sinc * (0.42 + 0.5*math.Cos(u) + 0.08*math.Cos(2*u))
	}
	out := make([]float64, len(x)/factor)
	for k := range out {
		at := k*factor - half
		from, to := max(0, -at), min(len(h), len(x)-at)
		sum := 0.0
		for i := from; i < to; i++ {
			sum += h[i] * x[at+i]
		}
		out[k] = sum
	}
	return out
}
