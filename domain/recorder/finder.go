package recorder

import (
	"errors"
	"fmt"
	"math"
)

// ErrNoPulses reports that no train of one pulse a second stands out of the sound.
var ErrNoPulses = errors.New("no steady pulse, one a second, was heard")

// ErrManyPulses reports that more than one pulse a second was heard, as from a mechanical watch.
var ErrManyPulses = errors.New("more than one pulse a second was heard, as from a mechanical watch")

// Train is the pulses heard, one a second.
type Train struct {
	TimesS []float64 // arrivals from the first sample, by the recorder's clock
	Missed int       // seconds between the first and the last in which none was heard
	// Likeness is the median correlation of a pulse with the averaged one, 0 to 1: near 1 for a clear one.
	Likeness float64
}

// pulseFinder finds one pulse a second in sound as it comes: the click of a reference, or the steps of a quartz watch,
// picked up by ear or by coil. It learns in the first twenty seconds in which such a train stands out, and follows it
// from there. Its memory is those seconds, and eight bytes a pulse.
//
// Learning: the energy from 1 to 20 kHz is taken millisecond by millisecond and folded at one second, for every second
// within ±1000 ppm; the median over the seconds (of the logarithm, so that knocks don't count) must stand far out at
// one phase, and at no other. The pulses there are laid on one another by their correlation and averaged, those of even
// and of odd seconds apart, since a quartz motor's steps alternate in polarity. Following: where the next pulse is due
// its correlation with the average is searched for its peak, which a parabola through three points refines to a
// fraction of a sample. The averages stay as learned, so that they cannot creep.
type pulseFinder struct {
	rateHz float64
	band   band
	sound  []float32 // filtered, of which the first is sample base
	base   int64
	follow *follower
	many   bool // several pulses a second were heard while learning
}

const (
	learnS   = 20.0
	leastS   = 10.0 // of sound that is tried at the end
	searchMs = 4.0
)

// newPulseFinder returns a finder for one channel of sound of rateHz samples a second, 8 to 384 kHz.
func newPulseFinder(rateHz float64) (*pulseFinder, error) {
	if !(rateHz >= minRateHz && rateHz <= maxRateHz) {
		return nil, fmt.Errorf("%.0f samples a second is none of the rates sound is recorded at (8 to 384 kHz)", rateHz)
	}
	return &pulseFinder{rateHz: rateHz, band: newBand(rateHz)}, nil
}

// Write takes the next samples, of full scale ±1.
func (f *pulseFinder) Write(samples []float32) {
	for len(samples) > 0 {
		n := min(len(samples), int(f.rateHz)/2)
		f.sound = f.band.pass(f.sound, samples[:n])
		samples = samples[n:]
		f.advance(learnS)
	}
}

// advance learns once there is enough sound, and follows; what is no longer needed goes.
func (f *pulseFinder) advance(seconds float64) {
	if f.follow == nil {
		if float64(len(f.sound)) < seconds*f.rateHz {
			return
		}
		follow, err := learn(f.sound, f.base, f.rateHz)
		f.many = f.many || errors.Is(err, ErrManyPulses)
		if err != nil {
			f.drop(len(f.sound) / 2)
			return
		}
		f.follow = follow
	}
	f.drop(f.follow.through(f.sound, f.base))
}

func (f *pulseFinder) drop(n int) {
	n = min(max(n, 0), len(f.sound))
	f.sound = f.sound[:copy(f.sound, f.sound[n:])]
	f.base += int64(n)
}

// Train returns the pulses heard so far. The error wraps ErrNoPulses or ErrManyPulses. Call it at the end of the sound.
func (f *pulseFinder) Train() (Train, error) {
	if f.follow == nil {
		f.advance(leastS)
	}
	switch {
	case f.follow == nil && f.many:
		return Train{}, ErrManyPulses
	case f.follow == nil:
		return Train{}, ErrNoPulses
	}
	t := f.follow.train(f.rateHz)
	if t.Missed > len(t.TimesS) {
		return Train{}, fmt.Errorf("%w: it was lost for most of the time", ErrNoPulses)
	}
	return t, nil
}

// follower follows a train that was learned.
type follower struct {
	pulse  [2]shape  // by the parity of the count
	count  int64     // of the next pulse due
	due    float64   // its sample, counted from the first of the sound
	period float64   // samples from pulse to pulse
	search int       // samples to either side
	sample []float64 // arrivals found
	counts []int64
	likely []float64 // correlation of each
}

// shape is an averaged pulse of unit energy. Its first sample lies ahead of the instant the pulse is said to be at.
type shape struct {
	wave  []float64
	ahead int
	least float64 // the correlation that no noise reaches
}

// through follows the train through the sound that is there, and returns how many of its samples are no longer needed.
func (w *follower) through(sound []float32, base int64) int {
	for {
		s := w.pulse[w.count&1]
		from := int(math.Round(w.due)) - int(base) - s.ahead - w.search
		if from+2*w.search+len(s.wave) > len(sound) {
			return max(0, from-w.search)
		}
		if from >= 0 {
			if at, like, ok := s.find(sound[from:from+2*w.search+len(s.wave)], w.search); ok {
				w.note(float64(base)+float64(from)+at, like)
			}
		}
		w.count++
		w.due += w.period
	}
}

// memory is how many of the last pulses say when the next is due.
const memory = 60

// note keeps a pulse that was found and corrects when the next is due.
func (w *follower) note(at, like float64) {
	w.sample, w.counts, w.likely = append(w.sample, at), append(w.counts, w.count), append(w.likely, like)
	n := min(memory, len(w.sample))
	if n < memory/4 {
		w.due = at
		return
	}
	x, y := make([]float64, n), make([]float64, n)
	for i := range n {
		j := len(w.sample) - n + i
		x[i], y[i] = float64(w.counts[j]-w.count), w.sample[j]-at
	}
	w.period = medianSlope(x, y)
	for i := range y {
		y[i] -= w.period * x[i]
	}
	w.due = at + median(y)
}

func (w *follower) train(rateHz float64) Train {
	t := Train{TimesS: make([]float64, len(w.sample)), Likeness: median(w.likely)}
	for i, at := range w.sample {
		t.TimesS[i] = at / rateHz
	}
	if n := len(w.counts); n > 0 {
		t.Missed = int(w.counts[n-1]-w.counts[0]) + 1 - n
	}
	return t
}

// find looks for the pulse in sound of its own length and twice the search, and returns the sample of its instant, to a
// fraction, and how alike it is.
func (s shape) find(sound []float32, search int) (at, like float64, ok bool) {
	n, lags := len(s.wave), len(sound)-len(s.wave)+1
	products, energies := make([]float64, lags), make([]float64, lags)
	energy := 0.0
	for _, x := range sound[:n] {
		energy += float64(x) * float64(x)
	}
	for lag := range lags {
		sum := 0.0
		for i, h := range s.wave {
			sum += h * float64(sound[lag+i])
		}
		products[lag], energies[lag] = sum, energy
		if lag+1 < lags {
			out, in := float64(sound[lag]), float64(sound[lag+n])
			energy = max(0, energy-out*out+in*in)
		}
	}
	best, most := -1, 0.0
	for lag := 1; lag < lags-1; lag++ {
		a, b, c := products[lag-1], products[lag], products[lag+1]
		if b <= 0 || b < a || b < c || energies[lag] <= 0 {
			continue
		}
		// Between samples the peak may stand well above them: only at its own height is one cycle told from the next.
		if r := (b - (a-c)*vertex(a, b, c)/4) / math.Sqrt(energies[lag]); r > most {
			best, most = lag, r
		}
	}
	if best < 0 || most < s.least {
		return 0, 0, false
	}
	return float64(best) + peakNear(products, best) + float64(s.ahead), min(most, 1), true
}

// vertex is where between −1/2 and 1/2 the parabola through three points of equal spacing peaks.
func vertex(a, b, c float64) float64 {
	curve := a - 2*b + c
	if curve >= 0 {
		return 0
	}
	return min(max((a-c)/(2*curve), -0.5), 0.5)
}

// peakNear is where round the point i, in points from it, a band-limited sequence peaks: by a parabola through three
// points, then through three a tenth of the spacing apart, between the samples, as the sampling theorem gives them.
func peakNear(v []float64, i int) float64 {
	off := vertex(v[i-1], v[i], v[i+1])
	if i < taps || i+taps >= len(v) {
		return off
	}
	const step = 0.1
	for range 3 {
		off += step * vertex(between(v, i, off-step), between(v, i, off), between(v, i, off+step))
	}
	return min(max(off, -1), 1)
}

// taps is how many samples to either side enter one between samples.
const taps = 8

// between is the value at i + off, |off| up to 1, by the sampling theorem with Hann's window.
func between[T float32 | float64](v []T, i int, off float64) float64 {
	sum := 0.0
	for k := -taps; k <= taps; k++ {
		x := off - float64(k)
		if math.Abs(x) >= taps {
			continue
		}
		w := 1.0
		if x != 0 {
			w = math.Sin(math.Pi*x) / (math.Pi * x) * (0.5 + 0.5*math.Cos(math.Pi*x/taps))
		}
		sum += w * float64(v[i+k])
	}
	return sum
}
