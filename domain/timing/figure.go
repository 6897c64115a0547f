package timing

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode/utf8"

	"ledgerwheel/domain/metrology"
)

// Figure is one figure as it was read off or typed, with what is known of its fineness. The contribution of the
// instrument's clock is kept apart (see Instruments), because all readings of one instrument share it.
type Figure struct {
	Value          float64 // in the unit of its quantity
	Step           float64 // least step of the display or of the figure as typed; 0 when it has none
	StdUncertainty float64 // stated by the instrument, without step and clock; 0 when none is stated
}

// Independent returns the standard uncertainty of f that no other reading shares: the stated one and that of the
// step (rectangular), in quadrature.
func (f Figure) Independent() float64 {
	return metrology.Quadrature(f.StdUncertainty, metrology.FromResolution(f.Step))
}

// problem returns why f cannot be a figure of q, or "".
func (f Figure) problem(q Quantity) string {
	if reason := q.problem(f.Value); reason != "" {
		return reason
	}
	for _, u := range []float64{f.Step, f.StdUncertainty} {
		if !(u >= 0 && u <= facts[q].greatest) { // refuses NaN too
			return fmt.Sprintf("The step and the uncertainty of the %s must be zero or more.", q.Label())
		}
	}
	return ""
}

// Limits of a typed figure: enough for any instrument, short enough to be one figure.
const (
	maxFigureBytes = 40
	maxDecimals    = 6
)

// ParseFigure reads a typed figure of quantity q. Blank is nil: not measured. It accepts a leading + or a minus of
// any common kind, a decimal point or comma, blanks around, and the quantity's unit behind. The step is that of the
// last digit typed: 3 means ±0.5, 3.4 means ±0.05. Where problem is not empty the text cannot be read as such a
// figure, and problem is the sentence to show beside the field.
func ParseFigure(q Quantity, text string) (f *Figure, problem string) {
	typed := strings.TrimSpace(text)
	if typed == "" {
		return nil, ""
	}
	switch {
	case len(typed) > maxFigureBytes:
		return nil, "This is too long to be one figure."
	case !utf8.ValidString(typed):
		return nil, "This has characters that cannot be read."
	}
	negative, digits := cutSign(cutUnit(q, typed))
	x, decimals, fault := parseDecimal(digits)
	if fault != "" {
		return nil, fmt.Sprintf("“%s” %s, for example %s.", typed, fault, facts[q].example)
	}
	if decimals > maxDecimals {
		return nil, fmt.Sprintf("Give at most %d decimals.", maxDecimals)
	}
	if negative && x != 0 {
		x = -x
	}
	if reason := q.problem(x); reason != "" {
		return nil, reason
	}
	return &Figure{Value: x, Step: math.Pow10(-decimals)}, ""
}

// cutUnit takes the unit of q, if it is there, from the end of a typed figure.
func cutUnit(q Quantity, typed string) string {
	for _, suffix := range facts[q].suffixes {
		head := len(typed) - len(suffix)
		if head > 0 && strings.EqualFold(typed[head:], suffix) {
			return strings.TrimSpace(typed[:head])
		}
	}
	return typed
}

// minusSigns are what keyboards, phones and spreadsheets give for a minus: hyphen-minus, minus sign, hyphen,
// non-breaking hyphen, en dash, small and full-width hyphen-minus.
var minusSigns = []string{"-", "\u2212", "\u2010", "\u2011", "\u2013", "\ufe63", "\uff0d"}

// cutSign takes one leading sign off.
func cutSign(s string) (negative bool, rest string) {
	if rest, ok := strings.CutPrefix(s, "+"); ok {
		return false, strings.TrimSpace(rest)
	}
	for _, sign := range minusSigns {
		if rest, ok := strings.CutPrefix(s, sign); ok {
			return true, strings.TrimSpace(rest)
		}
	}
	return false, s
}

// parseDecimal reads digits with at most one decimal point or comma, and counts the decimals. A fault continues a
// sentence that begins with the text as typed.
func parseDecimal(s string) (x float64, decimals int, fault string) {
	if s == "" {
		return 0, 0, "is a sign without a figure. Write the digits"
	}
	if strings.Count(s, ".")+strings.Count(s, ",") > 1 {
		return 0, 0, "has more than one decimal mark. Write one point or comma and no thousands mark"
	}
	whole, fraction, _ := strings.Cut(strings.Replace(s, ",", ".", 1), ".")
	if whole+fraction == "" || strings.Trim(whole+fraction, "0123456789") != "" {
		return 0, 0, "is not a figure. Write digits"
	}
	x, err := strconv.ParseFloat("0"+whole+"."+fraction+"0", 64)
	if err != nil {
		return 0, 0, "is not a figure. Write digits"
	}
	return x, len(fraction), ""
}

// InputText writes f as it would be typed, to the decimals of its step, so that a form shows what was entered:
// ParseFigure reads the same figure and step back. Rates that gain have a plus sign.
func (f Figure) InputText(q Quantity) string {
	decimals := -1 // as many as the value needs
	if f.Step > 0 {
		// The small amount keeps a step of 0.001, whose logarithm is not exact, at three decimals.
		decimals = min(max(0, int(math.Ceil(-math.Log10(f.Step)-1e-9))), maxDecimals)
	}
	s := strconv.FormatFloat(f.Value, 'f', decimals, 64)
	if q.Signed() && f.Value > 0 {
		s = "+" + s
	}
	return s
}

// maxHoursAfterWinding is about six weeks: longer than any going train of a watch runs.
const maxHoursAfterWinding = 1000

// ParseHours reads a state of wind: hours after full winding, 0 to 1000, to hundredths; "24 h" and "24" alike.
// Where problem is not empty it is the sentence to show beside the field.
func ParseHours(text string) (hours float64, problem string) {
	typed := strings.TrimSpace(text)
	digits := strings.TrimSpace(strings.TrimSuffix(typed, "h"))
	if digits == "" {
		return 0, "Give the hours after full winding, 0 for full wind."
	}
	switch {
	case len(typed) > maxFigureBytes:
		return 0, "This is too long to be a number of hours."
	case !utf8.ValidString(typed):
		return 0, "This has characters that cannot be read."
	}
	hours, decimals, fault := parseDecimal(digits)
	if fault != "" {
		return 0, fmt.Sprintf("“%s” %s, for example 36.", typed, fault)
	}
	if decimals > 2 {
		return 0, hoursRangeText
	}
	return hours, hoursProblem(hours)
}

const hoursRangeText = "Give hours from 0 to 1000, to hundredths at most."

func hoursProblem(hours float64) string {
	if !(hours >= 0 && hours <= maxHoursAfterWinding) { // refuses NaN too
		return hoursRangeText
	}
	return ""
}
