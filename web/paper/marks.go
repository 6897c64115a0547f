package paper

import "ledgerwheel/web/paper/drawing"

// Mark is the verdict on a figure; Position a test position and how a watch lies in it.
type (
	Mark     = drawing.Mark
	Position = drawing.Position
	Lie      = drawing.Lie
)

// Marks and ways to lie, as drawing has them.
const (
	NotMeasured = drawing.NotMeasured
	Pass        = drawing.Pass
	Fail        = drawing.Fail
	Undecided   = drawing.Undecided

	DialUp     = drawing.DialUp
	DialDown   = drawing.DialDown
	CrownUp    = drawing.CrownUp
	CrownRight = drawing.CrownRight
	CrownDown  = drawing.CrownDown
	CrownLeft  = drawing.CrownLeft
)

// Code128SVG and QRSVG draw codes for pages that are no papers.
func Code128SVG(text string) (string, error) { return drawing.Code128SVG(text) }
func QRSVG(text string) (string, error)      { return drawing.QRSVG(text) }
