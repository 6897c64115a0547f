package chart

import (
	"context"
	"io"
)

// TrainDrawing shows a wheel train unrolled into a row: pitch circles to one scale by their counts, each wheel
// meshing with the pinion of the next arbor, the counts written on and the directions of turning. It draws motion
// work as well: NoEscape, with drivers and driven in place of wheels and pinions.
type TrainDrawing struct {
	ID          string // of the element; unique on its page
	Title       string
	Stages      []TrainStage // from the slowest arbor on
	EscapeTeeth int          // 0 is not known
	// EscapeSought draws the escape wheel dashed though it has a count, since that was found and not given.
	EscapeSought bool
	NoEscape     bool   // the last arbor carries no escape wheel
	LastName     string // of the last arbor; "" is "escape"
	// Anticlockwise says that the first arbor turns so, as the drawing is seen; each next one turns the other way.
	Anticlockwise bool
	SeenFrom      string   // "seen from the dial side"; "" leaves it out
	TurnsPerHour  []string // of each arbor from the first, worded: "7½"; nil or "" is not written
	Facts         []Fact   // rows under the drawing: {"beats per hour", "18 000"}
}

// TrainStage is a wheel and the pinion it drives, which sits on the next arbor.
type TrainStage struct {
	Wheel, Pinion int // counts; 0 is not known and is drawn dashed with a question mark
	// Name of the arbor that the wheel sits on: "centre". "" takes the usual one: barrel, centre, third, fourth.
	Name string
	// WheelSought and PinionSought draw dashed what has a count that was found and not given.
	WheelSought, PinionSought bool
}

// Fact is a row under a drawing: a name and its figure with unit, worded for print.
type Fact struct{ Name, Value string }

// Render writes the drawing; it makes TrainDrawing a templ component.
func (d TrainDrawing) Render(ctx context.Context, w io.Writer) error { return write(ctx, w, d.SVG) }

// SVG returns the drawing as an svg element. It fails on an unusable ID and on counts that are negative or beyond any
// wheel's.
func (d TrainDrawing) SVG() (string, error) {
	return emptyOf(d.ID, d.Title, "No train to draw yet.")
}
