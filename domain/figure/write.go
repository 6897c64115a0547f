package figure

import (
	"strconv"
	"strings"
)

// Plain writes x as a person would type it: a hyphen for the minus, a decimal point, no exponent, and as few decimals as
// name x among all float64 numbers.
func Plain(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }

// Shown writes x as people read it: as Plain, with the printed minus.
func Shown(x float64) string { return Printed(Plain(x), false) }

// Places writes x to so many decimals as people read it.
func Places(x float64, decimals int) string {
	return Printed(strconv.FormatFloat(x, 'f', decimals, 64), false)
}

// Signed is Places with a plus before what is above zero, as rates have.
func Signed(x float64, decimals int) string {
	return Printed(strconv.FormatFloat(x, 'f', decimals, 64), true)
}

// Printed gives a number, digits with a hyphen for its minus, the sign that is read: a true minus (U+2212), none before
// zero, and a plus where signed asks for one. Every printed sign of a number is made here.
func Printed(number string, signed bool) string {
	digits := strings.TrimLeft(number, "+-")
	mantissa, exponent, scaled := strings.Cut(digits, "e")
	if scaled {
		digits = mantissa + "e" + strings.Replace(exponent, "-", minus, 1)
	}
	switch {
	case strings.Trim(mantissa, "0.") == "":
		return digits
	case strings.HasPrefix(number, "-"):
		return minus + digits
	case signed:
		return "+" + digits
	}
	return digits
}

// minus is the sign that is printed: as wide as a plus, and never taken for a hyphen.
const minus = "\u2212"

// Significant rounds x to so many significant digits; an x that would leave the range of float64 stays as it is.
func Significant(x float64, digits int) float64 {
	rounded, err := strconv.ParseFloat(strconv.FormatFloat(x, 'g', digits, 64), 64)
	if err != nil {
		return x
	}
	return rounded
}
