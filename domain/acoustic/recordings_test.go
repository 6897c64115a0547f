package acoustic_test

import (
	"context"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"ledgerwheel/domain/acoustic"
	"ledgerwheel/domain/recording"
)

// known is what truth.json says of a recording: made by a simulator that shares nothing with this project's.
type known struct {
	Watch               bool    `json:"watch"`
	BeatsPerHour        float64 `json:"beats_per_hour"`
	LiftAngleDeg        float64 `json:"lift_angle_deg"`
	RateSPerDay         float64 `json:"rate_s_per_day"`
	ApparentRateSPerDay float64 `json:"apparent_rate_s_per_day"`
	ClockPPM            float64 `json:"clock_ppm"`
	AmplitudeDeg        float64 `json:"amplitude_deg"`
	BeatErrorMs         float64 `json:"beat_error_ms"`
	SNRdB               float64 `json:"snr_db"`
}

func knownRecordings(t *testing.T) map[string]known {
	t.Helper()
	text, err := os.ReadFile(filepath.Join("testdata", "recordings", "truth.json"))
	if err != nil {
		t.Fatal(err)
	}
	var all map[string]known
	if err := json.Unmarshal(text, &all); err != nil {
		t.Fatal(err)
	}
	if len(all) < 12 {
		t.Fatalf("only %d recordings", len(all))
	}
	return all
}

func listenTo(t *testing.T, name string, s acoustic.Settings) (acoustic.Result, error) {
	t.Helper()
	file, err := os.Open(filepath.Join("testdata", "recordings", name))
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = file.Close() }()
	r, err := recording.Open(file)
	if err != nil {
		t.Fatal(err)
	}
	return recording.Listen(context.Background(), r, s, nil)
}

// allowed are the greatest errors allowed of one recording, by its signal to noise.
func allowed(snrDB float64) (rate, amplitude, beatError float64) {
	switch {
	case snrDB >= 20:
		return 0.16, 2, 0.08
	case snrDB >= 9:
		return 0.25, 3, 0.1
	}
	return 0.5, 5, 0.15
}

// TestRecordings listens to recordings of another simulator, whose figures are known.
func TestRecordings(t *testing.T) {
	t.Parallel()
	for name, truth := range knownRecordings(t) {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			clock := acoustic.Clock{PPM: truth.ClockPPM}
			r, err := listenTo(t, name, acoustic.Settings{LiftAngleDeg: truth.LiftAngleDeg, Clock: clock})
			if !truth.Watch {
				if err == nil {
					t.Fatalf("a watch was heard where there is none: %+v", r.Rate)
				}
				return
			}
			if err != nil {
				t.Fatal(err)
			}
			rate, amplitude, beatError := allowed(truth.SNRdB)
			if r.BeatsPerHour != truth.BeatsPerHour {
				t.Errorf("beats per hour %v, want %v", r.BeatsPerHour, truth.BeatsPerHour)
			}
			if d := r.Rate.Value - truth.RateSPerDay; math.Abs(d) > rate {
				t.Errorf("rate %v, want %v", r.Rate, truth.RateSPerDay)
			}
			if r.Amplitude == nil {
				t.Error("no amplitude")
			} else if d := r.Amplitude.Value - truth.AmplitudeDeg; math.Abs(d) > amplitude {
				t.Errorf("amplitude %v, want %v", r.Amplitude, truth.AmplitudeDeg)
			}
			if d := math.Abs(r.BeatError.Value) - truth.BeatErrorMs; math.Abs(d) > beatError {
				t.Errorf("beat error %v, want %v", r.BeatError, truth.BeatErrorMs)
			}
			// "12" marks the drop's peak over the noise's rms, which the averaged drop understates or overstates by its voice.
			if math.Abs(r.SNRdB-truth.SNRdB) > 4 {
				t.Errorf("signal to noise %.1f dB, want %.1f", r.SNRdB, truth.SNRdB)
			}
		})
	}
}

// TestRecordingsRemarks holds what is remarked on the recordings that their names speak of.
func TestRecordingsRemarks(t *testing.T) {
	t.Parallel()
	for start, code := range map[string]acoustic.NoteCode{
		"clipped": acoustic.NoteClipped, "stops": acoustic.NoteStops, "quartz-clock": acoustic.NoteQuartz,
		"near-silent": acoustic.NoteWeak, "knocks": acoustic.NoteKnocks,
	} {
		for name := range knownRecordings(t) {
			if !strings.HasPrefix(name, start) {
				continue
			}
			r, err := listenTo(t, name, acoustic.Settings{})
			if err != nil {
				t.Errorf("%s: %v", name, err)
				continue
			}
			if !slices.ContainsFunc(r.Notes, func(n acoustic.Note) bool { return n.Code == code }) {
				t.Errorf("%s: no note %q in %v", name, code, r.Notes)
			}
		}
	}
	r, err := listenTo(t, "clean-28800.flac", acoustic.Settings{})
	if err != nil || len(r.Notes) > 0 {
		t.Errorf("a clean recording: %v, %v", r.Notes, err)
	}
	r, _ = listenTo(t, "stops-after-11s-19800.flac", acoustic.Settings{})
	if math.Abs(r.EndS-11) > 0.5 {
		t.Errorf("stopped after %.1f s, want 11", r.EndS)
	}
}
