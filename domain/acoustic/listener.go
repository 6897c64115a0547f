package acoustic

import (
	"errors"
	"math"
	"sync"
)

// Sound is taken in blocks, so that what is kept of a long recording does not grow with it.
const (
	// openS is how much sound is kept before a block is closed; the block that is closed is closedS of it, so that the
	// last one is never short.
	openS, closedS = 60, 40
	// blockRateHz is the sampling rate up to which blocks have those lengths; above it they are shorter.
	blockRateHz = 96000
	leastHz     = 8000
	greatestHz  = 384000
)

// Listener takes the sound of a watch as it comes and says at any time what was heard so far. Its memory does not
// grow with the sound, but for some hundred bytes a block of forty seconds.
type Listener struct {
	settings Settings
	rateHz   float64
	front    *front

	*shelf           // of the open block
	startS   float64 // of the open block
	closed   closedBlocks
	gathered gathered

	// What Result said last, and of how many samples.
	last      Result
	lastErr   error
	lastCount int64
}

// shelf is the sound of the open block: filtered, and its energy by bins, filtered and as it came.
type shelf struct{ y, bins, raws []float32 }

// shelves are those that were given back.
var shelves = sync.Pool{New: func() any { return new(shelf) }}

func (s *shelf) give() {
	s.y, s.bins, s.raws = s.y[:0], s.bins[:0], s.raws[:0]
	shelves.Put(s)
}

// NewListener returns a listener to one channel of sound of rateHz samples a second. It refuses, with a sentence for
// people, rates outside 8 to 384 kHz and settings outside of what a watch can be.
func NewListener(rateHz float64, s Settings) (*Listener, error) {
	if !(rateHz >= leastHz && rateHz <= greatestHz) {
		return nil, errors.New("the sound must have 8000 to 384 000 samples a second")
	}
	if err := s.Check(); err != nil {
		return nil, err
	}
	if s.LiftAngleDeg == 0 {
		s.LiftAngleDeg = DefaultLiftAngleDeg
	}
	l := &Listener{settings: s, rateHz: rateHz, front: newFront(rateHz), lastCount: -1, shelf: shelves.Get().(*shelf)}
	l.gathered = gathered{settings: s, rateHz: rateHz}
	return l, nil
}

// Close gives the room for sound to the next listener. Nothing may be asked of a closed listener; one that is not closed
// goes the way of all memory.
func (l *Listener) Close() {
	l.closed.gather(&l.gathered, 0)
	l.shelf.give()
	l.shelf = nil
}

// The limits of what a listener is told.
const (
	leastStatedBeats, greatestStatedBeats = 3600, 72000
	leastLiftDeg, greatestLiftDeg         = 20, 90
	greatestClockPPM                      = 1000
)

// Check says in plain words why s cannot be used, or returns nil.
func (s Settings) Check() error {
	switch {
	case s.BeatsPerHour != 0 && !(s.BeatsPerHour >= leastStatedBeats && s.BeatsPerHour <= greatestStatedBeats):
		return errors.New("the beats per hour must be from 3600 to 72 000, or left out to be found")
	case s.LiftAngleDeg != 0 && !(s.LiftAngleDeg >= leastLiftDeg && s.LiftAngleDeg <= greatestLiftDeg):
		return errors.New("the lift angle must be from 20 to 90 degrees")
	case !(math.Abs(s.Clock.PPM) <= greatestClockPPM):
		return errors.New("the clock must be within ±1000 parts per million")
	case !(s.Clock.StdPPM >= 0 && s.Clock.StdPPM <= greatestClockPPM):
		return errors.New("the clock's uncertainty must be from 0 to 1000 parts per million")
	}
	return nil
}

// blockS returns the lengths of blocks in seconds.
func (l *Listener) blockS() (open, closed float64) {
	scale := math.Min(1, blockRateHz/l.rateHz)
	return openS * scale, closedS * scale
}

// Expect says how many samples are likely to come, so that room is made for them at once; no more than a block's.
func (l *Listener) Expect(samples int64) {
	open, _ := l.blockS()
	n := int(min(max(samples, 0), int64(open*l.rateHz)))
	if n > cap(l.y) {
		l.y = append(make([]float32, 0, n), l.y...)
		l.bins = append(make([]float32, 0, n/l.front.perBin+1), l.bins...)
		l.raws = append(make([]float32, 0, n/l.front.perBin+1), l.raws...)
	}
}

// Write takes the next samples, of full scale ±1. Samples that are not finite count as silence.
func (l *Listener) Write(samples []float32) {
	open, closed := l.blockS()
	limit := int(open * l.rateHz)
	for len(samples) > 0 {
		n := min(len(samples), limit-len(l.y))
		l.y, l.bins, l.raws = l.front.run(samples[:n], l.y, l.bins, l.raws)
		samples = samples[n:]
		if len(l.y) >= limit {
			l.closeBlock(int(closed*float64(binsPerS)) * l.front.perBin)
		}
	}
}

// closeBlock takes the first n samples of the open block, a whole number of bins, for good.
func (l *Listener) closeBlock(n int) {
	bins := min(n/l.front.perBin, len(l.bins))
	n = bins * l.front.perBin
	b := l.openBlock()
	b.count = bins
	last := l.shelf
	l.shelf = shelves.Get().(*shelf)
	l.Expect(math.MaxInt64)
	l.y = append(l.y, last.y[n:]...)
	l.bins = append(l.bins, last.bins[bins:]...)
	l.raws = append(l.raws, last.raws[bins:]...)
	l.startS += float64(n) / l.rateHz
	l.closed.hear(b, &l.gathered)
}

// openBlock returns what is to be heard of the open block.
func (l *Listener) openBlock() blockToHear {
	return blockToHear{shelf: l.shelf, count: len(l.bins), rateHz: l.rateHz, perBin: l.front.perBin, startS: l.startS,
		settings: l.settings}
}

// shift moves the piece's times by s seconds.
func (p *piece) shift(s float64) {
	for i := range p.beats {
		p.beats[i].drop += s
	}
	p.fit.startS += s
}

// rawNoise returns the rms of the unfiltered sound where it is quiet, from the quieter bins.
func rawNoise(raws []float32, perBin int) float64 {
	return math.Sqrt(medianEnergy(raws, silent*silent*float32(perBin)) / float64(perBin))
}

// Result returns what was heard so far. It returns ErrNoWatch where that is no watch. It may be called again as more
// sound comes; the slices of the result are its own.
func (l *Listener) Result() (Result, error) {
	if l.lastCount == l.front.samples {
		return l.last.clone(), l.lastErr
	}
	l.closed.gather(&l.gathered, 0)
	g := l.gathered.copy()
	if len(l.bins) > 0 {
		b := l.openBlock()
		b.known = g.beatsPerHour
		g.add(b.hear())
	}
	r, err := g.result(l.front)
	l.last, l.lastErr, l.lastCount = r, err, l.front.samples
	return r.clone(), err
}
