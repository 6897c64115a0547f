package chart

import (
	"context"
	"io"
)

// BalanceDrawing shows a balance from the side of its cock: the rim with its screws or weights and the heavy spot, the
// hairspring from collet to stud, and the regulator pins with the way to move them. Angles are in degrees clockwise
// from the top of the drawing.
type BalanceDrawing struct {
	ID           string // of the element; unique on its page
	Title        string
	DiameterText string         // across the rim, worded: "9.8 mm"; "" leaves the dimension out
	Screws       []BalanceScrew // in any order; none draws a plain rim
	// HeavySpotDeg is where the rim is heavy; nil draws none.
	HeavySpotDeg  *float64
	HeavySpotText string
	JewelDeg      *float64 // of the impulse jewel on its roller; nil draws none
	// Coils of the hairspring; 0 draws no spring, and neither stud nor pins.
	Coils float64
	// StudDeg is where the stud holds the outer end.
	StudDeg float64
	// PinsDeg is where the regulator pins are; nil: a free-sprung balance without them.
	PinsDeg *float64
	// PinsMove says which way to move the pins.
	PinsMove PinsMove
	PinsText string // beside "regulator pins": "0.4 mm towards the stud"
	Facts    []Fact // further rows under the drawing
}

// PinsMove is a way to move the regulator pins.
type PinsMove int

// Ways to move the pins: towards the stud the working length grows and the watch loses; away from it, it gains.
const (
	PinsStay PinsMove = iota
	PinsTowardsStud
	PinsAwayFromStud
)

// BalanceScrew is a screw or weight of the rim.
type BalanceScrew struct {
	AngleDeg float64
	Name     string // short: "3"
	Washer   bool   // sits under a washer
	Turn     bool   // the one, or ones, the answer is about
	Action   string // what is to be done, in few words: "half a turn out"
}

// Render writes the drawing; it makes BalanceDrawing a templ component.
func (d BalanceDrawing) Render(ctx context.Context, w io.Writer) error { return write(ctx, w, d.SVG) }

// SVG returns the drawing as an svg element. It fails on an unusable ID and on figures that are not finite.
func (d BalanceDrawing) SVG() (string, error) {
	return emptyOf(d.ID, d.Title, "No balance to draw yet.")
}
