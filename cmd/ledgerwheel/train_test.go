package main

import (
	"bytes"
	"encoding/json"
	"strings"
	"testing"
)

// trainRun runs the command as the shell does.
func trainRun(args ...string) (code int, stdout, stderr string) {
	var out, complaints bytes.Buffer
	code = run(append([]string{"train"}, args...), strings.NewReader(""), &out, &complaints)
	return code, out.String(), complaints.String()
}

// The train of the notation's explanation: 18000 beats by the train formula (see domain/train).
func TestTrainJSON(t *testing.T) {
	t.Parallel()
	code, stdout, stderr := trainRun("--json", "--motion", "12:36,?:40", "--graduations", "300", "80:10,75:10,80:8,15")
	if code != 0 || stderr != "" {
		t.Fatalf("exit %d: %s", code, stderr)
	}
	var got struct {
		Notation             string
		BeatsPerHour         float64 `json:"beats_per_hour"`
		BeatsPerHourExact    string  `json:"beats_per_hour_exact"`
		UsualBeat            bool    `json:"usual_beat"`
		Hertz                float64
		EscapeTeeth          int `json:"escape_teeth"`
		Arbors               []map[string]any
		MinuteHand           map[string]any `json:"minute_hand"`
		SecondsLayout        string         `json:"seconds_layout"`
		SecondsHand          map[string]any `json:"seconds_hand"`
		Graduations          int
		TicksPerGraduation   float64        `json:"ticks_per_graduation"`
		TicksPerGraduationEx string         `json:"ticks_per_graduation_exact"`
		MotionWork           map[string]any `json:"motion_work"`
		Remarks              []string
	}
	strict := json.NewDecoder(strings.NewReader(stdout))
	strict.DisallowUnknownFields()
	if err := strict.Decode(&got); err != nil {
		t.Fatal(err)
	}
	if got.BeatsPerHour != 18000 || got.BeatsPerHourExact != "18000" || !got.UsualBeat || got.Hertz != 2.5 ||
		got.EscapeTeeth != 15 ||
		got.SecondsLayout != "sub-seconds" || got.TicksPerGraduation != 1 || len(got.Arbors) != 4 || got.Remarks == nil ||
		len(got.Remarks) != 0 {
		t.Errorf("got %+v", got)
	}
	if a := got.Arbors[1]; a["name"] != "third" || a["turns_per_hour"] != 8.0 || a["period_s"] != 450.0 ||
		a["direction"] != "anticlockwise" || a["pinion_leaves"] != 10.0 {
		t.Errorf("third arbor %v", a)
	}
	if got.Arbors[0]["pinion_leaves"] != nil || got.SecondsHand["period_s"] != 60.0 ||
		got.MinuteHand["period_s"] != 3600.0 {
		t.Errorf("got %+v", got)
	}
	if m := got.MotionWork; m["notation"] != "12:36,10:40" || m["ratio_exact"] != "12" || m["dial_hours"] != 12.0 ||
		m["found"] != "minute_pinion" {
		t.Errorf("motion work %v", m)
	}
}

func TestTrainTable(t *testing.T) {
	t.Parallel()
	code, stdout, stderr := trainRun("72:8,72:9,50:6,15", "--motion", "12:48,10:60")
	for _, want := range []string{
		"fourth  50     9       72              50 s        clockwise\n",
		"Beats per hour: 18000, 5 in a second; balance 2.5 Hz.\n",
		"Ticks per graduation of a track of 60: 4 1/6.\n",
		"Motion work 12:48,10:60: 24 turns of the minute hand for one of the hour hand.\n",
		"Note: The fourth arbor turns 72 times an hour, not 60",
	} {
		if code != 0 || stderr != "" || !strings.Contains(stdout, want) {
			t.Errorf("exit %d, %s: no %q in\n%s", code, stderr, want, stdout)
		}
	}
	_, stdout, _ = trainRun("72:8,72:9,50:6,15 seconds=none", "--motion", "16:42,?:64")
	for _, want := range []string{"No seconds hand.\n",
		"Motion work 16:42,14:64, with the count found for a dial of 12 hours"} {
		if !strings.Contains(stdout, want) {
			t.Errorf("no %q in\n%s", want, stdout)
		}
	}
}

func TestTrainRefusesImpossibleCounts(t *testing.T) {
	t.Parallel()
	for _, tc := range []struct {
		args []string
		want string
	}{
		{[]string{"80:10,0:10,80:8,15"}, "no count of 0"},
		{[]string{"80:10,-75:10,80:8,15"}, "not negative"},
		{[]string{"--json", "80:10,75.5:10,80:8,15"}, "Teeth are whole, 75.5 is not"},
		{[]string{"80:10,x:10,80:8,15"}, `"x" is not a number`},
		{[]string{"80:10,75:5,80:8,15"}, "The fourth pinion has 5 leaves"},
		{[]string{"80:10,75:10,80:8,41"}, "The escape wheel has 41 teeth"},
		{[]string{"80:10,75:10,80:8"}, "End with the teeth of the escape wheel"},
		{[]string{""}, "Write the train as"},
		{[]string{"80:10,75:10,80:8,15", "--motion", "12:36"}, "motion work 12:36: Write the motion work as"},
		{[]string{"80:10,75:10,80:8,15", "--motion", "5:36,10:40"}, "The cannon pinion has 5 leaves"},
		{[]string{"80:10,75:10,80:8,15", "--motion", "?:36,?:40"}, "one count can be found"},
		{[]string{"80:10,75:10,80:8,15", "--motion", "16:50,?:64"}, "no whole count makes 12:1, it would be 16 2/3"},
		{[]string{"80:10,75:10,80:8,15", "--motion", "12:36,100:?"}, "The minute pinion has 100 leaves"},
		{[]string{"80:10,75:10,80:8,15", "--motion", "24:24,24:?"}, "The hour wheel has 288 teeth"},
		{[]string{"80:10,75:10,80:8,15", "--dial-hours", "10"}, "--dial-hours"},
		{[]string{"80:10,75:10,80:8,15", "--graduations", "0"}, "--graduations takes 1 to 3600"},
		{nil, "NOTATION"},
	} {
		code, stdout, stderr := trainRun(tc.args...)
		if code != 2 || stdout != "" || !strings.Contains(stderr, tc.want) || strings.Count(stderr, "\n") != 1 {
			t.Errorf("%v: exit %d, %q, %q", tc.args, code, stdout, stderr)
		}
	}
}
