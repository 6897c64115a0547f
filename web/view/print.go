package view

import (
	"cmp"
)

// PaperSize names a page box; css/print.css holds its true measures.
type PaperSize string

// The papers a shop prints.
const (
	PaperA4     PaperSize = "a4"     // 210 x 297 mm, upright: estimate, bulletin, invoice
	PaperA6     PaperSize = "a6"     // 105 x 148 mm, upright: claim ticket on cut sheets
	PaperTicket PaperSize = "ticket" // 80 x 200 mm: claim ticket on a roll
	PaperLabel  PaperSize = "label"  // 62 x 29 mm: watch-bag label
	PaperCard   PaperSize = "card"   // ISO/IEC 7810 ID-1, 85.60 x 53.98 mm: warranty card
)

// PrintView is a print sheet's surroundings on the screen: none of it is printed.
type PrintView struct {
	Page
	Size     PaperSize
	Heading  string      // "Claim ticket"
	Advice   string      // "Print at true size, without scaling"
	BackHref string      // where the paper belongs
	BackText string      // "Back to the docket" when empty
	PDF      *LinkView   // the same paper as a PDF
	Lacking  *NoticeView // what the PDF can't show; nil when it shows all
}

func (p PrintView) advice() string {
	return cmp.Or(p.Advice, "In the print dialogue choose this paper, scale 100 %, margins none.")
}
