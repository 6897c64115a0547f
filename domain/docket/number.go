package docket

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
)

// Number is a docket's number: the year it was opened and its place in that year's sequence. It is
// written YY-NNNNN-C, where C is the ISO 7064 MOD 37,36 check character over the digits YYNNNNN.
//
// The two-digit year stands for 2000 to 2099. A year's sequence above 99999 is written with as many
// digits as it needs, up to seven (YY-NNNNNN-C, YY-NNNNNNN-C), and never with a leading nought beyond
// five, so that each number has one spelling.
type Number struct {
	Year int // four digits, 2000 to 2099
	Seq  int // 1 to 9999999
}

const (
	minYear, maxYear = 2000, 2099
	minSeqDigits     = 5
	maxSeqDigits     = 7
	maxSeq           = 9_999_999
)

// ErrNumberShape reports text that does not have the shape of a docket number.
var ErrNumberShape = errors.New("not a docket number: write it as 26-00042-6, year, number, check character")

// CheckError reports a docket number of the right shape whose check character does not match: a
// character was mistyped or two were swapped.
type CheckError struct {
	Given, Want byte   // check characters, upper case
	Typed       Number // as the digits read; the mistake may be in them
}

// Error says in plain words what is wrong.
func (e *CheckError) Error() string {
	if e.LookAlike() {
		return fmt.Sprintf("the check character %s should be %s", spoken(e.Given), spoken(e.Want))
	}
	return "the check character doesn't match: a digit is probably mistyped"
}

// LookAlike reports whether the given check character only looks like the wanted one (O and 0, I and
// 1). It is still refused: taking one for the other would let some mistyped digits through.
func (e *CheckError) LookAlike() bool {
	return e.Given != e.Want && foldDigit(e.Given) == foldDigit(e.Want)
}

func spoken(c byte) string {
	if c >= '0' && c <= '9' {
		return string(c) + " (digit)"
	}
	return string(c) + " (letter)"
}

// Problem says why n can't be a docket's number, or nothing.
func (n Number) Problem() string {
	switch {
	case n.Year < minYear || n.Year > maxYear:
		return "A docket's year lies between 2000 and 2099."
	case n.Seq < 1 || n.Seq > maxSeq:
		return "A docket's sequence lies between 1 and 9999999."
	}
	return ""
}

// String writes n as YY-NNNNN-C. An impossible number reads as "no number".
func (n Number) String() string {
	if n.Problem() != "" {
		return "no number"
	}
	body := n.digits()
	return body[:2] + "-" + body[2:] + "-" + string(mustCheck(body))
}

// Compact is n without dashes, for barcodes.
func (n Number) Compact() string { return strings.ReplaceAll(n.String(), "-", "") }

func (n Number) digits() string { return fmt.Sprintf("%02d%05d", n.Year%100, n.Seq) }

// ParseNumber reads a docket number as people type it and scanners send it: dashes of any kind, spaces
// and full stops are ignored, letters may be lower case, and among the digits the letter O counts as 0
// and the letters I and L as 1. The check character is taken as it stands (see [CheckError.LookAlike]).
//
// It returns an error wrapping [ErrNumberShape], or a [*CheckError] where only the check fails. Any eight
// to ten digits have this shape, so a caller that also looks for telephone numbers and serials should
// treat a CheckError as a hint beside its results.
func ParseNumber(s string) (Number, error) {
	text := squeeze(s)
	if len(text) < 2+minSeqDigits+1 || len(text) > 2+maxSeqDigits+1 {
		return Number{}, ErrNumberShape
	}
	body, given := []byte(text[:len(text)-1]), text[len(text)-1]
	for i, c := range body {
		body[i] = foldDigit(c)
		if body[i] < '0' || body[i] > '9' {
			return Number{}, ErrNumberShape
		}
	}
	if checkValue(given) < 0 || (len(body) > 2+minSeqDigits && body[2] == '0') {
		return Number{}, ErrNumberShape
	}
	year, _ := strconv.Atoi(string(body[:2])) // digits only, so neither can fail
	seq, _ := strconv.Atoi(string(body[2:]))
	n := Number{Year: minYear + year, Seq: seq}
	if want := mustCheck(string(body)); want != given {
		return Number{}, &CheckError{Given: given, Want: want, Typed: n}
	}
	if seq == 0 {
		return Number{}, ErrNumberShape
	}
	return n, nil
}

// squeeze drops separators and folds ASCII letters to upper case.
func squeeze(s string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == ' ', r == '\t', r == '\r', r == '\n', r == '\u00a0', r == '\u202f', r == '.', r == '-':
			return -1
		case r >= '\u2010' && r <= '\u2015', r == '\u2212', r == '\u00ad': // hyphens, dashes, minus
			return -1
		case r >= 'a' && r <= 'z':
			return r - 'a' + 'A'
		}
		return r
	}, s)
}

func foldDigit(c byte) byte {
	switch c {
	case 'O':
		return '0'
	case 'I', 'L':
		return '1'
	}
	return c
}

// InAddress takes a docket's number out of the address of one of its pages, which a scanned code may hold; other text
// it leaves as it is.
func InAddress(text string) string {
	for _, before := range []string{"/dockets/", "/d/"} {
		if _, after, ok := strings.Cut(text, before); ok {
			number, _, _ := strings.Cut(after, "/")
			return number
		}
	}
	return text
}
