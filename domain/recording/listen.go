package recording

import (
	"context"
	"errors"
	"io"
	"slices"

	"ledgerwheel/domain/acoustic"
)

// longestSeconds bounds what Listen hears of one recording: FLAC packs an hour of dead silence into a few kilobytes,
// so the size of a file says nothing of the work it asks for. Ten days are more than any mainspring lasts.
const longestSeconds = 10 * 86400

// blockFrames is how many frames are heard at a time.
const blockFrames = 8192

// Listen hears the recording to its end and returns the figures of its better channel: of the first two, the one on
// which a watch was heard, and of both the one with the higher signal to noise. Two channels that sound the same are
// heard once.
//
// progress, unless nil, is told after each block how many frames were heard so far. Listen returns
// acoustic.ErrNoWatch where no watch was heard, the context's error where it was cancelled, an error that wraps
// ErrUnreadable where the recording is damaged, and what acoustic.NewListener says of the settings.
func Listen(ctx context.Context, r *Reader, s acoustic.Settings, progress func(frames int64)) (acoustic.Result, error) {
	var ears []*acoustic.Listener
	defer func() {
		for _, l := range ears {
			l.Close()
		}
	}()
	return listen(ctx, r, func() (ear, error) {
		l, err := acoustic.NewListener(r.info.RateHz, s)
		if err != nil {
			return nil, err
		}
		ears = append(ears, l)
		l.Expect(r.info.Frames)
		return l, nil
	}, progress)
}

func listen(ctx context.Context, r *Reader, newEar func() (ear, error), progress func(frames int64)) (acoustic.Result,
	error) {
	info := r.Info()
	p, err := newPair(newEar, int(info.RateHz*heldSeconds))
	if err != nil {
		return acoustic.Result{}, err
	}
	frames := make([][]float32, min(info.Channels, 2))
	for c := range frames {
		frames[c] = make([]float32, blockFrames)
	}
	for heard := int64(0); ; {
		if err := ctx.Err(); err != nil {
			return acoustic.Result{}, err
		}
		n, err := r.Read(frames)
		if err == io.EOF {
			result, err := p.better()
			if err == nil && info.Lossy() {
				result.Notes = append(result.Notes, acoustic.CodedNote())
			}
			return result, err
		}
		if err != nil {
			return acoustic.Result{}, err
		}
		if heard += int64(n); float64(heard) > longestSeconds*info.RateHz {
			return acoustic.Result{}, refuse("The recording is longer than %d days.", longestSeconds/86400)
		}
		if err := p.write(frames[0][:n], frames[len(frames)-1][:n]); err != nil {
			return acoustic.Result{}, err
		}
		if progress != nil {
			progress(heard)
		}
	}
}

// ear is what listens to one channel.
type ear interface {
	Write(samples []float32)
	Result() (acoustic.Result, error)
}

// heldSeconds is how long two channels must be the same, from the first sound on, to be taken for one.
const heldSeconds = 10

// pair listens to two channels, and to the second only once it differs from the first. What both share until then is
// kept, so that the second ear misses nothing.
type pair struct {
	newEar        func() (ear, error)
	first, second ear
	silent        int64     // samples of dead silence at the start of both
	held          []float32 // what followed on both
	most          int       // samples to hold
	one           bool      // the channels were the same for long enough
}

func newPair(newEar func() (ear, error), most int) (*pair, error) {
	first, err := newEar()
	if err != nil {
		return nil, err
	}
	return &pair{newEar: newEar, first: first, most: most}, nil
}

// write takes the next samples of both channels, or of the only one twice.
func (p *pair) write(a, b []float32) error {
	p.first.Write(a)
	switch {
	case p.one:
	case p.second != nil:
		p.second.Write(b)
	case &a[0] == &b[0]:
		p.one = true
	case slices.Equal(a, b):
		p.hold(a)
	default:
		return p.part(b)
	}
	return nil
}

// hold keeps what both channels share.
func (p *pair) hold(a []float32) {
	if len(p.held) == 0 && !slices.ContainsFunc(a, func(x float32) bool { return x != 0 }) {
		p.silent += int64(len(a))
		return
	}
	p.held = append(p.held, a...)
	if len(p.held) >= p.most {
		p.one, p.held = true, nil
	}
}

// part begins the second ear with what the channels shared, and b.
func (p *pair) part(b []float32) error {
	second, err := p.newEar()
	if err != nil {
		return err
	}
	silence := make([]float32, blockFrames)
	for left := p.silent; left > 0; left -= blockFrames {
		second.Write(silence[:min(left, blockFrames)])
	}
	for part := range slices.Chunk(p.held, blockFrames) {
		second.Write(part)
	}
	second.Write(b)
	p.second, p.held = second, nil
	return nil
}

// better returns the result of the better channel.
func (p *pair) better() (acoustic.Result, error) {
	a, errA := p.first.Result()
	if p.second == nil {
		return a, errA
	}
	b, errB := p.second.Result()
	switch {
	case errA == nil && errB == nil:
		if b.SNRdB > a.SNRdB {
			return b, nil
		}
		return a, nil
	case errA == nil:
		return a, nil
	case errB == nil:
		return b, nil
	case errors.Is(errA, acoustic.ErrNoWatch):
		return acoustic.Result{}, errB
	}
	return acoustic.Result{}, errA
}
