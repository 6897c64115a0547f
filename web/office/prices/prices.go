package prices

import (
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/money"
	"ledgerwheel/domain/pricelist"
	"ledgerwheel/domain/service"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/watch"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
)

func (s *Room) showPrices(w http.ResponseWriter, r *http.Request) error {
	list, err := s.store.PriceList(r.Context())
	if err != nil {
		return err
	}
	v := pricesView{May: page.May(r, staff.ManagePrices)}
	for _, j := range list {
		row := jobRow{Code: j.Code, Name: j.Name, Usual: usualWords(j.Job)}
		if v.May {
			row.Href = jobURL(j.ID)
		}
		if j.Minutes > 0 {
			row.Time = service.FormatMinutes(j.Minutes)
		}
		for _, p := range j.Prices {
			if p.From.After(s.Today(r)) {
				row.Then = s.priceWords(r, p) + " from " + s.Day(r, p.From)
				break
			}
			row.Price = s.priceWords(r, p)
		}
		v.Rows = append(v.Rows, row)
	}
	return page.Render(w, r, http.StatusOK, pricesPage(s.Page(r, "Price list"), v))
}

func (s *Room) priceWords(r *http.Request, p pricelist.Price) string {
	words := money.Format(p.Minor, p.Currency, page.LocaleOf(r))
	if !p.IncludesTax {
		words += " without tax"
	}
	return words
}

// usualWords say for which watches a job is and which parts it usually needs.
func usualWords(j pricelist.Job) string {
	var watches, parts []string
	for _, w := range j.Windings {
		watches = append(watches, w.Words())
	}
	for _, p := range j.Parts {
		parts = append(parts, strings.TrimSuffix(p.Words(), "?"))
	}
	if len(watches) > 0 && len(parts) > 0 {
		return strings.Join(watches, ", ") + "; " + strings.Join(parts, ", ")
	}
	return strings.Join(append(watches, parts...), ", ")
}

func jobURL(id int64) string { return "/prices/" + page.Itoa64(id) }

func (s *Room) showNew(w http.ResponseWriter, r *http.Request) error {
	viewer, _ := page.ViewerOf(r.Context())
	f := page.EmptyForm()
	f.Values.Set("kind", string(estimate.Labour))
	f.Values.Set("tax_rate", estimate.FormatPercent(viewer.Shop.TaxBasisPoints))
	f.Values.Set("from", s.Today(r).Format(time.DateOnly))
	return s.renderJob(w, r, http.StatusOK, store.JobRow{}, f)
}

func (s *Room) showJob(w http.ResponseWriter, r *http.Request) error {
	j, err := s.jobOf(r)
	if err != nil {
		return err
	}
	f := page.EmptyForm()
	for name, value := range map[string]string{"code": j.Code, "name": j.Name, "name_de": j.NameDe, "name_fr": j.NameFr, "kind": string(j.Kind),
		"version": page.Itoa64(j.Version), "from": s.Today(r).Format(time.DateOnly)} {
		f.Values.Set(name, value)
	}
	if j.Minutes > 0 {
		f.Values.Set("minutes", strconv.Itoa(j.Minutes))
	}
	for _, win := range j.Windings {
		f.Values.Add("windings", string(win))
	}
	var parts []string
	for _, p := range j.Parts {
		parts = append(parts, p.Words())
	}
	f.Values.Set("parts", strings.Join(parts, "\n"))
	if p, ok := j.PriceOn(s.Today(r)); ok {
		f.Values.Set("price", money.Plain(p.Minor, p.Currency))
		f.Values.Set("tax_rate", estimate.FormatPercent(p.TaxBasisPoints))
	}
	return s.renderJob(w, r, http.StatusOK, j, f)
}

func (s *Room) jobOf(r *http.Request) (store.JobRow, error) {
	id, err := page.PathID(r, "id")
	if err != nil {
		return store.JobRow{}, err
	}
	return s.store.Job(r.Context(), id)
}

// renderJob shows the form of a job; a zero j is one to be added.
func (s *Room) renderJob(w http.ResponseWriter, r *http.Request, status int, j store.JobRow, f *page.Form) error {
	viewer, _ := page.ViewerOf(r.Context())
	v := jobView{Form: f.View(), Action: "/prices/new", Title: "New job", Currency: viewer.Shop.Currency, TaxName: viewer.Shop.TaxName,
		IncludesTax: viewer.Shop.PricesIncludeTax, Kinds: page.Options(pricelist.Kinds, estimate.Kind.Words),
		Windings: page.Options(windings(), watch.Winding.Words)}
	if j.ID != 0 {
		v.Action, v.Title, v.EndURL = jobURL(j.ID), j.Code+", "+j.Name, jobURL(j.ID)+"/end"
		v.Kept = "Saved by " + j.KeptBy + " on " + s.Moment(r, j.KeptAt) + "."
		if j.Ended {
			v.EndURL, v.Kept = "", "Offered no longer. Saving it offers it again."
		}
		for _, p := range slices.Backward(j.Prices) {
			v.Prices = append(v.Prices, priceRow{From: s.Day(r, p.From), Price: s.priceWords(r, p), Tax: estimate.FormatPercent(p.TaxBasisPoints) + " %",
				Future: p.From.After(s.Today(r))})
		}
	}
	p := s.Page(r, v.Title)
	return page.Render(w, r, status, jobPage(p, v))
}

// windings are what a job can be for.
func windings() []watch.Winding {
	return slices.DeleteFunc(slices.Clone(watch.Windings), func(w watch.Winding) bool { return w == watch.WindingUnknown })
}

func (s *Room) addJob(w http.ResponseWriter, r *http.Request) error {
	return s.keep(w, r, store.JobRow{})
}

func (s *Room) saveJob(w http.ResponseWriter, r *http.Request) error {
	j, err := s.jobOf(r)
	if err != nil {
		return err
	}
	return s.keep(w, r, j)
}

// keep saves what was typed of a job that stood as was.
func (s *Room) keep(w http.ResponseWriter, r *http.Request, was store.JobRow) error {
	f, err := page.ReadForm(w, r)
	if err != nil {
		return err
	}
	j := s.readJob(r, f, was.Job)
	for field, why := range j.Problems() {
		if name, ok := strings.CutPrefix(field, "parts."); ok {
			field = "parts"
			at, _, _ := strings.Cut(name, ".")
			n, _ := strconv.Atoi(at) // its own numbering
			why = "Line " + strconv.Itoa(n+1) + ": " + why
		}
		if strings.HasPrefix(field, "prices.") {
			field = field[strings.LastIndex(field, ".")+1:]
		}
		f.Fail(field, why)
	}
	if f.OK() {
		_, err = s.store.SaveJob(r.Context(), j, f.ID("version"), page.Actor(r), s.Now())
	}
	if err != nil && !f.Takes(err) {
		return err
	}
	if !f.OK() {
		return s.renderJob(w, r, http.StatusUnprocessableEntity, was, f)
	}
	s.Say(r.Context(), j.Code+" is saved.")
	return page.SeeOther(w, r, "/prices")
}

// readJob reads a job as typed over how it stood.
func (s *Room) readJob(r *http.Request, f *page.Form, j pricelist.Job) pricelist.Job {
	viewer, _ := page.ViewerOf(r.Context())
	j.Code, j.Name, j.NameDe, j.NameFr = f.Text("code"), f.Text("name"), f.Text("name_de"), f.Text("name_fr")
	j.Kind, j.Minutes, j.Parts, j.Windings = estimate.Kind(f.Text("kind")), 0, pricelist.Typed(f.Raw("parts")), nil
	if f.Text("minutes") != "" {
		j.Minutes = f.Int("minutes")
	}
	for _, win := range f.Values["windings"] {
		j.Windings = append(j.Windings, watch.Winding(win))
	}
	if f.Text("price") == "" && len(j.Prices) > 0 {
		return j.Tidied()
	}
	p := pricelist.Price{From: f.Day("from"), Currency: viewer.Shop.Currency, IncludesTax: viewer.Shop.PricesIncludeTax}
	var err error
	if p.Minor, err = money.Parse(f.Text("price"), p.Currency, viewer.Shop.Locale); err != nil {
		f.Fail("price", money.Problem(err, p.Currency))
	}
	if f.Text("tax_rate") != "" {
		if p.TaxBasisPoints, err = estimate.ParsePercent(f.Text("tax_rate")); err != nil {
			f.Fail("tax_rate", "Give a rate of tax from 0 to 100 %, with at most two decimals.")
		}
	}
	return j.Repriced(p).Tidied()
}

func (s *Room) endJob(w http.ResponseWriter, r *http.Request) error {
	id, err := page.PathID(r, "id")
	if err != nil {
		return err
	}
	if err := s.store.EndJob(r.Context(), id, page.Actor(r), s.Now()); err != nil {
		return err
	}
	s.Say(r.Context(), "The job is offered no longer. Estimates keep what they say.")
	return page.SeeOther(w, r, "/prices")
}
