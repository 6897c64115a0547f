package heard

import (
	"fmt"
	"math"
	"time"

	"ledgerwheel/domain/acoustic"
	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/timing"
)

// Facts is what is kept of a recording beside the reading that was taken from it: enough to judge the figures later
// without the sound. It is kept as JSON, so no field is renamed.
type Facts struct {
	RecorderID int64  `json:"recorder_id,omitempty"` // 0 for a recorder that is not in the shop's list
	Recorder   string `json:"recorder"`
	// ClockPPM and ClockStdPPM are the recorder's calibration as it stood when the watch was heard.
	ClockPPM    float64 `json:"clock_ppm"`
	ClockStdPPM float64 `json:"clock_std_ppm"`

	BeatsPerHour       float64 `json:"beats_per_hour"`
	BeatsPerHourStated bool    `json:"beats_per_hour_stated"`
	LiftAngleDeg       float64 `json:"lift_angle_deg"`
	LiftAngleAssumed   bool    `json:"lift_angle_assumed,omitempty"` // nobody stated it

	RateSPerDay       float64  `json:"rate_s_per_day"` // the recorder's clock corrected
	RateFitStdSPerDay float64  `json:"rate_fit_std_s_per_day"`
	RateStdSPerDay    float64  `json:"rate_std_s_per_day"`      // the clock included
	AmplitudeDeg      *float64 `json:"amplitude_deg,omitempty"` // nil when the unlocking was not heard
	AmplitudeStdDeg   float64  `json:"amplitude_std_deg,omitempty"`
	// BeatErrorMs has its sign: positive when tick to tock is the longer. Nil when the drop could not be told.
	BeatErrorMs    *float64 `json:"beat_error_ms"`
	BeatErrorStdMs float64  `json:"beat_error_std_ms"`

	BeatsUsed    int     `json:"beats_used"`
	BeatsMissed  int     `json:"beats_missed"`
	SNRdB        float64 `json:"snr_db"`
	Seconds      float64 `json:"seconds"`
	SampleRateHz float64 `json:"sample_rate_hz"`
	Notes        []Note  `json:"notes,omitempty"`

	Sound      *Sound      `json:"sound,omitempty"`       // nil when the sound was not kept
	Correction *Correction `json:"correction,omitempty"`  // nil when the instants stand as they were found
	Piece      *Piece      `json:"piece,omitempty"`       // nil when the reading is of the whole recording
	RightWatch *RightWatch `json:"right_watch,omitempty"` // nil when nobody had to be asked
}

// Note is one remark on the quality of what was heard.
type Note struct {
	Code string `json:"code"`
	Text string `json:"text"`
}

// Instants are the instants of one swing, in ms from the drop as it was found.
type Instants struct {
	UnlockingMs *float64 `json:"unlocking_ms"` // nil when it was not found
	DropMs      float64  `json:"drop_ms"`
}

// Correction says how a watchmaker moved the instants of the averaged sounds, and what followed from them.
type Correction struct {
	By    string      `json:"by"`
	At    time.Time   `json:"at"`
	Found [2]Instants `json:"as_found"` // tick, tock
	Set   [2]Instants `json:"as_corrected"`
	// What the instants as found had given.
	FoundAmplitudeDeg *float64 `json:"amplitude_as_found_deg"`
	FoundBeatErrorMs  *float64 `json:"beat_error_as_found_ms"`
}

// Source is the recorder as it stood when the watch was heard, and what was told to the listener.
type Source struct {
	RecorderID       int64
	Recorder         string
	Clock            acoustic.Clock
	SampleRateHz     float64
	LiftAngleAssumed bool // nobody stated the lift angle
}

// FactsOf returns the facts of a recording, without sound and correction.
func FactsOf(r acoustic.Result, from Source) Facts {
	f := Facts{RecorderID: from.RecorderID, Recorder: from.Recorder, ClockPPM: from.Clock.PPM,
		ClockStdPPM:  from.Clock.StdPPM,
		BeatsPerHour: r.BeatsPerHour, BeatsPerHourStated: r.BeatsPerHourStated, LiftAngleDeg: r.LiftAngleDeg,
		LiftAngleAssumed: from.LiftAngleAssumed,
		RateSPerDay:      r.Rate.Value, RateFitStdSPerDay: r.RateFitStdSPerDay, RateStdSPerDay: r.Rate.StdUncertainty,
		BeatsUsed: r.BeatsUsed, BeatsMissed: r.BeatsMissed, SNRdB: r.SNRdB, Seconds: r.Seconds,
		SampleRateHz: from.SampleRateHz}
	if a := r.Amplitude; a != nil {
		f.AmplitudeDeg, f.AmplitudeStdDeg = valueOf(a), a.StdUncertainty
	}
	if e := r.BeatError; e != nil {
		f.BeatErrorMs, f.BeatErrorStdMs = valueOf(e), e.StdUncertainty
	}
	for _, n := range r.Notes {
		f.Notes = append(f.Notes, Note{Code: string(n.Code), Text: n.Text})
	}
	return f
}

// InstantsOf returns the instants of the two averaged sounds, tick first.
func InstantsOf(r acoustic.Result) [2]Instants {
	var out [2]Instants
	for swing, v := range r.Voices {
		out[swing].DropMs = v.DropMs
		if at := v.UnlockingMs; !math.IsNaN(at) {
			out[swing].UnlockingMs = &at
		}
	}
	return out
}

// correctionOf records what a watchmaker made of a result: found is the result as it was heard, set the instants as
// they were moved.
func correctionOf(found acoustic.Result, set [2]Instants, by string, at time.Time) *Correction {
	c := &Correction{By: by, At: at, Found: InstantsOf(found), Set: set}
	c.FoundAmplitudeDeg, c.FoundBeatErrorMs = valueOf(found.Amplitude), valueOf(found.BeatError)
	return c
}

// valueOf returns the value of a figure, nil where there is none.
func valueOf(v *metrology.Value) *float64 {
	if v == nil {
		return nil
	}
	value := v.Value
	return &value
}

// Figures returns the three figures as values to print, the clock included in the rate; amplitude and beat error are nil
// when there are none.
func (f Facts) Figures() (rate metrology.Value, amplitude, beatError *metrology.Value) {
	rate = metrology.Value{Value: f.RateSPerDay, StdUncertainty: f.RateStdSPerDay, Unit: timing.UnitSPerDay}
	if f.AmplitudeDeg != nil {
		amplitude = &metrology.Value{Value: *f.AmplitudeDeg, StdUncertainty: f.AmplitudeStdDeg, Unit: timing.UnitDegree}
	}
	if f.BeatErrorMs != nil {
		beatError = &metrology.Value{Value: *f.BeatErrorMs, StdUncertainty: f.BeatErrorStdMs, Unit: timing.UnitMs}
	}
	return rate, amplitude, beatError
}

const (
	maxNotes = 40
	maxText  = 500
)

// Problems says, by form field, what stops f being kept: "recorder" and "" for what a program got wrong.
func (f Facts) Problems() map[string]string {
	bad := map[string]string{}
	if f.Recorder == "" {
		bad["recorder"] = "Choose the recorder that heard this."
	}
	finite := []float64{f.ClockPPM, f.ClockStdPPM, f.BeatsPerHour, f.LiftAngleDeg, f.RateSPerDay, f.RateFitStdSPerDay,
		f.RateStdSPerDay,
		f.AmplitudeStdDeg, f.BeatErrorStdMs, f.SNRdB, f.Seconds, f.SampleRateHz}
	for _, x := range []*float64{f.AmplitudeDeg, f.BeatErrorMs} {
		if x != nil {
			finite = append(finite, *x)
		}
	}
	for _, x := range finite {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			bad[""] = "The recording gave a figure that is not a number; nothing was kept."
		}
	}
	if f.ClockStdPPM < 0 || f.RateFitStdSPerDay < 0 || f.BeatsUsed < 0 || f.BeatsMissed < 0 {
		bad[""] = "The recording gave an uncertainty or a count below zero; nothing was kept."
	}
	if len(f.Notes) > maxNotes {
		bad[""] = "The recording has too many notes; nothing was kept."
	}
	for _, n := range f.Notes {
		if len(n.Text) > maxText {
			bad[""] = "A note on the recording is too long; nothing was kept."
		}
	}
	return bad
}

// Problems says what keeps a reading that was heard from being kept with its facts, keyed by the fields of
// timing.Sheet, "recorder", "sound" and "".
func Problems(reading timing.Reading, facts Facts) map[string]string {
	bad := facts.Problems()
	for field, reason := range reading.Problems() {
		bad[field] = reason
	}
	if reading.RateSPerDay == nil {
		bad[""] = "A recording gives a rate at least; nothing was kept."
	}
	if facts.Recorder != reading.Instrument {
		bad["recorder"] = "The reading names another instrument than the recorder that heard it."
	}
	if s := facts.Sound; s != nil && !s.fit() {
		bad["sound"] = "The sound cannot be kept: it is empty, too long, or neither WAV nor FLAC."
	}
	return bad
}

// Summary is what the journal tells of a reading that was heard for a cell of a run.
func (f Facts) Summary(runTitle, cell string) string {
	rate, _, _ := f.Figures()
	return fmt.Sprintf("Heard by %s for the run %s, %s: %s.", f.Recorder, runTitle, cell, timing.Rate.Format(rate)) +
		f.RightWatch.words()
}

// words tell the journal of a question and its answer.
func (w *RightWatch) words() string {
	if w == nil {
		return ""
	}
	return fmt.Sprintf(" Asked: %s %s said yes.", w.Asked, w.By)
}
