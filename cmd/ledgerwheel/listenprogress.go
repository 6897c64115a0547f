package main

import (
	"io"
	"os"
	"time"

	"github.com/schollz/progressbar/v3"
	"golang.org/x/term"

	"ledgerwheel/domain/recording"
)

// longSeconds is the length from which listening takes long enough for a bar to be worth a look.
const longSeconds = 600

// soundProgress returns what is told of frames heard, and how to end the bar. Both do nothing where nobody looks on.
func soundProgress(stderr io.Writer, shown string, info recording.Info) (advance func(frames int64), end func()) {
	f, ok := stderr.(*os.File)
	long := info.Frames < 0 || float64(info.Frames) >= longSeconds*info.RateHz
	if !ok || !long || !term.IsTerminal(int(f.Fd())) {
		return nil, func() {}
	}
	bar := newSoundBar(f, shown, info)
	return func(frames int64) { bar.Set64(heardSeconds(frames, info)) }, func() { bar.Finish() }
}

func heardSeconds(frames int64, info recording.Info) int64 {
	return int64(float64(frames) / info.RateHz)
}

// newSoundBar counts the seconds of sound; a header's word on the length is taken for the bar and nothing else.
func newSoundBar(w io.Writer, shown string, info recording.Info) *progressbar.ProgressBar {
	length := int64(-1)
	if info.Frames >= 0 {
		length = max(1, heardSeconds(info.Frames, info))
	}
	return progressbar.NewOptions64(length,
		progressbar.OptionSetWriter(w), progressbar.OptionSetDescription(shown), progressbar.OptionSetWidth(30),
		progressbar.OptionThrottle(100*time.Millisecond), progressbar.OptionShowCount(), progressbar.OptionShowIts(),
		progressbar.OptionSetItsString("s of sound"), progressbar.OptionClearOnFinish())
}
