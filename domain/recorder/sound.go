package recorder

import (
	"context"
	"errors"
	"io"
)

// Frames is sound to be read, one slice a channel; at the end Read returns io.EOF.
type Frames interface {
	Read(frames [][]float32) (n int, err error)
}

// HearPulses finds the pulses, one a second, in a recording of rateHz frames a second. Of several channels it listens
// to the first two, and returns the train of the one that heard more of them. The error wraps ErrNoPulses or
// ErrManyPulses, or is that of the reading or of the context.
func HearPulses(ctx context.Context, src Frames, channels int, rateHz float64) (Train, error) {
	channels = min(max(channels, 1), 2)
	finders, frames := make([]*pulseFinder, channels), make([][]float32, channels)
	for i := range finders {
		f, err := newPulseFinder(rateHz)
		if err != nil {
			return Train{}, err
		}
		finders[i], frames[i] = f, make([]float32, int(rateHz)/4)
	}
	for {
		if err := ctx.Err(); err != nil {
			return Train{}, err
		}
		n, err := src.Read(frames)
		for i, f := range finders {
			f.Write(frames[i][:n])
		}
		if errors.Is(err, io.EOF) {
			return better(finders)
		}
		if err != nil {
			return Train{}, err
		}
	}
}

// better is the train with more pulses, and of two alike the clearer one.
func better(finders []*pulseFinder) (Train, error) {
	var best Train
	var why error
	for _, f := range finders {
		t, err := f.Train()
		switch {
		case err != nil:
			if why == nil || errors.Is(err, ErrManyPulses) {
				why = err
			}
		case len(t.TimesS) > len(best.TimesS), len(t.TimesS) == len(best.TimesS) && t.Likeness > best.Likeness:
			best = t
		}
	}
	if len(best.TimesS) == 0 {
		return Train{}, why
	}
	return best, nil
}
