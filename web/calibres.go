package web

import (
	"context"
	"net/http"
	"strconv"
	"time"

	"ledgerwheel/domain/photo"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/timing"
	"ledgerwheel/domain/watch"
	"ledgerwheel/store"
	"ledgerwheel/web/view"
)

type calibreStore interface {
	Calibres(ctx context.Context) ([]watch.Calibre, error)
	Calibre(ctx context.Context, id int64) (watch.Calibre, int64, error)
	CalibreRecord(ctx context.Context, id int64) (store.CalibreRecord, error)
	AddCalibre(ctx context.Context, c store.CalibreChange, k watch.Calibre) (int64, error)
	SaveCalibre(ctx context.Context, c store.CalibreChange, k watch.Calibre, version int64) error
	ImportCalibres(ctx context.Context, c store.CalibreChange, decide func(known []watch.Calibre) ([]watch.Calibre, error)) (added, changed int, err error)
	CalibreDrawing(ctx context.Context, id int64) (store.CalibreDrawing, error)
	AddCalibreDrawings(ctx context.Context, by store.Actor, at time.Time, id int64, caption string, pictures []photo.Picture) error
	StrikeCalibreDrawing(ctx context.Context, by store.Actor, at time.Time, calibre, id int64) error
}

func (s *Server) calibreRoutes() []route {
	return []route{
		{"GET", "/calibres", needs(staff.ViewDockets), s.showCalibres},
		{"GET", "/calibres/new", needs(staff.ManageCalibres), s.newCalibre},
		{"POST", "/calibres/new", needs(staff.ManageCalibres), s.saveCalibre},
		{"GET", "/calibres/{id}", needs(staff.ManageCalibres), s.editCalibre},
		{"POST", "/calibres/{id}", needs(staff.ManageCalibres), s.saveCalibre},
	}
}

func (s *Server) showCalibres(w http.ResponseWriter, r *http.Request) error {
	calibres, err := s.store.Calibres(r.Context())
	if err != nil {
		return err
	}
	page := view.CalibresView{MayEdit: may(r, staff.ManageCalibres)}
	for _, k := range calibres {
		typed := k.Form()
		page.Calibres = append(page.Calibres, view.CalibreRow{ID: k.ID, Name: k.Name, Maker: k.Maker, BeatsPerHour: typed["beats_per_hour"],
			LiftAngleDeg: typed["lift_angle_deg"], PowerReserveHours: typed["power_reserve_hours"], Grade: gradeName(k.GradeKey)})
	}
	return render(w, r, http.StatusOK, view.Calibres(s.page(r, "Calibres"), page))
}

// gradeName is the shipped grade's name, or the key of one the shop made itself.
func gradeName(key string) string {
	for _, g := range timing.ShippedGrades() {
		if g.Grade == key {
			return g.Name
		}
	}
	return key
}

func (s *Server) newCalibre(w http.ResponseWriter, r *http.Request) error {
	return s.renderCalibre(w, r, http.StatusOK, emptyForm(), 0)
}

func (s *Server) editCalibre(w http.ResponseWriter, r *http.Request) error {
	id, err := pathID(r, "id")
	if err != nil {
		return err
	}
	k, version, err := s.store.Calibre(r.Context(), id)
	if err != nil {
		return err
	}
	f := emptyForm()
	for name, value := range k.Form() {
		f.Values.Set(name, value)
	}
	f.Values.Set("version", strconv.FormatInt(version, 10))
	return s.renderCalibre(w, r, http.StatusOK, f, id)
}

func (s *Server) renderCalibre(w http.ResponseWriter, r *http.Request, status int, f *form, id int64) error {
	page := view.CalibreView{Form: f.view(), ID: id}
	for _, g := range timing.ShippedGrades() {
		page.Grades = append(page.Grades, view.Option{Value: g.Grade, Text: g.Name})
	}
	title := "New calibre"
	if id != 0 {
		title = "Calibre " + f.Text("name")
	}
	return render(w, r, status, view.Calibre(s.page(r, title), page))
}

func (s *Server) saveCalibre(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(w, r)
	if err != nil {
		return err
	}
	var id int64
	if r.URL.Path != "/calibres/new" {
		if id, err = pathID(r, "id"); err != nil {
			return err
		}
	}
	typed := watch.CalibreForm{}
	for _, field := range watch.CalibreFields() {
		typed[field.Name] = f.Text(field.Name)
	}
	k, problems := typed.Check()
	k.ID = id
	f.FailAll(problems)
	version := f.ID("version")
	if f.OK() {
		if id == 0 {
			_, err = s.store.AddCalibre(r.Context(), store.CalibreChange{By: actor(r), At: s.now()}, k)
		} else {
			err = s.store.SaveCalibre(r.Context(), store.CalibreChange{By: actor(r), At: s.now()}, k, version)
		}
		if err != nil && !f.takes(err) {
			return err
		}
	}
	if !f.OK() {
		return s.renderCalibre(w, r, http.StatusUnprocessableEntity, f, id)
	}
	s.say(r.Context(), "Calibre "+k.Name+" is saved.")
	return seeOther(w, r, "/calibres")
}
