package recording

import (
	"context"
	"errors"

	"ledgerwheel/domain/acoustic"
)

// Rejoin looks, where beats seem to stop or to be left out, for sound that is missing from the recording, and listens again
// with silence in its place; see [acoustic.Interrupted] and [acoustic.Rejoined]. R is what was heard; open begins the same
// recording anew. The errors are those of Listen, without ErrNoWatch, and of open.
func Rejoin(ctx context.Context, open func() (*Reader, error), s acoustic.Settings, r acoustic.Result) (acoustic.Result, error) {
	if !acoustic.Interrupted(r) {
		return r, nil
	}
	first, err := open()
	if err != nil {
		return r, err
	}
	rateHz := first.info.RateHz
	var finders []*acoustic.SeamFinder
	_, err = listen(ctx, first, func() (ear, error) {
		f, err := acoustic.NewSeamFinder(rateHz, s)
		finders = append(finders, f)
		return finding{f}, err
	}, nil)
	if err != nil && !errors.Is(err, acoustic.ErrNoWatch) {
		return r, err
	}
	var seams []acoustic.Seam // of the channel that shows the most
	for _, f := range finders {
		if found := f.Seams(); len(found) > len(seams) {
			seams = found
		}
	}
	if len(seams) == 0 {
		return r, nil
	}
	second, err := open()
	if err != nil {
		return r, err
	}
	again, err := listen(ctx, second, func() (ear, error) {
		l, err := acoustic.NewListener(rateHz, s)
		return mending{l, acoustic.NewMender(rateHz, seams)}, err
	}, nil)
	if err != nil && !errors.Is(err, acoustic.ErrNoWatch) {
		return r, err
	}
	return acoustic.Rejoined(r, again, err, rateHz, seams), nil
}

// finding is a finder of seams as an ear, which hears no watch.
type finding struct{ *acoustic.SeamFinder }

func (finding) Result() (acoustic.Result, error) { return acoustic.Result{}, acoustic.ErrNoWatch }

// mending is a listener that is given silence at the seams.
type mending struct {
	listener *acoustic.Listener
	mender   *acoustic.Mender
}

func (m mending) Write(samples []float32)          { m.mender.Write(samples, m.listener.Write) }
func (m mending) Result() (acoustic.Result, error) { return m.listener.Result() }
