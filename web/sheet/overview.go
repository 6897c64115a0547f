package sheet

import (
	"net/http"
	"slices"
	"strconv"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/money"
	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/staff"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/view"
)

// docketRoutes are the pages of following and moving a docket.
func (s *Frame) docketRoutes() []page.Route {
	return slices.Concat(
		[]page.Route{
			page.Get("/dockets/{number}", page.Needs(staff.ViewDockets), s.showDocket),
		},
		s.moveRoutes(),
		s.questionRoutes(),
		s.journalRoutes(),
	)
}

func (s *Frame) showDocket(w http.ResponseWriter, r *http.Request) error {
	return s.renderOverview(w, r, http.StatusOK, Refused{})
}

// Refused is the form of the overview that could not be done, shown again with what was typed. The zero value is
// a page on which nobody has typed.
type Refused struct {
	What string // the slug of the stage to which the docket should have gone, or "place" or "bench"
	Form *page.Form
}

func (t Refused) Problems() map[string]string {
	if t.Form == nil {
		return nil
	}
	return t.Form.Problems
}

func (s *Frame) renderOverview(w http.ResponseWriter, r *http.Request, status int, typed Refused) error {
	n, err := page.PathNumber(r)
	if err != nil {
		return err
	}
	o, err := s.store.Overview(r.Context(), n)
	if err != nil {
		return err
	}
	viewer, _ := page.ViewerOf(r.Context())
	h := o.Head
	p, d := s.DocketPage(r, h, "")
	for _, hazard := range o.Hazards {
		d.Hazards = append(d.Hazards, hazard.Words())
	}
	v := overviewView{
		Problems: typed.Problems(), Closed: d.Closed,
		WatchURL: "/watches/" + strconv.FormatInt(h.Watch.ID, 10), Watch: WatchTerms(h.Watch, h.Calibre),
		CustomerURL: CustomerURL(h.Customer.ID), Customer: append([]view.TermView{view.Term("Name", h.Customer.Name)},
			CustomerParticulars(h.Customer, viewer.Shop.PhoneRegion)...),
		Complaint: h.Docket.Complaint, ComplaintFrom: h.Customer.Name,
		Said:       slices.Concat(s.SaidTerms(r, h, viewer.Shop), s.outlookTerms(r, o.Outlook), moneyTerms(h, viewer.Shop)),
		MorePhotos: o.MorePhotos,
	}
	v.Customer = slices.DeleteFunc(v.Customer, func(t view.TermView) bool {
		return t.Cell.Text == "" && t.Cell.Component == nil
	})
	for _, photo := range PhotoViews(o.Photos) {
		v.Photos = append(v.Photos, photo.Photo)
	}
	v.Questions, v.Answered = s.questionViews(r, o, typed)
	v.Before = s.BeforeOf(r, h, o.Before, o.Comeback)
	s.fillMoves(r, &v, d, o, typed)
	return page.Render(w, r, status, docketOverview(p, d, v))
}

// moneyTerms are what the docket comes to, as far as it is known.
func moneyTerms(h store.Head, sh shop.Shop) []view.TermView {
	code, f := h.Docket.Currency, h.Facts
	estimated := "none yet"
	if f.Estimate != docket.EstimateNone {
		estimated = money.Format(f.TotalMinor, code, sh.Locale) + ", " + string(f.Estimate)
	}
	terms := []view.TermView{{Term: "Estimate", Cell: view.Lnk(estimated, view.DocketURL(h.Docket.Number.String(),
		"estimate")), TestID: "estimated"}}
	if h.PaidMinor != 0 {
		terms = append(terms, view.Term("Paid", money.Format(h.PaidMinor, code, sh.Locale)))
	}
	if f.DueMinor != 0 || h.ChargedMinor != nil {
		terms = append(terms, view.TermView{Term: "Still to pay", Cell: view.Txt(money.Format(f.DueMinor, code, sh.Locale)),
			TestID: "due"})
	}
	return terms
}
