package metrology

import (
	"math"
	"strconv"
	"strings"

	"ledgerwheel/domain/figure"
)

// Significant digits kept in a printed uncertainty (JCGM 100, 7.2.6): two where a figure decides, as in a verdict or an
// advice, one where it stands in a list or a grid. The figure itself is printed to the same place.
const (
	decidingDigits = 2
	listedDigits   = 1
)

// mostLost is the share of an uncertainty that printing one digit of it may leave out; where rounding to the nearest
// would leave out more it is rounded up (JCGM 100, 7.2.6: it may be appropriate to round uncertainties up). One in
// twenty is ours.
const mostLost = 0.05

// plainDigits is the number of significant digits printed of the decimals of a figure without uncertainty; whole
// numbers are printed whole.
const plainDigits = 6

// Printed is a value rounded for print, in parts, so that a table can align them. Signs are typographic (U+2212).
type Printed struct {
	Value       string // "−3.41"
	Uncertainty string // of the expanded uncertainty: "0.12"; "" when the value is exact
	Unit        string
}

// Print rounds v for print: the expanded uncertainty U (k = 2) to two significant digits, and the figure to the
// same place (JCGM 100, 7.2.6). With signed set a positive figure has a plus sign, as rates do.
// It panics if v does not pass Check.
func (v Value) Print(signed bool) Printed { return v.print(signed, decidingDigits) }

// Brief rounds v for a list or a grid: U to one significant digit and the figure to the same place. U is never
// understated by more than a twentieth. It panics if v does not pass Check.
func (v Value) Brief(signed bool) Printed { return v.print(signed, listedDigits) }

// Format returns v as "3.41 ± 0.12 s/d", the figure after ± being the expanded uncertainty with k = 2.
func (v Value) Format() string { return v.Print(false).String() }

// FormatSigned is Format with a plus sign before a positive figure: "+3.41 ± 0.12 s/d".
func (v Value) FormatSigned() string { return v.Print(true).String() }

// String returns the parts in one line. The degree sign follows each number without a space (ISO 80000-1, 7.1.4,
// from memory); every other unit stands once, at the end, after a space.
func (p Printed) String() string {
	if p.Unit == "°" {
		if p.Uncertainty == "" {
			return p.Value + "°"
		}
		return p.Value + "° ± " + p.Uncertainty + "°"
	}
	s := p.Value
	if p.Uncertainty != "" {
		s += " ± " + p.Uncertainty
	}
	if p.Unit == "" {
		return s
	}
	return s + " " + p.Unit
}

func (v Value) print(signed bool, digits int) Printed {
	if err := v.Check(); err != nil {
		panic("metrology: cannot print: " + err.Error())
	}
	expanded := v.Expanded()
	if expanded == 0 {
		return Printed{Value: figure.Printed(plain(v.Value), signed), Unit: v.Unit}
	}
	if digits == listedDigits {
		expanded = upToOneDigit(expanded)
	}
	place := lastPlace(expanded, digits)
	return Printed{
		Value:       figure.Printed(roundTo(v.Value, place), signed),
		Uncertainty: roundTo(expanded, place),
		Unit:        v.Unit,
	}
}

// upToOneDigit rounds an uncertainty u > 0 to one significant digit, up where the nearest is too small.
func upToOneDigit(u float64) float64 {
	nearest := figure.Significant(u, 1)
	if nearest >= u*(1-mostLost) {
		return nearest
	}
	return figure.Significant(nearest+math.Pow10(lastPlace(u, 1)), 1)
}

func plain(x float64) string {
	if math.Abs(x) >= math.Pow10(plainDigits) {
		return strconv.FormatFloat(x, 'f', 0, 64)
	}
	return strconv.FormatFloat(x, 'g', plainDigits, 64)
}

// lastPlace returns the power of ten of the last of so many digits kept of an uncertainty u > 0. The power is read from
// u as rounded, so that of two digits 0.0996 counts as 0.10 and keeps hundredths.
func lastPlace(u float64, digits int) int {
	e := strconv.FormatFloat(u, 'e', digits-1, 64)
	exponent, err := strconv.Atoi(e[strings.IndexByte(e, 'e')+1:])
	if err != nil {
		panic("metrology: no exponent in " + e)
	}
	return exponent - (digits - 1)
}

// roundTo rounds x to the power of ten place and writes it without an exponent.
func roundTo(x float64, place int) string {
	if place <= 0 {
		return strconv.FormatFloat(x, 'f', -place, 64)
	}
	step := math.Pow10(place)
	return strconv.FormatFloat(math.Round(x/step)*step, 'f', 0, 64)
}
