package web

import (
	"context"
	"errors"
	"net/http"
	"strings"
	"time"

	"ledgerwheel/domain"
	"ledgerwheel/domain/recorder"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/text"
	"ledgerwheel/store"
	"ledgerwheel/web/view"
)

type recorderStore interface {
	Recorders(ctx context.Context) ([]recorder.Recorder, error)
	Recorder(ctx context.Context, id int64) (recorder.Recorder, error)
	RecorderRecord(ctx context.Context, id int64) (store.RecorderRecord, error)
	AddRecorder(ctx context.Context, r recorder.Recorder, by store.Actor, at time.Time) (int64, error)
	DescribeRecorder(ctx context.Context, id int64, note string, usualRateHz int, by store.Actor, at time.Time) error
	RetireRecorder(ctx context.Context, id int64, why string, by store.Actor, at time.Time) error
	UseRecorder(ctx context.Context, id int64, by store.Actor, at time.Time) error
	KeepCalibration(ctx context.Context, recorderID int64, c recorder.Calibration) (int64, error)
	RetireCalibration(ctx context.Context, recorderID, id int64, why string, by store.Actor, at time.Time) error
}

// recorderRoutes are the pages of the microphones the shop listens with and of their clocks.
func (s *Server) recorderRoutes() []route {
	return []route{
		{http.MethodGet, "/recorders", needs(staff.ViewDockets), s.showRecorders},
		{http.MethodGet, "/recorders/new", needs(staff.ManageRecorders), s.newRecorder},
		{http.MethodPost, "/recorders/new", needs(staff.ManageRecorders), s.addRecorder},
		{http.MethodGet, "/recorders/{id}", needs(staff.ViewDockets), s.showRecorder},
		{http.MethodPost, "/recorders/{id}/sound", needs(staff.ManageRecorders), s.calibrateBySound},
		{http.MethodPost, "/recorders/{id}/typed", needs(staff.ManageRecorders), s.calibrateTyped},
		{http.MethodPost, "/recorders/{id}/describe", needs(staff.ManageRecorders), s.describeRecorder},
		{http.MethodPost, "/recorders/{id}/retire", needs(staff.ManageRecorders), s.retireRecorder},
		{http.MethodPost, "/recorders/{id}/use", needs(staff.ManageRecorders), s.useRecorder},
		{http.MethodPost, "/recorders/{id}/calibrations/{calibration}/retire", needs(staff.ManageRecorders), s.retireCalibration},
	}
}

func (s *Server) showRecorders(w http.ResponseWriter, r *http.Request) error {
	recorders, err := s.store.Recorders(r.Context())
	if err != nil {
		return err
	}
	v := view.RecordersView{May: may(r, staff.ManageRecorders)}
	for _, rec := range recorders {
		v.Rows = append(v.Rows, s.recorderRow(r, rec))
	}
	return render(w, r, http.StatusOK, view.Recorders(s.page(r, "Recorders"), v))
}

func (s *Server) newRecorder(w http.ResponseWriter, r *http.Request) error {
	f := emptyForm()
	f.Values.Set("usual_rate", rateInput(recorder.DefaultRateHz))
	return s.renderNewRecorder(w, r, http.StatusOK, f)
}

func (s *Server) renderNewRecorder(w http.ResponseWriter, r *http.Request, status int, f *form) error {
	return render(w, r, status, view.NewRecorder(s.page(r, "New recorder"), view.NewRecorderView{Form: f.view()}))
}

func (s *Server) addRecorder(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(w, r)
	if err != nil {
		return err
	}
	rec := recorder.Recorder{Name: text.Line(f.Raw("name")), Note: text.Lines(f.Raw("note")), UsualRateHz: recorder.ParseRate(f.Text("usual_rate"))}
	f.FailAll(rec.Problems())
	var id int64
	if f.OK() {
		if id, err = s.store.AddRecorder(r.Context(), rec, actor(r), s.now()); err != nil && !f.takes(err) {
			return err
		}
	}
	if !f.OK() {
		return s.renderNewRecorder(w, r, http.StatusUnprocessableEntity, f)
	}
	s.say(r.Context(), rec.Name+" is added. Calibrate its clock before its readings are to decide anything.")
	return seeOther(w, r, recorderPath(id))
}

func recorderPath(id int64) string { return "/recorders/" + itoa64(id) }

func (s *Server) showRecorder(w http.ResponseWriter, r *http.Request) error {
	return s.renderRecorder(w, r, http.StatusOK, emptyForm(), view.NoForm)
}

// renderRecorder shows a recorder's page, with one of its forms as it was typed.
func (s *Server) renderRecorder(w http.ResponseWriter, r *http.Request, status int, f *form, open view.RecorderForm) error {
	id, err := pathID(r, "id")
	if err != nil {
		return err
	}
	record, err := s.store.RecorderRecord(r.Context(), id)
	if err != nil {
		return err
	}
	return render(w, r, status, view.Recorder(s.page(r, record.Recorder.Name), s.recorderView(r, record, f, open)))
}

// changeRecorder reads a form, does what it asks to the recorder of the address, and leads back to its page, or shows the
// form again with what stopped it.
func (s *Server) changeRecorder(w http.ResponseWriter, r *http.Request, which view.RecorderForm, said string, do func(f *form, id int64) error) error {
	f, err := readForm(w, r)
	if err != nil {
		return err
	}
	id, err := pathID(r, "id")
	if err != nil {
		return err
	}
	if err := do(f, id); err != nil && !f.takes(err) {
		return err
	}
	if !f.OK() {
		return s.renderRecorder(w, r, http.StatusUnprocessableEntity, f, which)
	}
	s.say(r.Context(), said)
	return seeOther(w, r, recorderPath(id))
}

func (s *Server) describeRecorder(w http.ResponseWriter, r *http.Request) error {
	return s.changeRecorder(w, r, view.DescribeForm, "The description is saved.", func(f *form, id int64) error {
		return s.store.DescribeRecorder(r.Context(), id, text.Lines(f.Raw("note")), recorder.ParseRate(f.Text("usual_rate")), actor(r), s.now())
	})
}

func (s *Server) retireRecorder(w http.ResponseWriter, r *http.Request) error {
	return s.changeRecorder(w, r, view.RetireForm, "The recorder is out of use.", func(f *form, id int64) error {
		return s.store.RetireRecorder(r.Context(), id, text.Line(f.Raw("why")), actor(r), s.now())
	})
}

func (s *Server) useRecorder(w http.ResponseWriter, r *http.Request) error {
	return s.changeRecorder(w, r, view.NoForm, "The recorder is in use again.", func(_ *form, id int64) error {
		return s.store.UseRecorder(r.Context(), id, actor(r), s.now())
	})
}

func (s *Server) retireCalibration(w http.ResponseWriter, r *http.Request) error {
	calibration, err := pathID(r, "calibration")
	if err != nil {
		return err
	}
	field := view.CalibrationWhy(calibration)
	return s.changeRecorder(w, r, view.NoForm, "The calibration is retired. Readings taken until now keep it.", func(f *form, id int64) error {
		return underNames(s.store.RetireCalibration(r.Context(), id, calibration, text.Line(f.Raw(field)), actor(r), s.now()),
			map[string]string{"why": field})
	})
}

// underNames gives the problems of a refusal the names that the page's own fields have.
func underNames(err error, names map[string]string) error {
	var invalid *domain.InvalidError
	if !errors.As(err, &invalid) {
		return err
	}
	return domain.Invalid(renamed(invalid.Problems, names))
}

func renamed(problems, names map[string]string) map[string]string {
	out := map[string]string{}
	for field, why := range problems {
		if name, known := names[field]; known {
			field = name
		}
		out[field] = strings.TrimSpace(out[field] + " " + why)
	}
	return out
}
