package paper

import (
	"ledgerwheel/web/paper/drawing"
	"ledgerwheel/web/paper/typeface"
)

func style(f typeface.Face, size float64, ink drawing.Ink) drawing.Style {
	return drawing.Style{Face: f, Size: size, Ink: ink}
}

const (
	sans        = typeface.Sans
	sansBold    = typeface.SansBold
	serif       = typeface.Serif
	serifItalic = typeface.SerifItalic
)

// The papers a shop prints. css/print.css has a page box for each.
var (
	// A4 upright, for estimate, invoice, bulletin.
	a4 = size{name: "a4", w: 210, h: 297, side: 20, top: 16, bottom: 22, footed: true, styles: styles{
		body: style(sans, 9, drawing.Plain), strong: style(sansBold, 9, drawing.Plain),
		small: style(sans, 7.5, drawing.Quiet), fine: style(sans, 7.5, drawing.Quiet), label: style(sans, 7, drawing.Quiet),
		title: style(serif, 21, drawing.Plain), section: style(serif, 12.5, drawing.Accent),
		shop: style(serif, 16, drawing.Accent), quoted: style(serifItalic, 9.5, drawing.Plain), perRow: 4}}

	// A6 upright, for the claim ticket on cut sheets.
	a6 = size{name: "a6", w: 105, h: 148, side: 8, top: 8, bottom: 9, pages: 1, squeezes: []float64{0.95, 0.9, 0.85},
		styles: styles{
			body: style(sans, 8.5, drawing.Plain), strong: style(sansBold, 8.5, drawing.Plain),
			small: style(sans, 7, drawing.Quiet), fine: style(sans, 6, drawing.Quiet), label: style(sans, 6.4, drawing.Quiet),
			title: style(serif, 24, drawing.Plain), section: style(sans, 6.4, drawing.Quiet),
			shop: style(serif, 14, drawing.Accent), quoted: style(serifItalic, 9, drawing.Plain), perRow: 2}}

	// A roll of 80 mm, as long as the ticket needs.
	roll = size{name: "ticket", w: 80, h: longestRoll, side: 4, top: 5, bottom: 6, pages: 1, styles: styles{
		body: style(sans, 8.5, drawing.Plain), strong: style(sansBold, 8.5, drawing.Plain),
		small: style(sans, 7, drawing.Quiet), fine: style(sans, 6.5, drawing.Quiet), label: style(sans, 6.5, drawing.Quiet),
		title: style(serif, 21, drawing.Plain), section: style(sans, 6.5, drawing.Quiet),
		shop: style(serif, 13, drawing.Accent), quoted: style(serifItalic, 9, drawing.Plain), perRow: 1}}

	// The bag label, and the styles of what it has no room for.
	label = size{name: "label", w: 62, h: 29, side: 2.5, top: 2, bottom: 2, pages: 1, styles: styles{
		body: style(sans, 6, drawing.Black), strong: style(sansBold, 6, drawing.Black), small: style(sans, 5.5, drawing.Black),
		fine: style(sans, 5.5, drawing.Black), label: style(sans, 5.5, drawing.Black), title: style(serif, 9, drawing.Black),
		section: style(sansBold, 5.5, drawing.Black), shop: style(sansBold, 6, drawing.Black),
		quoted: style(sans, 6, drawing.Black), perRow: 1}}

	// ISO/IEC 7810 ID-1: 85.60 x 53.98 mm, for the warranty card.
	id1 = size{name: "card", w: 85.60, h: 53.98, side: cardMargin, top: cardMargin, bottom: cardMargin, pages: 2,
		styles: styles{
			body: cardBody, strong: cardBody, small: cardLabel, fine: cardLabel, label: cardLabel, title: cardHead,
			section: cardHead, shop: cardHead, quoted: cardBody, perRow: 1}}
)

const longestRoll = 3000.0 // mm; a reader of PDF shows at most 5080
