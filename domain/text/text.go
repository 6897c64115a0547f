// Package text tidies what people type before it is checked and saved.
package text

import (
	"regexp"
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"
)

// Line makes s one line: as Lines, with every run of white space made a
// single space.
func Line(s string) string {
	return strings.Join(strings.Fields(Lines(s)), " ")
}

// Lines puts s into Unicode NFC, ends its lines with \n, and drops control
// characters and the explicit bidirectional controls (Unicode UAX 9: U+202A to
// U+202E, U+2066 to U+2069), which would reorder what stands beside the text.
// Right-to-left letters need none of those; the joiners and marks that some
// scripts need are kept. White space at both ends goes.
func Lines(s string) string {
	s = strings.ReplaceAll(strings.ToValidUTF8(s, "\uFFFD"), "\r\n", "\n")
	s = strings.Map(func(r rune) rune {
		switch {
		case r == '\n':
			return r
		case r == '\t' || r == '\r':
			return ' '
		case unicode.IsControl(r), r >= 0x202A && r <= 0x202E, r >= 0x2066 && r <= 0x2069:
			return -1
		}
		return r
	}, s)
	return strings.TrimSpace(norm.NFC.String(s))
}

// TooLong reports whether s has more than limit characters.
func TooLong(s string, limit int) bool {
	return utf8.RuneCountInString(s) > limit
}

// Digits returns the digits of s as ASCII, wide and other compatibility forms
// among them; other marks and letters are dropped.
func Digits(s string) string {
	return strings.Map(func(r rune) rune {
		if r >= '0' && r <= '9' {
			return r
		}
		return -1
	}, norm.NFKC.String(s))
}

// Capital begins s with a capital letter, where its script has one: Unicode's
// title case of the first rune alone. A letter without a capital of its own,
// such as ß, stays as it is.
func Capital(s string) string { return first(s, unicode.ToTitle) }

// Uncapital begins s with a small letter, to stand inside a sentence.
func Uncapital(s string) string { return first(s, unicode.ToLower) }

// Sentence begins s with a capital letter and ends it with one full stop.
func Sentence(s string) string { return Capital(strings.TrimSuffix(s, ".")) + "." }

// first changes the first rune of s; bytes that are no UTF-8 stay.
func first(s string, change func(rune) rune) string {
	r, size := utf8.DecodeRuneInString(s)
	if r == utf8.RuneError && size <= 1 {
		return s
	}
	return string(change(r)) + s[size:]
}

// hyphenMinus is a hyphen that stands for a minus: before a digit, and after nothing, a space, a bracket or the e of an
// exponent.
var hyphenMinus = regexp.MustCompile(`(^|[\s(]|[0-9]e)-([0-9.])`)

// TrueMinus writes the minus of the figures in s as people read it, as a true
// minus (U+2212). Hyphens in words and days stay.
func TrueMinus(s string) string {
	if !strings.Contains(s, "-") { // as most figures: a grid has dozens
		return s
	}
	return hyphenMinus.ReplaceAllString(s, "${1}\u2212${2}")
}
