// Package poising is a round of poising by rates as the bench writes it down: which points of the dial stood uppermost,
// what was read, what was done before it, and what all rounds together say. The arithmetic is package oscillator's.
package poising

import (
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"ledgerwheel/domain/oscillator"
	"ledgerwheel/domain/timing"
)

// Reading is what was read with one point of the dial uppermost.
type Reading struct {
	UpDeg     float64 // degrees clockwise from 12
	Rate      timing.Figure
	Amplitude timing.Figure
}

// Round is one round: the hanging readings taken together, and what was done to the balance since the round before.
type Round struct {
	Readings []Reading
	Done     string // what was taken off or added since the round before, and where; may be empty
}

const maxDone = 500

// UpWords says which point of the dial is up: "12 up", "half past 1 up". The four between the hour marks of the
// standard's positions have no symbol there; they go by the half hour.
func UpWords(upDeg float64) string {
	hour := int(upDeg/30+0.001) % 12
	if hour == 0 {
		hour = 12
	}
	if between(upDeg) {
		return fmt.Sprintf("half past %d up", hour)
	}
	return fmt.Sprintf("%d up", hour)
}

// between reports whether a point is one of our own between the hour marks.
func between(upDeg float64) bool { return int(upDeg+0.5)%90 != 0 }

// Position is the position of the standard in which a point of the dial is up; found is false for those between.
func Position(upDeg float64) (p timing.Position, found bool) {
	for _, p := range timing.Positions() {
		if hour, hanging := p.UppermostHour(); hanging && (hour%12)*30 == int(upDeg+0.5) {
			return p, true
		}
	}
	return "", false
}

// Field names the form field of a figure: "rate-45".
func Field(q timing.Quantity, upDeg float64) string {
	return fmt.Sprintf("%s-%d", q, int(upDeg+0.5))
}

// quantities are those read in poising.
func quantities() []timing.Quantity { return []timing.Quantity{timing.Rate, timing.Amplitude} }

// Fields are the names of the form's fields in their order.
func Fields() []string {
	var names []string
	for _, up := range oscillator.PoisingUps(true) {
		for _, q := range quantities() {
			names = append(names, Field(q, up))
		}
	}
	return append(names, "readings", "done")
}

// Parse reads a round as typed, which typed returns by field name. The problems are keyed by field name ("readings" for
// the round as a whole); where there are any, nothing is to be saved.
func Parse(typed func(field string) string) (Round, map[string]string) {
	r, bad := Round{Done: strings.TrimSpace(typed("done"))}, map[string]string{}
	for _, up := range oscillator.PoisingUps(true) {
		var read [2]*timing.Figure
		for i, q := range quantities() {
			f, problem := timing.ParseFigure(q, typed(Field(q, up)))
			if problem != "" {
				bad[Field(q, up)] = problem
			}
			read[i] = f
		}
		switch rate, amplitude := read[0], read[1]; {
		case bad[Field(timing.Rate, up)] != "" || bad[Field(timing.Amplitude, up)] != "" || rate == nil && amplitude == nil:
		case rate == nil:
			bad[Field(timing.Rate, up)] = "Give the rate too, or clear the amplitude."
		case amplitude == nil:
			bad[Field(timing.Amplitude, up)] = "Give the amplitude too: how a heavy spot shows depends on it."
		default:
			r.Readings = append(r.Readings, Reading{UpDeg: up, Rate: *rate, Amplitude: *amplitude})
		}
	}
	if len(bad) == 0 {
		bad = r.Problems()
	}
	return r, bad
}

// Problems says, by form field, what stops r being kept.
func (r Round) Problems() map[string]string {
	bad := map[string]string{}
	had := map[float64]bool{}
	for _, x := range r.Readings {
		if had[x.UpDeg] || !slices.Contains(oscillator.PoisingUps(true), x.UpDeg) {
			bad["readings"] = "Each of the eight points is read once."
		}
		had[x.UpDeg] = true
	}
	if len(r.Readings) == 0 {
		bad["readings"] = "Give rate and amplitude in four or eight hanging positions."
	}
	if utf8.RuneCountInString(r.Done) > maxDone {
		bad["done"] = "Keep this to 500 characters."
	}
	return bad
}

// Typed is the round as it would be typed, by field name.
func (r Round) Typed() map[string]string {
	typed := map[string]string{"done": r.Done}
	for _, x := range r.Readings {
		typed[Field(timing.Rate, x.UpDeg)] = x.Rate.InputText(timing.Rate)
		typed[Field(timing.Amplitude, x.UpDeg)] = x.Amplitude.InputText(timing.Amplitude)
	}
	return typed
}

// Copied is the hanging readings of a run at one state of wind, as they would be typed into a round.
func Copied(run timing.Run, hours float64) map[string]string {
	typed := map[string]string{}
	for _, up := range oscillator.PoisingUps(false) {
		p, _ := Position(up)
		if x, found := run.Averaged().Reading(p, hours); found && x.RateSPerDay != nil && x.AmplitudeDeg != nil {
			typed[Field(timing.Rate, up)] = x.RateSPerDay.InputText(timing.Rate)
			typed[Field(timing.Amplitude, up)] = x.AmplitudeDeg.InputText(timing.Amplitude)
		}
	}
	return typed
}

// AtPoising reports whether a run was read hanging at amplitudes to poise at, at a state of wind.
func AtPoising(run timing.Run, hours float64) bool {
	read := 0
	for _, up := range oscillator.PoisingUps(false) {
		p, _ := Position(up)
		x, found := run.Averaged().Reading(p, hours)
		if !found || x.RateSPerDay == nil || x.AmplitudeDeg == nil {
			continue
		}
		if a := x.AmplitudeDeg.Value; a < oscillator.PoisingLeastDeg || a > oscillator.PoisingMostDeg {
			return false
		}
		read++
	}
	return read > 0
}

// Judge says what each round says, given those before it. A heavy spot that went over to the other side is told from the
// last round that asked for a cut.
func Judge(rounds []Round, b oscillator.Balance) []oscillator.PoisingRound {
	var out []oscillator.PoisingRound
	var cut *oscillator.PoisingRound
	for _, r := range rounds {
		said := oscillator.Poise(r.hanging(), b, cut)
		switch said.State {
		case oscillator.PoisingLighten, oscillator.PoisingLast:
			cut = &said
		case oscillator.PoisingStop, oscillator.PoisingTurned:
			cut = nil
		}
		out = append(out, said)
	}
	return out
}

func (r Round) hanging() []oscillator.HangingReading {
	out := make([]oscillator.HangingReading, len(r.Readings))
	for i, x := range r.Readings {
		out[i] = oscillator.HangingReading{UpDeg: x.UpDeg, RateSPerDay: x.Rate.Value, AmplitudeDeg: x.Amplitude.Value}
	}
	return out
}

// Text is one reading in words for the journal: "+23 s/d, 165°".
func (x Reading) Text() string {
	return x.Rate.InputText(timing.Rate) + " s/d, " + x.Amplitude.InputText(timing.Amplitude) + "°"
}

// ReadSummary is what the journal tells of a round read.
func ReadSummary(round int, said oscillator.PoisingRound) string {
	return fmt.Sprintf("Poising round %d read: %s.", round, StateWords(said.State))
}

// CorrectedSummary is what it tells of a round that was corrected, StruckSummary of one that was struck out.
func CorrectedSummary(round int, said oscillator.PoisingRound) string {
	return fmt.Sprintf("Poising round %d corrected: %s.", round, StateWords(said.State))
}

// StruckSummary is what the journal tells of a round that was struck out.
func StruckSummary(round int) string { return fmt.Sprintf("Poising round %d struck out.", round) }

// stateWords says a state in few words.
var stateWords = map[oscillator.PoisingState]string{
	oscillator.PoisingRead:    "more readings wanted",
	oscillator.PoisingSwing:   "not the amplitude to poise at",
	oscillator.PoisingDoubt:   "in doubt, take nothing off",
	oscillator.PoisingLighten: "lighten",
	oscillator.PoisingLast:    "lighten a last time",
	oscillator.PoisingTurned:  "too much was taken off",
	oscillator.PoisingStop:    "stop",
}

// StateWords says where poising stands.
func StateWords(s oscillator.PoisingState) string { return stateWords[s] }

// NoReason is said where a round is corrected or struck out without a reason.
const NoReason = "The round is on record: say why. It stays beside it and in the journal."
