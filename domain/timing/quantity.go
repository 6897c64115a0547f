package timing

import (
	"fmt"

	"ledgerwheel/domain/metrology"
)

// Quantity is one of the three things read in a position. Its text is used in form field names.
type Quantity string

// The three quantities of a reading.
const (
	Rate      Quantity = "rate"       // s/d, + gains
	Amplitude Quantity = "amplitude"  // degrees
	BeatError Quantity = "beat_error" // ms
)

// Units as printed.
const (
	UnitSPerDay = "s/d"
	UnitDegree  = "°"
	UnitMs      = "ms"
)

// Quantities returns the three quantities in the order of the grid.
func Quantities() []Quantity { return []Quantity{Rate, Amplitude, BeatError} }

// quantityFacts is what is known of a quantity. Ranges are wide: they catch slips of the hand, not poor watches.
type quantityFacts struct {
	label     string
	unit      string
	units     []string // accepted behind a typed figure
	least     float64
	greatest  float64
	openEnds  bool // the ends themselves are refused
	rangeText string
	example   string
}

var facts = map[Quantity]quantityFacts{
	Rate: {
		label: "rate", unit: UnitSPerDay, units: []string{"s/day", "s/d"}, least: -9999, greatest: 9999,
		rangeText: "Give a rate from −9999 to +9999 s/d.", example: "+3 or −3.5",
	},
	Amplitude: {
		label: "amplitude", unit: UnitDegree, units: []string{"deg", "°"}, least: 0, greatest: 360, openEnds: true,
		rangeText: "Give an amplitude above 0° and below 360°.", example: "268",
	},
	BeatError: {
		label: "beat error", unit: UnitMs, units: []string{"ms"}, least: 0, greatest: 99,
		rangeText: "Give the size of the beat error, 0 to 99 ms, without a sign.", example: "0.4",
	},
}

// Label names the quantity: "rate", "amplitude", "beat error".
func (q Quantity) Label() string { return facts[q].label }

// Unit returns the unit as printed.
func (q Quantity) Unit() string { return facts[q].unit }

// Signed reports whether a positive figure is written with a plus sign: true of rates only.
func (q Quantity) Signed() bool { return q == Rate }

// Format prints v as figures of this quantity are printed, with its expanded uncertainty (k = 2).
func (q Quantity) Format(v metrology.Value) string { return format(v, q.Signed()) }

func format(v metrology.Value, signed bool) string {
	if signed {
		return v.FormatSigned()
	}
	return v.Format()
}

// problem returns why x cannot be a figure of q, or "". It refuses NaN and the infinities.
func (q Quantity) problem(x float64) string {
	f, known := facts[q]
	if !known {
		return fmt.Sprintf("%q is not a quantity that is read.", string(q))
	}
	inside := x >= f.least && x <= f.greatest
	if f.openEnds {
		inside = x > f.least && x < f.greatest
	}
	if !inside {
		return f.rangeText
	}
	return ""
}
