package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// trialFile writes rates as a trial's file and returns its text.
func trialFile(rates ...string) string {
	text := "day,rate_s_per_day\n"
	for i, rate := range rates {
		text += fmt.Sprintf("%d,%s\n", i+1, rate)
	}
	return text
}

func same(rate string) []string { return slices.Repeat([]string{rate}, 15) }

// caseA is a constructed trial whose seven figures follow from the formulae of the digests of ISO 3159.
var caseA = []string{"1.2", "1.8", "-0.6", "0.4", "-1.8", "-0.9", "3.1", "3.6", "2.4", "2.9", "0.5", "2.6", "5.6",
	"1.4", "2.1"}

// trialRun runs the command as the shell does.
func trialRun(stdin string, args ...string) (code int, stdout, stderr string) {
	var out, complaints bytes.Buffer
	code = run(append([]string{"trial"}, args...), strings.NewReader(stdin), &out, &complaints)
	return code, out.String(), complaints.String()
}

func TestTrialJSON(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "trial.csv")
	if err := os.WriteFile(path, []byte(trialFile(caseA...)), 0o600); err != nil {
		t.Fatal(err)
	}
	code, stdout, stderr := trialRun("", "--json", path)
	if code != 0 || stderr != "" {
		t.Fatalf("exit %d: %s", code, stderr)
	}
	var got struct {
		Category int
		Verdict  string
		Criteria map[string]map[string]any
	}
	strict := json.NewDecoder(strings.NewReader(stdout))
	strict.DisallowUnknownFields()
	if err := strict.Decode(&got); err != nil {
		t.Fatal(err)
	}
	if got.Category != 1 || got.Verdict != "pass" || len(got.Criteria) != 8 {
		t.Errorf("got %+v", got)
	}
	for name, want := range map[string]struct{ value, lower, upper any }{
		"mean_daily_rate":                {1.21, -4.0, 6.0},
		"mean_variation":                 {0.7, nil, 2.0},
		"greatest_variation":             {1.0, nil, 5.0},
		"horizontal_vertical_difference": {-1.15, -6.0, 8.0},
		"vertical_horizontal_difference": {-1.15, -6.0, 8.0},
		"largest_deviation":              {3.01, nil, 10.0},
		"thermal_variation":              {0.17, -0.6, 0.6},
		"rate_resumption":                {0.6, -5.0, 5.0},
	} {
		c := got.Criteria[name]
		if c["value"] != want.value || c["lower"] != want.lower || c["upper"] != want.upper || c["within_limits"] != true ||
			len(c) != 5 {
			t.Errorf("%s: got %v", name, c)
		}
	}
	// Tenths: u = 0.1/√12 each, ten of them in the mean, k = 2.
	if u, _ := got.Criteria["mean_daily_rate"]["u95"].(float64); math.Abs(u-2*0.1/math.Sqrt(120)) > 1e-12 {
		t.Errorf("u95 of the mean: %v", u)
	}
}

func TestTrialVerdictIsNoError(t *testing.T) {
	t.Parallel()
	for _, tc := range []struct {
		rates    []string
		category string
		verdict  string
	}{
		{same("6"), "1", "pass"},
		{same("6.0"), "1", "pass"},
		{same("6.01"), "1", "fail"},
		{same("6.01"), "2", "pass"},
		{same("8"), "2", "pass"},
		{same("8.1"), "2", "fail"},
		{same("-4"), "1", "pass"},
	} {
		code, stdout, stderr := trialRun(trialFile(tc.rates...), "--category", tc.category, "--json", "-")
		if code != 0 || stderr != "" || !strings.Contains(stdout, `"verdict": "`+tc.verdict+`"`) {
			t.Errorf("%s in category %s: exit %d, %s%s", tc.rates[0], tc.category, code, stdout, stderr)
		}
		code, stdout, _ = trialRun(trialFile(tc.rates...), "--category="+tc.category, "-")
		if code != 0 || !strings.Contains(stdout, "Verdict: "+strings.ToUpper(tc.verdict)) {
			t.Errorf("%s in category %s: exit %d, %s", tc.rates[0], tc.category, code, stdout)
		}
	}
}

func TestTrialTable(t *testing.T) {
	t.Parallel()
	code, stdout, _ := trialRun(trialFile(caseA...), "-")
	for _, want := range []string{
		"mean daily rate (M)                  +1.210 ± 0.018    −4 to +6      s/d         within limits\n",
		"thermal variation (C)                +0.1700 ± 0.0027  −0.6 to +0.6  s/d per °C  within limits\n",
		"greatest variation in rates (Vmax)   1.000 ± 0.082     up to 5       s/d         within limits\n",
	} {
		if code != 0 || !strings.Contains(stdout, want) {
			t.Errorf("exit %d: no %q in\n%s", code, want, stdout)
		}
	}
}

func TestTrialRefusesUnusableFiles(t *testing.T) {
	t.Parallel()
	nan := slices.Clone(caseA)
	nan[3] = "NaN"
	for _, tc := range []struct {
		name, stdin string
		args        []string
		want        string
	}{
		{"NaN", trialFile(nan...), []string{"-"}, "standard input: line 5: day 4: “NaN” is not a figure"},
		{"fourteen rows", trialFile(caseA[:14]...), []string{"-"}, "line 15: the file ends without day 15"},
		{"header", "rate\n", []string{"--json", "-"}, "line 1: the header must be day,rate_s_per_day"},
		{"no such file", "", []string{filepath.Join("no", "such.csv")}, "such.csv"},
		{"a folder", "", []string{t.TempDir()}, "directory"},
		{"category", trialFile(caseA...), []string{"--category", "3", "-"}, "--category"},
		{"no file", "", nil, "FILE.csv"},
	} {
		code, stdout, stderr := trialRun(tc.stdin, tc.args...)
		if code != 2 || stdout != "" || !strings.Contains(stderr, tc.want) || strings.Count(stderr, "\n") != 1 {
			t.Errorf("%s: exit %d, %q, %q", tc.name, code, stdout, stderr)
		}
	}
}

// TestTrialStrict exits with 1 on a fail only where that was asked for.
func TestTrialStrict(t *testing.T) {
	t.Parallel()
	fails := trialFile(same("12")...)
	passes := trialFile(caseA...)
	for _, c := range []struct {
		stdin string
		args  []string
		want  int
	}{
		{fails, []string{"-"}, 0}, {fails, []string{"--strict", "-"}, 1}, {fails, []string{"--strict", "--json", "-"}, 1},
		{passes, []string{"--strict", "-"}, 0}, {"day,rate\n", []string{"--strict", "-"}, 2},
	} {
		if code, stdout, _ := trialRun(c.stdin, c.args...); code != c.want || c.want < 2 && stdout == "" {
			t.Errorf("%v exits with %d, want %d; printed %q", c.args, code, c.want, stdout)
		}
	}
}
