package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"strings"
	"testing"
)

// adviseRun runs the command as the shell does.
func adviseRun(stdin string, args ...string) (code int, stdout, stderr string) {
	var out, complaints bytes.Buffer
	code = run(append([]string{"advise"}, args...), strings.NewReader(stdin), &out, &complaints)
	return code, out.String(), complaints.String()
}

const runHeader = "run,hours,position,rate_s_per_day,amplitude_deg,beat_error_ms\n"

// readingRows are readings of one run at full wind: rate and amplitude in CH, FH, 3H, 6H, 9H and 12H.
func readingRows(rates, amplitudes [6]float64) string {
	var b strings.Builder
	for i, p := range []string{"CH", "FH", "3H", "6H", "9H", "12H"} {
		fmt.Fprintf(&b, "1,0,%s,%.1f,%.0f,0.1\n", p, rates[i], amplitudes[i])
	}
	return b.String()
}

type adviceAnswer struct {
	Verdict string
	Next    struct{ Kind, Text string }
	Advice  []struct {
		Kind, Certainty, Text string
		RemovesMetal          bool `json:"removes_metal"`
	}
	Poise struct {
		Given      bool
		SizePPM    *float64 `json:"size_ppm"`
		SizeU95    *float64 `json:"size_u95_ppm"`
		HeavyAt    *float64 `json:"heavy_at_deg"`
		HeavyAtU95 *float64 `json:"heavy_at_u95_deg"`
		Withheld   string
	}
	Regulate *struct{ Value, U95 float64 } `json:"regulate_s_per_day"`
}

func advised(t *testing.T, stdin string, args ...string) adviceAnswer {
	t.Helper()
	code, stdout, stderr := adviseRun(stdin, append(args, "--json", "-")...)
	if code != 0 {
		t.Fatalf("exit %d: %s", code, stderr)
	}
	var answer adviceAnswer
	strict := json.NewDecoder(strings.NewReader(stdout))
	strict.DisallowUnknownFields()
	if err := strict.Decode(&answer); err != nil {
		t.Fatalf("%v in %s", err, stdout)
	}
	return answer
}

func TestAdviseJSON(t *testing.T) {
	t.Parallel()
	lying, hanging := 290.0, 250.0
	swings := [6]float64{lying, lying, hanging, hanging, hanging, hanging}
	good := advised(t, runHeader+readingRows([6]float64{6, 5, 3, 2, 4, 5}, swings))
	if good.Next.Kind != "within_limits" || len(good.Advice) != 0 || good.Regulate == nil || good.Poise.Given ||
		good.Poise.Withheld == "" || good.Verdict != "not_measured" || !strings.Contains(good.Next.Text, "24 h") {
		t.Errorf("a good watch: %+v", good)
	}
	if m := good.Regulate; m != nil && (m.Value < 0 || m.Value > 1 || m.U95 <= 0) { // aim 4.5, mean 4.17
		t.Errorf("a good watch is to be set by %+v", *m)
	}
	// Dial up and down 40 apart, and a spread that no balance has.
	odd := advised(t, runHeader+readingRows([6]float64{43, 3, 60, 25, -5, 37}, swings))
	if odd.Next.Kind != "magnetised" || odd.Poise.Given || odd.Regulate != nil || odd.Advice[0].Certainty != "suspected" {
		t.Errorf("an irregular watch: %+v", odd)
	}
	for _, x := range odd.Advice {
		if x.RemovesMetal {
			t.Errorf("metal is touched: %s", x.Text)
		}
	}
	far := advised(t, runHeader+readingRows([6]float64{-600, -601, -598, -602, -599, -600}, swings))
	if far.Next.Kind != "check_spring" || far.Regulate != nil {
		t.Errorf("a watch ten minutes slow: %+v", far)
	}
	knocking := advised(t, runHeader+readingRows([6]float64{90, 110, 0, 0, 0, 0}, [6]float64{336, 336, 280, 280, 280, 280}))
	if knocking.Next.Kind != "knocking" || knocking.Regulate == nil || knocking.Regulate.Value < 0 {
		t.Errorf("a knocking watch has its knocks in the mean: %+v", knocking)
	}
}

// TestAdvisePoise gives a heavy spot towards 4 o'clock at two states of wind, on either side of the neutral amplitude:
// rates computed from J1(A)/A at 255° and 190°, −0.0489 and 0.0645 (Abramowitz and Stegun, table 9.1, interpolated).
func TestAdvisePoise(t *testing.T) {
	t.Parallel()
	const s = 4000e-6 * 86400
	rows := runHeader
	for _, state := range []struct {
		hours       int
		lying, hung float64
		factor      float64
	}{{0, 295, 255, -0.0489}, {24, 230, 190, 0.0645}} {
		for i, p := range []string{"CH", "FH", "3H", "6H", "9H", "12H"} {
			rate, amplitude := 4.0, state.lying
			if i > 1 {
				cos := [4]float64{0.866, 0.5, -0.866, -0.5}[i-2] // of 120° less 90°, 180°, 270° and 0°
				rate, amplitude = 4-s*state.factor*cos, state.hung
			}
			rows += fmt.Sprintf("1,%d,%s,%.1f,%.0f,0.1\n", state.hours, p, rate, amplitude)
		}
	}
	a := advised(t, rows)
	if !a.Poise.Given || a.Poise.Withheld != "" || a.Next.Kind != "out_of_poise" || !a.Advice[0].RemovesMetal {
		t.Fatalf("got %+v", a)
	}
	if at, u := *a.Poise.HeavyAt, *a.Poise.HeavyAtU95; at < 120-u || at > 120+u || u > 25 {
		t.Errorf("heavy at %.0f ± %.0f°, want 120", at, u)
	}
	if size, u := *a.Poise.SizePPM, *a.Poise.SizeU95; size < 4000-u || size > 4000+u {
		t.Errorf("size %.0f ± %.0f ppm, want 4000", size, u)
	}
}

func TestAdviseText(t *testing.T) {
	t.Parallel()
	code, stdout, stderr := adviseRun(runHeader+readingRows([6]float64{43, 3, 60, 25, -5, 37},
		[6]float64{290, 290, 250, 250, 250, 250}), "-")
	for _, words := range []string{"Fail by Modern", "Next: ", "No metal is touched", "let down"} {
		if code != 0 || !strings.Contains(stdout, words) {
			t.Errorf("%q is not said (exit %d, %s): %s", words, code, stderr, stdout)
		}
	}
}

func TestAdviseRefuses(t *testing.T) {
	t.Parallel()
	one := "1,0,CH,3.1,280,0.1\n"
	for _, c := range []struct{ stdin, line string }{
		{"", "line 1"}, {runHeader, "line 1"}, {"run,hours,rate_s_per_day\n1,0,3\n", "line 1"},
		{"run,hours,position,rate_s_per_day,colour\n", "line 1"},
		{runHeader + one + "1,0,5H,3,280,0.1\n", "line 3"}, {runHeader + one + "1,0,FH,x,280,0.1\n", "line 3"},
		{runHeader + one + "1,0,FH,,280,0.1\n", "line 3"}, {runHeader + one + "1,-1,FH,3,280,0.1\n", "line 3"},
		{runHeader + one + "1,0,FH,3,400,0.1\n", "line 3"}, {runHeader + "1,0,CH,3,280,0.1,9\n", "line 2"},
		{runHeader + "\"1\"x,0,CH,3,280,0.1\n", "line 2"}, {runHeader + one + "\xff\n", "line 3"},
	} {
		code, stdout, stderr := adviseRun(c.stdin, "-")
		if code != 2 || stdout != "" || !strings.Contains(stderr, c.line+":") || strings.Count(stderr, "\n") != 1 {
			t.Errorf("%q exits with %d, prints %q and complains %q", c.stdin, code, stdout, stderr)
		}
	}
	for _, args := range [][]string{{"--lift-angle", "500", "-"}, {"--grade", "marine", "-"}, {"--beats-per-hour", "7", "-"},
		{"--lift-angle-u95", "-3", "-"}, {"no-such-file.csv"}} {
		if code, _, stderr := adviseRun(runHeader+one, args...); code != 2 || stderr == "" {
			t.Errorf("%v exits with %d: %s", args, code, stderr)
		}
	}
}
