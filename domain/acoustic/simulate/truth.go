package simulate

import "math"

// keepBeatsS is the length of recording up to which every beat is kept in the truth.
const keepBeatsS = 2 * 3600

// courseS is the length of a piece of the course.
const courseS = 60

// Truth is what a perfect listener would say.
type Truth struct {
	BeatsPerHour float64
	LiftAngleDeg float64
	// RateSPerDay is the rate of the balance over the recording: least squares through its passages of the rest
	// point, which neither scatter nor amplitude touches.
	RateSPerDay float64
	// ApparentRateSPerDay is the same by the recorder's clock.
	ApparentRateSPerDay float64
	AmplitudeDeg        float64 // mean over the beats
	AmplitudeStdDeg     float64 // standard deviation over the beats
	// BeatErrorMs is the mean over the beats of half the difference of successive intervals between drops, without
	// scatter. The first beat heard is taken for a tick, as a listener must: positive when the interval from its swing
	// to the other is the longer.
	BeatErrorMs          float64
	BeatErrorMagnitudeMs float64
	// BeatScatterUs is the standard deviation of a drop's arrival by chance alone.
	BeatScatterUs  float64
	WheelPatternUs []float64

	SNRdB    float64 // as asked for: the broad noise alone, without hum, speech, knocks and clocks
	DropPeak float64 // mean peak of the drops, of full scale, before clipping
	NoiseRMS float64 // of full scale
	ClockPPM float64

	RateHz, Seconds float64
	// BeatCount is of beats whose drop lies in the recording; MissedCount of those not heard.
	BeatCount, MissedCount int64
	FirstS, LastS          float64 // drop of the first and of the last of them
	// Stopped says that the watch stopped in the recording, after the beat at LastS; StopS is then LastS, else 0.
	Stopped bool
	StopS   float64
	// Beats are all of them, in order of time, when the recording is not longer than two hours; else the first alone.
	Beats []Beat
	// Course is the recording minute by minute.
	Course []Course
}

// Beat is one beat of the truth, times in seconds from the first sample by the recorder's clock.
type Beat struct {
	Number                      int64 // even: tick
	UnlockingS, ImpulseS, DropS float64
	RestS                       float64 // the balance passes its rest point; without scatter
	AmplitudeDeg                float64
	Missing                     bool // not heard
}

// Course is the truth of a minute.
type Course struct {
	StartS, EndS float64
	Beats        int64
	RateSPerDay  float64 // by true time; NaN of fewer than two beats
	AmplitudeDeg float64 // NaN without a beat
	BeatErrorMs  float64 // sign as in Truth
}

// tally sums up beats.
type tally struct {
	nominalS                 float64
	count                    int64
	firstNumber              int64
	firstS                   float64
	x, y, xx, xy             float64
	amplitude, amplitude2    float64 // amplitude2 about the first
	firstAmplitude, beatErrs float64
}

func (s *tally) add(b beat) {
	if s.count == 0 {
		s.firstNumber, s.firstS, s.firstAmplitude = b.number, b.rest, b.amplitudeDeg
	}
	x := float64(b.number - s.firstNumber)
	// What the nominal interval leaves over keeps all its digits over a day.
	y := b.rest - s.firstS - x*s.nominalS
	s.count++
	s.x, s.y, s.xx, s.xy = s.x+x, s.y+y, s.xx+x*x, s.xy+x*y
	a := b.amplitudeDeg - s.firstAmplitude
	s.amplitude, s.amplitude2 = s.amplitude+a, s.amplitude2+a*a
	s.beatErrs += b.beatErrorMs
}

// rateSPerDay returns the least-squares rate, NaN of fewer than two beats.
func (s *tally) rateSPerDay() float64 {
	n := float64(s.count)
	slope := (n*s.xy - s.x*s.y) / (n*s.xx - s.x*s.x)
	return 86400 * (s.nominalS/(s.nominalS+slope) - 1)
}

func (s *tally) amplitudeDeg() (mean, std float64) {
	n := float64(s.count)
	mean = s.amplitude / n
	return mean + s.firstAmplitude, math.Sqrt(max(0, s.amplitude2/n-mean*mean))
}

func (s *tally) beatErrorMs() float64 { return s.beatErrs / float64(s.count) }

// witness writes down the truth while the sound is made.
type witness struct {
	truth        Truth
	clock        float64 // recorder's seconds in a true second
	whole, piece tally
	sign         float64 // of the beat error; 0 before a beat is heard
}

func newWitness(w Watch, room Room, rateHz, seconds float64) *witness {
	nominal := 3600 / w.BeatsPerHour
	return &witness{
		clock: 1 + 1e-6*room.ClockPPM, whole: tally{nominalS: nominal}, piece: tally{nominalS: nominal},
		truth: Truth{
			BeatsPerHour: w.BeatsPerHour, LiftAngleDeg: w.LiftAngleDeg, SNRdB: room.SNRdB, ClockPPM: room.ClockPPM,
			BeatScatterUs: math.Hypot(w.ScatterUs, w.JitterUs), WheelPatternUs: w.WheelPatternUs,
			RateHz: rateHz, Seconds: seconds,
		},
	}
}

// see notes a beat; those whose drop lies outside the recording are not part of it.
func (s *witness) see(b beat) {
	t := &s.truth
	drop := b.drop * s.clock
	if drop < 0 || drop >= t.Seconds {
		return
	}
	if t.BeatCount == 0 {
		t.FirstS = drop
	}
	if s.sign == 0 && !b.missing {
		s.sign = 1 - 2*float64(b.number&1)
	}
	for drop >= float64(len(t.Course)+1)*courseS {
		s.closePiece()
	}
	t.BeatCount++
	t.LastS = drop
	if b.missing {
		t.MissedCount++
	}
	s.whole.add(b)
	s.piece.add(b)
	if len(t.Beats) == 0 || t.Seconds <= keepBeatsS {
		t.Beats = append(t.Beats, Beat{
			Number: b.number, UnlockingS: b.unlocking * s.clock, ImpulseS: b.impulse * s.clock, DropS: drop,
			RestS: b.rest * s.clock, AmplitudeDeg: b.amplitudeDeg, Missing: b.missing,
		})
	}
}

func (s *witness) closePiece() {
	t := &s.truth
	start := float64(len(t.Course)) * courseS
	mean, _ := s.piece.amplitudeDeg()
	t.Course = append(t.Course, Course{
		StartS: start, EndS: min(start+courseS, t.Seconds), Beats: s.piece.count,
		RateSPerDay: s.piece.rateSPerDay(), AmplitudeDeg: mean, BeatErrorMs: s.piece.beatErrorMs(),
	})
	s.piece = tally{nominalS: s.piece.nominalS}
}

// close returns the truth.
func (s *witness) close(stopped bool) Truth {
	t := &s.truth
	for float64(len(t.Course))*courseS < t.Seconds {
		s.closePiece()
	}
	if t.BeatCount == 0 {
		return *t
	}
	if s.sign == 0 {
		s.sign = 1
	}
	for i := range t.Course {
		t.Course[i].BeatErrorMs *= s.sign
	}
	t.RateSPerDay = s.whole.rateSPerDay()
	t.ApparentRateSPerDay = 86400 * ((1+t.RateSPerDay/86400)/s.clock - 1)
	t.AmplitudeDeg, t.AmplitudeStdDeg = s.whole.amplitudeDeg()
	t.BeatErrorMs = s.sign * s.whole.beatErrorMs()
	t.BeatErrorMagnitudeMs = math.Abs(t.BeatErrorMs)
	if stopped {
		t.Stopped, t.StopS = true, t.LastS
	}
	return *t
}
