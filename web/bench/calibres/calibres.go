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
		{"GET", "/calibres/calibres.csv", needs(staff.ViewDockets), s.exportCalibres},
		{"GET", "/calibres/file", needs(staff.ManageCalibres), s.askCalibreFile},
		{"POST", "/calibres/file", needs(staff.ManageCalibres), s.importCalibres},
		{"GET", "/calibres/new", needs(staff.ManageCalibres), s.newCalibre},
		{"POST", "/calibres/new", needs(staff.ManageCalibres), s.saveCalibre},
		{"GET", "/calibres/{id}", needs(staff.ViewDockets), s.showCalibre},
		{"GET", "/calibres/{id}/edit", needs(staff.ManageCalibres), s.editCalibre},
		{"POST", "/calibres/{id}", needs(staff.ManageCalibres), s.saveCalibre},
		{"POST", "/calibres/{id}/drawings", needs(staff.ManageCalibres), s.addDrawings},
		{"POST", "/calibres/{id}/drawings/{drawing}/remove", needs(staff.ManageCalibres), s.removeDrawing},
		{"GET", "/drawings/{id}/{size}", needs(staff.ViewDockets), s.showDrawing},
	}
}

func (s *Server) showCalibres(w http.ResponseWriter, r *http.Request) error {
	calibres, err := s.store.Calibres(r.Context())
	if err != nil {
		return err
	}
	listed := view.CalibresView{MayEdit: may(r, staff.ManageCalibres)}
	for _, k := range calibres {
		typed := k.Form()
		listed.Calibres = append(listed.Calibres, view.CalibreRow{ID: k.ID, Name: k.Name, Maker: k.Maker, BeatsPerHour: typed["beats_per_hour"],
			LiftAngleDeg: typed["lift_angle_deg"], PowerReserveHours: typed["power_reserve_hours"], Grade: gradeName(k.GradeKey), Remarks: len(k.Remarks())})
	}
	return render(w, r, http.StatusOK, view.Calibres(s.page(r, "Calibres"), listed))
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
	return s.renderCalibre(w, r, http.StatusOK, emptyForm(), watch.Calibre{})
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
	return s.renderCalibre(w, r, http.StatusOK, f, k)
}

// renderCalibre shows the form as typed; k is what could be read of it.
func (s *Server) renderCalibre(w http.ResponseWriter, r *http.Request, status int, f *form, k watch.Calibre) error {
	title := "New calibre"
	if k.ID != 0 {
		title = "Calibre " + f.Text("name")
	}
	return render(w, r, status, view.Calibre(s.page(r, title), calibreFormView(f, k)))
}

func (s *Server) saveCalibre(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(w, r)
	if err != nil {
		return err
	}
	typed := watch.CalibreForm{}
	for _, field := range watch.CalibreFields() {
		typed[field.Name] = f.Text(field.Name)
	}
	k, problems := typed.Check()
	if r.URL.Path != "/calibres/new" {
		if k.ID, err = pathID(r, "id"); err != nil {
			return err
		}
	}
	f.FailAll(problems)
	version, id := f.ID("version"), k.ID
	change := store.CalibreChange{By: actor(r), At: s.now(), Why: shortened(f.Text("why"), photo.MaxCaption)}
	if f.OK() {
		if id == 0 {
			id, err = s.store.AddCalibre(r.Context(), change, k)
		} else {
			err = s.store.SaveCalibre(r.Context(), change, k, version)
		}
		if err != nil && !f.takes(err) {
			return err
		}
	}
	if !f.OK() {
		return s.renderCalibre(w, r, http.StatusUnprocessableEntity, f, k)
	}
	s.say(r.Context(), "Calibre "+k.Name+" is saved.")
	return seeOther(w, r, "/calibres/"+itoa64(id))
}

func (s *Server) showCalibre(w http.ResponseWriter, r *http.Request) error {
	return s.renderCalibreRecord(w, r, http.StatusOK, emptyForm())
}

func (s *Server) renderCalibreRecord(w http.ResponseWriter, r *http.Request, status int, f *form) error {
	id, err := pathID(r, "id")
	if err != nil {
		return err
	}
	record, err := s.store.CalibreRecord(r.Context(), id)
	if err != nil {
		return err
	}
	v := s.calibreRecordView(r, record)
	v.Form = f.view()
	return render(w, r, status, view.CalibreRecord(s.page(r, "Calibre "+record.Calibre.Name), v))
}
