package recorder

import (
	"strings"
	"time"
	"unicode/utf8"

	"ledgerwheel/domain/acoustic"
	"ledgerwheel/domain/metrology"
)

// Recorder is one microphone with the sound card or converter whose clock counts its samples.
type Recorder struct {
	ID int64
	// Name is what readings taken by it name as their instrument. It never changes, so that a reading can always be
	// traced to its clock.
	Name        string
	Note        string // what microphone and what sound card, as the shop describes them
	UsualRateHz int    // samples a second it is usually used at
	AddedAt     time.Time
	AddedBy     string
	RetiredAt   time.Time // zero while it is in use
	RetiredBy   string
	RetiredWhy  string
	// Calibration is the one in force, nil when there is none.
	Calibration *Calibration
}

// The rates that sound is recorded at, in samples a second.
const (
	minRateHz     = 8000
	maxRateHz     = 384000
	DefaultRateHz = 48000
)

const (
	maxNameRunes = 60
	maxNoteRunes = 500
)

// Retired reports whether the recorder is out of use.
func (r Recorder) Retired() bool { return !r.RetiredAt.IsZero() }

// Problems says, by form field, what stops r being saved: "name", "note", "usual_rate".
func (r Recorder) Problems() map[string]string {
	bad := map[string]string{}
	switch {
	case strings.TrimSpace(r.Name) == "":
		bad["name"] = "Give the recorder a name; its readings will show it as their instrument."
	case strings.ContainsAny(r.Name, "\n\t"):
		bad["name"] = "Write the name in one line."
	case utf8.RuneCountInString(r.Name) > maxNameRunes:
		bad["name"] = "This name is too long: at most 60 characters."
	}
	if utf8.RuneCountInString(r.Note) > maxNoteRunes {
		bad["note"] = "This note is too long: at most 500 characters."
	}
	if r.UsualRateHz < minRateHz || r.UsualRateHz > maxRateHz {
		bad["usual_rate"] = "Give samples a second from 8000 to 384000, such as 48000."
	}
	return bad
}

// NameKey is a name without case and with single spaces: two recorders must differ in it.
func NameKey(name string) string { return strings.ToLower(strings.Join(strings.Fields(name), " ")) }

// Allowances for a quartz after its calibration, each the half-width of a rectangular distribution. Common practice,
// from memory: AT-cut crystals as sound cards use them age by some 1 to 5 ppm in a year, most in the first; within the
// few degrees by which a workshop's temperature differs from that of the calibration they move by less than 1 ppm.
// (The tuning-fork crystal of a watch is another matter: about −0.035 ppm for the square of each degree off 25 °C.)
const (
	ageingPPMPerYear = 3.0
	temperaturePPM   = 1.0
)

// defaultRedoMonths is after how many months a calibration is to be made anew unless it says otherwise. Common
// practice.
const defaultRedoMonths = 12

// staleYears is how long a calibration is used at all. What lies further back may well have been another sound card.
const staleYears = 5

const hoursPerYear = 365.25 * 24

// Clock returns what is known of the recorder's clock at a time: the calibration's figure, and its uncertainty together
// with what the quartz may have aged by since and what temperature may do:
//
//	u² = u²(calibration) + (3 ppm·years)²/3 + (1 ppm)²/3
//
// A calibration that is overdue still counts, since the growing allowance for ageing says what it is worth. Without a
// calibration, or with one over five years away, the clock is known to within ±50 ppm only.
func (r Recorder) Clock(at time.Time) acoustic.Clock {
	c := r.Calibration
	if c == nil || c.stale(at) {
		return acoustic.UncalibratedClock()
	}
	return acoustic.Clock{PPM: c.PPM, StdPPM: metrology.Quadrature(c.StdPPM,
		metrology.FromHalfWidth(ageingPPMPerYear*c.yearsTo(at)), metrology.FromHalfWidth(temperaturePPM))}
}

// Standing says how far a recorder's clock can be relied on.
type Standing string

// The standings.
const (
	NeverCalibrated Standing = "never calibrated"
	Calibrated      Standing = "calibrated"
	Overdue         Standing = "overdue"
)

// Standing returns how the recorder's calibration stands on a civil day (midnight UTC). A calibration too old to be
// used is overdue too, and its clock is taken as one never calibrated.
func (r Recorder) Standing(day time.Time) Standing {
	switch {
	case r.Calibration == nil:
		return NeverCalibrated
	case day.After(r.Calibration.RedoBy):
		return Overdue
	}
	return Calibrated
}
