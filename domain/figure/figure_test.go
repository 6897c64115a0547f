package figure_test

import (
	"errors"
	"fmt"
	"math"
	"math/big"
	"strconv"
	"strings"
	"testing"
	"unicode/utf8"

	"ledgerwheel/domain/figure"
	"ledgerwheel/domain/figure/figuretest"

	"pgregory.net/rapid"
)

func TestParse(t *testing.T) {
	t.Parallel()
	for _, tt := range figuretest.Spellings {
		n, err := figure.Parse(tt.Typed)
		if tt.Refused {
			if err == nil {
				t.Errorf("%q read as %s", tt.Typed, n.Text())
			}
			continue
		}
		if err != nil || n.Text() != tt.Text {
			t.Errorf("%q: %q, %v; want %q", tt.Typed, n.Text(), err, tt.Text)
			continue
		}
		_, fraction, _ := strings.Cut(tt.Text, ".")
		if n.Decimals != len(fraction) || n.Step() != math.Pow10(-len(fraction)) {
			t.Errorf("%q has %d decimals and a step of %g", tt.Typed, n.Decimals, n.Step())
		}
		if x, _ := strconv.ParseFloat(tt.Text, 64); n.Float() != x || math.Signbit(n.Float()) != math.Signbit(x) {
			t.Errorf("%q is %g, want %g", tt.Typed, n.Float(), x)
		}
		if r, _ := new(big.Rat).SetString(tt.Text); n.Rat().Cmp(r) != 0 {
			t.Errorf("%q is exactly %v, want %v", tt.Typed, n.Rat(), r)
		}
	}
}

func TestUnits(t *testing.T) {
	t.Parallel()
	units := []string{"s/d", "s/day", "°", "mm", "µg", "mg·cm²"}
	for typed, want := range map[string]string{
		"3": "", "3 s/d": "s/d", "3s / d": "s/d", "3 S/Day": "s/day", "3°": "°", "3\u202f°": "°", "3\u00a0MM": "mm",
		"3 \u03bcg": "µg", "3 mg · cm²": "mg·cm²", "1 234,5mm": "mm",
	} {
		if n, err := figure.Parse(typed, units...); err != nil || n.Unit != want {
			t.Errorf("%q: unit %q, %v; want %q", typed, n.Unit, err, want)
		}
	}
	for _, typed := range []string{"3 ms", "mm 3", "3 mm mm", "3 mm 4", "mm", "£3", "3 %"} {
		if n, err := figure.Parse(typed, units...); err == nil {
			t.Errorf("%q read as %s %s", typed, n.Text(), n.Unit)
		}
	}
}

func TestFaults(t *testing.T) {
	t.Parallel()
	for typed, want := range map[string]figure.Fault{
		"": figure.Empty, " \u00a0": figure.Empty, "\xff3": figure.NotText, strings.Repeat("1", 65): figure.TooLong,
		"-": figure.SignOnly, "− ": figure.SignOnly, "1e3": figure.NotNumber, "NaN": figure.NotNumber,
		"Inf":  figure.NotNumber,
		"0x10": figure.NotNumber, "1.2.3": figure.Marks, "1 23": figure.Marks, "10²": figure.NotNumber, "½": figure.NotNumber,
	} {
		_, err := figure.Parse(typed)
		var e *figure.Error
		if !errors.As(err, &e) || e.Fault != want {
			t.Errorf("%q: %v, want fault %d", typed, err, want)
		}
		if got := figure.Sentence(err, "Give a number."); got != "Give a number." {
			t.Errorf("%q: the field's sentence became %q", typed, got)
		}
	}
}

func TestParseWhole(t *testing.T) {
	t.Parallel()
	for typed, want := range map[string]int{
		"28800": 28800, "28 800": 28800, "28'800": 28800, "1,234,567": 1234567, "−12": -12, "12.": 12, "007": 7, "0": 0,
		"2147483647": math.MaxInt32,
	} {
		if got, err := figure.ParseWhole(typed); err != nil || got != want {
			t.Errorf("%q: %d, %v; want %d", typed, got, err, want)
		}
	}
	for typed, want := range map[string]figure.Fault{
		"1.5": figure.NotWhole, "12.0": figure.NotWhole, "1,234.5": figure.NotWhole, "2147483648": figure.TooLong,
		strings.Repeat("9", 60): figure.TooLong,
		"28,800":                figure.Twofold, "-1.000": figure.Twofold, "1.234": figure.Twofold, "many": figure.NotNumber,
		"": figure.Empty,
	} {
		_, err := figure.ParseWhole(typed)
		var e *figure.Error
		if !errors.As(err, &e) || e.Fault != want {
			t.Errorf("%q: %v, want fault %d", typed, err, want)
		}
	}
	_, err := figure.ParseWhole("28,800 h", "h")
	const both = "“28,800 h” can be read as 28800 or as 28.800. Write it without the thousands mark."
	if got := figure.Sentence(err, "Give a whole number."); got != both {
		t.Errorf("got %q, want %q", got, both)
	}
	if n, err := figure.ParseThousands("18000.125"); err != nil || n.Float() != 18000.125 {
		t.Errorf("five digits are no group: %v, %v", n, err)
	}
}

func TestFixed(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		typed    string
		decimals int
		want     int64
		exact    bool
	}{
		{"1.5", 3, 1500, true}, {"-0.05", 2, -5, true}, {"7.700", 2, 770, true}, {"7.705", 2, 0, false}, {"12", 0, 12, true},
		{strings.Repeat("9", 18), 0, 999999999999999999, true}, {strings.Repeat("9", 18), 1, 0, false},
	} {
		n, err := figure.Parse(tt.typed)
		if err != nil {
			t.Fatal(err)
		}
		if got, exact := n.Fixed(tt.decimals); got != tt.want || exact != tt.exact {
			t.Errorf("%s in %d decimals: %d, %v; want %d, %v", tt.typed, tt.decimals, got, exact, tt.want, tt.exact)
		}
	}
}

// What a person or a printer may write for one number is read as that number: any minus, decimal mark, grouping that
// leaves no doubt, blanks and unit.
func TestEverySpellingReadsBack(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		whole, decimals := rapid.Int64Range(0, 999_999_999_999).Draw(t, "whole"), rapid.IntRange(0, 9).Draw(t, "decimals")
		fraction := rapid.StringMatching(fmt.Sprintf(`[0-9]{%d}`, decimals)).Draw(t, "fraction")
		negative := rapid.Bool().Draw(t, "negative")
		point := rapid.SampledFrom([]string{".", ","}).Draw(t, "point")
		group := rapid.SampledFrom([]string{"", " ", "\u00a0", "\u202f", "\u2009", "'", "’"}).Draw(t, "group")
		want, typed := strconv.FormatInt(whole, 10), grouped(whole, group)
		if decimals > 0 {
			want, typed = want+"."+fraction, typed+point+fraction
		}
		if negative {
			minus := rapid.SampledFrom([]string{"-", "−", "–", "\u2012", "\u2010", "\u2011", "— ", "\uff0d"}).Draw(t, "minus")
			if typed = minus + typed; strings.Trim(want, "0.") != "" {
				want = "-" + want
			}
		}
		typed += rapid.SampledFrom([]string{"", " mm", "mm", "\u202fMM "}).Draw(t, "unit")
		if n, err := figure.Parse(typed, "mm"); err != nil || n.Text() != want || n.Decimals != decimals {
			t.Fatalf("%q read as %q, %v; want %q", typed, n.Text(), err, want)
		}
	})
}

func grouped(n int64, mark string) string {
	s := strconv.FormatInt(n, 10)
	for i := len(s) - 3; i > 0; i -= 3 {
		s = s[:i] + mark + s[i:]
	}
	return s
}

func FuzzParse(f *testing.F) {
	for _, tt := range figuretest.Spellings {
		f.Add(tt.Typed)
	}
	f.Fuzz(func(t *testing.T, typed string) {
		n, err := figure.Parse(typed, "s/d", "°")
		if err != nil {
			var e *figure.Error
			if !errors.As(err, &e) || !utf8.ValidString(err.Error()) {
				t.Fatalf("%q: %v", typed, err)
			}
			return
		}
		if x := n.Float(); math.IsNaN(x) || math.IsInf(x, 0) {
			t.Fatalf("%q is %g", typed, x)
		}
		if again, err := figure.Parse(n.Text()); err != nil && len(n.Text()) <= figure.MaxRunes || err == nil &&
			again.Text() != n.Text() {
			t.Fatalf("%q is written %q, which reads %q, %v", typed, n.Text(), again.Text(), err)
		}
		_, _ = figure.ParseWhole(typed, "s/d")
	})
}
