package view

import (
	"strconv"
	"strings"
	"unicode"
)

// Slug makes a word usable as an id: letters and digits of any script, the rest becomes single dashes.
func Slug(s string) string {
	var b strings.Builder
	dash := false
	for _, r := range strings.ToLower(s) {
		if unicode.IsLetter(r) || unicode.IsDigit(r) {
			if dash && b.Len() > 0 {
				b.WriteByte('-')
			}
			dash = false
			b.WriteRune(r)
			continue
		}
		dash = true
	}
	return b.String()
}

// number writes f with at most one decimal, for SVG coordinates.
func number(f float64) string {
	s := strconv.FormatFloat(f, 'f', 1, 64)
	s = strings.TrimSuffix(s, ".0")
	if s == "-0" {
		return "0"
	}
	return s
}

// Itoa writes n in decimal.
func Itoa(n int) string { return strconv.Itoa(n) }

// Join puts the non-empty words together, for class and aria-describedby lists.
func Join(words ...string) string {
	var kept []string
	for _, w := range words {
		if w != "" {
			kept = append(kept, w)
		}
	}
	return strings.Join(kept, " ")
}

// When returns s if cond holds.
func When(cond bool, s string) string {
	if cond {
		return s
	}
	return ""
}

// number2 writes f with two decimals, for paths in small boxes.
func number2(f float64) string { return strconv.FormatFloat(f, 'f', 2, 64) }

func b2i(b bool) int {
	if b {
		return 1
	}
	return 0
}
