package timing_test

import (
	"math"
	"strings"
	"testing"
	"unicode/utf8"

	"pgregory.net/rapid"

	"ledgerwheel/domain/timing"
)

func TestParseFigure(t *testing.T) {
	t.Parallel()
	for _, tc := range []struct {
		q           timing.Quantity
		text        string
		value, step float64
	}{
		{timing.Rate, "3", 3, 1},
		{timing.Rate, "+3", 3, 1},
		{timing.Rate, "-3.5", -3.5, 0.1},
		{timing.Rate, "−3.5", -3.5, 0.1},          // minus sign U+2212
		{timing.Rate, "–3,5", -3.5, 0.1},          // en dash, decimal comma
		{timing.Rate, "\uff0d12", -12, 1},         // full-width hyphen-minus
		{timing.Rate, "\u00a0+ 3.40 ", 3.4, 0.01}, // no-break space, blank after the sign
		{timing.Rate, "+3.4 s/d", 3.4, 0.1},
		{timing.Rate, ".5", 0.5, 0.1},
		{timing.Rate, "5.", 5, 1},
		{timing.Rate, "007", 7, 1},
		{timing.Rate, "-0", 0, 1},
		{timing.Rate, "9999", 9999, 1},
		{timing.Amplitude, "268°", 268, 1},
		{timing.Amplitude, "268.5 deg", 268.5, 0.1},
		{timing.BeatError, "0,4 ms", 0.4, 0.1},
		{timing.BeatError, "0", 0, 1},
		{timing.BeatError, "99", 99, 1},
		{timing.Rate, "1.234", 1.234, 0.001}, // nobody parts the thousands of a rate
		{timing.Rate, "1,234.5", 1234.5, 0.1},
		{timing.Rate, "‒ 1 234", -1234, 1},
		{timing.Amplitude, "٢٦٨ °", 268, 1},
	} {
		f, problem := timing.ParseFigure(tc.q, tc.text)
		if problem != "" {
			t.Errorf("%q: %s", tc.text, problem)
			continue
		}
		if f.Value != tc.value || f.Step != tc.step || f.StdUncertainty != 0 ||
			math.Signbit(f.Value) != math.Signbit(tc.value) {
			t.Errorf("%q: got %+v, want value %v, step %v", tc.text, *f, tc.value, tc.step)
		}
	}
	for _, blank := range []string{"", "  ", "\t\u00a0"} {
		if f, problem := timing.ParseFigure(timing.Rate, blank); f != nil || problem != "" {
			t.Errorf("%q: got %v, %q; want not measured", blank, f, problem)
		}
	}
}

func TestParseFigureRefuses(t *testing.T) {
	t.Parallel()
	for _, tc := range []struct {
		q          timing.Quantity
		text, says string
	}{
		{timing.Rate, "abc", "is not a figure"},
		{timing.Rate, "3 4", "parted wrongly"},
		{timing.Rate, "+-3", "is not a figure"},
		{timing.Rate, "1e3", "is not a figure"},
		{timing.Rate, "0x10", "is not a figure"},
		{timing.Rate, "NaN", "is not a figure"},
		{timing.Rate, "Inf", "is not a figure"},
		{timing.Rate, ".", "is not a figure"},
		{timing.Rate, "3°", "is not a figure"},
		{timing.Rate, "-", "sign without a figure"},
		{timing.Rate, "+", "sign without a figure"},
		{timing.Rate, "1,23.5", "more than one decimal mark"},
		{timing.Rate, "1.2.3", "more than one decimal mark"},
		{timing.Rate, "1.2345678", "at most 6 decimals"},
		{timing.Rate, "10000", "−9999 to +9999"},
		{timing.Rate, "-10000", "−9999 to +9999"},
		{timing.Rate, strings.Repeat("1", 70), "too long"},
		{timing.Rate, "\xff3", "cannot be read"},
		{timing.Amplitude, "0", "above 0°"},
		{timing.Amplitude, "360", "below 360°"},
		{timing.Amplitude, "-10", "above 0°"},
		{timing.BeatError, "-0.3", "without a sign"},
		{timing.BeatError, "99.1", "0 to 99"},
		{"colour", "3", "not a quantity"},
	} {
		if f, problem := timing.ParseFigure(tc.q, tc.text); f != nil || !strings.Contains(problem, tc.says) {
			t.Errorf("%s %q: got %v, %q; want a problem with %q", tc.q, tc.text, f, problem, tc.says)
		}
	}
}

// A typed 3 may be anything within ±0.5, a typed 3.4 within ±0.05: u = a/√3 (JCGM 100, 4.3.7).
func TestTypedFigureKeepsItsResolution(t *testing.T) {
	t.Parallel()
	for text, halfWidth := range map[string]float64{"3": 0.5, "3.4": 0.05, "3.40": 0.005} {
		f, problem := timing.ParseFigure(timing.Rate, text)
		if problem != "" {
			t.Fatal(problem)
		}
		near(t, text, f.Independent(), halfWidth/math.Sqrt(3), 1e-12)
	}
	near(t, "with a stated uncertainty", timing.Figure{Step: 1, StdUncertainty: 0.4}.Independent(),
		math.Sqrt(0.16+1.0/12), 1e-12)
}

// What a form shows of a stored figure reads back as the same figure.
func TestInputTextRoundTrip(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		q := rapid.SampledFrom(timing.Quantities()).Draw(t, "quantity")
		decimals := rapid.IntRange(0, 6).Draw(t, "decimals")
		scale := math.Pow10(decimals)
		low, high := 1, 98
		if q == timing.Rate {
			low, high = -9998, 9998
		}
		count := rapid.IntRange(low*int(scale), high*int(scale)).Draw(t, "steps")
		f := timing.Figure{Value: float64(count) / scale, Step: math.Pow10(-decimals)}
		back, problem := timing.ParseFigure(q, f.InputText(q))
		if problem != "" || back.Value != f.Value || back.Step != f.Step {
			t.Fatalf("%+v typed as %q came back as %+v, %q", f, f.InputText(q), back, problem)
		}
	})
	if got := (timing.Figure{Value: 3.25}).InputText(timing.Rate); got != "+3.25" {
		t.Errorf("without a step: got %q", got)
	}
	if got := (timing.Figure{Value: 270, Step: 0.5}).InputText(timing.Amplitude); got != "270.0" {
		t.Errorf("step of a half: got %q", got)
	}
}

func TestParseHours(t *testing.T) {
	t.Parallel()
	for text, want := range map[string]float64{"0": 0, "24": 24, " 36,5 h ": 36.5, "1000": 1000, "12.25": 12.25} {
		if got, problem := timing.ParseHours(text); problem != "" || got != want {
			t.Errorf("%q: got %v, %q", text, got, problem)
		}
	}
	for text, says := range map[string]string{"": "hours after full winding", "h": "hours after", "-1": "0 to 1000",
		"1001": "0 to 1000", "1.234": "hundredths", "a day": "is not a figure", strings.Repeat("0", 70): "too long"} {
		if _, problem := timing.ParseHours(text); !strings.Contains(problem, says) {
			t.Errorf("%q: got %q, want %q", text, problem, says)
		}
	}
}

func FuzzParseFigure(f *testing.F) {
	for _, seed := range []string{"", "3", "+3", "−3.5", "3,4 s/d", "268°", "1e9", "NaN", "-", "1,2,3", "\xff", "–0", "٣",
		"° ", "+ms"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		for _, q := range timing.Quantities() {
			figure, problem := timing.ParseFigure(q, text)
			if figure != nil && problem != "" {
				t.Fatalf("%q is both %+v and refused: %s", text, figure, problem)
			}
			if !utf8.ValidString(problem) {
				t.Fatalf("%q: problem is not valid text: %q", text, problem)
			}
			if figure == nil {
				if problem == "" && strings.TrimSpace(text) != "" {
					t.Fatalf("%q was passed over as blank", text)
				}
				continue
			}
			r := timing.Reading{Position: timing.DialUp}
			r.SetFigure(q, figure)
			if bad := r.Problems(); len(bad) > 0 {
				t.Fatalf("%q was read as %+v, which cannot be saved: %v", text, figure, bad)
			}
			again, problem := timing.ParseFigure(q, figure.InputText(q))
			if problem != "" || *again != *figure {
				t.Fatalf("%q: %+v shown as %q came back as %+v, %s", text, *figure, figure.InputText(q), again, problem)
			}
		}
	})
}
