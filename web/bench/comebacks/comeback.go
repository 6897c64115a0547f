package comebacks

import (
	"cmp"
	"net/http"

	"ledgerwheel/domain/comeback"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/money"
	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/text"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/sheet"
	"ledgerwheel/web/view"
)

func (s *Room) show(w http.ResponseWriter, r *http.Request) error {
	return s.render(w, r, http.StatusOK, nil)
}

// render shows what was said of a comeback, what was done before, and the form; f is the form that was refused, or nil.
func (s *Room) render(w http.ResponseWriter, r *http.Request, status int, f *page.Form) error {
	n, err := page.PathNumber(r)
	if err != nil {
		return err
	}
	record, err := s.store.ComebackSheet(r.Context(), n)
	if err != nil {
		return err
	}
	if f == nil {
		f = typed(record.Said.Said)
	}
	viewer, _ := page.ViewerOf(r.Context())
	p, d := s.DocketPage(r, record.Head, "comeback")
	v := comebackView{Form: f.View(), Before: s.BeforeOf(r, record.Head, record.Earlier, record.Said), Left: d.Closed,
		Said: s.saidTerms(r, record.Said), TooEarly: comeback.TooEarly(record.Head.Docket.Stage), Owner: page.May(r, staff.CoverOtherwise)}
	v.May = page.May(r, staff.DecideCover) && v.TooEarly == ""
	if page.May(r, staff.DecideCover) && record.Said.Any() {
		v.Cost = costTerms(record.Spent, record.Head.Docket.Currency, viewer.Shop)
	}
	v.Beware = comeback.Priced(record.Said.Cover, docket.AgreedMinor(record.Head.Docket.Stage, record.Head.Facts))
	return page.Render(w, r, status, comebackPage(p, d, v))
}

// typed is what was said as it would be typed.
func typed(said comeback.Said) *page.Form {
	f := page.EmptyForm()
	f.Values.Set("cause", string(said.Cause))
	f.Values.Set("found", said.Found)
	f.Values.Set("cover", string(said.Cover))
	f.Values.Set("cover_why", said.Why)
	return f
}

func (s *Room) saidTerms(r *http.Request, said store.Comeback) []view.TermView {
	if !said.Any() {
		return nil
	}
	terms := []view.TermView{{Term: "Brought back by", Cell: view.Txt(said.Cause.Words()), TestID: "cause"},
		sheet.TypedTerm("Found", said.Found), {Term: "Under warranty", Cell: view.Txt(said.Cover.Words()), TestID: "cover"}}
	if said.Why != "" {
		terms = append(terms, sheet.TypedTerm("Why, as the customer reads it", said.Why))
	}
	by := said.By
	if said.DecidedBy != "" && said.DecidedBy != said.By {
		by += "; decided by " + said.DecidedBy
	}
	return append(terms, view.Term("Said", s.Moment(r, said.At)+" by "+by))
}

// costTerms say what a comeback cost the shop, and what of it is not known.
func costTerms(spent comeback.Spent, code string, sh shop.Shop) []view.TermView {
	c := spent.Cost()
	time := "not known: the settings don’t say what an hour costs"
	if c.TimeMinor != nil {
		time = money.Format(*c.TimeMinor, code, sh.Locale)
	}
	parts := money.Format(c.PartsMinor, code, sh.Locale)
	switch known := len(spent.Parts) - c.Unknown; {
	case c.Unknown > 0 && known == 0:
		parts = "not known: the catalogue has no cost of " + counted(c.Unknown)
	case c.Unknown > 0:
		parts += ", and the catalogue has no cost of " + counted(c.Unknown)
	}
	return []view.TermView{view.Term("Time, "+view.Itoa(spent.Minutes)+" min", time), view.Term("Parts, "+view.Itoa(len(spent.Parts)), parts),
		{Term: "Total", Cell: view.Txt(costWords(spent, code, sh)), TestID: "cost"}}
}

func counted(n int) string {
	if n == 1 {
		return "1 part"
	}
	return view.Itoa(n) + " parts"
}

// costWords is what a comeback cost in a few words; that not all of it is known is part of them.
func costWords(spent comeback.Spent, code string, sh shop.Shop) string {
	c := spent.Cost()
	amount := money.Format(c.Minor(), code, sh.Locale)
	switch {
	case c.Known():
		return amount
	case c.Minor() == 0:
		return "not known"
	}
	return "at least " + amount
}

// say keeps what was said.
func (s *Room) say(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.ChangeForm(w, r)
	if err != nil {
		return err
	}
	c.Why = text.Line(f.Text("why"))
	said := comeback.Said{Cause: comeback.Cause(f.Text("cause")), Found: f.Text("found"), Cover: docket.Cover(f.Text("cover")),
		Why: f.Text("cover_why")}
	if f.OK() {
		err = s.store.SayComeback(r.Context(), c, said)
	}
	return s.Settle(w, r, sheet.Ending{Form: f, Change: c, Err: err, Said: "Saved: " + cmp.Or(said.Cause.Words(), "the cause") + ", " +
		cmp.Or(said.Cover.Words(), "no cover") + ".",
		To: view.DocketURL(c.Number.String(), "comeback"), Words: func() map[string]string {
			return map[string]string{"cause": said.Cause.Words(), "cover": said.Cover.Words()}
		},
		Again: func(status int) error { return s.render(w, r, status, f) }})
}
