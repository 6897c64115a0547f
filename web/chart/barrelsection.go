package chart

import (
	"context"
	"io"
)

// BarrelSection shows a barrel cut across its arbor, twice: with the spring wound on the arbor, and let down against
// the wall. Everything is to scale; what is not known is drawn dashed at a usual size. Sizes in millimetres, 0 is not
// known.
type BarrelSection struct {
	ID               string // of the element; unique on its page
	Title            string
	InsideDiameterMm float64
	ArborDiameterMm  float64
	ThicknessMm      float64 // of the spring
	WidthMm          float64 // its height in the barrel
	LengthMm         float64
	TurnsText        string // worded: "6.9 turns"; "" leaves the row out
	FillText         string // how much of the free space the spring takes, worded: "51 %"
	Facts            []Fact // further rows under the drawing
}

// Render writes the drawing; it makes BarrelSection a templ component.
func (d BarrelSection) Render(ctx context.Context, w io.Writer) error { return write(ctx, w, d.SVG) }

// SVG returns the drawing as an svg element. It fails on an unusable ID and on sizes that are negative or not finite.
func (d BarrelSection) SVG() (string, error) {
	return emptyOf(d.ID, d.Title, "No barrel to draw yet.")
}
