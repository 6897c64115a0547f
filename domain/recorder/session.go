package recorder

import (
	"errors"
	"fmt"
	"math"
	"time"

	"ledgerwheel/domain/metrology"
)

// LeastSession is how long a live session must be before it is a calibration.
const LeastSession = 10 * time.Minute

// ServerSteadyMs is the half-width, in milliseconds, of what the server's clock and the least delay of the way to it
// may have wandered by at either end of a session (rectangular). RFC 5905, section 1, says of NTP that it keeps clocks
// to some tens of milliseconds over the Internet and below one on a local network; that a clock so disciplined wanders
// by no more than this within a session is common practice, not a promise: a server without NTP has no claim to it.
const ServerSteadyMs = 5.0

// ServerStdPPM is the standard uncertainty that the server's clock and the way to it leave after a session of the given
// length: two independent rectangular errors of ServerSteadyMs, one at each end.
func ServerStdPPM(d time.Duration) float64 {
	return math.Sqrt2 * metrology.FromHalfWidth(ServerSteadyMs*1e-3) / d.Seconds() * 1e6
}

// ErrDropped reports that sound was lost on the way, so that samples no longer tell the time.
var ErrDropped = errors.New("sound was lost on the way")

// ClockSession compares a recorder's clock with the server's while sound comes in live. It takes pairs of samples
// received so far and the server's time then, and finds the slope of one against the other.
//
// Delays only ever make the server's time later, never earlier: what arrives with the least delay tells the truth. The
// time is therefore cut into stretches, of each the pair with the least delay is kept (the lower envelope), and a
// robust line is fitted through those. Its uncertainty comes from how they scatter, about jitter over duration, and
// from ServerStdPPM. Memory is bounded however long it runs. The zero value is not usable; see NewClockSession. It is
// not safe for use by several goroutines at once.
type ClockSession struct {
	rateHz   float64
	stretchS float64
	lows     []low // one a stretch, in order
	began    time.Time
	first    int64
	samples  int64
	at       time.Time
}

// low is the pair of a stretch with the least delay: seconds of sound received, and how much later than that the
// server's time was, both from the first pair.
type low struct {
	stretch int
	soundS  float64
	lateS   float64
}

const (
	firstStretchS = 5.0
	mostLows      = 4096
	// stretches that a line is fitted through.
	leastStretches, mostStretches = 20, 40
)

// NewClockSession begins a session of a recorder at its nominal samples a second. It panics unless that is positive.
func NewClockSession(rateHz float64) *ClockSession {
	if !(rateHz > 0) || math.IsInf(rateHz, 0) {
		panic(fmt.Sprintf("recorder: %v is no rate of samples", rateHz))
	}
	return &ClockSession{rateHz: rateHz, stretchS: firstStretchS}
}

// Add notes that so many samples had been received in all when the server's clock showed the time. Where either goes
// back, the session begins anew.
func (c *ClockSession) Add(samples int64, at time.Time) {
	if c.began.IsZero() || samples < c.samples || at.Before(c.at) {
		c.lows, c.began, c.first, c.stretchS = c.lows[:0], at, samples, firstStretchS
	}
	c.samples, c.at = samples, at
	sound := float64(samples-c.first) / c.rateHz
	late := at.Sub(c.began).Seconds() - sound
	stretch := int(sound / c.stretchS)
	if n := len(c.lows); n > 0 && c.lows[n-1].stretch == stretch {
		if late < c.lows[n-1].lateS {
			c.lows[n-1].soundS, c.lows[n-1].lateS = sound, late
		}
		return
	}
	if len(c.lows) == mostLows {
		c.halve()
		stretch = int(sound / c.stretchS)
	}
	c.lows = append(c.lows, low{stretch: stretch, soundS: sound, lateS: late})
}

// halve makes the stretches twice as long.
func (c *ClockSession) halve() {
	c.stretchS *= 2
	c.lows = merged(c.lows, func(l low) int { return l.stretch / 2 })
}

// merged keeps of the lows that belong together the one with the least delay.
func merged(lows []low, key func(low) int) []low {
	var out []low
	for _, l := range lows {
		k := key(l)
		if n := len(out); n > 0 && out[n-1].stretch == k {
			if l.lateS < out[n-1].lateS {
				out[n-1].soundS, out[n-1].lateS = l.soundS, l.lateS
			}
			continue
		}
		out = append(out, low{stretch: k, soundS: l.soundS, lateS: l.lateS})
	}
	return out
}

// Duration is how long the session has lasted, by the server's clock.
func (c *ClockSession) Duration() time.Duration { return c.at.Sub(c.began) }

// Estimate returns what the session says so far. The error wraps ErrTooShort before LeastSession, and ErrDropped or
// ErrNotRegular when samples and time do not go together; each holds a sentence for people.
func (c *ClockSession) Estimate() (Estimate, error) {
	if d := c.Duration(); d < LeastSession {
		return Estimate{}, fmt.Errorf("%w: the session must last %.0f minutes, %.0f s are to come", ErrTooShort,
			LeastSession.Minutes(), math.Ceil((LeastSession - d).Seconds()))
	}
	lows := c.stretches()
	if len(lows) < leastStretches/2 {
		return Estimate{}, fmt.Errorf("%w: too little sound came in the time", ErrNotRegular)
	}
	x, y := make([]float64, len(lows)), make([]float64, len(lows))
	for i, l := range lows {
		x[i], y[i] = l.soundS, l.lateS
	}
	if step, std := worstStep(x, y); math.Abs(step) > dropSigmas*std && math.Abs(step) > leastDropS {
		return Estimate{}, fmt.Errorf("%w: the time jumps by %.1f ms against the sound; begin again", ErrDropped, step*1e3)
	}
	l := fitLine(x, y, make([]bool, len(x)))
	if !(math.Abs(l.slope) <= maxPPM*1e-6) {
		return Estimate{}, fmt.Errorf("%w: sound and time differ by %.0f ppm, which no quartz is off by", ErrNotRegular,
			l.slope*1e6)
	}
	// One second of sound took 1 + slope seconds: a clock that runs fast makes its second too short.
	e := Estimate{PPM: (1/(1+l.slope) - 1) * 1e6, FitStdPPM: l.std * 1e6, OtherStdPPM: ServerStdPPM(c.Duration()),
		DurationS: c.Duration().Seconds(), Used: l.used, Rejected: len(x) - l.used, ScatterUs: l.scatter * 1e6}
	e.StdPPM = metrology.Quadrature(e.FitStdPPM, e.OtherStdPPM)
	return e, nil
}

// stretches joins neighbours until there are few enough for each to hold many pairs.
func (c *ClockSession) stretches() []low {
	if len(c.lows) == 0 {
		return nil
	}
	all := c.lows[len(c.lows)-1].stretch + 1
	join := max(1, (all+mostStretches-1)/mostStretches)
	return merged(c.lows, func(l low) int { return min(l.stretch/join, max(0, all/join-1)) })
}

const (
	dropSigmas = 8      // a jump so many times its own uncertainty is none of chance, though least delays are not normal
	dropSide   = 6      // stretches on either side that must agree on it
	leastDropS = 0.5e-3 // less than this is no block of samples that any sound system moves
)

// worstStep returns the greatest jump of y at any place, beside a common slope, and its standard uncertainty.
func worstStep(x, y []float64) (step, std float64) {
	n := len(x)
	std = math.Inf(1)
	ratio := 0.0
	for at := dropSide; at <= n-dropSide; at++ {
		group, kept := make([]bool, n), make([]bool, n)
		for i := range n {
			group[i], kept[i] = i >= at, true
		}
		slope := leastSquares(x, y, group, kept)
		r := make([]float64, n)
		for i := range n {
			r[i] = y[i] - slope*x[i]
		}
		m := groupMeans(r, group, kept)
		mx := groupMeans(x, group, kept)
		rss, sxx := 0.0, 0.0
		for i := range n {
			g := index(group[i])
			rss += (r[i] - m[g]) * (r[i] - m[g])
			sxx += (x[i] - mx[g]) * (x[i] - mx[g])
		}
		s2 := rss / float64(n-3)
		apart := mx[1] - mx[0]
		u := math.Sqrt(s2 * (1/float64(at) + 1/float64(n-at) + apart*apart/sxx))
		if jump := m[1] - m[0]; math.Abs(jump) > ratio*u {
			ratio, step, std = math.Abs(jump)/u, jump, u
		}
	}
	return step, std
}
