package main

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"testing"
)

// knownFigures is what the makers of the recordings say of one.
type knownFigures struct {
	BeatsPerHour float64 `json:"beats_per_hour"`
	LiftAngleDeg float64 `json:"lift_angle_deg"`
	RateSPerDay  float64 `json:"rate_s_per_day"`
	ClockPPM     float64 `json:"clock_ppm"`
	AmplitudeDeg float64 `json:"amplitude_deg"`
	BeatErrorMs  float64 `json:"beat_error_ms"`
	SNRdB        float64 `json:"snr_db"`
	Watch        bool    `json:"watch"`
}

// within are the errors that a single recording may show at a signal to noise: three times the rms asked of the rate;
// of amplitude and beat error what counts as off, which at 9 dB and above none of so few may be.
func within(snrDB float64) (rateSPerDay, amplitudeDeg, beatErrorMs float64) {
	switch {
	case snrDB >= 20:
		return 0.24, 5, 0.15
	case snrDB >= 9:
		return 0.36, 5, 0.15
	}
	return 0.75, math.Inf(1), math.Inf(1)
}

// TestListenToRecordings asks the command as a script would about recordings whose figures are known, made by a
// simulator that is none of ours.
func TestListenToRecordings(t *testing.T) {
	t.Parallel()
	folder := filepath.Join("..", "..", "domain", "acoustic", "testdata", "recordings")
	text, err := os.ReadFile(filepath.Join(folder, "truth.json"))
	if err != nil {
		t.Fatal(err)
	}
	var known map[string]knownFigures
	if err := json.Unmarshal(text, &known); err != nil {
		t.Fatal(err)
	}
	if len(known) < 12 {
		t.Fatalf("%d recordings", len(known))
	}
	for name, want := range known {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			args := []string{"--json", "--clock-ppm", fmt.Sprintf("%.1f", want.ClockPPM)}
			if want.Watch {
				args = append(args, "--lift-angle", fmt.Sprint(want.LiftAngleDeg))
			}
			code, stdout, stderr := listenRun(nil, append(args, filepath.Join(folder, name))...)
			if !want.Watch {
				if code != 3 || stdout != "" {
					t.Errorf("exit %d without a watch: %s", code, stdout)
				}
				return
			}
			var got map[string]any
			if err := json.Unmarshal([]byte(stdout), &got); err != nil || code != 0 {
				t.Fatalf("exit %d: %s%v", code, stderr, err)
			}
			if got["beats_per_hour"] != want.BeatsPerHour || got["lift_angle_deg"] != want.LiftAngleDeg {
				t.Errorf("%v beats per hour at %v°, want %v at %v°", got["beats_per_hour"], got["lift_angle_deg"],
					want.BeatsPerHour, want.LiftAngleDeg)
			}
			rate, amplitude, beatError := within(want.SNRdB)
			if x := number(t, got, "rate_s_per_day"); math.Abs(x-want.RateSPerDay) > rate {
				t.Errorf("rate %v s/d, want %v", x, want.RateSPerDay)
			}
			if x, ok := got["amplitude_deg"].(float64); !ok && want.SNRdB >= 20 || ok &&
				math.Abs(x-want.AmplitudeDeg) > amplitude {
				t.Errorf("amplitude %v°, want %v°", got["amplitude_deg"], want.AmplitudeDeg)
			}
			if x := number(t, got, "beat_error_ms"); math.Abs(x-want.BeatErrorMs) > beatError {
				t.Errorf("beat error %v ms, want %v", x, want.BeatErrorMs)
			}
		})
	}
}
