package acoustic_test

import (
	"math/rand/v2"
	"slices"
	"testing"

	"ledgerwheel/domain/acoustic"
	"ledgerwheel/domain/acoustic/simulate"
)

// TestSignsOfTheWay counts how often the listener says what lay between a watch and the file, and that it says nothing of
// a plain recording.
func TestSignsOfTheWay(t *testing.T) {
	t.Parallel()
	const count = 24
	for _, w := range []struct {
		name    string
		channel simulate.Channel
		code    acoustic.NoteCode
		least   int // of 24, counted
	}{
		{"riding gain", simulate.Channel{Riding: &simulate.Riding{TargetDBFS: -26, AttackS: 0.005, EaseS: 0.4,
			GreatestGainDB: 20, LevelIntegrateS: 0.02}}, acoustic.NoteRiding, 12},
		{"a metre off in a room", simulate.Channel{Echo: &simulate.Echo{DirectDB: -6, DecayS: 0.4}}, acoustic.NoteEchoes, 20},
		{"a telephone's band", simulate.Channel{LowHz: 300, HighHz: 3400, RateHz: 8000}, acoustic.NoteNarrow, 20},
		{"a plain recording", simulate.Channel{}, "", 0},
	} {
		t.Run(w.name, func(t *testing.T) {
			t.Parallel()
			said := 0
			for i := range uint64(count) {
				rng := rand.New(rand.NewPCG(21, i))
				r := simulate.BenchRecording(rng, 20+10*rng.Float64())
				r.RateHz, r.Seconds = 48000, 20
				x, _ := r.Sound()
				x, rateHz := w.channel.Through(x, r.RateHz, r.Seed)
				got, err := analyse(x, rateHz, acoustic.Settings{})
				if err != nil {
					continue
				}
				for _, code := range []acoustic.NoteCode{acoustic.NoteRiding, acoustic.NoteEchoes, acoustic.NoteNarrow,
					acoustic.NoteCodec} {
					noted := slices.ContainsFunc(got.Notes, func(n acoustic.Note) bool { return n.Code == code })
					switch {
					case noted && code == w.code:
						said++
					case noted:
						t.Errorf("watch %d: %q is remarked on", i, code)
					}
				}
			}
			t.Logf("said of %d of %d", said, count)
			if said < w.least {
				t.Errorf("said of %d of %d, at least %d", said, count, w.least)
			}
		})
	}
}
