// Package figure reads typed numbers, and writes numbers as they would be typed. It is the one reader of the house:
// forms, pastes, files and commands all take the same spellings through it. Amounts of money stand on it in package
// money.
//
// A number has a decimal point or a decimal comma, a plus or a minus of any kind before it, digits of any script, and
// behind it a unit that the caller knows. Blanks and apostrophes may part its thousands, in groups of three; points and
// commas may where no doubt is left, as in 1,234.5 or 1.234.567. One point or comma is the decimal mark of a measured
// number, whatever stands behind it: nobody parts the thousands of a rate. Whole numbers and beats per hour are another
// matter: there 28,800 may be 28800 or 28.8, and is refused with both.
//
// Exponents (1e3), hexadecimal digits, NaN and infinities are refused everywhere: nobody means to type them, and what a
// spreadsheet writes as 1.2E+05 has lost its digits.
package figure

import (
	"fmt"
	"math"
	"math/big"
	"strconv"
	"strings"
	"unicode"
)

// Fault is what is wrong with a typed number.
type Fault uint8

// The faults.
const (
	Empty     Fault = iota + 1 // nothing was typed
	NotText                    // no valid UTF-8
	TooLong                    // beyond MaxRunes, or a whole number beyond what is counted
	SignOnly                   // a sign and no digits
	NotNumber                  // other words, or another unit
	Marks                      // marks that part neither decimals nor thousands rightly
	NotWhole                   // decimals, noughts too, where a whole number is asked for
	Twofold                    // could mean two numbers: Readings
)

// Error is why typed text is not the number asked for.
type Error struct {
	Typed    string // without blanks around
	Fault    Fault
	Readings [2]Number // of Twofold: the mark taken to part thousands, and as the decimal mark
}

// Says goes on a sentence that begins with what was typed.
func (e *Error) Says() string {
	switch e.Fault {
	case Empty:
		return "is empty. Write digits"
	case NotText:
		return "has characters that cannot be read"
	case TooLong:
		return "is too long to be one figure"
	case SignOnly:
		return "is a sign without a figure. Write the digits"
	case Marks:
		return "has more than one decimal mark, or thousands that are parted wrongly. Write one point or comma"
	case NotWhole:
		return "is not a whole number"
	case Twofold:
		return fmt.Sprintf("can be read as %s or as %s. Write it without the thousands mark",
			printed(e.Readings[0]), printed(e.Readings[1]))
	}
	return "is not a figure. Write digits"
}

// printed writes n with a true minus.
func printed(n Number) string { return strings.Replace(n.text, "-", "\u2212", 1) }

func (e *Error) Error() string {
	return fmt.Sprintf("“%s” %s", strings.ToValidUTF8(e.Typed, "\ufffd"), e.Says())
}

// Sentence says err, of this package, beside a form's field: what could mean two numbers with both readings, all else
// as unread, the field's own sentence.
func Sentence(err error, unread string) string {
	if e, ok := err.(*Error); ok && e.Fault == Twofold {
		return e.Error() + "."
	}
	return unread
}

// Blank reports whether nothing was typed.
func Blank(typed string) bool { return strings.TrimSpace(typed) == "" }

// Number is a number as it was typed, exactly.
type Number struct {
	Decimals int    // as many as were typed: 3.40 has two
	Unit     string // the one of the caller's that stood behind it, as the caller writes it; "" for none
	text     string // '-', digits, '.', digits
}

// Parse reads a number, with or without one of the units behind it. The letters of a unit may be large or small, and
// blanks in it don't count. It fails with an *Error.
func Parse(typed string, units ...string) (Number, error) {
	s, err := Spell(typed)
	if err != nil {
		return Number{}, err
	}
	return s.number(typed, units)
}

func (s Spelling) number(typed string, units []string) (Number, error) {
	n := Number{Decimals: len(s.Fraction), text: s.Text()}
	known := s.After == ""
	for _, u := range units {
		if !known && folded(u) == folded(s.After) {
			known, n.Unit = true, u
		}
	}
	if !known || s.Before != "" {
		return Number{}, &Error{Typed: strings.TrimSpace(typed), Fault: NotNumber}
	}
	return n, nil
}

// folded makes the ways to write a unit one: small letters, no blanks, and one of the two signs for micro.
func folded(unit string) string {
	return strings.ToLower(strings.Map(func(r rune) rune {
		switch {
		case unicode.IsSpace(r):
			return -1
		case r == '\u00b5':
			return '\u03bc'
		}
		return r
	}, unit))
}

// ParseThousands reads a number of a kind that is written with a thousands mark as readily as with decimals, such as
// beats per hour: what may be either, such as 28,800, fails with an *Error that holds both readings, as every failure
// is an *Error.
func ParseThousands(typed string, units ...string) (Number, error) {
	s, err := Spell(typed)
	if err != nil {
		return Number{}, err
	}
	n, err := s.number(typed, units)
	if err != nil || s.Twofold == 0 {
		return n, err
	}
	grouped, err := s.Grouped().number(typed, units)
	if err != nil {
		return Number{}, err
	}
	return Number{}, &Error{Typed: strings.TrimSpace(typed), Fault: Twofold, Readings: [2]Number{grouped, n}}
}

// ParseWhole reads a whole number, without decimals even of noughts, as ParseThousands does.
func ParseWhole(typed string, units ...string) (int, error) {
	n, err := ParseThousands(typed, units...)
	if err != nil {
		return 0, err
	}
	if n.Decimals > 0 {
		return 0, &Error{Typed: strings.TrimSpace(typed), Fault: NotWhole}
	}
	whole, exact := n.Fixed(0)
	if !exact || whole < math.MinInt32 || whole > math.MaxInt32 {
		return 0, &Error{Typed: strings.TrimSpace(typed), Fault: TooLong}
	}
	return int(whole), nil
}

// Text is n in ASCII: '-', digits, '.', and as many decimals as were typed.
func (n Number) Text() string { return n.text }

// Float returns n as the nearest float64; it is always finite.
func (n Number) Float() float64 { return n.Shifted(0) }

// Shifted returns n times ten to the power as the nearest float64. The decimal point moves in the text, so that no
// digit is lost on the way.
func (n Number) Shifted(power int) float64 {
	x, _ := strconv.ParseFloat(n.text+"e"+strconv.Itoa(power), 64) // n.text is a number
	return x
}

// Rat returns n exactly.
func (n Number) Rat() *big.Rat {
	r, _ := new(big.Rat).SetString(n.text)
	return r
}

// Step is one in the last digit typed: 1 for 3, 0.01 for 3.40. A display with such a number is right to half of it.
func (n Number) Step() float64 { return math.Pow10(-n.Decimals) }

// Fixed returns n times ten to the decimals; exact is false where that is no whole number or beyond 18 digits.
func (n Number) Fixed(decimals int) (fixed int64, exact bool) {
	whole, fraction, _ := strings.Cut(n.text, ".")
	fraction = strings.TrimRight(fraction, "0")
	if len(fraction) > decimals {
		return 0, false
	}
	digits := whole + fraction + strings.Repeat("0", decimals-len(fraction))
	if len(strings.TrimLeft(digits, "-0")) > 18 {
		return 0, false
	}
	fixed, err := strconv.ParseInt(digits, 10, 64)
	return fixed, err == nil
}
