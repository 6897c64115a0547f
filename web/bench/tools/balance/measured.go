package balance

import (
	"cmp"
	"errors"
	"maps"
	"math"
	"net/url"
	"strings"

	"ledgerwheel/domain/figure"
	"ledgerwheel/domain/metrology"
)

// measuredHint says how a measured figure may be typed.
const measuredHint = "As measured, with its range where you know it: 12.3 ± 0.2 (k = 2). Without one it counts as " +
	"rounded to its last digit."

// measuredReader reads measured figures of a tool's form and notes what is wrong with them.
type measuredReader struct {
	v   url.Values
	Bad map[string]string
}

func newMeasuredReader(v url.Values) measuredReader {
	return measuredReader{v: v, Bad: map[string]string{}}
}

func (r measuredReader) text(name string) string { return strings.TrimSpace(r.v.Get(name)) }

func (r measuredReader) typed(names ...string) bool {
	for _, name := range names {
		if r.text(name) != "" {
			return true
		}
	}
	return false
}

// take adds problems, those found first staying.
func (r measuredReader) take(problems map[string]string) {
	for name, says := range problems {
		if r.Bad[name] == "" {
			r.Bad[name] = says
		}
	}
}

// measured reads "12.3" or "12.3 ± 0.2"; nothing typed is the zero value. What stands behind ± is the expanded
// uncertainty; without it the figure is rounded to its last digit.
func (r measuredReader) measured(name, unit string) metrology.Value {
	typed := r.text(name)
	if typed == "" {
		return metrology.Value{}
	}
	before, around, ranged := strings.Cut(strings.Replace(typed, "+/-", "±", 1), "±")
	x, err := figure.Parse(before, unit)
	u := metrology.FromResolution(x.Step())
	if ranged {
		expanded, badRange := figure.Parse(around, unit)
		if expanded.Float() < 0 {
			badRange = errNegativeRange
		}
		err = cmp.Or(err, badRange)
		u = math.Abs(expanded.Float()) / metrology.CoverageFactor
	}
	if err != nil {
		r.Bad[name] = "Give a figure such as 12.3, or with its range: 12.3 ± 0.2."
		return metrology.Value{}
	}
	return metrology.Value{Value: x.Float(), StdUncertainty: u, Unit: unit}
}

// exact reads a figure that counts as it stands, with or without one of the units; nothing typed is 0, and a typed 0 is
// refused.
func (r measuredReader) exact(name string, units ...string) float64 {
	n, err := figure.Parse(r.text(name), units...)
	return r.aboveNought(name, n, err)
}

// beats reads beats per hour, which may be typed with a thousands mark, otherwise as exact does.
func (r measuredReader) beats(name string) float64 {
	n, err := figure.ParseThousands(r.text(name))
	return r.aboveNought(name, n, err)
}

func (r measuredReader) aboveNought(name string, n figure.Number, err error) float64 {
	switch {
	case !r.typed(name):
	case err != nil:
		r.Bad[name] = figure.Sentence(err, "Give a figure such as 12.3.")
	case n.Float() == 0:
		r.Bad[name] = "Give a figure above zero, or leave it empty."
	}
	return n.Float()
}

// whole reads a count.
func (r measuredReader) whole(name string) int {
	if !r.typed(name) {
		return 0
	}
	n, err := figure.ParseWhole(r.text(name))
	switch {
	case err != nil || n > 1e6 || n < -1e6:
		r.Bad[name] = figure.Sentence(err, "Give a whole number.")
		return 0
	case n == 0:
		r.Bad[name] = "Give a figure above zero, or leave it empty."
	}
	return n
}

var errNegativeRange = errors.New("a range is not below zero")

// problems returns what stands against the form; nil for nothing.
func (r measuredReader) problems() map[string]string {
	if len(r.Bad) == 0 {
		return nil
	}
	return maps.Clone(r.Bad)
}

// inputText writes a figure of a calibre as it would be typed; 0 is not known.
func inputText(x float64) string {
	if x == 0 {
		return ""
	}
	return inputDigits(x, 6)
}

// inputDigits writes a figure worked out as it would be typed, to so many significant digits.
func inputDigits(x float64, digits int) string {
	return figure.Plain(figure.Significant(x, digits))
}

// setFilled keeps the figures that a calibre knows.
func setFilled(v url.Values, figures map[string]float64) url.Values {
	for name, x := range figures {
		if typed := inputText(x); typed != "" {
			v.Set(name, typed)
		}
	}
	return v
}

// asPercent writes a relative figure.
func asPercent(v metrology.Value) metrology.Value {
	return metrology.Value{Value: 100 * v.Value, StdUncertainty: 100 * v.StdUncertainty, Unit: "%"}
}
