package script

import (
	"strings"
	"unicode"

	"golang.org/x/text/unicode/bidi"
	"golang.org/x/text/unicode/norm"
)

// Prepare makes typed text ready for setting: composed characters, Arabic in
// joined forms, control characters as spaces. Line feeds stay. Preparing twice
// changes nothing.
func Prepare(text string) string {
	text = strings.ToValidUTF8(text, string(Replacement))
	text = norm.NFC.String(strings.ReplaceAll(text, "\r\n", "\n"))
	text = strings.Map(func(r rune) rune {
		switch {
		case r == '\n' || r == '\r' || r == '\u2028' || r == '\u2029' || r == '\v' || r == '\f':
			return '\n'
		case unicode.IsControl(r):
			return ' '
		case embedding(r):
			return -1
		}
		if plain, ok := plainSigns[r]; ok {
			return plain
		}
		return r
	}, text)
	return joinArabic(text)
}

// plainSigns are signs of money that some countries write wide, and spaces that no line may end at, as the house faces
// have them.
var plainSigns = map[rune]rune{'\u202F': '\u00a0', '\u2007': '\u00a0', '\uFFE0': '¢', '\uFFE1': '£', '\uFFE5': '¥', '\uFFE6': '₩'}

// embedding reports the explicit directional controls. Text that people type
// into a form is ordered well without them, so they are dropped.
func embedding(r rune) bool {
	return r >= '\u202A' && r <= '\u202E' || r >= '\u2066' && r <= '\u2069'
}

// Invisible reports characters that guide the setting but draw nothing.
func Invisible(r rune) bool {
	switch {
	case r == '\u200E' || r == '\u200F' || r == '\u061C': // direction marks
		return true
	case r == '\u200B' || r == '\u200C' || r == '\u200D' || r == '\u2060' || r == '\uFEFF': // joiners
		return true
	case r == '\u00AD': // soft hyphen
		return true
	}
	return r >= '\uFE00' && r <= '\uFE0F' // variation selectors
}

// RightToLeft reports whether the paragraph's first strong character runs from
// right to left (rules P2 and P3 of Unicode Standard Annex 9).
func RightToLeft(line string) bool {
	for _, r := range line {
		switch class(r) {
		case bidi.L:
			return false
		case bidi.R, bidi.AL:
			return true
		}
	}
	return false
}

// Visual puts the characters of one prepared line in the order in which they
// stand from left to right, mirrors what must be mirrored and drops what draws
// nothing.
func Visual(line string, rtl bool) []rune {
	runes := []rune(line)
	if !rtl && !strings.ContainsFunc(line, bends) {
		return drawn(runes)
	}
	levels := bidiLevels(runes, rtl)
	return drawn(reorder(runes, levels))
}

// bends reports characters that make a line anything but plain left to right.
func bends(r rune) bool {
	switch class(r) {
	case bidi.R, bidi.AL, bidi.AN:
		return true
	}
	return false
}

func class(r rune) bidi.Class {
	p, _ := bidi.LookupRune(r)
	return p.Class()
}

func drawn(runes []rune) []rune {
	out := runes[:0]
	for _, r := range runes {
		if !Invisible(r) {
			out = append(out, r)
		}
	}
	return out
}
