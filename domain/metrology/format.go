package metrology

import (
	"math"
	"strconv"
	"strings"

	"ledgerwheel/domain/figure"
)

// uncertaintyDigits is the number of significant digits kept in a printed uncertainty (JCGM 100, 7.2.6).
const uncertaintyDigits = 2

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
func (v Value) Print(signed bool) Printed { return v.print(CoverageFactor, signed) }

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

func (v Value) print(k float64, signed bool) Printed {
	if err := v.Check(); err != nil {
		panic("metrology: cannot print: " + err.Error())
	}
	expanded := k * v.StdUncertainty
	if expanded == 0 {
		return Printed{Value: figure.Printed(plain(v.Value), signed), Unit: v.Unit}
	}
	place := lastPlace(expanded)
	return Printed{
		Value:       figure.Printed(roundTo(v.Value, place), signed),
		Uncertainty: roundTo(expanded, place),
		Unit:        v.Unit,
	}
}

func plain(x float64) string {
	if math.Abs(x) >= math.Pow10(plainDigits) {
		return strconv.FormatFloat(x, 'f', 0, 64)
	}
	return strconv.FormatFloat(x, 'g', plainDigits, 64)
}

// lastPlace returns the power of ten of the last digit kept of an uncertainty u > 0. The power is read from u as
// rounded, so that 0.0996 counts as 0.10 and keeps hundredths.
func lastPlace(u float64) int {
	e := strconv.FormatFloat(u, 'e', uncertaintyDigits-1, 64)
	exponent, err := strconv.Atoi(e[strings.IndexByte(e, 'e')+1:])
	if err != nil {
		panic("metrology: no exponent in " + e)
	}
	return exponent - (uncertaintyDigits - 1)
}

// roundTo rounds x to the power of ten place and writes it without an exponent.
func roundTo(x float64, place int) string {
	if place <= 0 {
		return strconv.FormatFloat(x, 'f', -place, 64)
	}
	step := math.Pow10(place)
	return strconv.FormatFloat(math.Round(x/step)*step, 'f', 0, 64)
}
