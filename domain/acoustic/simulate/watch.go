package simulate

import (
	"math"
	"math/rand/v2"
)

// Watch is a lever watch as it sounds.
type Watch struct {
	// BeatsPerHour is nominal. A watch of no beats makes no sound: a room without a watch.
	BeatsPerHour float64
	RateSPerDay  float64 // at AmplitudeDeg; gains positive
	// AmplitudeDeg is the mean, from rest to turning point; more than half the lift angle.
	AmplitudeDeg float64
	LiftAngleDeg float64
	// BeatErrorMs is half the difference of successive intervals between drops at AmplitudeDeg, positive when the
	// interval from tick (beats of even number) to tock is the longer.
	BeatErrorMs float64

	// AmplitudeDriftDeg is gained evenly over the recording, with AmplitudeDeg in the middle.
	AmplitudeDriftDeg float64
	// WanderDeg is the standard deviation of a slow random wander of the amplitude (Ornstein-Uhlenbeck) that forgets
	// itself in WanderS.
	WanderDeg, WanderS float64
	// SwayDeg is the height of a sinusoidal wander of period SwayS, as of a wheel of the train.
	SwayDeg, SwayS float64
	// AmplitudeScatterDeg is the standard deviation of single swings.
	AmplitudeScatterDeg float64
	// IsochronismSPerDayPerDeg is how the rate changes with the amplitude about AmplitudeDeg.
	IsochronismSPerDayPerDeg float64
	// RateWanderSPerDay is the standard deviation of a random wander of the rate that forgets itself in RateWanderS.
	RateWanderSPerDay, RateWanderS float64

	ScatterUs float64 // standard deviation of a beat's arrival, common to its three sounds
	JitterUs  float64 // the same of each sound by itself
	// WheelPatternUs are the delays that repeat with the turns of the escape wheel, one for each of its teeth on each
	// pallet: two times the number of teeth. Empty: none.
	WheelPatternUs []float64
	Train          []TrainWave

	Voices [2]Voice // of tick and tock
	// LoudnessScatter is the standard deviation of the logarithm of a sound's loudness from beat to beat,
	// ModeScatter that of each of its resonances by itself.
	LoudnessScatter, ModeScatter float64
	// Body are the resonances of the case that colour all sounds. A mode's Gain is that over the direct sound.
	Body []Mode

	// MissedShare of the beats is not heard at all, in runs of MissedRunBeats in the mean (1 when smaller).
	MissedShare, MissedRunBeats float64

	// StopS is when the watch stops, in true seconds from the first sample; 0: it does not. Its amplitude dies away
	// over the DyingS before.
	StopS, DyingS float64
	RunDown       *RunDown // nil: the mainspring's force is constant
}

// TrainWave is a delay that comes and goes with a turn of a wheel of the train.
type TrainWave struct {
	PeriodS, Us float64
}

// RunDown is the mainspring letting down: the amplitude falls by SagDeg evenly over the reserve and, as the power
// Steepness of the time, the whole way to standstill at its end.
type RunDown struct {
	ReserveS  float64 // from the first sample, true seconds
	SagDeg    float64
	Steepness float64 // 10 to 40; 20 when 0
}

// Voice is the three sounds of one swing.
type Voice struct {
	Unlocking, Impulse, Drop Click
	// ImpulseAt is where in the lift the impulse is heard: 0 at the unlocking, 1 at the drop.
	ImpulseAt float64
	// UnlockingLate and DropLate are how far behind the lift's beginning and end these sounds lie, as shares of the
	// lift: 0 for a lever.
	UnlockingLate, DropLate float64
}

// Click is one sound: damped resonances, which start together, and a burst of noise.
type Click struct {
	DB       float64 // peak of the resonances, over the peak of the drop's; −∞: not made
	Modes    []Mode
	AttackUs float64 // the sound swells as 1 - exp(-t/attack)
	// Noise is the standard deviation of the burst at its beginning, over the peak of the resonances. It dies away
	// as exp(-t/decay).
	Noise, NoiseDecayMs float64
}

// Mode is one damped resonance: Gain·exp(-t/decay)·sin(2π·Hz·t + phase).
type Mode struct {
	Hz, DecayMs, Gain, PhaseRad float64
}

// Lever returns a watch with nothing wrong with it and little that scatters: 28 800 beats per hour, 280° amplitude,
// 52° lift angle.
func Lever() Watch {
	rng := rand.New(rand.NewPCG(52, 28800))
	return Watch{
		BeatsPerHour: 28800, RateSPerDay: 5, AmplitudeDeg: 280, LiftAngleDeg: 52, BeatErrorMs: 0.2,
		ScatterUs: 10, JitterUs: 3, AmplitudeScatterDeg: 0.3,
		Voices:          [2]Voice{RandomVoice(rng), RandomVoice(rng)},
		LoudnessScatter: 0.1, ModeScatter: 0.05,
	}
}

// hz returns the balance's nominal frequency: two beats a swing to and fro.
func (w Watch) hz() float64 { return w.BeatsPerHour / 7200 }

// displacementDeg returns how far from the line of centres the balance rests so that successive intervals between
// drops differ by twice the beat error at the mean amplitude. A balance that rests ahead of a tick's line of centres
// reaches it late: the interval from tick to tock is then the shorter.
func (w Watch) displacementDeg() float64 {
	half := w.LiftAngleDeg / 2
	low, high := -(w.AmplitudeDeg - half), w.AmplitudeDeg-half
	for range 60 {
		middle := (low + high) / 2
		if w.dropBeatErrorMs(middle, w.AmplitudeDeg) > w.BeatErrorMs {
			low = middle
		} else {
			high = middle
		}
	}
	return (low + high) / 2
}

// dropBeatErrorMs returns half the difference of successive intervals between drops.
func (w Watch) dropBeatErrorMs(displacementDeg, amplitudeDeg float64) float64 {
	half := w.LiftAngleDeg / 2
	late := arcsine((half - displacementDeg) / amplitudeDeg)
	early := arcsine((half + displacementDeg) / amplitudeDeg)
	return 1e3 * (late - early) / (2 * math.Pi * w.hz())
}

// arcsine is that of x held to [-1, 1]: a balance that does not reach an angle turns round there.
func arcsine(x float64) float64 { return math.Asin(max(-1, min(1, x))) }
