package parcels

import (
	"net/http"

	"ledgerwheel/domain/parcel"
	"ledgerwheel/web/page"
)

func (s *Room) showCarriers(w http.ResponseWriter, r *http.Request) error {
	return s.renderCarriers(w, r, http.StatusOK, page.EmptyForm())
}

func (s *Room) renderCarriers(w http.ResponseWriter, r *http.Request, status int, f *page.Form) error {
	list, err := s.store.Carriers(r.Context())
	if err != nil {
		return err
	}
	viewer, _ := page.ViewerOf(r.Context())
	v := carriersView{Form: f.View(), Currency: viewer.Shop.Currency}
	for _, c := range list {
		v.Carriers = append(v.Carriers, carrierRow{ID: page.Itoa64(c.ID), Name: c.Name, Limit: c.LimitWords(viewer.Shop.Locale),
			Cells: c.CellWords(), Note: c.Note})
	}
	return page.Render(w, r, status, carriersPage(s.Page(r, "Carriers"), v))
}

func (s *Room) keepCarrier(w http.ResponseWriter, r *http.Request) error {
	f, err := page.ReadForm(w, r)
	if err != nil {
		return err
	}
	viewer, _ := page.ViewerOf(r.Context())
	c := parcel.Carrier{Name: f.Text("name"), Note: f.Text("note"), Currency: viewer.Shop.Currency,
		CellsInEquipment: f.Checked("cells"), LimitMinor: readAmount(f, "limit", viewer.Shop.Currency, viewer.Shop.Locale)}.Tidied()
	f.FailAll(c.Problems())
	if f.OK() {
		err = s.store.KeepCarrier(r.Context(), c, page.Actor(r), s.Now())
	}
	if err != nil && !f.Takes(err) {
		return err
	}
	if !f.OK() {
		return s.renderCarriers(w, r, http.StatusUnprocessableEntity, f)
	}
	s.Say(r.Context(), c.Name+" is written down.")
	return page.SeeOther(w, r, "/carriers")
}

func (s *Room) endCarrier(w http.ResponseWriter, r *http.Request) error {
	id, err := page.PathID(r, "id")
	if err != nil {
		return err
	}
	if err := s.store.EndCarrier(r.Context(), id, page.Actor(r), s.Now()); err != nil {
		return err
	}
	s.Say(r.Context(), "The carrier is no longer offered.")
	return page.SeeOther(w, r, "/carriers")
}
