package stock

import (
	"net/http"
	"net/url"

	"ledgerwheel/domain/ledger"
	"ledgerwheel/web/page"
	"ledgerwheel/web/paper"
	"ledgerwheel/web/view"
)

// labelOf is what the label of a part's drawer says.
func (s *Room) labelOf(r *http.Request, p ledger.Part) paper.DrawerLabel {
	viewer, _ := page.ViewerOf(r.Context())
	return paper.DrawerLabel{Shop: viewer.Shop.Name, Lang: viewer.Shop.Locale, PartNumber: p.Number, Name: p.Name, Place: p.Drawer,
		URL: s.PublicURL + partURL(p.ID, ""), Code: ledger.LabelCode(p.ID)}
}

func (s *Room) showLabel(w http.ResponseWriter, r *http.Request) error {
	p, err := s.partOf(r)
	if err != nil {
		return err
	}
	return page.ShowPaper(w, r, view.PrintView{Page: s.Page(r, "Label of "+p.Number), Heading: "Drawer label", BackHref: partURL(p.ID, ""), BackText: p.Number,
		PDF: &view.LinkView{Text: "As PDF", Href: partURL(p.ID, "label.pdf"), TestID: "pdf"}}, s.labelOf(r, p.Part))
}

func (s *Room) sendLabel(w http.ResponseWriter, r *http.Request) error {
	p, err := s.partOf(r)
	if err != nil {
		return err
	}
	return s.SendPaper(w, r, "drawer-label-"+page.Itoa64(p.ID), s.labelOf(r, p.Part), s.Now())
}

// labelsOf are the labels of a page of the catalogue, as its list is narrowed.
func (s *Room) labelsOf(r *http.Request) (paper.DrawerLabels, error) {
	viewer, _ := page.ViewerOf(r.Context())
	q := r.URL.Query()
	list, err := s.store.Catalogue(r.Context(), q.Get("q"), q.Get("after"), q.Get("show") == "short")
	sheet := paper.DrawerLabels{Shop: viewer.Shop.Name, Lang: viewer.Shop.Locale}
	for _, p := range list.Parts {
		sheet.Labels = append(sheet.Labels, s.labelOf(r, p.Part))
	}
	return sheet, err
}

func (s *Room) showLabels(w http.ResponseWriter, r *http.Request) error {
	sheet, err := s.labelsOf(r)
	if err != nil {
		return err
	}
	return page.ShowPaper(w, r, view.PrintView{Page: s.Page(r, "Drawer labels"), Heading: "Drawer labels", Advice: "Print on A4 at 100 % and cut along the lines.",
		BackHref: "/stock", BackText: "Stock", PDF: &view.LinkView{Text: "As PDF", Href: underQuery("/stock/labels.pdf", r.URL.Query()), TestID: "pdf"}}, sheet)
}

func (s *Room) sendLabels(w http.ResponseWriter, r *http.Request) error {
	sheet, err := s.labelsOf(r)
	if err != nil {
		return err
	}
	return s.SendPaper(w, r, "drawer-labels", sheet, s.Now())
}

// underQuery is an address with what narrows the list.
func underQuery(at string, q url.Values) string {
	kept := url.Values{}
	for _, name := range []string{"q", "after", "show"} {
		if q.Get(name) != "" {
			kept.Set(name, q.Get(name))
		}
	}
	if len(kept) == 0 {
		return at
	}
	return at + "?" + kept.Encode()
}
