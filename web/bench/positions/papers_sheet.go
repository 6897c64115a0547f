package positions

import (
	"net/http"

	"ledgerwheel/domain/text"
	"ledgerwheel/domain/timing"
	"ledgerwheel/web/page"
	"ledgerwheel/web/paper"
	"ledgerwheel/web/view"
)

// benchSheet is the sheet of codes as it is printed. It belongs to no docket; positions are said for a crown at three.
func (s *Room) benchSheet(r *http.Request) paper.BenchSheet {
	viewer, _ := page.ViewerOf(r.Context())
	sheet := paper.BenchSheet{Shop: viewer.Shop.Name, Lang: viewer.Shop.Locale, Notes: []string{
		"Open the bench view of a docket, then scan what is to be done. The positions are said for a crown at 3 o’clock.",
		"The scanner must type what it reads on the keyboard that the machine is set to, and Enter after it. Try Test first."}}
	for _, w := range scanWords(timing.CrownAtThree) {
		sheet.Codes = append(sheet.Codes, paper.BenchCode{Code: w.code(), Says: w.Says, Does: text.Sentence(w.Does)})
	}
	return sheet
}

func (s *Room) showBenchSheet(w http.ResponseWriter, r *http.Request) error {
	return page.ShowPaper(w, r, view.PrintView{Page: s.Page(r, "Sheet of codes for the bench"), Heading: "Sheet of codes",
		Advice: "Print on A4 at 100 % and laminate it. Shiny laminate may dazzle a scanner: matt is better.", BackHref: "/dockets",
		BackText: "Dockets", PDF: &view.LinkView{Text: "As PDF", Href: "/bench-sheet.pdf", TestID: "pdf"}}, s.benchSheet(r))
}

func (s *Room) sendBenchSheet(w http.ResponseWriter, r *http.Request) error {
	return s.SendPaper(w, r, "sheet-of-codes", s.benchSheet(r), s.Now())
}
