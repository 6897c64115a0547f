package told

import (
	"net/http"
	"strconv"

	"github.com/go-chi/chi/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/staff"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/paper"
	"ledgerwheel/web/view"
)

func (s *Room) letterRoutes() []page.Route {
	return []page.Route{
		page.Get("/dockets/{number}/papers/letter/{id}", page.Needs(staff.PrintPapers), s.showLetter),
		page.Get("/dockets/{number}/papers/letter/{id}.pdf", page.Needs(staff.PrintPapers), s.sendLetter),
	}
}

// letter is a message that goes by post, as a paper.
func (s *Room) letter(r *http.Request) (paper.Letter, store.MessageRow, error) {
	n, err := page.PathNumber(r)
	if err != nil {
		return paper.Letter{}, store.MessageRow{}, err
	}
	record, err := s.store.ToldSheet(r.Context(), n)
	if err != nil {
		return paper.Letter{}, store.MessageRow{}, err
	}
	id, _ := strconv.ParseInt(chi.URLParam(r, "id"), 10, 64) // what is no number is no letter
	m, ok := letterOf(record, id)
	if !ok {
		return paper.Letter{}, m, domain.ErrNotFound
	}
	r = page.AsStood(r, m.Shop)
	return paper.Letter{Issuer: page.IssuerOf(m.Shop), Lang: string(m.Tongue), Docket: n.String(), Date: m.Tongue.Day(s.CivilDayOf(r, m.QueuedAt)),
		Customer: append([]string{record.Reach.Customer.Name}, page.NonEmptyLines(m.To)...), Subject: m.Subject,
		Paragraphs: page.Paragraphs(m.Text)}, m, nil
}

func (s *Room) showLetter(w http.ResponseWriter, r *http.Request) error {
	p, m, err := s.letter(r)
	if err != nil {
		return err
	}
	number := m.Number.String()
	return page.ShowPaper(w, r, view.PrintView{Page: s.Page(r, "Letter of "+number), Heading: "Letter to the customer",
		Advice: "On A4. When it is in the post, press Told on the sheet.", BackHref: view.DocketURL(number, "told"), BackText: "Back to what is told",
		PDF: &view.LinkView{Text: "As PDF", Href: view.DocketURL(number, "papers/letter/"+page.Itoa64(m.ID)+".pdf"), TestID: "pdf"}}, p)
}

func (s *Room) sendLetter(w http.ResponseWriter, r *http.Request) error {
	p, m, err := s.letter(r)
	if err != nil {
		return err
	}
	return s.SendPaper(w, r, "letter-"+m.Number.String()+"-"+page.Itoa64(m.ID), p, m.QueuedAt)
}
