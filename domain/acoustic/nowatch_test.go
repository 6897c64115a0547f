package acoustic_test

import (
	"math/rand/v2"
	"slices"
	"testing"

	"ledgerwheel/domain/acoustic"
	"ledgerwheel/domain/acoustic/simulate"
)

// aRoom changes a room without a watch.
type aRoom func(rng *rand.Rand, room *simulate.Room)

func bustling(kind simulate.BustleKind, perS ...float64) aRoom {
	return func(rng *rand.Rand, room *simulate.Room) {
		b := simulate.RandomBustle(kind, rng)
		if len(perS) > 0 {
			b.PerS = perS[rng.IntN(len(perS))]
		}
		room.Bustle = &b
	}
}

// withoutWatch are the kinds of rooms in which no watch is.
var withoutWatch = map[string]aRoom{
	"speech": func(rng *rand.Rand, room *simulate.Room) {
		room.Speech = &simulate.Speech{DB: 6, PerMinute: 10 + 20*rng.Float64(), PitchHz: 90 + 150*rng.Float64()}
	},
	"clock": func(rng *rand.Rand, room *simulate.Room) {
		q := simulate.RandomQuartz(rng)
		q.DB += 10
		room.Quartz = &q
	},
	"typing": bustling(simulate.Typing), "music": bustling(simulate.Music), "rain": bustling(simulate.Rain),
	"drip": bustling(simulate.Drip), "loop": bustling(simulate.Loop),
	"loop at a usual beat": bustling(simulate.Loop, 4, 5, 5.5, 6, 7, 8, 10),
}

// bustleRecording draws fourteen seconds of such a room, 20 to 40 dB above its noise.
func bustleRecording(rng *rand.Rand, with aRoom) simulate.Recording {
	r := simulate.Recording{RateHz: 48000, Seconds: 14, Seed: rng.Uint64(),
		Room: simulate.Room{SNRdB: 20 + 20*rng.Float64(), PeakDBFS: -12, Bits: 16}}
	with(rng, &r.Room)
	return r
}

// TestSoundsWithoutWatch: no figures are given of what is no watch; of a loop at the tempo of one they are, with the remark
// by which a person is asked before they are kept.
func TestSoundsWithoutWatch(t *testing.T) {
	t.Parallel()
	for kind, with := range withoutWatch {
		runs := listenToMany(12, 17, func(rng *rand.Rand) simulate.Recording { return bustleRecording(rng, with) },
			func(simulate.Truth) acoustic.Settings { return acoustic.Settings{} })
		loop := kind == "loop" || kind == "loop at a usual beat"
		heard := 0
		for i, r := range runs {
			if r.err != nil {
				continue
			}
			heard++
			asks := noted(r.result, acoustic.NoteLoop) || kind == "loop" && noted(r.result, acoustic.NoteOddBeat)
			if !loop || !asks {
				t.Errorf("%s %d: a watch of %v beats was heard, notes %v", kind, i, r.result.BeatsPerHour, r.result.Notes)
			}
		}
		t.Logf("%s: %d of %d heard", kind, heard, len(runs))
	}
}

// TestWatchIsNoLoop: no watch is taken for a loop, not even where every beat is as even as the simulator makes one and
// the sound comes through a contact microphone, which hears little of what tells one beat from another.
func TestWatchIsNoLoop(t *testing.T) {
	t.Parallel()
	runs := listenToMany(60, 5, func(rng *rand.Rand) simulate.Recording {
		r := simulate.RandomRecording(rng, 5+35*rng.Float64())
		r.Seconds = 4 + 10*rng.Float64()
		if rng.IntN(2) == 0 {
			r.Room.LowPassHz = 1500 + 2500*rng.Float64()
			w := &r.Watch
			w.ScatterUs, w.JitterUs, w.LoudnessScatter, w.ModeScatter, w.WheelPatternUs, w.Train = 5, 1, 0.05, 0.02, nil, nil
		}
		return r
	}, toldLift)
	heard := 0
	for i, r := range runs {
		if r.err == nil {
			heard++
		}
		if noted(r.result, acoustic.NoteLoop) {
			t.Errorf("watch %d of %v beats, %.1f dB, %d beats scattering by %.1f µs: a loop", i, r.truth.BeatsPerHour, r.result.SNRdB,
				r.result.BeatsUsed, r.result.BeatScatterUs)
		}
	}
	if heard < len(runs)*9/10 {
		t.Errorf("only %d of %d were heard", heard, len(runs))
	}
}

func noted(r acoustic.Result, code acoustic.NoteCode) bool {
	return slices.ContainsFunc(r.Notes, func(n acoustic.Note) bool { return n.Code == code })
}
