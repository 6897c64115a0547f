package till

import (
	"errors"
	"net/http"
	"strconv"
	"time"

	"ledgerwheel/domain"
	"ledgerwheel/domain/till"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/view"
)

// bySum asks for the sum alone in place of coins and notes.
const bySum = "sum"

func (s *Room) showCount(w http.ResponseWriter, r *http.Request) error {
	q := r.URL.Query()
	f := page.EmptyForm()
	f.Values.Set("by", q.Get("by"))
	return s.renderCount(w, r, http.StatusOK, q.Get("currency"), f, nil)
}

// renderCount shows the form of the count; compared is the count beside which the book is shown, nil before that.
func (s *Room) renderCount(w http.ResponseWriter, r *http.Request, status int, named string, f *page.Form, compared *till.Closing) error {
	t, err := s.read(r, named)
	if err != nil {
		return err
	}
	say, d := amounts(r, t.Currency), t.Day
	v := countView{Form: f.View(), Currency: t.Currency, Day: s.Day(r, d.On), On: d.On.Format(time.DateOnly), Early: d.Early(s.Today(r)),
		Late: d.Late(s.Today(r)), BackURL: address(r, "/till", t.Currency)}
	if v.Late && d.SinceMinor != 0 {
		v.Since = say(d.SinceMinor)
	}
	if worths := till.Denominations(t.Currency); worths != nil && f.Text("by") != bySum {
		for _, worth := range worths {
			name := pieceField(worth)
			v.Pieces = append(v.Pieces, f.View().Field(name, say(worth)).WithWidth(view.Quarter).WithUnit("×").WithAttr("inputmode", "numeric"))
		}
		v.SumURL = address(r, "/till/count", t.Currency)
		v.SumURL += map[bool]string{true: "?", false: "&"}[v.SumURL == "/till/count"] + "by=" + bySum
	}
	if compared != nil {
		off := d.DifferenceMinor(*compared)
		v.Compared = &comparedView{Terms: cashTerms(say, d), Counted: say(compared.CountedMinor), Difference: differenceWords(say, off), Off: off != 0,
			Seen: page.Itoa64(d.HoldsMinor())}
		if d.SinceMinor != 0 {
			v.Compared.Terms = append(v.Compared.Terms, view.Term("Cash of later days in the till", say(d.SinceMinor)))
		}
	}
	return page.Render(w, r, status, countPage(s.Page(r, "Count the till"), v))
}

func pieceField(worth int64) string { return "pieces-" + page.Itoa64(worth) }

// count compares what was counted with the book, and closes the day once that was seen.
func (s *Room) count(w http.ResponseWriter, r *http.Request) error {
	f, err := page.ReadForm(w, r)
	if err != nil {
		return err
	}
	code, err := currencyOf(r, f.Text("currency"))
	if err != nil {
		return err
	}
	c := readCount(f, code, page.LocaleOf(r))
	on := f.Day("day")
	if !f.OK() {
		return s.renderCount(w, r, http.StatusUnprocessableEntity, code, f, nil)
	}
	if f.Text("do") != "close" || f.Text("seen") == "" {
		return s.renderCount(w, r, http.StatusOK, code, f, &c)
	}
	seen, err := strconv.ParseInt(f.Text("seen"), 10, 64)
	if err != nil {
		return page.BadRequest(err)
	}
	err = s.store.CloseTill(r.Context(), store.TillClosing{Closing: c, Currency: code, On: on, SeenMinor: seen}, page.Actor(r), s.Now())
	status := http.StatusUnprocessableEntity
	switch {
	case errors.Is(err, domain.ErrChanged):
		status = http.StatusConflict
		f.Fail("counted", "Cash passed since you compared: look at the book again, and count again if it came out of this till.")
	case errors.Is(err, till.ErrClosed), errors.Is(err, till.ErrEarly):
		status = http.StatusConflict
		f.Fail("counted", "Someone else saved first: that day is no longer the one to be counted. The page now shows the one that is.")
	case err != nil && !f.Takes(err):
		return err
	}
	if !f.OK() {
		return s.renderCount(w, r, status, code, f, &c)
	}
	s.Say(r.Context(), s.Day(r, on)+" is closed. What comes now counts for the next day.")
	return page.SeeOther(w, r, address(r, dayPath(on), code))
}

// readCount reads the coins and notes, or the sum where that was typed.
func readCount(f *page.Form, code, locale string) till.Closing {
	c := till.Closing{Why: f.Text("why")}
	worths := till.Denominations(code)
	if worths == nil || f.Text("by") == bySum {
		sum := f.Amount("counted", code, locale)
		if sum == nil {
			f.Fail("counted", "Give the cash that you counted, 0 for none.")
			return c
		}
		c.CountedMinor = *sum
		return c
	}
	c.Pieces = []till.Counted{}
	for _, worth := range worths {
		n := f.Int(pieceField(worth))
		if n < 0 || n > till.MaxPieces {
			f.Fail(pieceField(worth), "Give a number of pieces, 0 or more.")
		} else if n > 0 {
			c.Pieces = append(c.Pieces, till.Counted{WorthMinor: worth, Pieces: n})
		}
	}
	c.CountedMinor = till.SumMinor(c.Pieces)
	return c
}
