package till

import (
	"errors"
	"net/http"
	"net/url"
	"time"

	"github.com/bojanz/currency"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/money"
	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/text"
	"ledgerwheel/domain/till"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/view"
)

// currencyOf is the currency whose till is asked for: the shop's, unless the address or form names another.
func currencyOf(r *http.Request, named string) (string, error) {
	viewer, _ := page.ViewerOf(r.Context())
	if named == "" {
		return viewer.Shop.Currency, nil
	}
	if !currency.IsValid(named) {
		return "", domain.ErrNotFound
	}
	return named, nil
}

// address is a page of the till of a currency.
func address(r *http.Request, path, code string) string {
	if viewer, _ := page.ViewerOf(r.Context()); code == viewer.Shop.Currency {
		return path
	}
	return path + "?" + url.Values{"currency": {code}}.Encode()
}

// read reads the till that the address asks for.
func (s *Room) read(r *http.Request, named string) (store.Till, error) {
	code, err := currencyOf(r, named)
	if err != nil {
		return store.Till{}, err
	}
	before, err := dayIn(r.URL.Query().Get("before"))
	if err != nil {
		return store.Till{}, err
	}
	return s.store.Till(r.Context(), code, s.Today(r), before)
}

// dayIn reads a civil day as addresses have it; zero for none.
func dayIn(written string) (time.Time, error) {
	if written == "" {
		return time.Time{}, nil
	}
	day, err := time.Parse(time.DateOnly, written)
	if err != nil {
		return day, domain.ErrNotFound
	}
	return day, nil
}

func (s *Room) showTill(w http.ResponseWriter, r *http.Request) error {
	t, err := s.read(r, r.URL.Query().Get("currency"))
	if err != nil {
		return err
	}
	viewer, _ := page.ViewerOf(r.Context())
	say := amounts(r, t.Currency)
	v := tillView{Day: s.Day(r, t.Day.On), Early: t.Day.Early(s.Today(r)), Late: t.Day.Late(s.Today(r)), Cash: cashTerms(say, t.Day),
		CountURL: address(r, "/till/count", t.Currency), MoveURL: address(r, "/till/move", t.Currency), Certified: certifiedView(viewer.Shop)}
	for _, way := range t.Day.ByWay() {
		v.Takings = append(v.Takings, takingRow{wayWords(way.Way), say(way.Minor)})
	}
	for _, m := range t.Moves {
		if m.On.Equal(t.Day.On) {
			v.Moves = append(v.Moves, s.moveRow(r, m, t.Currency, say))
		}
	}
	for _, c := range t.Closed {
		v.Closed = append(v.Closed, closedRow{Day: s.Day(r, c.Day.On), Href: address(r, dayPath(c.Day.On), t.Currency), Counted: say(c.Closing.CountedMinor - c.Day.SinceMinor),
			Difference: differenceWords(say, c.DiffMinor), Off: c.DiffMinor != 0, Why: c.Closing.Why, By: c.By})
	}
	if t.TillMore() {
		older := url.Values{"before": {t.Closed[len(t.Closed)-1].Day.On.Format(time.DateOnly)}}
		if t.Currency != viewer.Shop.Currency {
			older.Set("currency", t.Currency)
		}
		v.OlderURL = "/till?" + older.Encode()
	}
	for _, code := range t.Others {
		v.Others = append(v.Others, view.LinkView{Text: "Till in " + code, Href: address(r, "/till", code)})
	}
	return page.Render(w, r, http.StatusOK, tillPage(s.Page(r, "Till"), v))
}

func dayPath(on time.Time) string { return "/till/days/" + on.Format(time.DateOnly) }

// amounts writes amounts of a currency.
func amounts(r *http.Request, code string) func(int64) string {
	locale := page.LocaleOf(r)
	return func(minor int64) string { return money.Format(minor, code, locale) }
}

func wayWords(w till.Way) string { return text.Capital(docket.Method(w).Words()) }

// cashTerms say how the cash of a day comes to what the book has.
func cashTerms(say func(int64) string, d till.Day) []view.TermView {
	taken := int64(0)
	for _, t := range d.Takings {
		if t.Way == till.Cash {
			taken += t.Minor
		}
	}
	terms := []view.TermView{view.Term("In the morning", say(d.OpenedMinor)), view.Term("Taken in cash", say(taken))}
	if moved := d.BookMinor() - d.OpenedMinor - taken; moved != 0 || len(d.Moves) > 0 {
		terms = append(terms, view.Term("Put in, less taken out", say(moved)))
	}
	return append(terms, view.TermView{Term: "Cash by the book", Cell: view.Cell{Text: say(d.BookMinor())}, TestID: "book"})
}

func (s *Room) moveRow(r *http.Request, m store.TillMoveRow, currency string, say func(int64) string) moveRow {
	row := moveRow{At: s.Moment(r, m.At), What: text.Capital(m.Words()), Note: m.Note, Amount: say(m.Minor), By: m.By, Taken: m.Taken, Currency: currency}
	if !m.Taken && !m.Lent && m.TakesBack == 0 {
		row.BackURL = "/till/moves/" + page.Itoa64(m.ID) + "/back"
	}
	return row
}

// differenceWords say how a count differs from the book.
func differenceWords(say func(int64) string, minor int64) string {
	switch {
	case minor > 0:
		return say(minor) + " too much"
	case minor < 0:
		return say(-minor) + " too little"
	}
	return "none"
}

func (s *Room) showMove(w http.ResponseWriter, r *http.Request) error {
	return s.renderMove(w, r, http.StatusOK, r.URL.Query().Get("currency"), page.EmptyForm())
}

func (s *Room) renderMove(w http.ResponseWriter, r *http.Request, status int, named string, f *page.Form) error {
	t, err := s.read(r, named)
	if err != nil {
		return err
	}
	say := amounts(r, t.Currency)
	v := moveView{Form: f.View(), Currency: t.Currency, Holds: say(t.Day.HoldsMinor()), BackURL: address(r, "/till", t.Currency)}
	for _, a := range till.Acts {
		v.Acts = append(v.Acts, view.Option{Value: a.Key(), Text: text.Capital(a.Words())})
	}
	return page.Render(w, r, status, movePage(s.Page(r, "Cash put in or taken out"), v))
}

func (s *Room) move(w http.ResponseWriter, r *http.Request) error {
	f, err := page.ReadForm(w, r)
	if err != nil {
		return err
	}
	code, err := currencyOf(r, f.Text("currency"))
	if err != nil {
		return err
	}
	act, ok := till.ActOf(f.Text("kind"))
	if !ok {
		f.Fail("kind", "Say what it is.")
	}
	minor := f.Amount("amount", code, page.LocaleOf(r))
	if minor == nil || *minor < 1 {
		f.Fail("amount", "Give an amount above zero.")
	}
	said := ""
	if f.OK() {
		var on time.Time
		if on, err = s.store.MoveTill(r.Context(), code, act.Move(*minor, f.Text("note")), page.Actor(r), s.Now()); err == nil {
			said = s.fell(r, on)
		}
	}
	if err != nil && !f.Takes(err) {
		return err
	}
	if !f.OK() {
		return s.renderMove(w, r, http.StatusUnprocessableEntity, code, f)
	}
	s.Say(r.Context(), said)
	return page.SeeOther(w, r, address(r, "/till", code))
}

// fell says to which day something was written.
func (s *Room) fell(r *http.Request, on time.Time) string {
	if on.After(s.Today(r)) {
		return "Written down for " + s.Day(r, on) + ", as today is closed."
	}
	return "Written down."
}

func (s *Room) takeBack(w http.ResponseWriter, r *http.Request) error {
	id, err := page.PathID(r, "id")
	if err != nil {
		return err
	}
	f, err := page.ReadForm(w, r)
	if err != nil {
		return err
	}
	code, err := currencyOf(r, f.Text("currency"))
	if err != nil {
		return err
	}
	said := "Taken back: it stands in the book with its opposite."
	_, err = s.store.MoveTill(r.Context(), code, till.Move{TakesBack: id}, page.Actor(r), s.Now())
	var invalid *domain.InvalidError
	switch {
	case errors.As(err, &invalid):
		said = invalid.Problems["amount"]
	case errors.Is(err, domain.ErrChanged):
		said = "That was taken back already."
	case err != nil:
		return err
	}
	s.Say(r.Context(), said)
	return page.SeeOther(w, r, address(r, "/till", code))
}

// certifiedView says, where the law asks for a certified till, what this one is.
func certifiedView(sh shop.Shop) string {
	asked, place := till.Certified(sh.CertifiedTill, sh.PhoneRegion)
	if !asked {
		return ""
	}
	if place.Law == "" {
		return till.NotCertified
	}
	return till.NotCertified + " " + place.Place + ": " + place.Law
}
