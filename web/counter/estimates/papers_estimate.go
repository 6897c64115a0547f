package estimates

import (
	"net/http"
	"strconv"

	"github.com/go-chi/chi/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/estimate"
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
	return s.paperOf(sheet, rev), rev, nil
}

// paperOf is what the paper of a revision says, by the shop as it stood when it was sent and in the language of then.
func (s *Room) paperOf(record store.EstimateSheet, rev estimate.Revision) paper.Estimate {
	h, row := record.Head, record.Row(rev.Number)
	say := page.VoiceOf(row.Tongue, row.Shop)
	lines := priced.LinesOf(priced.Of(rev.Currency, say.Shop).In(say.Tongue), rev)
	p := paper.Estimate{Issuer: page.IssuerOf(say.Shop), Lang: say.Lang(), Tongue: say.Tongue, Docket: h.Docket.Number.String(),
		Revision: strconv.Itoa(rev.Number),
		Date:     say.Day(say.CivilDay(rev.SentAt)), ValidUntil: say.Day(rev.ValidUntil),
		Customer: append([]string{h.Customer.Name}, page.NonEmptyLines(h.Customer.Address)...),
		Watch: append([]paper.Field{{Label: say.Say("paper.watch"), Value: sheet.WatchWords(h)}},
			sheet.PaperDetails(h, say.Tongue)...)}
	for _, l := range lines.Lines {
		detail := l.Optional
		if l.LeftOut {
			detail = say.Say("paper.left_out")
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
		p.Answer = answerSaid(say, *rev.Answer)
	case rev.State == estimate.Superseded:
		p.Answer = say.Say("paper.superseded")
	default:
		p.HowTo = []string{say.Say("paper.or_tell_us"), say.Say("paper.if_you_decline")}
		if record.Link.Serves(s.Now()) {
			p.ApprovalURL = s.linkAddress(record.Link.ID, row.Shop)
		}
	}
	return p
}

// answerSaid says who answered how and when.
func answerSaid(say page.Voice, a estimate.Answer) string {
	key := "paper.declined."
	if a.Approve {
		key = "paper.approved."
	}
	return say.Say(key+string(a.By), "name", a.Name, "at", say.Moment(a.At))
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
	return s.SendPaper(w, r, "estimate-"+e.Docket+"-"+e.Revision, e, rev.SentAt)
}
