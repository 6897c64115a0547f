package figure

import "strconv"

// Plain writes x as a person would type it: a hyphen for the minus, a decimal point, no exponent, and as few decimals as
// name x among all float64 numbers.
func Plain(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }

// Significant rounds x to so many significant digits; an x that would leave the range of float64 stays as it is.
func Significant(x float64, digits int) float64 {
	rounded, err := strconv.ParseFloat(strconv.FormatFloat(x, 'g', digits, 64), 64)
	if err != nil {
		return x
	}
	return rounded
}
