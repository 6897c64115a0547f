package recording_test

import (
	"bytes"
	"errors"
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"

	"ledgerwheel/domain/recording"
)

// TestWriteWAVRoundTrip: each of the 65 536 values of 16 bits comes back as it was.
func TestWriteWAVRoundTrip(t *testing.T) {
	t.Parallel()
	var want []float32
	for x := -32768; x <= 32767; x++ {
		want = append(want, float32(x)/32768)
	}
	var file bytes.Buffer
	if err := recording.WriteWAV(&file, 44100, want); err != nil {
		t.Fatal(err)
	}
	direct := wav{tag: 1, channels: 1, rateHz: 44100, bits: 16, data: file.String()[44:]}
	if !bytes.Equal(file.Bytes(), direct.bytes()) {
		t.Error("header isn't as the format lays it out")
	}
	info, got := mustRead(t, file.Bytes())
	if !cmp.Equal([][]float32{want}, got) {
		t.Error("samples changed")
	}
	if info != (recording.Info{Format: "WAV", RateHz: 44100, Channels: 1, Bits: 16, Frames: 65536}) {
		t.Errorf("info %+v", info)
	}
}

func TestWriteWAVClips(t *testing.T) {
	t.Parallel()
	nan, inf := float32(math.NaN()), float32(math.Inf(1))
	var file bytes.Buffer
	err := recording.WriteWAV(&file, 8000, []float32{1, 1.5, -1, -7, inf, -inf, nan, 0.4 / 32768, 0.6 / 32768,
		-0.6 / 32768})
	if err != nil {
		t.Fatal(err)
	}
	_, got := mustRead(t, file.Bytes())
	const top, step = 32767. / 32768, 1. / 32768
	if diff := cmp.Diff([][]float32{{top, top, -1, -1, top, -1, 0, 0, step, -step}}, got); diff != "" {
		t.Errorf("samples (-want +got):\n%s", diff)
	}
}

type fullDisk struct{}

var errFull = errors.New("disk full")

func (fullDisk) Write([]byte) (int, error) { return 0, errFull }

func TestWriteWAVErrors(t *testing.T) {
	t.Parallel()
	for _, rateHz := range []int{-1, 0, 7999, 384001} {
		if err := recording.WriteWAV(&bytes.Buffer{}, rateHz, nil); err == nil {
			t.Errorf("rate %d is taken", rateHz)
		}
	}
	if err := recording.WriteWAV(fullDisk{}, 48000, make([]float32, 10)); !errors.Is(err, errFull) {
		t.Errorf("error %v, want the disk's", err)
	}
}
