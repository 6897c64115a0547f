package recording

import (
	"bytes"
	"context"
	"errors"
	"slices"
	"testing"

	"ledgerwheel/domain/acoustic"
)

// fakeEar remembers what it was told.
type fakeEar struct {
	heard  []float32
	result acoustic.Result
	err    error
}

func (e *fakeEar) Write(samples []float32)          { e.heard = append(e.heard, samples...) }
func (e *fakeEar) Result() (acoustic.Result, error) { return e.result, e.err }

// TestPair: the second ear begins when the channels part, and misses nothing of what came before.
func TestPair(t *testing.T) {
	t.Parallel()
	ramp := func(n int, from float32) []float32 {
		s := make([]float32, n)
		for i := range s {
			s[i] = from + float32(i)
		}
		return s
	}
	silence := make([]float32, 3*blockFrames+5)
	same := ramp(2*blockFrames, 1)
	for _, tt := range []struct {
		name   string
		shared [][]float32 // blocks that are the same
		parts  bool        // one more that is not
		ears   int
	}{
		{"the same throughout", [][]float32{same, same}, false, 1},
		{"apart from the start", nil, true, 2},
		{"apart after sound", [][]float32{same}, true, 2},
		{"apart after silence", [][]float32{silence}, true, 2},
		{"apart after silence and sound and silence", [][]float32{silence, silence, same[:10], silence}, true, 2},
		{"apart after they were taken for one", [][]float32{same, same, same, same, silence}, true, 1},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			var ears []*fakeEar
			p, err := newPair(func() (ear, error) {
				ears = append(ears, &fakeEar{})
				return ears[len(ears)-1], nil
			}, 7*blockFrames)
			if err != nil {
				t.Fatal(err)
			}
			var wantA, wantB []float32
			for _, block := range tt.shared {
				if err := p.write(block, slices.Clone(block)); err != nil {
					t.Fatal(err)
				}
				wantA, wantB = append(wantA, block...), append(wantB, block...)
			}
			if tt.parts {
				for range 2 {
					a, b := ramp(5, 7), ramp(5, 8)
					if err := p.write(a, b); err != nil {
						t.Fatal(err)
					}
					wantA, wantB = append(wantA, a...), append(wantB, b...)
				}
			}
			if len(ears) != tt.ears {
				t.Fatalf("%d ears, want %d", len(ears), tt.ears)
			}
			if !slices.Equal(ears[0].heard, wantA) {
				t.Errorf("first ear heard %d samples, want %d", len(ears[0].heard), len(wantA))
			}
			if tt.ears == 2 && !slices.Equal(ears[1].heard, wantB) {
				t.Errorf("second ear heard %d samples, want %d", len(ears[1].heard), len(wantB))
			}
		})
	}
}

func TestBetterChannel(t *testing.T) {
	t.Parallel()
	loud := &fakeEar{result: acoustic.Result{SNRdB: 30}}
	soft := &fakeEar{result: acoustic.Result{SNRdB: 10}}
	deaf := &fakeEar{err: acoustic.ErrNoWatch}
	failure := errors.New("broken")
	broken := &fakeEar{err: failure}
	for _, tt := range []struct {
		name          string
		first, second ear
		snr           float64
		err           error
	}{
		{"one channel", soft, nil, 10, nil},
		{"one channel, no watch", deaf, nil, 0, acoustic.ErrNoWatch},
		{"louder first", loud, soft, 30, nil},
		{"louder second", soft, loud, 30, nil},
		{"only the first", soft, deaf, 10, nil},
		{"only the second", deaf, soft, 10, nil},
		{"neither", deaf, deaf, 0, acoustic.ErrNoWatch},
		{"one failed, the other has nothing", broken, deaf, 0, failure},
		{"the other way round", deaf, broken, 0, failure},
	} {
		p := &pair{first: tt.first, second: tt.second}
		got, err := p.better()
		if got.SNRdB != tt.snr || !errors.Is(err, tt.err) {
			t.Errorf("%s: %g dB, %v; want %g dB, %v", tt.name, got.SNRdB, err, tt.snr, tt.err)
		}
	}
}

func open(t *testing.T, rateHz int, samples []float32) *Reader {
	t.Helper()
	var file bytes.Buffer
	if err := WriteWAV(&file, rateHz, samples); err != nil {
		t.Fatal(err)
	}
	r, err := Open(&file)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func TestListenToSilence(t *testing.T) {
	t.Parallel()
	r := open(t, 8000, make([]float32, 10*8000))
	var told []int64
	_, err := Listen(context.Background(), r, acoustic.Settings{}, func(frames int64) { told = append(told, frames) })
	if !errors.Is(err, acoustic.ErrNoWatch) {
		t.Errorf("error %v, want ErrNoWatch", err)
	}
	if len(told) < 2 || !slices.IsSorted(told) || told[len(told)-1] != 10*8000 {
		t.Errorf("progress was told %v", told)
	}
}

func TestListenIsCancelled(t *testing.T) {
	t.Parallel()
	ctx, cancel := context.WithCancel(context.Background())
	blocks := 0
	_, err := Listen(ctx, open(t, 8000, make([]float32, 10*8000)), acoustic.Settings{}, func(int64) {
		if blocks++; blocks == 2 {
			cancel()
		}
	})
	if !errors.Is(err, context.Canceled) || blocks != 2 {
		t.Errorf("after %d blocks: %v, want a cancelled context after 2", blocks, err)
	}
}

// endless is a source of silence that never ends, as a small FLAC can be.
type endless struct{}

func (endless) read(frames [][]float32) (int, error) { return len(frames[0]), nil }

// TestListenEnds: no recording keeps the program busy for ever. The listener of this test hears nothing, so that ten
// days pass quickly.
func TestListenEnds(t *testing.T) {
	t.Parallel()
	r := &Reader{info: Info{RateHz: 1, Channels: 1}, src: endless{}}
	_, err := listen(context.Background(), r, func() (ear, error) { return deafEar{}, nil }, nil)
	if !errors.Is(err, ErrUnreadable) {
		t.Errorf("error %v", err)
	}
}

// TestListenToCoded: what comes from a coder that leaves sound out says so.
func TestListenToCoded(t *testing.T) {
	t.Parallel()
	for format, coded := range map[string]bool{"WAV": false, "FLAC": false, "MP3": true, "Opus": true} {
		r := open(t, 8000, make([]float32, 8000))
		r.info.Format = format
		result, err := listen(context.Background(), r, func() (ear, error) { return &fakeEar{}, nil }, nil)
		if said := len(result.Notes) == 1 && result.Notes[0].Code == acoustic.NoteCoded; err != nil || said != coded {
			t.Errorf("%s: notes %v, %v", format, result.Notes, err)
		}
	}
}

type deafEar struct{}

func (deafEar) Write([]float32)                  {}
func (deafEar) Result() (acoustic.Result, error) { return acoustic.Result{}, acoustic.ErrNoWatch }
