package web

import (
	"context"
	"net/http"
	"slices"
	"strconv"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/money"
	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/staff"
	"ledgerwheel/store"
	"ledgerwheel/web/view"
)

// docketStore is what the pages of the docket core ask of the record.
type docketStore interface {
	journalStore
	moveStore
	Overview(ctx context.Context, n docket.Number) (store.Overview, error)
}

// docketRoutes are the pages of following and moving a docket.
func (s *Server) docketRoutes() []route {
	return slices.Concat(
		[]route{
			{http.MethodGet, "/dockets/{number}", needs(staff.ViewDockets), s.showDocket},
		},
		s.moveRoutes(),
		s.journalRoutes(),
	)
}

func (s *Server) showDocket(w http.ResponseWriter, r *http.Request) error {
	return s.renderOverview(w, r, http.StatusOK, refused{})
}

// refused is the form of the overview that could not be done, shown again with what was typed. The zero value is
// a page on which nobody has typed.
type refused struct {
	what string // the slug of the stage to which the docket should have gone, or "place" or "bench"
	form *form
}

func (t refused) problems() map[string]string {
	if t.form == nil {
		return nil
	}
	return t.form.Problems
}

func (s *Server) renderOverview(w http.ResponseWriter, r *http.Request, status int, typed refused) error {
	n, err := pathNumber(r)
	if err != nil {
		return err
	}
	o, err := s.store.Overview(r.Context(), n)
	if err != nil {
		return err
	}
	viewer, _ := viewerOf(r.Context())
	h := o.Head
	p, d := s.docketPage(r, h, "")
	for _, hazard := range o.Hazards {
		d.Hazards = append(d.Hazards, hazard.Words())
	}
	v := view.OverviewView{
		Problems: typed.problems(), Closed: d.Closed,
		WatchURL: "/watches/" + strconv.FormatInt(h.Watch.ID, 10), Watch: watchTerms(h.Watch, h.Calibre),
		CustomerURL: customerURL(h.Customer.ID), Customer: append([]view.TermView{view.Term("Name", h.Customer.Name)}, customerParticulars(h.Customer)...),
		Complaint: h.Docket.Complaint, ComplaintFrom: h.Customer.Name,
		Said:       append(s.saidTerms(r, h, viewer.Shop), moneyTerms(h, viewer.Shop)...),
		MorePhotos: o.MorePhotos,
	}
	for _, photo := range photoViews(o.Photos) {
		v.Photos = append(v.Photos, photo.Photo)
	}
	s.fillMoves(r, &v, d, o, typed)
	return render(w, r, status, view.DocketOverview(p, d, v))
}

// moneyTerms are what the docket comes to, as far as it is known.
func moneyTerms(h store.Head, sh shop.Shop) []view.TermView {
	code, f := h.Docket.Currency, h.Facts
	estimated := "none yet"
	if f.Estimate != docket.EstimateNone {
		estimated = money.Format(f.TotalMinor, code, sh.Locale) + ", " + string(f.Estimate)
	}
	terms := []view.TermView{{Term: "Estimate", Cell: view.Lnk(estimated, view.DocketURL(h.Docket.Number.String(), "estimate")), TestID: "estimated"}}
	if h.PaidMinor != 0 {
		terms = append(terms, view.Term("Paid", money.Format(h.PaidMinor, code, sh.Locale)))
	}
	if f.DueMinor != 0 || h.ChargedMinor != nil {
		terms = append(terms, view.TermView{Term: "Still to pay", Cell: view.Txt(money.Format(f.DueMinor, code, sh.Locale)), TestID: "due"})
	}
	return terms
}
