package heard

import (
	"fmt"
	"math"
	"strings"

	"ledgerwheel/domain/acoustic"
	"ledgerwheel/domain/figure"
	"ledgerwheel/domain/timing"
)

// Asked is what is known of a recording that is sent in. It is kept as JSON, so no field is renamed.
type Asked struct {
	RecorderID   int64           `json:"recorder_id,omitempty"`
	Recorder     string          `json:"recorder"`
	ClockPPM     float64         `json:"clock_ppm"`
	ClockStdPPM  float64         `json:"clock_std_ppm"`
	BeatsPerHour float64         `json:"beats_per_hour,omitempty"` // 0 when it is to be found
	LiftAngleDeg float64         `json:"lift_angle_deg"`
	LiftAssumed  bool            `json:"lift_angle_assumed,omitempty"` // it was left empty
	Position     timing.Position `json:"position,omitempty"`           // "" when not said
	Hours        float64         `json:"hours"`                        // after winding
	SampleRateHz float64         `json:"sample_rate_hz"`
	LengthS      float64         `json:"length_s,omitempty"`   // as the file says, 0 when it does not
	ByBrowser    bool            `json:"by_browser,omitempty"` // the browser decoded another kind of file
}

// Bounds of what may be stated of a watch: wider than any lever calibre in use.
const (
	MinBeatsPerHour, MaxBeatsPerHour = 3600, 86400
	minLiftAngleDeg, maxLiftAngleDeg = 10, 120
)

// UnlistedRecorder is the name that readings of a recorder outside the shop's list take. Nothing is known of its clock.
const UnlistedRecorder = "unlisted recorder"

// ParseAsked reads the fields "beats_per_hour", "lift_angle", "position" and "hours" as typed. Blank beats are to be
// found, a blank lift angle is the default, a blank position is not said, blank hours are full wind. The problems are
// keyed by field name.
func ParseAsked(typed func(field string) string) (Asked, map[string]string) {
	bad := map[string]string{}
	a := Asked{LiftAngleDeg: acoustic.DefaultLiftAngleDeg, LiftAssumed: strings.TrimSpace(typed("lift_angle")) == ""}
	if text := typed("beats_per_hour"); strings.TrimSpace(text) != "" {
		n, err := figure.ParseThousands(text)
		if a.BeatsPerHour = n.Float(); err != nil || a.BeatsPerHour < MinBeatsPerHour || a.BeatsPerHour > MaxBeatsPerHour {
			a.BeatsPerHour = 0
			bad["beats_per_hour"] = figure.Sentence(err,
				"Give beats per hour from 3600 to 86400, such as 28800, or leave it empty.")
		}
	}
	if text := typed("lift_angle"); strings.TrimSpace(text) != "" {
		if a.LiftAngleDeg = number(text, "°", "deg"); !(a.LiftAngleDeg >= minLiftAngleDeg &&
			a.LiftAngleDeg <= maxLiftAngleDeg) {
			a.LiftAngleDeg, bad["lift_angle"] = 0, "Give a lift angle from 10° to 120°, such as 52."
		}
	}
	if text := typed("position"); strings.TrimSpace(text) != "" {
		p, err := timing.ParsePosition(text)
		if err != nil {
			bad["position"] = "Choose one of the six positions."
		}
		a.Position = p
	}
	if text := typed("hours"); strings.TrimSpace(text) != "" {
		hours, problem := timing.ParseHours(text)
		if problem != "" {
			bad["hours"] = problem
		}
		a.Hours = hours
	}
	return a, bad
}

// number reads a number, with or without one of the units; NaN when it is none, which no range holds.
func number(text string, units ...string) float64 {
	n, err := figure.Parse(text, units...)
	if err != nil {
		return math.NaN()
	}
	return n.Float()
}

// Clock is the recorder's clock as it was known when the recording was sent in.
func (a Asked) Clock() acoustic.Clock { return acoustic.Clock{PPM: a.ClockPPM, StdPPM: a.ClockStdPPM} }

// Settings are what the listener is told.
func (a Asked) Settings() acoustic.Settings {
	return acoustic.Settings{BeatsPerHour: a.BeatsPerHour, LiftAngleDeg: a.LiftAngleDeg, Clock: a.Clock()}
}

// Source is the recorder of the facts.
func (a Asked) Source() Source {
	return Source{RecorderID: a.RecorderID, Recorder: a.Recorder, Clock: a.Clock(), SampleRateHz: a.SampleRateHz,
		LiftAngleAssumed: a.LiftAssumed}
}

const (
	instantsRangeText = "Give milliseconds from −100 to +100, such as −9.4."
	mostInstantMs     = 100
)

// InstantFields names the form fields of the instants, by swing.
var InstantFields = [2]struct{ Unlocking, Drop string }{{"tick_unlocking", "tick_drop"},
	{"tock_unlocking", "tock_drop"}}

// ParseInstants reads the instants as typed. A blank unlocking is left as it was found. The problems are keyed by field
// name.
func ParseInstants(typed func(field string) string) ([2]Instants, map[string]string) {
	bad := map[string]string{}
	var out [2]Instants
	for swing, f := range InstantFields {
		if text := typed(f.Unlocking); strings.TrimSpace(text) != "" {
			x := instant(text)
			out[swing].UnlockingMs = &x
			if math.IsNaN(x) {
				bad[f.Unlocking] = instantsRangeText
			}
		}
		if out[swing].DropMs = instant(typed(f.Drop)); math.IsNaN(out[swing].DropMs) {
			bad[f.Drop] = instantsRangeText
		}
		if u := out[swing].UnlockingMs; u != nil && *u >= out[swing].DropMs {
			bad[f.Unlocking] = "The unlocking comes before the drop."
		}
	}
	return out, bad
}

// instant reads a signed number of milliseconds; NaN when it is none or out of range.
func instant(text string) float64 {
	x := number(text, "ms")
	if !(math.Abs(x) <= mostInstantMs) {
		return math.NaN()
	}
	return x
}

// Same reports whether two sets of instants agree to a hundredth of a millisecond, which is what forms show.
func Same(a, b [2]Instants) bool {
	const shown = 0.00501
	for swing := range a {
		u, v := a[swing].UnlockingMs, b[swing].UnlockingMs
		if (u == nil) != (v == nil) || u != nil && math.Abs(*u-*v) > shown ||
			math.Abs(a[swing].DropMs-b[swing].DropMs) > shown {
			return false
		}
	}
	return true
}

// WaitingProblem says that somebody has so many recordings waiting that no more are taken.
func WaitingProblem(waiting int) string {
	return fmt.Sprintf("You have %d recordings waiting. Throw some away first.", waiting)
}
