package books

import (
	"bytes"
	"cmp"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"time"

	"github.com/bojanz/currency"
	"github.com/go-chi/chi/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/books"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/money"
	"ledgerwheel/domain/text"
	"ledgerwheel/domain/till"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/view"
)

// currencyOf is the currency whose books the address asks for: the shop's, unless it names another.
func currencyOf(r *http.Request) (string, error) {
	viewer, _ := page.ViewerOf(r.Context())
	named := cmp.Or(r.URL.Query().Get("currency"), viewer.Shop.Currency)
	if !currency.IsValid(named) {
		return "", domain.ErrNotFound
	}
	return named, nil
}

func amounts(r *http.Request, code string) func(int64) string {
	locale := page.LocaleOf(r)
	return func(minor int64) string { return money.Format(minor, code, locale) }
}

const monthLayout = "2006-01"

// address is a page of the books in the currency that r asks for.
func address(r *http.Request, path string, pairs ...string) string {
	q := url.Values{}
	if named := r.URL.Query().Get("currency"); named != "" {
		q.Set("currency", named)
	}
	for i := 0; i < len(pairs); i += 2 {
		q.Set(pairs[i], pairs[i+1])
	}
	if len(q) == 0 {
		return path
	}
	return path + "?" + q.Encode()
}

// within are those of the facts that fall between two days, both among them.
func within(f books.Facts, from, to time.Time) books.Facts {
	in := func(on time.Time) bool { return !on.Before(from) && !on.After(to) }
	return books.Facts{
		Invoices: kept(f.Invoices, func(i books.Invoice) bool { return in(i.On) }),
		Payments: kept(f.Payments, func(p books.Payment) bool { return in(p.On) }),
		Moves:    kept(f.Moves, func(m books.Move) bool { return in(m.On) }),
		Counts:   kept(f.Counts, func(c books.Count) bool { return in(c.On) }),
	}
}

func kept[T any](list []T, keep func(T) bool) []T {
	return slices.DeleteFunc(slices.Clone(list), func(x T) bool { return !keep(x) })
}

// showYear lists the months of a year, the newest first.
func (s *Room) showYear(w http.ResponseWriter, r *http.Request) error {
	code, err := currencyOf(r)
	if err != nil {
		return err
	}
	today := s.Today(r)
	year := today.Year()
	if asked := r.URL.Query().Get("year"); asked != "" {
		if day, err := time.Parse("2006", asked); err == nil {
			year = day.Year()
		} else {
			return domain.ErrNotFound
		}
	}
	from := time.Date(year, 1, 1, 0, 0, 0, 0, time.UTC)
	b, err := s.store.Books(r.Context(), code, from, from.AddDate(1, 0, -1))
	if err != nil {
		return err
	}
	say, owed := amounts(r, code), b.OwedMinor
	v := yearView{Year: strconv.Itoa(year)}
	for month := from; month.Year() == year; month = month.AddDate(0, 1, 0) {
		end := month.AddDate(0, 1, -1)
		f := within(b.Facts, month, end)
		sum := books.Total(f)
		owed += sum.OwedMinor
		if end.Before(b.First) || b.First.IsZero() || month.After(today) && len(books.Lines(f)) == 0 {
			continue
		}
		v.Months = append(v.Months, monthRow{Month: month.Format("January"), Href: address(r, "/books/"+month.Format(monthLayout)), Billed: say(sum.BilledMinor),
			Credited: say(sum.CreditedMinor), Taken: say(takenMinor(sum.Takings)), Owed: say(owed)})
	}
	slices.Reverse(v.Months)
	if !b.First.IsZero() && b.First.Year() < year {
		v.EarlierURL = address(r, "/books", "year", strconv.Itoa(year-1))
	}
	if year < today.Year() {
		v.LaterURL = address(r, "/books", "year", strconv.Itoa(year+1))
	}
	return page.Render(w, r, http.StatusOK, yearPage(s.Page(r, "Books"), v))
}

func takenMinor(list []till.Taking) int64 {
	sum := int64(0)
	for _, t := range list {
		sum += t.Minor
	}
	return sum
}

// span is the month or the day in the address, and its first and last day.
func span(r *http.Request) (name string, from, to time.Time, err error) {
	name = chi.URLParam(r, "month")
	if from, err = time.Parse(monthLayout, name); err == nil {
		return name, from, from.AddDate(0, 1, -1), nil
	}
	if from, err = time.Parse(time.DateOnly, name); err == nil {
		return name, from, from, nil
	}
	return name, from, to, domain.ErrNotFound
}

// read reads the books of the span in the address.
func (s *Room) read(r *http.Request) (name, code string, from, to time.Time, b store.Books, err error) {
	if name, from, to, err = span(r); err != nil {
		return
	}
	if code, err = currencyOf(r); err == nil {
		b, err = s.store.Books(r.Context(), code, from, to)
	}
	return
}

// showMonth shows a month, or a day: what it came to, each account's sums, and its days.
func (s *Room) showMonth(w http.ResponseWriter, r *http.Request) error {
	name, code, from, to, b, err := s.read(r)
	if err != nil {
		return err
	}
	say, sum, lines := amounts(r, code), books.Total(b.Facts), books.Lines(b.Facts)
	v := spanView{Title: from.Format("January 2006"), BackURL: address(r, "/books", "year", strconv.Itoa(from.Year())), LinesURL: address(r, "/books/"+name+"/lines.csv"),
		DaysURL: address(r, "/books/"+name+"/days.csv"), Count: len(lines)}
	if from.Equal(to) {
		v.Title, v.DaysURL, v.BackURL = s.Day(r, from), "", address(r, "/books/"+from.Format(monthLayout))
	}
	v.Terms = spanTerms(say, sum, b.OwedMinor+sum.OwedMinor)
	for _, t := range sum.Takings {
		v.Takings = append(v.Takings, []string{text.Capital(docket.Method(t.Way).Words()), say(t.Minor)})
	}
	for _, t := range sum.TaxByRate {
		v.Tax = append(v.Tax, []string{estimate.FormatPercent(t.TaxBasisPoints) + " %", say(t.NetMinor), say(t.TaxMinor), say(t.GrossMinor)})
	}
	for _, a := range books.Sums(lines) {
		n := named(b.Names, a.Account)
		v.Accounts = append(v.Accounts, []string{n.Number, n.Name, say(a.DebitMinor), say(a.CreditMinor)})
	}
	for day := from; !from.Equal(to) && !day.After(to); day = day.AddDate(0, 0, 1) {
		f := within(b.Facts, day, day)
		if sum := books.Total(f); len(books.Lines(f)) > 0 {
			v.Days = append(v.Days, monthRow{Month: s.Day(r, day), Href: address(r, "/books/"+day.Format(time.DateOnly)), Billed: say(sum.BilledMinor),
				Credited: say(sum.CreditedMinor), Taken: say(takenMinor(sum.Takings))})
		}
	}
	return page.Render(w, r, http.StatusOK, spanPage(s.Page(r, "Books, "+v.Title), v))
}

// spanTerms say what a span came to, and what is owed at its end. What is seldom is left out where there is none of it.
func spanTerms(say func(int64) string, sum books.Totals, owedMinor int64) []view.TermView {
	terms := []view.TermView{term("Invoices", say(sum.BilledMinor), "billed")}
	seldom := func(words string, minor int64, id string) {
		if minor != 0 {
			terms = append(terms, term(words, say(minor), id))
		}
	}
	seldom("Credit notes", sum.CreditedMinor, "credited")
	terms = append(terms, term("Taken", say(takenMinor(sum.Takings)), "taken"))
	seldom("Taken to the bank, less change from it", sum.BankedMinor, "banked")
	seldom("Differences of the till", sum.DifferenceMinor, "differences")
	seldom("Cash rounding", sum.RoundedMinor, "rounded")
	if owedMinor < 0 {
		return append(terms, term("Paid ahead at the end, less owed", say(-owedMinor), "owed"))
	}
	return append(terms, term("Owed at the end, less paid ahead", say(owedMinor), "owed"))
}

func term(words, amount, id string) view.TermView {
	return view.TermView{Term: words, Cell: view.Cell{Text: amount}, TestID: id}
}

// named is an account with the owner's name, or its usual one.
func named(list []books.Named, a books.Account) books.Named {
	n := books.Named{Account: a}
	if i := slices.IndexFunc(list, func(n books.Named) bool { return n.Account == a }); i >= 0 {
		n = list[i]
	}
	n.Name = cmp.Or(n.Name, a.Words())
	return n
}

func (s *Room) sendLines(w http.ResponseWriter, r *http.Request) error {
	return s.send(w, r, "lines", func(l []books.Line) []books.Line { return l })
}

func (s *Room) sendDays(w http.ResponseWriter, r *http.Request) error {
	return s.send(w, r, "days", books.ByDay)
}

func (s *Room) send(w http.ResponseWriter, r *http.Request, what string, made func([]books.Line) []books.Line) error {
	name, code, _, _, b, err := s.read(r)
	if err != nil {
		return err
	}
	var file bytes.Buffer
	if err := books.WriteCSV(&file, made(books.Lines(b.Facts)), code, b.Names); err != nil {
		return err
	}
	h := w.Header()
	h.Set("Content-Type", "text/csv; charset=utf-8; header=present")
	h.Set("Content-Disposition", `attachment; filename="books-`+name+"-"+code+"-"+what+`.csv"`)
	_, _ = w.Write(file.Bytes()) // a reader that went away is no fault of ours
	return nil
}
