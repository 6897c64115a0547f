package calibres

import (
	"net/http"
	"strconv"

	"ledgerwheel/domain/photo"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/timing"
	"ledgerwheel/domain/watch"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/view"
)

func (s *Room) calibreRoutes() []page.Route {
	return []page.Route{
		page.Get("/calibres", page.Needs(staff.ViewDockets), s.showCalibres),
		page.Get("/calibres/calibres.csv", page.Needs(staff.ViewDockets), s.exportCalibres),
		page.Get("/calibres/file", page.Needs(staff.ManageCalibres), s.askCalibreFile),
		page.Post("/calibres/file", page.Needs(staff.ManageCalibres), s.importCalibres),
		page.Get("/calibres/new", page.Needs(staff.ManageCalibres), s.newCalibre),
		page.Post("/calibres/new", page.Needs(staff.ManageCalibres), s.saveCalibre),
		page.Get("/calibres/{id}", page.Needs(staff.ViewDockets), s.showCalibre),
		page.Get("/calibres/{id}/edit", page.Needs(staff.ManageCalibres), s.editCalibre),
		page.Post("/calibres/{id}", page.Needs(staff.ManageCalibres), s.saveCalibre),
		page.Post("/calibres/{id}/lift-angle", page.Needs(staff.ManageCalibres), s.determineLift),
		page.Post("/calibres/{id}/drawings", page.Needs(staff.ManageCalibres), s.addDrawings),
		page.Post("/calibres/{id}/drawings/{drawing}/remove", page.Needs(staff.ManageCalibres), s.removeDrawing),
		page.Get("/drawings/{id}/{size}", page.Needs(staff.ViewDockets), s.showDrawing),
	}
}

func (s *Room) showCalibres(w http.ResponseWriter, r *http.Request) error {
	calibres, err := s.store.Calibres(r.Context())
	if err != nil {
		return err
	}
	grades, err := s.grades(r)
	if err != nil {
		return err
	}
	listed := calibresView{MayEdit: page.May(r, staff.ManageCalibres)}
	for _, k := range calibres {
		typed := k.Form()
		listed.Calibres = append(listed.Calibres, calibreRow{ID: k.ID, Name: k.Name, Maker: k.Maker,
			BeatsPerHour: typed["beats_per_hour"],
			LiftAngleDeg: typed["lift_angle_deg"], PowerReserveHours: typed["power_reserve_hours"], Grade: gradeName(grades, k.GradeKey),
			Remarks: len(k.Remarks())})
	}
	return page.Render(w, r, http.StatusOK, calibresPage(s.Page(r, "Calibres"), listed))
}

// grades are those that a calibre can be judged by: the shop's, and the shipped ones where it has none yet.
func (s *Room) grades(r *http.Request) ([]view.Option, error) {
	newest, err := s.store.NewestLimits(r.Context())
	if err != nil {
		return nil, err
	}
	var options []view.Option
	for _, g := range newest {
		options = append(options, view.Option{Value: g.Limits.Grade, Text: g.Limits.Name})
	}
	if len(options) == 0 {
		for _, g := range timing.ShippedGrades() {
			options = append(options, view.Option{Value: g.Grade, Text: g.Name})
		}
	}
	return options, nil
}

// gradeName is the name of a grade, or its key where there is none of that key.
func gradeName(grades []view.Option, key string) string {
	for _, g := range grades {
		if g.Value == key {
			return g.Text
		}
	}
	return key
}

func (s *Room) newCalibre(w http.ResponseWriter, r *http.Request) error {
	return s.renderCalibre(w, r, http.StatusOK, page.EmptyForm(), watch.Calibre{})
}

func (s *Room) editCalibre(w http.ResponseWriter, r *http.Request) error {
	id, err := page.PathID(r, "id")
	if err != nil {
		return err
	}
	k, version, err := s.store.Calibre(r.Context(), id)
	if err != nil {
		return err
	}
	f := page.EmptyForm()
	for name, value := range k.Form() {
		f.Values.Set(name, value)
	}
	f.Values.Set("version", strconv.FormatInt(version, 10))
	return s.renderCalibre(w, r, http.StatusOK, f, k)
}

// renderCalibre shows the form as typed; k is what could be read of it.
func (s *Room) renderCalibre(w http.ResponseWriter, r *http.Request, status int, f *page.Form, k watch.Calibre) error {
	title := "New calibre"
	if k.ID != 0 {
		title = "Calibre " + f.Text("name")
	}
	grades, err := s.grades(r)
	if err != nil {
		return err
	}
	return page.Render(w, r, status, calibrePage(s.Page(r, title), calibreFormView(f, k, grades)))
}

func (s *Room) saveCalibre(w http.ResponseWriter, r *http.Request) error {
	f, err := page.ReadForm(w, r)
	if err != nil {
		return err
	}
	typed := watch.CalibreForm{}
	for _, field := range watch.CalibreFields() {
		typed[field.Name] = f.Text(field.Name)
	}
	k, problems := typed.Check()
	if r.URL.Path != "/calibres/new" {
		if k.ID, err = page.PathID(r, "id"); err != nil {
			return err
		}
	}
	f.FailAll(problems)
	version, id := f.ID("version"), k.ID
	change := store.CalibreChange{By: page.Actor(r), At: s.Now(), Why: page.Shortened(f.Text("why"), photo.MaxCaption)}
	if f.OK() {
		if id == 0 {
			id, err = s.store.AddCalibre(r.Context(), change, k)
		} else {
			err = s.store.SaveCalibre(r.Context(), change, k, version)
		}
		if err != nil && !f.Takes(err) {
			return err
		}
	}
	if !f.OK() {
		return s.renderCalibre(w, r, http.StatusUnprocessableEntity, f, k)
	}
	s.Say(r.Context(), "Calibre "+k.Name+" is saved.")
	return page.SeeOther(w, r, "/calibres/"+page.Itoa64(id))
}

func (s *Room) showCalibre(w http.ResponseWriter, r *http.Request) error {
	return s.renderCalibreRecord(w, r, http.StatusOK, page.EmptyForm())
}

func (s *Room) renderCalibreRecord(w http.ResponseWriter, r *http.Request, status int, f *page.Form) error {
	record, err := s.record(r)
	if err != nil {
		return err
	}
	return s.renderRecord(w, r, status, record, f, nil)
}

// record is the calibre that the address names.
func (s *Room) record(r *http.Request) (store.CalibreRecord, error) {
	id, err := page.PathID(r, "id")
	if err != nil {
		return store.CalibreRecord{}, err
	}
	return s.store.CalibreRecord(r.Context(), id)
}

// renderRecord shows a calibre with what was typed on its page; found is a lift angle that was just worked out, if any.
func (s *Room) renderRecord(w http.ResponseWriter, r *http.Request, status int, record store.CalibreRecord, f *page.Form,
	found *timing.Determination) error {
	grades, err := s.grades(r)
	if err != nil {
		return err
	}
	v := s.calibreRecordView(r, record, grades)
	v.Form = f.View()
	v.Lift = liftOf(f, record, found)
	return page.Render(w, r, status, calibreRecord(s.Page(r, "Calibre "+record.Calibre.Name), v))
}
