package promises

import (
	"net/http"

	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/text"
	"ledgerwheel/web/page"
)

func (s *Room) showHolidays(w http.ResponseWriter, r *http.Request) error {
	return s.renderHolidays(w, r, http.StatusOK, page.EmptyForm())
}

func (s *Room) renderHolidays(w http.ResponseWriter, r *http.Request, status int, f *page.Form) error {
	list, err := s.store.Holidays(r.Context())
	if err != nil {
		return err
	}
	viewer, _ := page.ViewerOf(r.Context())
	v := holidaysView{Form: f.View(), Hours: viewer.Shop.Hours.Said()}
	today := s.Today(r)
	for _, h := range list {
		row := holidayRow{ID: h.ID, Name: h.Name, Days: h.DaysWords()}
		if h.Yearly || !h.To.Before(today) {
			v.Coming = append(v.Coming, row)
		} else {
			v.Past = append([]holidayRow{row}, v.Past...)
		}
	}
	return page.Render(w, r, status, holidaysPage(s.Page(r, "Holidays"), v))
}

func (s *Room) addHoliday(w http.ResponseWriter, r *http.Request) error {
	f, err := page.ReadForm(w, r)
	if err != nil {
		return err
	}
	h := shop.Holiday{Name: text.Line(f.Text("name")), From: f.Day("from"), To: f.Day("to"), Yearly: f.Checked("yearly")}
	if f.Text("to") == "" {
		h.To = h.From
	}
	if f.OK() {
		f.FailAll(h.Problems())
	}
	if f.OK() {
		err = s.store.AddHoliday(r.Context(), h, page.Actor(r), s.Now())
	}
	if err != nil && !f.Takes(err) {
		return err
	}
	if !f.OK() {
		return s.renderHolidays(w, r, http.StatusUnprocessableEntity, f)
	}
	s.Say(r.Context(), "Closed for "+h.Name+".")
	return page.SeeOther(w, r, "/settings/holidays")
}

func (s *Room) removeHoliday(w http.ResponseWriter, r *http.Request) error {
	id, err := page.PathID(r, "id")
	if err != nil {
		return err
	}
	if _, err := page.ReadForm(w, r); err != nil {
		return err
	}
	if err := s.store.RemoveHoliday(r.Context(), id, page.Actor(r), s.Now()); err != nil {
		return err
	}
	s.Say(r.Context(), "The holiday is removed.")
	return page.SeeOther(w, r, "/settings/holidays")
}
