package recording

import (
	"bytes"
	"slices"
	"testing"

	"ledgerwheel/domain/acoustic"
	"ledgerwheel/domain/acoustic/simulate"
)

// TestRejoin: a file with a dropped buffer is read as of a watch that goes on, and a whole one is opened once only.
func TestRejoin(t *testing.T) {
	t.Parallel()
	sound, _ := simulate.Sound(simulate.Lever(), simulate.Room{SNRdB: 30, PeakDBFS: -12}, 44100, 30, 4)
	cut := slices.Concat(sound[:13*44100], sound[13*44100+2690:]) // 61 ms
	for _, tt := range []struct {
		name  string
		sound []float32
		lost  bool
		opens int
	}{{"whole", sound, false, 0}, {"cut", cut, true, 2}} {
		var file bytes.Buffer
		if err := WriteWAV(&file, 44100, tt.sound); err != nil {
			t.Fatal(err)
		}
		opens := 0
		open := func() (*Reader, error) { opens++; return Open(bytes.NewReader(file.Bytes())) }
		rd, err := open()
		if err != nil {
			t.Fatal(err)
		}
		opens = 0
		r, err := Listen(t.Context(), rd, acoustic.Settings{}, nil)
		if err != nil {
			t.Fatal(err)
		}
		r, err = Rejoin(t.Context(), open, acoustic.Settings{}, r)
		has := func(code acoustic.NoteCode) bool {
			return slices.ContainsFunc(r.Notes, func(n acoustic.Note) bool { return n.Code == code })
		}
		if err != nil || opens != tt.opens || has(acoustic.NoteSoundLost) != tt.lost || has(acoustic.NoteStops) ||
			r.BeatsUsed < 220 {
			t.Errorf("%s: opened %d times, %d beats, %v, %v", tt.name, opens, r.BeatsUsed, r.Notes, err)
		}
	}
}
