package web

import (
	"net/http"
	"strconv"
	"strings"

	"github.com/go-chi/chi/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/staff"
	"ledgerwheel/store"
	"ledgerwheel/web/paper"
	"ledgerwheel/web/view"
)

func (s *Server) estimatePaperRoutes() []route {
	return []route{
		{http.MethodGet, "/dockets/{number}/papers/estimate/{revision}", needs(staff.PrintPapers), s.showEstimatePaper},
		{http.MethodGet, "/dockets/{number}/papers/estimate/{revision}.pdf", needs(staff.PrintPapers), s.sendEstimatePaper},
	}
}

// estimatePaper reads a revision that was sent, as a paper.
func (s *Server) estimatePaper(r *http.Request) (paper.Estimate, store.EstimateSheet, estimate.Revision, error) {
	n, err := pathNumber(r)
	if err != nil {
		return paper.Estimate{}, store.EstimateSheet{}, estimate.Revision{}, err
	}
	sheet, err := s.store.EstimateSheet(r.Context(), n)
	if err != nil {
		return paper.Estimate{}, sheet, estimate.Revision{}, err
	}
	number, _ := strconv.Atoi(chi.URLParam(r, "revision")) // what is no number is no revision
	rev, ok := sheet.Estimate.Find(number)
	if !ok || rev.State == estimate.Draft {
		return paper.Estimate{}, sheet, rev, domain.ErrNotFound
	}
	viewer, _ := viewerOf(r.Context())
	return s.paperOf(r, sheet, rev, viewer.Shop), sheet, rev, nil
}

// paperOf is what the paper of a revision says.
func (s *Server) paperOf(r *http.Request, sheet store.EstimateSheet, rev estimate.Revision, sh shop.Shop) paper.Estimate {
	h := sheet.Head
	lines := pricedLines(pricesOf(rev.Currency, sh), rev)
	p := paper.Estimate{Issuer: issuerOf(sh), Lang: sh.Locale, Docket: h.Docket.Number.String(), Revision: strconv.Itoa(rev.Number),
		Date: s.day(r, s.civilDayOf(r, rev.SentAt)), ValidUntil: s.day(r, rev.ValidUntil),
		Customer: append([]string{h.Customer.Name}, nonEmptyLines(h.Customer.Address)...),
		Watch:    append([]paper.Field{{Label: "Watch", Value: watchWords(h)}}, ticketDetails(h.Watch)...)}
	for _, l := range lines.Lines {
		detail := l.Optional
		if l.LeftOut {
			detail = "left out by you"
		}
		p.Lines = append(p.Lines, paper.Line{Description: l.Description, Detail: detail, Quantity: l.Quantity, UnitPrice: l.UnitPrice, Tax: l.Tax, Amount: l.Amount})
	}
	for _, t := range lines.Totals {
		p.Totals = append(p.Totals, paper.Total{Label: t.Label, Amount: t.Amount, Strong: t.Strong})
	}
	p.Notes = append(nonEmptyLines(rev.Note), lines.Rule)
	switch {
	case rev.Answer != nil:
		p.Answer = s.answerWords(r, *rev.Answer)
	case rev.State == estimate.Superseded:
		p.Answer = "A newer revision has taken the place of this one."
	default:
		p.HowTo = []string{"Or tell us at the counter or by telephone, naming the revision. We write down who decided, when and on which revision.",
			"If you decline, the watch goes back to you as it came."}
		if sheet.Link.Serves(s.now()) {
			p.ApprovalURL = s.linkAddress(sheet.Link.ID, sh)
		}
	}
	return p
}

func (s *Server) showEstimatePaper(w http.ResponseWriter, r *http.Request) error {
	e, _, rev, err := s.estimatePaper(r)
	if err != nil {
		return err
	}
	viewer, _ := viewerOf(r.Context())
	slug := "papers/estimate/" + e.Revision
	p := view.PrintView{Page: s.page(r, "Estimate "+e.Docket), Size: view.PaperA4, Heading: "Estimate, revision " + e.Revision,
		BackHref: view.DocketURL(e.Docket, "estimate"), BackText: "Back to the estimate",
		PDF: &view.LinkView{Text: "As PDF", Href: view.DocketURL(e.Docket, slug+".pdf"), TestID: "pdf"}}
	v := view.EstimatePaperView{Shop: e.Issuer.Name, Address: strings.Join(append(e.Issuer.Address, e.Issuer.Contact...), "\n"), Docket: e.Docket,
		Revision: e.Revision, Date: e.Date, ValidUntil: e.ValidUntil, Customer: e.Customer, Watch: ticketTerms(e.Watch),
		Lines: pricedLines(pricesOf(rev.Currency, viewer.Shop), rev), HowTo: e.HowTo, Answer: e.Answer, Notes: e.Notes, ApprovalURL: e.ApprovalURL}
	if e.ApprovalURL != "" {
		if v.QR, err = paper.QRSVG(e.ApprovalURL); err != nil {
			return err
		}
	}
	return render(w, r, http.StatusOK, view.EstimatePaper(p, v))
}

func (s *Server) sendEstimatePaper(w http.ResponseWriter, r *http.Request) error {
	e, _, rev, err := s.estimatePaper(r)
	if err != nil {
		return err
	}
	pdf, err := e.PDF(rev.SentAt)
	if err != nil {
		return err
	}
	return sendPDF(w, "estimate-"+e.Docket+"-"+e.Revision, pdf)
}
