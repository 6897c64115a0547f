package heard

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"time"

	"ledgerwheel/domain/acoustic"
	"ledgerwheel/domain/figure"
)

// beatsApart is from which share on two trains of beats are of different calibres: a watch is off by 86 s/d at a
// thousandth, and the beats in use lie at least 2.8 % apart (21 000 and 21 600).
const beatsApart = 0.01

// liftApartDeg is from which difference on two lift angles are two: they are stated to a tenth of a degree at best.
const liftApartDeg = 0.05

// UnaidedS is how many seconds are listened to again without the stated beats: the beat itself is plain within a few.
const UnaidedS = 60

// NoteOtherBeat: without the stated beats others are heard.
const NoteOtherBeat acoustic.NoteCode = "other-beat"

// Stated is what is known of a watch before it is heard. Zero is what is not known.
type Stated struct {
	Calibre      string // its name; "" where a person stated the figures
	BeatsPerHour float64
	LiftAngleDeg float64
}

// RightWatch is the answer of a person who was asked whether the sound is of the docket's watch, and said yes.
type RightWatch struct {
	By    string    `json:"by"`
	At    time.Time `json:"at"`
	Asked string    `json:"asked"`
}

// RightWatchQuestion is what is asked where they clash.
const RightWatchQuestion = "Is this the right watch?"

// Clash says what of the sound contradicts what is stated of the watch, or that it is of a watch at all, "" where nothing
// does. Before it is kept a person must have been asked [RightWatchQuestion].
func (s Stated) Clash(f Facts) string {
	var why []string
	otherBeat := false
	for _, n := range f.Notes {
		switch acoustic.NoteCode(n.Code) {
		case NoteOtherBeat:
			otherBeat = true
		case acoustic.NoteLoop:
		case acoustic.NoteOddBeat:
			if s.BeatsPerHour > 0 { // which say whether that is the watch's
				continue
			}
		default:
			continue
		}
		why = append(why, n.Text)
	}
	if differ(f.BeatsPerHour, s.BeatsPerHour) && !otherBeat {
		why = append(why, fmt.Sprintf("%.0f beats an hour were heard, and %s %.0f.", f.BeatsPerHour, s.has(), s.BeatsPerHour))
	}
	if f.AmplitudeDeg != nil && s.LiftAngleDeg > 0 && math.Abs(f.LiftAngleDeg-s.LiftAngleDeg) > liftApartDeg {
		why = append(why, fmt.Sprintf("The amplitude was found for %s, and %s %s°.", LiftWords(f.LiftAngleDeg, f.LiftAngleAssumed),
			s.has(), figure.Plain(s.LiftAngleDeg)))
	}
	return strings.Join(why, " ")
}

func (s Stated) has() string {
	if s.Calibre == "" {
		return "what was stated is"
	}
	return "the calibre " + s.Calibre + " has"
}

// differ reports whether both are known and not of one calibre.
func differ(a, b float64) bool { return a > 0 && b > 0 && math.Abs(a-b) > beatsApart*b }

// LiftWords names a lift angle that an amplitude was found for.
func LiftWords(deg float64, assumed bool) string {
	if assumed {
		return fmt.Sprintf("an assumed lift angle of %s°", figure.Plain(deg))
	}
	return fmt.Sprintf("a lift angle of %s°", figure.Plain(deg))
}

// Hear listens as the settings say and, where they state the beats, once more without: near the stated beats alone
// another watch is not heard, or half of its beats are. Listen is asked for the whole sound, or for its first seconds
// where most is above 0. What is heard of other beats takes the place of nothing, and is remarked on.
func Hear(s acoustic.Settings, listen func(s acoustic.Settings, mostS float64) (acoustic.Result, error)) (acoustic.Result,
	error) {
	r, err := listen(s, 0)
	if s.BeatsPerHour == 0 || err != nil && !errors.Is(err, acoustic.ErrNoWatch) {
		return r, err
	}
	unaided := s
	unaided.BeatsPerHour = 0
	if err != nil {
		other, failed := listen(unaided, 0)
		if failed != nil {
			if errors.Is(failed, acoustic.ErrNoWatch) {
				failed = err
			}
			return acoustic.Result{}, failed
		}
		if n, differs := OtherBeat(s.BeatsPerHour, other.BeatsPerHour); differs {
			other.Notes = append(other.Notes, n)
		}
		return other, nil
	}
	other, failed := listen(unaided, UnaidedS)
	if failed != nil && !errors.Is(failed, acoustic.ErrNoWatch) {
		return acoustic.Result{}, failed
	}
	if n, differs := OtherBeat(s.BeatsPerHour, other.BeatsPerHour); failed == nil && differs {
		r.Notes = append(r.Notes, n)
	}
	return r, nil
}

// OtherBeat remarks on beats that were heard unaided and are not the stated ones.
func OtherBeat(statedPerHour, heardPerHour float64) (n acoustic.Note, differs bool) {
	if !differ(heardPerHour, statedPerHour) {
		return n, false
	}
	return acoustic.Note{Code: NoteOtherBeat, Text: fmt.Sprintf("By itself this sound beats %.0f times an hour, and not %.0f as was "+
		"stated.", heardPerHour, statedPerHour)}, true
}
