package acoustic

import (
	"errors"
	"slices"

	"ledgerwheel/domain/metrology"
)

// ErrNoWatch says that no watch was heard: no train of beats stands out of the sound far enough to be believed.
var ErrNoWatch = errors.New("no watch heard")

// DefaultLiftAngleDeg is taken where no lift angle is stated. Common practice: most lever calibres of the last
// seventy years lie within 50 to 53 degrees.
const DefaultLiftAngleDeg = 52

// UncalibratedClockPPM is the half-width taken for the frequency of a recorder's clock that was never calibrated
// (rectangular). Common practice: cheap quartz oscillators are sold to within ±50 ppm.
const UncalibratedClockPPM = 50

// Clock is what is known of the sample clock of a recorder.
type Clock struct {
	// PPM is how far the clock runs fast, in parts per million: positive when a second of it is too short, so that
	// it counts too many samples a second and every watch seems to lose.
	PPM float64
	// StdPPM is the standard uncertainty of PPM.
	StdPPM float64
}

// UncalibratedClock returns the clock of a recorder of which nothing is known: true, to within ±50 ppm.
func UncalibratedClock() Clock {
	return Clock{StdPPM: metrology.FromHalfWidth(UncalibratedClockPPM)}
}

// Settings is what the listener is told of the watch and the recorder.
type Settings struct {
	BeatsPerHour float64 // 0 when it is to be found
	LiftAngleDeg float64 // 0 for DefaultLiftAngleDeg
	Clock        Clock
}

// Swing tells the two directions of the balance's swing apart. Which of them is which in the watch cannot be heard:
// the first beat heard is a tick by definition.
type Swing uint8

// The two swings.
const (
	Tick Swing = iota
	Tock
)

// String returns the swing's word.
func (s Swing) String() string {
	if s == Tick {
		return "tick"
	}
	return "tock"
}

// Result is what was heard of a watch.
type Result struct {
	BeatsPerHour       float64 // nominal
	BeatsPerHourStated bool    // told, not found
	LiftAngleDeg       float64

	// Rate is in s/d, gains positive, corrected for the recorder's clock, whose uncertainty it includes.
	Rate metrology.Value
	// RateFitStdSPerDay is the standard uncertainty of the regression alone, without the clock.
	RateFitStdSPerDay float64
	// Amplitude is in degrees from rest to turning point, the lift angle taken as exact. Nil when the unlocking
	// could not be told from the noise or from the impulse, or the sounds are not those of a lever.
	Amplitude *metrology.Value
	// BeatError is half the difference of successive beat intervals in ms, positive when the interval from tick to
	// tock is the longer. Nil when it can't be told which sound of a beat is its drop,
	// or the sounds are not those of a lever.
	BeatError *metrology.Value
	// SplitMs is the same of the drops as they were marked, whether or not they are the drops.
	SplitMs float64

	BeatsUsed int
	// beats that should have sounded between the first and the last heard, and were not heard or not used; where one swing
	// in two is hardly heard, those of the other
	BeatsMissed int
	SNRdB       float64 // the drop's peak over the noise's rms in the full band
	Seconds     float64 // length of the recording
	// StartS and EndS are the first and the last beat heard, in seconds from the start of the recording. EndS lies
	// well before Seconds when the watch stopped.
	StartS, EndS float64
	// BeatScatterUs is the standard deviation of a single beat about the fitted line, in microseconds, without the
	// escape wheel's pattern.
	BeatScatterUs float64

	Notes []Note

	Beats  []Beat        // in order of time; of a long recording evenly thinned to at most 20 000
	Voices [2]Voice      // by Swing
	Wheel  *WheelPattern // nil when no pattern of the escape wheel stands out
	// Stretches are the figures in successive pieces of the recording, for long runs and for the drift of short ones.
	Stretches []Stretch
}

// Beat is one beat of the watch.
type Beat struct {
	TimeS      float64 // the drop, from the start of the recording, by the recorder's clock
	Number     int64   // counted from the first beat heard, beats missed included
	ResidualMs float64 // arrival less the fitted line of its swing: positive is late
	LiftMs     float64 // unlocking to drop; 0 when the unlocking of this beat was not heard
	Used       bool    // false: an outlier, kept for the eye only
}

// Swing returns the beat's swing.
func (b Beat) Swing() Swing { return Swing(b.Number & 1) }

// Voice is the averaged sound of one swing with the instants found in it.
type Voice struct {
	// Envelope is the averaged loudness of the sound, scaled so that its peak is 1, RateHz points a second.
	// Envelope[0] lies at StartMs.
	Envelope []float64
	RateHz   float64
	StartMs  float64 // relative to the drop
	// UnlockingMs, ImpulseMs and DropMs are the instants relative to the drop (DropMs is 0 unless moved by hand).
	// Unlocking and impulse are NaN when they do not stand out.
	UnlockingMs, ImpulseMs, DropMs float64
	Beats                          int // averaged
}

// WheelPattern is what repeats with the turns of the escape wheel.
type WheelPattern struct {
	Teeth int
	// Ms are the mean residuals by beat of one turn, 2·Teeth of them: each tooth meets both pallets.
	Ms []float64
	// StdMs is the standard uncertainty of each.
	StdMs float64
}

// Stretch is the watch's figures in one piece of a recording.
type Stretch struct {
	StartS, EndS float64         // from the start of the recording
	Rate         metrology.Value // without the uncertainty of the clock, which all stretches share
	Amplitude    *metrology.Value
	BeatError    *metrology.Value
	Beats        int
}

// Note is one remark on the quality of what was heard.
type Note struct {
	Code NoteCode
	Text string // a plain sentence
}

// NoteCode names a kind of note, for programs.
type NoteCode string

// The notes.
const (
	NoteWeak        NoteCode = "weak"             // signal to noise is low
	NoteClipped     NoteCode = "clipped"          // samples stand at the end of the scale
	NoteHum         NoteCode = "hum"              // a tone, as of the mains
	NoteKnocks      NoteCode = "knocks"           // sounds much louder than the watch
	NoteSecondWatch NoteCode = "second-watch"     // another train of beats
	NoteQuartz      NoteCode = "quartz-clock"     // one pulse a second, exactly
	NoteStops       NoteCode = "stops"            // the watch stops in the recording
	NoteMissed      NoteCode = "beats-missed"     // a share of the beats was not heard
	NoteNoUnlocking NoteCode = "no-unlocking"     // the unlocking does not stand out: no amplitude
	NoteNoDrop      NoteCode = "no-drop"          // nor does the drop: no beat error
	NoteCodec       NoteCode = "codec"            // the band ends as a compressed file's does
	NoteNarrow      NoteCode = "narrow-band"      // the band ends below most of a watch's sounds
	NoteEchoes      NoteCode = "echoes"           // the sounds of a beat die away as in a room
	NoteRiding      NoteCode = "riding-gain"      // the noise is lower after each beat than before the next
	NoteOther       NoteCode = "other-escapement" // the sounds are not a lever's, or perhaps not
	NoteShort       NoteCode = "short"            // too short to decide much
	NoteOddBeat     NoteCode = "odd-beat"         // not one of the usual beats per hour
	NoteLoop        NoteCode = "loop"             // the same over and over: no watch beats so evenly
	NoteDrift       NoteCode = "drift"            // the amplitude changed over the recording
	NoteSilence     NoteCode = "silence"          // gaps of digital silence
)

func copied(v *metrology.Value) *metrology.Value {
	if v == nil {
		return nil
	}
	c := *v
	return &c
}

func (r Result) clone() Result {
	r.Notes = slices.Clone(r.Notes)
	r.Beats = slices.Clone(r.Beats)
	r.Stretches = slices.Clone(r.Stretches)
	for i := range r.Stretches {
		s := &r.Stretches[i]
		s.Amplitude, s.BeatError = copied(s.Amplitude), copied(s.BeatError)
	}
	for i := range r.Voices {
		r.Voices[i].Envelope = slices.Clone(r.Voices[i].Envelope)
	}
	r.Amplitude, r.BeatError = copied(r.Amplitude), copied(r.BeatError)
	if r.Wheel != nil {
		w := *r.Wheel
		w.Ms = slices.Clone(w.Ms)
		r.Wheel = &w
	}
	return r
}
