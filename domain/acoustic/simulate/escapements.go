package simulate

import (
	"math"
	"math/rand/v2"
)

// What else than the lever comes to a bench, drawn one by one. Which sounds there are follows from how each escapement
// works, as in any handbook of horology; the angles, loudnesses and beats are common practice, from memory. None is
// measured.

// silent is the loudness of a sound that is not made.
var silent = math.Inf(-1)

// faintDB is the loudness of a drop, over the others, below which its swing is hardly heard.
const faintDB = -15

// RandomPinPallet draws a watch with pins for pallets: a lever watch of coarser parts, whose unlocking is long and rough
// and whose drop is soft. Beats 14 400 to 21 600, lift 44 to 52 degrees.
func RandomPinPallet(rng *rand.Rand) Watch {
	w := otherWatch(rng, []float64{14400, 18000, 18000, 19800, 21600}, between(rng, 180, 260), between(rng, 44, 52))
	w.ScatterUs, w.LoudnessScatter = between(rng, 20, 60), between(rng, 0.15, 0.35)
	for i := range w.Voices {
		v := &w.Voices[i]
		v.Unlocking.DB = between(rng, -12, -5)
		v.Unlocking.AttackUs, v.Unlocking.Noise, v.Unlocking.NoiseDecayMs = between(rng, 200, 500), between(rng, 0.3, 0.6),
			between(rng, 1, 2.5)
		v.Drop.AttackUs, v.Drop.Noise, v.Drop.NoiseDecayMs = between(rng, 100, 250), between(rng, 0.2, 0.5), between(rng, 0.5, 1.5)
	}
	return w
}

// RandomDoubleImpulse draws a watch that is driven twice a turn to and fro by different parts: in one swing by a tooth
// on the balance itself, in the other through the lever. Three sounds a beat, at other places and of other weights in
// the two swings. Lift 33 to 40 degrees.
func RandomDoubleImpulse(rng *rand.Rand) Watch {
	w := otherWatch(rng, []float64{21600, 25200, 25200, 28800}, between(rng, 240, 300), between(rng, 33, 40))
	direct, through := RandomVoice(rng), RandomVoice(rng)
	direct.Unlocking.DB, direct.Impulse.DB, direct.Drop.DB = between(rng, -12, -5), between(rng, -3, 3), between(rng, -3, 2)
	through.Unlocking.DB, through.Impulse.DB, through.Drop.DB = between(rng, -16, -8), between(rng, -8, -2), between(rng, -3, 2)
	direct.ImpulseAt, through.ImpulseAt = between(rng, 0.2, 0.35), between(rng, 0.4, 0.6)
	// The tooth that drives the balance itself is met later and leaves sooner than that which drives the lever.
	direct.UnlockingLate, direct.DropLate = between(rng, 0.08, 0.2), -between(rng, 0.05, 0.15)
	w.Voices = [2]Voice{direct, through}
	if rng.IntN(2) == 0 {
		w.Voices = [2]Voice{through, direct}
	}
	return w
}

// RandomCylinder draws a watch whose teeth rest on the balance's own hollow staff: nothing is unlocked. A swing has the
// tooth's way over the lip and its fall on the wall, both soft; it falls inside in one swing and outside in the other.
// Lift 30 to 40 degrees, amplitude below 190, as the staff's rim would meet the wheel beyond.
func RandomCylinder(rng *rand.Rand) Watch {
	w := otherWatch(rng, []float64{14400, 16200, 18000, 18000}, between(rng, 140, 185), between(rng, 30, 40))
	for i := range w.Voices {
		v := &w.Voices[i]
		v.Unlocking.DB = silent
		v.Impulse.DB, v.ImpulseAt = between(rng, -12, -4), between(rng, 0, 0.15)
		v.Impulse.AttackUs, v.Drop.AttackUs = between(rng, 150, 400), between(rng, 100, 300)
	}
	return w
}

// RandomDetent draws a watch with a detent: unlocking, impulse and drop in one swing; in the other the passing spring
// alone, a faint click or nothing. Lift 38 to 46 degrees, mostly half-second beats.
func RandomDetent(rng *rand.Rand) Watch {
	w := otherWatch(rng, []float64{14400, 14400, 14400, 18000, 21600}, between(rng, 220, 280), between(rng, 38, 46))
	w.ScatterUs = between(rng, 3, 15)
	speaks := RandomVoice(rng)
	speaks.ImpulseAt = between(rng, 0.1, 0.25)
	passes := RandomVoice(rng)
	passes.Unlocking.DB, passes.Impulse.DB, passes.Drop.DB = silent, silent, silent
	if rng.IntN(2) == 0 {
		passes.Impulse.DB, passes.ImpulseAt = between(rng, -40, -28), 0.5
	}
	w.Voices = [2]Voice{speaks, passes}
	if rng.IntN(2) == 0 {
		w.Voices = [2]Voice{passes, speaks}
	}
	return w
}

// otherWatch draws what is common to them.
func otherWatch(rng *rand.Rand, beats []float64, amplitudeDeg, liftAngleDeg float64) Watch {
	first := RandomVoice(rng)
	w := Watch{
		BeatsPerHour: pick(rng, beats...), RateSPerDay: between(rng, -60, 60), AmplitudeDeg: amplitudeDeg,
		LiftAngleDeg: liftAngleDeg, BeatErrorMs: between(rng, -0.8, 0.8), AmplitudeScatterDeg: between(rng, 0.2, 1),
		WanderDeg: between(rng, 0, 1.5), WanderS: between(rng, 3, 20), ScatterUs: between(rng, 8, 30),
		LoudnessScatter: between(rng, 0.05, 0.2), ModeScatter: between(rng, 0.02, 0.1),
		Voices: [2]Voice{first, first.Sibling(rng)},
	}
	w.JitterUs = 0.3 * w.ScatterUs
	return w
}
