package listening

import (
	"fmt"
	"math"
	"slices"

	"ledgerwheel/domain/acoustic"
	"ledgerwheel/domain/heard"
	"ledgerwheel/domain/metrology"
)

// DefaultLeastS is the shortest part of the watch's sound that a position is decided on, seconds, unless a person says
// another; whole turns of the escape wheel count, so that no tooth is heard oftener than another. Own judgement: five
// turns and more at any usual beat.
const DefaultLeastS = 30

// enoughUSPerDay is the expanded uncertainty of the fitted rate, s/d, that is enough where nothing is to be decided.
const enoughUSPerDay = 0.5

// Expanded uncertainties up to which a figure says something of a watch: a tenth, or so, of what lies between a good
// watch and a bad one. Own judgement.
const (
	sayingRateUSPerDay   = 10
	sayingAmplitudeUDeg  = 15
	sayingBeatErrorUMs   = 0.5
	sayingTurns          = 1 // of the escape wheel: before, a single tooth makes the figure
	usualTeeth           = 15
	leastPlausibleBeatsH = 1
)

// Heard is what was heard so far in a position.
type Heard struct {
	Watch       bool           // a watch was heard
	Standing    heard.Standing // of its figures
	FitUSPerDay float64        // expanded uncertainty of the fitted rate
	SpanS       float64        // from the first beat heard to the end of the last, seconds
	TurnS       float64        // of the escape wheel, seconds; 0 when not known
	// Doubt is what stands against the sound itself, a sentence; "" for nothing.
	Doubt string
}

// HeardOf puts a result and its standing before the course. teeth are those of the escape wheel, known or assumed.
func HeardOf(r acoustic.Result, standing heard.Standing, teeth int) Heard {
	beatS := 3600 / math.Max(r.BeatsPerHour, leastPlausibleBeatsH)
	return Heard{Watch: true, Standing: standing, FitUSPerDay: metrology.CoverageFactor * r.RateFitStdSPerDay,
		SpanS: r.EndS - r.StartS + beatS, TurnS: 2 * float64(teeth) * beatS, Doubt: Doubt(r.Notes)}
}

// doubting are the notes by which the sound may not be the watch's alone, or not all of it. Hum and the pulses of a
// quartz clock are cut away before anything is measured; a drift and a lift that is not heard are the watch's own.
var doubting = []acoustic.NoteCode{acoustic.NoteWeak, acoustic.NoteClipped, acoustic.NoteKnocks,
	acoustic.NoteSecondWatch, acoustic.NoteStops, acoustic.NoteMissed, acoustic.NoteShort, acoustic.NoteOddBeat,
	acoustic.NoteSilence, acoustic.NoteLoop}

// Doubt returns the first note that doubts the sound, "" when none does.
func Doubt(notes []acoustic.Note) string {
	at := slices.IndexFunc(notes, func(n acoustic.Note) bool { return slices.Contains(doubting, n.Code) })
	if at < 0 {
		return ""
	}
	return notes[at].Text
}

// NeedsS is how long the watch has to be heard, seconds, where a person or the rule asks for at least leastS: that, in
// whole turns of the escape wheel.
func (h Heard) NeedsS(leastS float64) float64 {
	if !(h.TurnS > 0) {
		return leastS
	}
	const rounding = 1e-9
	return math.Ceil(leastS/h.TurnS-rounding) * h.TurnS
}

// settles reports whether the figures alone would do.
func (h Heard) settles() bool {
	if h.Standing == heard.NothingToJudge {
		return h.FitUSPerDay <= enoughUSPerDay
	}
	return h.Standing == heard.Enough || h.Standing == heard.Barred
}

// Decided reports whether listening longer is of no use: the watch was heard for long enough, nothing doubts its sound,
// and its figures do.
func (h Heard) Decided(leastS float64) bool {
	return h.Watch && h.Doubt == "" && h.SpanS >= h.NeedsS(leastS) && h.settles()
}

// Settled is how far that is, 0 to 1: 1 is decided.
func (h Heard) Settled(leastS float64) float64 {
	switch {
	case !h.Watch || !(h.FitUSPerDay > 0):
		return 0
	case h.Decided(leastS):
		return 1
	}
	fit := enoughUSPerDay / h.FitUSPerDay
	if h.settles() {
		fit = 1
	}
	return math.Max(0, min(0.95, fit, h.SpanS/h.NeedsS(leastS)))
}

// Open says in a sentence what keeps figures that would do from deciding; "" when nothing does, or they would not do.
func (h Heard) Open(leastS float64) string {
	switch needs := h.NeedsS(leastS); {
	case !h.Watch || !h.settles():
		return ""
	case h.SpanS < needs:
		return fmt.Sprintf("Heard for %d s: the position is decided after %d s, whole turns of the escape wheel.",
			int(h.SpanS), int(math.Ceil(needs)))
	case h.Doubt != "":
		return "Not decided while the sound is in doubt. " + h.Doubt
	}
	return ""
}

// Says is which figures of a result mean something yet.
type Says struct{ Rate, Amplitude, BeatError bool }

// SaysOf judges the figures of a result: each by its own uncertainty, and none before the escape wheel has turned once.
// The recorder's clock is left out, since it is the same from the first second on.
func SaysOf(r acoustic.Result, teeth int) Says {
	h := HeardOf(r, heard.NothingToJudge, teeth)
	if !(h.SpanS >= sayingTurns*h.TurnS) {
		return Says{}
	}
	return Says{Rate: h.FitUSPerDay <= sayingRateUSPerDay,
		Amplitude: r.Amplitude != nil && r.Amplitude.Expanded() <= sayingAmplitudeUDeg,
		BeatError: r.BeatError != nil && r.BeatError.Expanded() <= sayingBeatErrorUMs}
}
