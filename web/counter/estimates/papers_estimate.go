package estimates

import (
	"net/http"
	"strconv"

	"github.com/go-chi/chi/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/staff"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/paper"
	"ledgerwheel/web/priced"
	"ledgerwheel/web/sheet"
	"ledgerwheel/web/view"
)

func (s *Room) estimatePaperRoutes() []page.Route {
	return []page.Route{
		page.Get("/dockets/{number}/papers/estimate/{revision}", page.Needs(staff.PrintPapers), s.showEstimatePaper),
		page.Get("/dockets/{number}/papers/estimate/{revision}.pdf", page.Needs(staff.PrintPapers), s.sendEstimatePaper),
	}
}

// estimatePaper reads a revision that was sent, as a paper.
func (s *Room) estimatePaper(r *http.Request) (paper.Estimate, estimate.Revision, error) {
	n, err := page.PathNumber(r)
	if err != nil {
		return paper.Estimate{}, estimate.Revision{}, err
	}
	sheet, err := s.store.EstimateSheet(r.Context(), n)
	if err != nil {
		return paper.Estimate{}, estimate.Revision{}, err
	}
	number, _ := strconv.Atoi(chi.URLParam(r, "revision")) // what is no number is no revision
	rev, ok := sheet.Estimate.Find(number)
	if !ok || rev.State == estimate.Draft {
		return paper.Estimate{}, rev, domain.ErrNotFound
	}
	return s.paperOf(r, sheet, rev, sheet.Row(rev.Number).Shop), rev, nil
}

// paperOf is what the paper of a revision says; sh is the shop as it stood when the revision was sent.
func (s *Room) paperOf(r *http.Request, record store.EstimateSheet, rev estimate.Revision,
	sh shop.Shop) paper.Estimate {
	r = page.AsStood(r, sh)
	h := record.Head
	lines := priced.LinesOf(priced.Of(rev.Currency, sh), rev)
	p := paper.Estimate{Issuer: page.IssuerOf(sh), Lang: sh.Locale, Docket: h.Docket.Number.String(),
		Revision: strconv.Itoa(rev.Number),
		Date:     s.Day(r, s.CivilDayOf(r, rev.SentAt)), ValidUntil: s.Day(r, rev.ValidUntil),
		Customer: append([]string{h.Customer.Name}, page.NonEmptyLines(h.Customer.Address)...),
		Watch:    append([]paper.Field{{Label: "Watch", Value: sheet.WatchWords(h)}}, sheet.TicketDetails(h.Watch)...)}
	for _, l := range lines.Lines {
		detail := l.Optional
		if l.LeftOut {
			detail = "left out by you"
		}
		p.Lines = append(p.Lines, paper.Line{Description: l.Description, Detail: detail, Quantity: l.Quantity,
			UnitPrice: l.UnitPrice, Tax: l.Tax, Amount: l.Amount})
	}
	for _, t := range lines.Totals {
		p.Totals = append(p.Totals, paper.Total{Label: t.Label, Amount: t.Amount, Strong: t.Strong})
	}
	p.Notes = append(page.NonEmptyLines(rev.Note), lines.Rule)
	switch {
	case rev.Answer != nil:
		p.Answer = s.answerWords(r, *rev.Answer)
	case rev.State == estimate.Superseded:
		p.Answer = "A newer revision has taken the place of this one."
	default:
		p.HowTo = []string{"Or tell us at the counter or by telephone, naming the revision. We write down who decided, " +
			"when and on which revision.",
			"If you decline, the watch goes back to you as it came."}
		if record.Link.Serves(s.Now()) {
			p.ApprovalURL = s.linkAddress(record.Link.ID, sh)
		}
	}
	return p
}

func (s *Room) showEstimatePaper(w http.ResponseWriter, r *http.Request) error {
	e, _, err := s.estimatePaper(r)
	if err != nil {
		return err
	}
	slug := "papers/estimate/" + e.Revision
	return page.ShowPaper(w, r, view.PrintView{Page: s.Page(r, "Estimate "+e.Docket), Heading: "Estimate, revision " +
		e.Revision,
		BackHref: view.DocketURL(e.Docket, "estimate"), BackText: "Back to the estimate",
		PDF: &view.LinkView{Text: "As PDF", Href: view.DocketURL(e.Docket, slug+".pdf"), TestID: "pdf"}}, e)
}

func (s *Room) sendEstimatePaper(w http.ResponseWriter, r *http.Request) error {
	e, rev, err := s.estimatePaper(r)
	if err != nil {
		return err
	}
	return page.SendPaper(w, "estimate-"+e.Docket+"-"+e.Revision, e, rev.SentAt)
}
