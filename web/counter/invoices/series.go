package invoices

import (
	"net/http"

	"ledgerwheel/domain/invoice"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/view"
)

func (s *Room) showSeries(w http.ResponseWriter, r *http.Request) error {
	return s.renderSeries(w, r, http.StatusOK, page.EmptyForm())
}

// renderSeries lists the series, each with the form that changes it; the one that was typed into is shown as typed.
func (s *Room) renderSeries(w http.ResponseWriter, r *http.Request, status int, typed *page.Form) error {
	list, err := s.store.SeriesList(r.Context())
	if err != nil {
		return err
	}
	v := seriesView{Problems: typed.Problems}
	year := s.Today(r).Year()
	for _, k := range append(list, store.SeriesRow{Series: invoice.Series{Digits: 4}}) {
		f := page.EmptyForm()
		f.Values.Set("name", k.Name)
		f.Values.Set("before", k.Before)
		f.Values.Set("digits", page.Itoa64(int64(k.Digits)))
		for field, on := range map[string]bool{"yearly": k.Yearly, "usual": k.Usual, "usual_credit": k.UsualCredit, "ended": k.Ended} {
			if on {
				f.Values.Set(field, "yes")
			}
		}
		id := page.Itoa64(k.ID)
		mine := len(typed.Values) > 0 && typed.Text("id") == id
		if mine {
			f = typed
		}
		row := seriesForm{ID: id, Version: page.Itoa64(k.Version), Form: f.View(), Heading: k.Name, New: k.ID == 0, Given: k.Given > 0, Open: mine}
		switch {
		case row.New:
			row.Heading = "Begin another series"
		case k.Ended:
			row.Says = "used no longer"
		case k.Newest != "":
			row.Says = "newest " + k.Newest
		default:
			row.Says = "first " + k.Number(year, 1)
		}
		if k.Usual || k.UsualCredit {
			row.Says += ", the usual one"
		}
		v.Series = append(v.Series, row)
	}
	return page.Render(w, r, status, seriesPage(s.Page(r, "Invoice numbers"), v))
}

func (s *Room) keepSeries(w http.ResponseWriter, r *http.Request) error {
	f, err := page.ReadForm(w, r)
	if err != nil {
		return err
	}
	k := store.SeriesRow{Series: invoice.Series{ID: f.ID("id"), Name: f.Text("name"), Before: f.Raw("before"), Digits: f.Int("digits"), Yearly: f.Checked("yearly")},
		Usual: f.Checked("usual"), UsualCredit: f.Checked("usual_credit"), Ended: f.Checked("ended"), Version: f.ID("version")}
	if f.OK() {
		_, err = s.store.SaveSeries(r.Context(), k, page.Actor(r), s.Now())
	}
	if err != nil && !f.Takes(err) {
		return err
	}
	if !f.OK() {
		return s.renderSeries(w, r, http.StatusUnprocessableEntity, f)
	}
	s.Say(r.Context(), "The series "+k.Name+" is kept.")
	return page.SeeOther(w, r, "/series")
}

// seriesView is the page of the series of invoice numbers.
type seriesView struct {
	Problems map[string]string
	Series   []seriesForm
}

// seriesForm is one of them. Given says that numbers were given in it, so that they stay as they are.
type seriesForm struct {
	ID, Version, Heading, Says string
	Form                       view.Form
	New, Given, Open           bool
}
