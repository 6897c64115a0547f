package view

import (
	"cmp"

	"github.com/a-h/templ"
)

// PrintView is a print sheet's surroundings on the screen: none of it is printed.
type PrintView struct {
	Page
	Heading  string       // "Claim ticket"
	Advice   string       // "Print at true size, without scaling"
	BackHref string       // where the paper belongs
	BackText string       // "Back to the docket" when empty
	PDF      *LinkView    // the same paper as a PDF
	Also     []LinkView   // the same in other sizes
	Notices  []NoticeView // what will not print, or runs on
	Parts    []PrintPart  // several papers on one page; none for a page of one
	Above    templ.Component
}

// PrintPart is one of several papers that are printed in one go.
type PrintPart struct {
	Name, Heading, PDF string
	Paper              templ.Component
}

func (p PrintView) advice() string {
	return cmp.Or(p.Advice, "In the print dialogue choose this paper, scale 100 %, margins none.")
}
