package acoustic_test

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"ledgerwheel/domain/acoustic"
	"ledgerwheel/domain/acoustic/simulate"
)

// rejoin listens as a file is listened to.
func rejoin(t *testing.T, sound []float32, rateHz float64, s acoustic.Settings) (r acoustic.Result, seams []acoustic.Seam) {
	t.Helper()
	listen := func(seams []acoustic.Seam) (acoustic.Result, error) {
		l, err := acoustic.NewListener(rateHz, s)
		if err != nil {
			t.Fatal(err)
		}
		m := acoustic.NewMender(rateHz, seams)
		for part := range slices.Chunk(sound, 4096) {
			m.Write(part, l.Write)
		}
		return l.Result()
	}
	r, err := listen(nil)
	if err != nil {
		t.Fatal(err)
	}
	if !acoustic.Interrupted(r) {
		return r, nil
	}
	f, err := acoustic.NewSeamFinder(rateHz, s)
	if err != nil {
		t.Fatal(err)
	}
	for part := range slices.Chunk(sound, 4096) {
		f.Write(part)
	}
	seams = f.Seams()
	again, err := listen(seams)
	return acoustic.Rejoined(r, again, err, rateHz, seams), seams
}

func has(r acoustic.Result, code acoustic.NoteCode) bool {
	return slices.ContainsFunc(r.Notes, func(n acoustic.Note) bool { return n.Code == code })
}

// TestLostBuffers: a buffer dropped within a recording, of lengths that recorders and browsers drop, is no stop of the watch.
// Its length comes out to 1 ms less whole beats, and rate and count of beats are those of the whole.
func TestLostBuffers(t *testing.T) {
	t.Parallel()
	const rateHz = 44100
	for _, bph := range []float64{18000, 21600, 28800} {
		for _, lengthS := range []float64{30, 60, 120} {
			for i, lostS := range []float64{0.020, 0.061, 0.101} {
				t.Run(fmt.Sprint(bph, lengthS, lostS), func(t *testing.T) {
					t.Parallel()
					w := simulate.Lever()
					w.RateSPerDay, w.BeatsPerHour = 3.4, bph
					s, _ := simulate.Sound(w, simulate.Room{SNRdB: 30, PeakDBFS: -12}, rateHz, lengthS, uint64(i)+1)
					at := int((0.41 + 0.07*float64(i)) * lengthS * rateHz)
					s = append(s[:at:at], s[at+int(lostS*rateHz):]...)
					r, seams := rejoin(t, s, rateHz, acoustic.Settings{})
					if !has(r, acoustic.NoteSoundLost) || has(r, acoustic.NoteStops) || len(seams) != 1 {
						t.Fatalf("%d seams, notes %v", len(seams), r.Notes)
					}
					beatS := 3600 / bph
					if off := math.Remainder(seams[0].LostS-lostS, beatS); math.Abs(off) > 1e-3 ||
						math.Abs(float64(seams[0].Sample)-float64(at)) > 5*rateHz {
						t.Errorf("lost %.1f ms at %.1f s, want %.1f at %.1f", 1e3*seams[0].LostS, float64(seams[0].Sample)/rateHz, 1e3*lostS,
							float64(at)/rateHz)
					}
					if share := float64(r.BeatsUsed) / (lengthS / beatS); share < 0.85 {
						t.Errorf("%.0f %% of the beats are used", 100*share)
					}
					// What the silence is short or long by bends the rate: a tenth of a millisecond over the half of the recording.
					if off := math.Abs(r.Rate.Value - 3.4); off > 0.1+2*86400*1e-4/lengthS {
						t.Errorf("rate %.2f ± %.2f", r.Rate.Value, 2*r.RateFitStdSPerDay)
					}
				})
			}
		}
	}
}

// TestRealStopStays: a watch that stops has lost no sound, and one that runs through has no seams.
func TestRealStopStays(t *testing.T) {
	t.Parallel()
	w := simulate.Lever()
	s, _ := simulate.Sound(w, simulate.Room{SNRdB: 30, PeakDBFS: -12}, 44100, 30, 3)
	quiet, _ := simulate.Sound(w, simulate.Room{SNRdB: 30, PeakDBFS: -12}, 44100, 30, 3)
	still := slices.Clone(quiet)
	for i := 14 * 44100; i < len(still); i++ {
		still[i] = float32(1e-4 * math.Sin(float64(i)*1.7) * math.Cos(float64(i*i%7919)))
	}
	r, seams := rejoin(t, still, 44100, acoustic.Settings{})
	if !has(r, acoustic.NoteStops) || has(r, acoustic.NoteSoundLost) || len(seams) > 0 {
		t.Errorf("a stop: %d seams, notes %v", len(seams), r.Notes)
	}
	if r, _ := rejoin(t, s, 44100, acoustic.Settings{}); has(r, acoustic.NoteSoundLost) || len(r.Notes) > 0 {
		t.Errorf("nothing lost: notes %v", r.Notes)
	}
}
