package till

import (
	"net/http"
	"strconv"
	"time"

	"github.com/go-chi/chi/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/text"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/paper"
	"ledgerwheel/web/view"
)

// closedDay reads the closed day in the address.
func (s *Room) closedDay(r *http.Request) (store.TillCloseRow, error) {
	code, err := currencyOf(r, r.URL.Query().Get("currency"))
	if err != nil {
		return store.TillCloseRow{}, err
	}
	on, err := dayIn(chi.URLParam(r, "day"))
	if err == nil && on.IsZero() {
		err = domain.ErrNotFound
	}
	if err != nil {
		return store.TillCloseRow{}, err
	}
	return s.store.ClosedDay(r.Context(), code, on)
}

// sheet is the paper of a closed day.
func (s *Room) sheet(r *http.Request, c store.TillCloseRow) paper.TillDay {
	viewer, _ := page.ViewerOf(r.Context())
	say := amounts(r, c.Currency)
	p := paper.TillDay{Issuer: page.IssuerOf(viewer.Shop), Day: s.Day(r, c.Day.On), Closed: "Counted and closed by " + c.By + ", " + s.Moment(r, c.At),
		Difference: differenceWords(say, c.DiffMinor), Why: c.Closing.Why}
	for _, t := range cashTerms(say, c.Day) {
		p.Cash = append(p.Cash, paper.Field{Label: t.Term, Value: t.Cell.Text})
	}
	if c.Day.SinceMinor != 0 {
		p.Cash = append(p.Cash, paper.Field{Label: "Counted, with cash of later days", Value: say(c.Closing.CountedMinor)},
			paper.Field{Label: "Cash of later days", Value: say(c.Day.SinceMinor)})
	}
	p.Cash = append(p.Cash, paper.Field{Label: "Counted", Value: say(c.Closing.CountedMinor - c.Day.SinceMinor)})
	for _, t := range c.Day.ByWay() {
		p.Takings = append(p.Takings, paper.Field{Label: wayWords(t.Way), Value: say(t.Minor)})
	}
	for _, n := range c.Closing.Pieces {
		p.Pieces = append(p.Pieces, paper.TillPieces{Worth: say(n.WorthMinor), Pieces: strconv.Itoa(n.Pieces), Sum: say(n.WorthMinor * int64(n.Pieces))})
	}
	for _, row := range c.PaymentRows {
		p.Payments = append(p.Payments, paper.TillLine{Time: clock(r, row.At), Docket: row.Docket, What: wayWords(row.Way), By: row.By, Amount: say(row.Minor)})
	}
	for _, m := range c.MoveRows {
		what := text.Capital(m.Words())
		if m.Note != "" {
			what += ": " + m.Note
		}
		p.Moves = append(p.Moves, paper.TillLine{Time: clock(r, m.At), What: what, By: m.By, Amount: say(m.Minor)})
	}
	return p
}

// clock is the time of day in the shop.
func clock(r *http.Request, at time.Time) string { return at.In(page.ZoneOf(r)).Format("15:04") }

func (s *Room) showDay(w http.ResponseWriter, r *http.Request) error {
	c, err := s.closedDay(r)
	if err != nil {
		return err
	}
	pdf := address(r, dayPath(c.Day.On)+"/sheet.pdf", c.Currency)
	return page.ShowPaper(w, r, view.PrintView{Page: s.Page(r, "Till, "+s.Day(r, c.Day.On)), Heading: "Till, " + s.Day(r, c.Day.On),
		Advice: "In the print dialogue choose A4, scale 100 %, margins none.", BackHref: address(r, "/till", c.Currency), BackText: "Back to the till",
		PDF: &view.LinkView{Text: "As PDF", Href: pdf, TestID: "pdf"}}, s.sheet(r, c))
}

func (s *Room) sendDay(w http.ResponseWriter, r *http.Request) error {
	c, err := s.closedDay(r)
	if err != nil {
		return err
	}
	return s.SendPaper(w, r, "till-"+c.Day.On.Format(time.DateOnly), s.sheet(r, c), c.At)
}
