package timing

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"

	"ledgerwheel/domain/figure"
	"ledgerwheel/domain/metrology"
)

// Figure is one figure as it was read off or typed, with what is known of its fineness. The contribution of the
// instrument's clock is kept apart (see Instruments), because all readings of one instrument share it.
type Figure struct {
	Value          float64 // in the unit of its quantity
	Step           float64 // least step of the display or of the figure as typed; 0 when it has none
	StdUncertainty float64 // stated by the instrument, without step and clock; 0 when none is stated
	Asked          string  // what was asked when it was typed, and who confirmed it; "" for nothing
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

// maxDecimals of a typed figure are enough for any instrument.
const maxDecimals = 6

// ParseFigure reads a typed figure of quantity q. Blank is nil: not measured. Numbers are spelt as package figure has
// it, with or without the quantity's unit. The step is that of the last digit typed: 3 means ±0.5, 3.4 means ±0.05.
// Where problem is not empty the text cannot be read as such a figure, and problem is the sentence to show beside the
// field.
func ParseFigure(q Quantity, text string) (f *Figure, problem string) {
	if figure.Blank(text) {
		return nil, ""
	}
	n, err := figure.Parse(text, facts[q].units...)
	if err != nil {
		return nil, unread(err, facts[q].example)
	}
	if n.Decimals > maxDecimals {
		return nil, fmt.Sprintf("Give at most %d decimals.", maxDecimals)
	}
	if reason := q.problem(n.Float()); reason != "" {
		return nil, reason
	}
	return &Figure{Value: n.Float(), Step: n.Step()}, ""
}

// unread says why text is no figure, with an example of one.
func unread(err error, example string) string {
	var e *figure.Error
	if !errors.As(err, &e) {
		return err.Error()
	}
	switch e.Fault {
	case figure.TooLong, figure.NotText: // not to be repeated
		return "This " + e.Says() + "."
	}
	return fmt.Sprintf("%v, for example %s.", e, example)
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

// Text writes f as people read it: InputText with the printed minus.
func (f Figure) Text(q Quantity) string { return figure.Printed(f.InputText(q), q.Signed()) }

// maxHoursAfterWinding is about six weeks: longer than any going train of a watch runs.
const maxHoursAfterWinding = 1000

// ParseHours reads a state of wind: hours after full winding, 0 to 1000, to hundredths; "24 h" and "24" alike.
// Where problem is not empty it is the sentence to show beside the field.
func ParseHours(text string) (hours float64, problem string) {
	if figure.Blank(text) || strings.TrimSpace(text) == "h" {
		return 0, "Give the hours after full winding, 0 for full wind."
	}
	n, err := figure.Parse(text, "h")
	if err != nil {
		return 0, unread(err, "36")
	}
	if n.Decimals > 2 {
		return 0, hoursRangeText
	}
	return n.Float(), hoursProblem(n.Float())
}

const hoursRangeText = "Give hours from 0 to 1000, to hundredths at most."

func hoursProblem(hours float64) string {
	if !(hours >= 0 && hours <= maxHoursAfterWinding) { // refuses NaN too
		return hoursRangeText
	}
	return ""
}
