package acoustic_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"ledgerwheel/domain/acoustic"
	"ledgerwheel/domain/acoustic/simulate"
)

// escapementCount is what was counted of eight watches with an escapement, 15 s of each at 20 to 30 dB, the beats per hour
// not stated. What is most likely to be wrong is bounded, the rest is held.
type escapementCount struct {
	name string
	draw func(*rand.Rand) simulate.Watch
	// leastRates within twice their uncertainty; leastRemarks that it is no lever.
	leastRates, leastRemarks int
	// mostAmplitudes and mostBeatErrors given.
	mostAmplitudes, mostBeatErrors int
	// mostOff of the amplitudes and beat errors given are off by more than 4 degrees and 0.15 ms.
	mostOff int
}

func heardAsOther(r acoustic.Result) bool {
	return slices.ContainsFunc(r.Notes, func(n acoustic.Note) bool { return n.Code == acoustic.NoteOther })
}

// TestOtherEscapements counts what is made of escapements other than the lever, and of pins for pallets, which is one.
// Watches as in simulate: how each escapement works from handbooks, its numbers from memory.
func TestOtherEscapements(t *testing.T) {
	t.Parallel()
	const count = 8
	for _, c := range []escapementCount{
		{"pin-pallet", simulate.RandomPinPallet, 7, 0, 8, 8, 0},
		// Two draws of eight are heard as a lever's: of one the beat error is not given, of the other uncertain.
		{"double-impulse", simulate.RandomDoubleImpulse, 7, 6, 2, 1, 1},
		// Of two the first sound is not found: they are heard as a lever's without an unlocking.
		{"cylinder", simulate.RandomCylinder, 7, 6, 0, 2, 1},
		{"detent", simulate.RandomDetent, 7, 8, 0, 0, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			beats, rates, remarks, amplitudes, beatErrors, off := 0, 0, 0, 0, 0, 0
			for seed := range uint64(count) {
				x, truth := otherSound(c.draw, seed)
				for _, stated := range []float64{0, truth.BeatsPerHour} {
					r, err := analyse(x, 48000, acoustic.Settings{BeatsPerHour: stated, LiftAngleDeg: truth.LiftAngleDeg})
					if err != nil {
						t.Errorf("%d, stated %.0f: %v", seed, stated, err)
						continue
					}
					if r.BeatsPerHour != truth.BeatsPerHour {
						t.Errorf("%d: %.0f beats per hour heard as %.0f", seed, truth.BeatsPerHour, r.BeatsPerHour)
					}
					if stated > 0 { // what follows is counted where it is not
						if !near95(r.Rate.Value, truth.ApparentRateSPerDay, 1.5*r.RateFitStdSPerDay) {
							t.Errorf("%d, beats stated: rate %.2f ± %.2f, want %.2f", seed, r.Rate.Value, r.RateFitStdSPerDay,
								truth.ApparentRateSPerDay)
						}
						continue
					}
					beats++
					if near95(r.Rate.Value, truth.ApparentRateSPerDay, r.RateFitStdSPerDay) {
						rates++
					}
					if heardAsOther(r) {
						remarks++
						if r.Amplitude != nil || r.BeatError != nil {
							t.Errorf("%d: no lever, and yet amplitude %v, beat error %v", seed, r.Amplitude, r.BeatError)
						}
					}
					if r.Amplitude != nil {
						if amplitudes++; math.Abs(r.Amplitude.Value-truth.AmplitudeDeg) > 4 {
							off++
						}
					}
					if r.BeatError != nil {
						if beatErrors++; math.Abs(math.Abs(r.BeatError.Value)-truth.BeatErrorMagnitudeMs) > 0.15 {
							off++
						}
					}
				}
			}
			t.Logf("of %d: rate within U %d, said to be no lever %d, amplitude given %d, beat error given %d, off %d", beats, rates,
				remarks, amplitudes, beatErrors, off)
			if rates < c.leastRates || remarks < c.leastRemarks || amplitudes > c.mostAmplitudes ||
				beatErrors > c.mostBeatErrors || off > c.mostOff {
				t.Errorf("want rates %d and remarks %d at least, amplitudes %d, beat errors %d and off %d at most", c.leastRates,
					c.leastRemarks, c.mostAmplitudes, c.mostBeatErrors, c.mostOff)
			}
		})
	}
}

func near95(got, want, std float64) bool { return math.Abs(got-want) <= 2*std }

func otherSound(draw func(*rand.Rand) simulate.Watch, seed uint64) ([]float32, simulate.Truth) {
	rng := rand.New(rand.NewPCG(seed, 77))
	w, room := draw(rng), simulate.QuietRoom()
	room.SNRdB = 20 + 10*rng.Float64()
	return simulate.Sound(w, room, 48000, 15, seed)
}

// TestLeversAreHeardAsLevers counts the levers, drawn over the range of what comes to a bench, that are taken for
// another escapement: four in 240 when the bounds were set.
func TestLeversAreHeardAsLevers(t *testing.T) {
	t.Parallel()
	others, count := 0, 60
	for _, r := range listenToMany(count, 4242, func(rng *rand.Rand) simulate.Recording {
		return simulate.BenchRecording(rng, 20+10*rng.Float64())
	}, toldLift) {
		if r.err != nil {
			t.Fatal(r.err)
		}
		if heardAsOther(r.result) {
			others++
			t.Logf("beat error %.2f ms: %v", r.truth.BeatErrorMs, r.result.Notes)
		}
	}
	if others > 4 {
		t.Errorf("%d of %d levers are taken for another escapement", others, count)
	}
}

// TestFastDetent hears a detent that is heard at beats of which there are levers: nothing tells but that its "swings" are
// the same, which is said. Told its beats, it is heard at them.
func TestFastDetent(t *testing.T) {
	t.Parallel()
	fast := func(rng *rand.Rand) simulate.Watch {
		w := simulate.RandomDetent(rng)
		w.BeatsPerHour = 28800
		return w
	}
	for seed := range uint64(8) {
		x, truth := otherSound(fast, seed)
		r := mustHear(t, x, 48000, acoustic.Settings{})
		if r.BeatsPerHour != 14400 && r.BeatsPerHour != 28800 || !heardAsOther(r) {
			t.Errorf("%d: heard at %.0f, %v", seed, r.BeatsPerHour, r.Notes)
		}
		r = mustHear(t, x, 48000, acoustic.Settings{BeatsPerHour: 28800})
		if r.BeatsPerHour != 28800 || !heardAsOther(r) || r.Amplitude != nil || r.BeatError != nil ||
			!near95(r.Rate.Value, truth.ApparentRateSPerDay, 1.5*r.RateFitStdSPerDay) {
			t.Errorf("%d, beats stated: %.0f, rate %.2f ± %.2f, want %.2f, %v", seed, r.BeatsPerHour, r.Rate.Value,
				r.RateFitStdSPerDay, truth.ApparentRateSPerDay, r.Notes)
		}
	}
}

// TestInstantsWhereNoneWereFound sets the marks that a listener could not: from the true places of the sounds follow the
// true figures, of one swing the amplitude alone.
func TestInstantsWhereNoneWereFound(t *testing.T) {
	t.Parallel()
	none := acoustic.Instants{UnlockingMs: math.NaN(), DropMs: math.NaN()}
	x, truth := otherSound(simulate.RandomDetent, 0)
	r := mustHear(t, x, 48000, acoustic.Settings{LiftAngleDeg: truth.LiftAngleDeg})
	// By hand: A = (lift/2)/sin(π·f·t), 14 400 beats an hour (2 Hz) and 14 ms: sin(0.0879646) = 0.0878512.
	r = r.WithInstants(acoustic.Instants{UnlockingMs: -14, DropMs: 0}, acoustic.Instants{UnlockingMs: math.NaN()})
	if want := truth.LiftAngleDeg / 2 / 0.0878512; r.Amplitude == nil || math.Abs(r.Amplitude.Value-want) > 0.01 ||
		r.BeatError != nil {
		t.Errorf("one swing: amplitude %v, beat error %v, want %.2f and none", r.Amplitude, r.BeatError, want)
	}
	x, truth = otherSound(simulate.RandomCylinder, 0)
	r = mustHear(t, x, 48000, acoustic.Settings{LiftAngleDeg: truth.LiftAngleDeg})
	if same := r.WithInstants(none, none); same.Amplitude != nil || same.BeatError != nil {
		t.Errorf("nothing said: %v, %v", same.Amplitude, same.BeatError)
	}
	b := truth.Beats[0]
	lift := acoustic.Instants{UnlockingMs: (b.UnlockingS - b.DropS) * 1e3}
	r = r.WithInstants(lift, lift)
	if r.Amplitude == nil || math.Abs(r.Amplitude.Value-truth.AmplitudeDeg) > 3 { // of one beat
		t.Errorf("cylinder: amplitude %v, want %.1f", r.Amplitude, truth.AmplitudeDeg)
	}
	if r.BeatError == nil || math.Abs(math.Abs(r.BeatError.Value)-truth.BeatErrorMagnitudeMs) > 0.15 {
		t.Errorf("cylinder: beat error %v, want %.2f", r.BeatError, truth.BeatErrorMagnitudeMs)
	}
}
