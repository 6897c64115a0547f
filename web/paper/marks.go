package paper

import (
	"ledgerwheel/domain/tongue"
	"ledgerwheel/web/paper/drawing"
)

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

// markWord says a mark in words, without which its lozenge never stands.
func markWord(t tongue.Tongue, m Mark) string {
	switch m {
	case Pass:
		return t.Say("paper.mark.pass")
	case Fail:
		return t.Say("paper.mark.fail")
	case Undecided:
		return t.Say("paper.mark.undecided")
	}
	return t.Say("paper.mark.not_measured")
}
