package heard_test

import (
	"context"
	"errors"
	"strings"
	"testing"
	"time"

	"ledgerwheel/domain/acoustic"
	"ledgerwheel/domain/heard"
)

// TestClash: what contradicts a calibre, and what doesn't. The beats are those of calibres in use; a watch a minute a day
// off, which is a thousandth, is still of its calibre.
func TestClash(t *testing.T) {
	t.Parallel()
	deg := 270.0
	of := func(beats, lift float64) heard.Facts {
		return heard.Facts{BeatsPerHour: beats, LiftAngleDeg: lift, AmplitudeDeg: &deg}
	}
	remarked := func(beats float64, code acoustic.NoteCode) heard.Facts {
		return heard.Facts{BeatsPerHour: beats, Notes: []heard.Note{{Code: string(code), Text: "So it is."}}}
	}
	calibre := heard.Stated{Calibre: "TQ 12", BeatsPerHour: 21600, LiftAngleDeg: 44}
	for _, tt := range []struct {
		name   string
		stated heard.Stated
		facts  heard.Facts
		says   string
	}{
		{"as the calibre has it", calibre, of(21600, 44), ""},
		{"a minute a day fast", calibre, of(21600*(1+60./86400), 44), ""},
		{"another beat", calibre, of(28800, 44), "28800 beats an hour were heard, and the calibre TQ 12 has 21600."},
		{"the next usual beat", calibre, of(21000, 44), "21000 beats"},
		{"half the beats", calibre, of(10800, 44), "10800 beats"},
		{"another lift angle", calibre, of(21600, 52), "a lift angle of 52°, and the calibre TQ 12 has 44°"},
		{"no amplitude to be wrong", calibre, heard.Facts{BeatsPerHour: 21600, LiftAngleDeg: 52}, ""},
		{"nothing is known", heard.Stated{}, of(28800, 52), ""},
		{"a loop", calibre, remarked(21600, acoustic.NoteLoop), "So it is."},
		{"a loop, nothing is known", heard.Stated{}, remarked(21600, acoustic.NoteLoop), "So it is."},
		{"no usual beat", heard.Stated{}, remarked(23000, acoustic.NoteOddBeat), "So it is."},
		{"no usual beat but the calibre's", heard.Stated{BeatsPerHour: 23000}, remarked(23000, acoustic.NoteOddBeat), ""},
		{"no usual beat nor the calibre's", calibre, remarked(23000, acoustic.NoteOddBeat), "23000 beats an hour were heard"},
		{"weak", heard.Stated{}, remarked(21600, acoustic.NoteWeak), ""},
		{"stated by a person", heard.Stated{BeatsPerHour: 18000}, of(21600, 52), "what was stated is 18000"},
	} {
		got := tt.stated.Clash(tt.facts)
		if (got == "") != (tt.says == "") || !strings.Contains(got, tt.says) {
			t.Errorf("%s: %q, want %q", tt.name, got, tt.says)
		}
	}
	assumed := of(21600, 52)
	assumed.LiftAngleAssumed = true
	if got := calibre.Clash(assumed); !strings.Contains(got, "an assumed lift angle of 52°") {
		t.Errorf("an assumed lift angle is not called so: %q", got)
	}
}

// fakeWatch is heard near its own beats, and near half of them, as the listener hears.
func fakeWatch(perHour float64, asked *[]float64) func(acoustic.Settings, float64) (acoustic.Result, error) {
	return func(s acoustic.Settings, mostS float64) (acoustic.Result, error) {
		*asked = append(*asked, s.BeatsPerHour, mostS)
		switch s.BeatsPerHour {
		case 0, perHour:
			return acoustic.Result{BeatsPerHour: perHour, BeatsPerHourStated: s.BeatsPerHour > 0}, nil
		case perHour / 2:
			return acoustic.Result{BeatsPerHour: perHour / 2, BeatsPerHourStated: true}, nil
		}
		return acoustic.Result{}, acoustic.ErrNoWatch
	}
}

func TestHear(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		name            string
		sound, stated   float64
		perHour         float64
		times           int
		remarked, asked bool
	}{
		{"found by ear", 28800, 0, 28800, 1, false, false},
		{"as stated", 28800, 28800, 28800, 2, false, false},
		{"another watch", 28800, 21600, 28800, 2, true, true},
		{"every other beat", 28800, 14400, 14400, 2, true, true},
	} {
		var asked []float64
		r, err := heard.Hear(acoustic.Settings{BeatsPerHour: tt.stated}, fakeWatch(tt.sound, &asked))
		if err != nil || r.BeatsPerHour != tt.perHour || len(asked) != 2*tt.times {
			t.Errorf("%s: %v beats in %d times, %v", tt.name, r.BeatsPerHour, len(asked)/2, err)
		}
		if remarked := len(r.Notes) == 1 && r.Notes[0].Code == heard.NoteOtherBeat; remarked != tt.remarked {
			t.Errorf("%s: notes %v", tt.name, r.Notes)
		}
		facts := heard.FactsOf(r, heard.Source{})
		if clash := (heard.Stated{BeatsPerHour: tt.stated}).Clash(facts); (clash != "") != tt.asked {
			t.Errorf("%s: asks %q", tt.name, clash)
		}
	}
	for _, want := range []error{acoustic.ErrNoWatch, context.Canceled} {
		_, err := heard.Hear(acoustic.Settings{BeatsPerHour: 18000}, func(acoustic.Settings, float64) (acoustic.Result, error) {
			return acoustic.Result{}, want
		})
		if !errors.Is(err, want) {
			t.Errorf("error %v, want %v", err, want)
		}
	}
}

func TestAnswerIsInTheSummary(t *testing.T) {
	t.Parallel()
	f := heard.Facts{Recorder: "bench microphone",
		RightWatch: &heard.RightWatch{By: "Emrys Vale", At: time.Now(), Asked: "28800 beats, not 21600. " + heard.RightWatchQuestion}}
	if got := f.Summary("final", "CH, full wind"); !strings.Contains(got, "Is this the right watch? Emrys Vale said yes.") {
		t.Error(got)
	}
}

func TestAssumedLift(t *testing.T) {
	t.Parallel()
	for typed, assumed := range map[string]bool{"": true, " ": true, "52": false, "44°": false} {
		a, bad := heard.ParseAsked(func(field string) string {
			if field == "lift_angle" {
				return typed
			}
			return ""
		})
		if len(bad) > 0 || a.LiftAssumed != assumed || a.Source().LiftAngleAssumed != assumed {
			t.Errorf("%q: assumed %v, %v", typed, a.LiftAssumed, bad)
		}
	}
}
