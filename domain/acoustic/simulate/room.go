package simulate

import "math"

// Room is what is heard beside the watch, and the recorder. Levels in dB are peaks over the peak of the watch's drop
// (the mean over its drops).
type Room struct {
	// SNRdB is the drop's mean peak over the rms of the noise in the full band: +Inf, or anything above 200, for no
	// noise.
	SNRdB float64
	// PinkShare and RumbleShare are the shares of the noise's power that fall with frequency as 1/f, and that lie
	// below some 150 Hz; the rest is white.
	PinkShare, RumbleShare float64

	Hum    *Hum
	Speech *Speech
	Knocks *Knocks
	Second *SecondWatch
	Quartz *Quartz
	Bustle *Bustle

	StartS float64 // the watch is silent before, true seconds
	// LowPassHz is the limit of a contact microphone, for the watches alone; 0: none.
	LowPassHz float64

	// PeakDBFS is the drop's mean peak as recorded, over full scale.
	PeakDBFS float64
	// ClipAt is the height at which the recorder clips, of full scale; 0: it does not, but for the end of the scale
	// when Bits is set.
	ClipAt   float64
	DCOffset float64 // of full scale
	Bits     int     // steps of the recorder; 0: none
	// ClockPPM is how far the recorder's clock runs fast: positive when it takes more samples a true second than it
	// says, so that every watch seems to lose.
	ClockPPM float64
	// Silences are stretches in which the recorder wrote zeros.
	Silences []Silence
}

// Hum is that of the mains: a fundamental and its harmonics, the n-th weaker by n to the power Fall.
type Hum struct {
	Hz, DB    float64 // of the fundamental
	Harmonics int     // in number, the fundamental included
	Fall      float64
}

// Speech is bursts of voiced sound like syllables, in utterances.
type Speech struct {
	DB        float64
	PerMinute float64 // utterances
	PitchHz   float64
}

// Knocks are loud damped thuds, as of a tool laid down on the bench.
type Knocks struct {
	DB, PerMinute float64
}

// SecondWatch is another watch within hearing.
type SecondWatch struct {
	Watch Watch
	DB    float64 // its drop's peak over the first watch's
}

// Quartz is a quartz clock that steps once a second.
type Quartz struct {
	DB          float64
	RateSPerDay float64
	Step        Click
}

// Silence is a stretch of digital silence, in seconds from the first sample.
type Silence struct {
	StartS, Seconds float64
}

// QuietRoom returns a room without noise and a recorder without faults.
func QuietRoom() Room { return Room{SNRdB: math.Inf(1), PeakDBFS: -12} }
