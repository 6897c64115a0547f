package text_test

import (
	"testing"

	"ledgerwheel/domain/text"
)

func TestLine(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct{ name, in, want string }{
		{"spaces", "  Ada \t  Quill\r\n ", "Ada Quill"},
		{"composed", "Zoe\u0308", "Zo\u00eb"}, // NFC
		{"right to left kept", "\u05d3\u05d5\u05d3 \u05dc\u05d5\u05d9", "\u05d3\u05d5\u05d3 \u05dc\u05d5\u05d9"},
		{"joiner kept", "\u0639\u0644\u06cc\u200c\u0631\u0636\u0627", "\u0639\u0644\u06cc\u200c\u0631\u0636\u0627"},
		{"override dropped", "abc\u202Edef\u2066", "abcdef"},
		{"null and bell dropped", "a\x00b\x07c", "abc"},
		{"broken UTF-8", "a\xffb", "a\uFFFDb"},
		{"apostrophe", "O\u2019Malley", "O\u2019Malley"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			if got := text.Line(tt.in); got != tt.want {
				t.Errorf("Line(%q) = %q, want %q", tt.in, got, tt.want)
			}
		})
	}
}

func TestLinesKeepsLines(t *testing.T) {
	t.Parallel()
	if got, want := text.Lines(" 1 Quay\r\nSaltby\r\n"), "1 Quay\nSaltby"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

func TestTooLongCountsCharacters(t *testing.T) {
	t.Parallel()
	if text.TooLong("\u00e9\u00e9\u00e9", 3) || !text.TooLong("\u00e9\u00e9\u00e9\u00e9", 3) {
		t.Error("characters, not bytes, count")
	}
}

// The full-width digits U+FF10 to U+FF19 have the ASCII digits as compatibility form (Unicode, UnicodeData.txt).
func TestDigits(t *testing.T) {
	t.Parallel()
	for typed, want := range map[string]string{"+44 (0)1632 960-114": "4401632960114", "０１２": "012", "no number": ""} {
		if got := text.Digits(typed); got != want {
			t.Errorf("%q: got %q, want %q", typed, got, want)
		}
	}
}

// The mappings are those of Unicode, UnicodeData.txt: U+00E9 to U+00C9, U+0130 to U+0069, U+01C6 to U+01C5 (a digraph
// has a title case of its own), U+10D0 to itself (Georgian writes no title case); U+00DF has none, U+05D3 knows no
// case.
func TestFirstLetters(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct{ in, capital, uncapital string }{
		{"", "", ""},
		{"balance", "Balance", "balance"},
		{"Balance Staff", "Balance Staff", "balance Staff"},
		{"\u00e9quilibre", "\u00c9quilibre", "\u00e9quilibre"},
		{"\u00c9quilibre", "\u00c9quilibre", "\u00e9quilibre"},
		{"\u00dfa", "\u00dfa", "\u00dfa"},
		{"\u0130zmir", "\u0130zmir", "izmir"},
		{"\u01c6ep", "\u01c5ep", "\u01c6ep"},
		{"\u10d0\u10d1", "\u10d0\u10d1", "\u10d0\u10d1"},
		{"\u05d3\u05d5\u05d3", "\u05d3\u05d5\u05d3", "\u05d3\u05d5\u05d3"},
		{"3H", "3H", "3H"},
		{"\xffa", "\xffa", "\xffa"},
		{"\uFFFDa", "\uFFFDa", "\uFFFDa"},
	} {
		if got := text.Capital(tt.in); got != tt.capital {
			t.Errorf("Capital(%q) = %q, want %q", tt.in, got, tt.capital)
		}
		if got := text.Uncapital(tt.in); got != tt.uncapital {
			t.Errorf("Uncapital(%q) = %q, want %q", tt.in, got, tt.uncapital)
		}
	}
}

func TestSentence(t *testing.T) {
	t.Parallel()
	for in, want := range map[string]string{"\u00e9quilibre lost": "\u00c9quilibre lost.", "Done.": "Done.", "": "."} {
		if got := text.Sentence(in); got != want {
			t.Errorf("Sentence(%q) = %q, want %q", in, got, want)
		}
	}
}

func TestTrueMinus(t *testing.T) {
	t.Parallel()
	for in, want := range map[string]string{"-3.4 s/d": "\u22123.4 s/d", "1.0e-05": "1.0e\u221205",
		"-2.0 (was -.5)":              "\u22122.0 (was \u2212.5)",
		"run-down of 2026-11-24, 3-4": "run-down of 2026-11-24, 3-4", "+3": "+3", "": ""} {
		if got := text.TrueMinus(in); got != want {
			t.Errorf("TrueMinus(%q) = %q, want %q", in, got, want)
		}
	}
}
