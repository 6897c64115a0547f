// Package invoice has the rules of what the shop bills: numbers without a gap, what an invoice must say, discounts,
// deposits and their set-off, credit notes, and what is owed.
package invoice

import (
	"fmt"
	"strconv"
	"strings"

	"ledgerwheel/domain/text"
)

// Series is a run of numbers of the owner's choosing. A number is given once, in order, and none is left out (VAT
// Directive 2006/112/EC, article 226(2): a sequential number, based on one or more series, that identifies it).
type Series struct {
	ID     int64
	Name   string // for the shop's own eyes
	Before string // what stands before the number; may have {year}
	Digits int    // the least, with zeros before
	Yearly bool   // begins again each year
}

const (
	maxSeriesName   = 60
	maxSeriesBefore = 20
	maxSeriesDigits = 9
)

// putYear is where the year of issue stands.
const putYear = "{year}"

// Number is the n-th of the year's, or of all where the series is not yearly.
func (s Series) Number(year, n int) string {
	return fmt.Sprintf("%s%0*d", strings.ReplaceAll(s.Before, putYear, strconv.Itoa(year)), s.Digits, n)
}

// Problems says, by form field, what stops s being kept beside the others: "name", "before", "digits". No two series
// may ever give the same number.
func (s Series) Problems(others []Series) map[string]string {
	bad := map[string]string{}
	switch {
	case s.Name == "":
		bad["name"] = "Name the series."
	case text.TooLong(s.Name, maxSeriesName):
		bad["name"] = "Keep the name to 60 characters."
	}
	if s.Digits < 1 || s.Digits > maxSeriesDigits {
		bad["digits"] = "Give 1 to 9 digits."
	}
	if why := s.beforeProblem(); why != "" {
		bad["before"] = why
		return bad
	}
	for _, o := range others {
		if o.ID != s.ID && mayMeet(s.Before, o.Before) {
			bad["before"] = "Another series, " + o.Name + ", could give the same number. Put other letters before this one."
		}
	}
	return bad
}

func (s Series) beforeProblem() string {
	plain := strings.ReplaceAll(s.Before, putYear, "")
	switch {
	case text.TooLong(s.Before, maxSeriesBefore):
		return "Keep this to 20 characters."
	case strings.ContainsAny(plain, "{}"):
		return "Only {year} can stand in braces."
	case strings.Count(s.Before, putYear) > 1:
		return "Write {year} once."
	case s.Yearly && !strings.Contains(s.Before, putYear):
		return "A series that begins again each year needs {year}, or a number would come twice."
	case strings.ContainsFunc(plain, func(r rune) bool { return !isNumberSign(r) }):
		return "Use letters A to Z, digits, spaces and - / . only."
	case endsInDigit(s.Before):
		return "Let a letter or a sign stand between this and the number."
	}
	return ""
}

func isNumberSign(r rune) bool {
	return r >= 'A' && r <= 'Z' || r >= 'a' && r <= 'z' || r >= '0' && r <= '9' || strings.ContainsRune("-/. ", r)
}

// endsInDigit reports whether the last sign is one: the number would run into it. {year} is one.
func endsInDigit(before string) bool {
	if before == "" {
		return false
	}
	last := before[len(before)-1]
	return last == '}' || last >= '0' && last <= '9'
}

// mayMeet reports whether two series could ever give the same number: what stands before is the same in some year. It
// says yes where it can't tell.
func mayMeet(a, b string) bool {
	fold := func(s string) string { return strings.ToLower(strings.ReplaceAll(s, " ", "")) }
	a, b = fold(a), fold(b)
	if !strings.Contains(a, putYear) && !strings.Contains(b, putYear) {
		return a == b
	}
	// A year is four digits: any four digits of the other may be one.
	digits := func(s string) string {
		s = strings.ReplaceAll(s, putYear, "0000")
		return strings.Map(func(r rune) rune {
			if r >= '0' && r <= '9' {
				return '0'
			}
			return r
		}, s)
	}
	return digits(a) == digits(b)
}

// KeptSummary is what the shop's journal says of a series that was kept.
func (s Series) KeptSummary() string { return "Series of invoice numbers kept: " + s.Name + "." }
