package recorders

import (
	"errors"
	"net/http"
	"strings"

	"ledgerwheel/domain"
	"ledgerwheel/domain/recorder"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/text"
	"ledgerwheel/web/page"
)

// recorderRoutes are the pages of the microphones the shop listens with and of their clocks.
func (s *Room) recorderRoutes() []page.Route {
	return []page.Route{
		page.Get("/recorders", page.Needs(staff.ViewDockets), s.showRecorders),
		page.Get("/recorders/new", page.Needs(staff.ManageRecorders), s.newRecorder),
		page.Post("/recorders/new", page.Needs(staff.ManageRecorders), s.addRecorder),
		page.Get("/recorders/{id}", page.Needs(staff.ViewDockets), s.showRecorder),
		page.Post("/recorders/{id}/sound", page.Needs(staff.ManageRecorders), s.calibrateBySound),
		page.Post("/recorders/{id}/typed", page.Needs(staff.ManageRecorders), s.calibrateTyped),
		page.Post("/recorders/{id}/describe", page.Needs(staff.ManageRecorders), s.describeRecorder),
		page.Post("/recorders/{id}/retire", page.Needs(staff.ManageRecorders), s.retireRecorder),
		page.Post("/recorders/{id}/use", page.Needs(staff.ManageRecorders), s.useRecorder),
		page.Post("/recorders/{id}/calibrations/{calibration}/retire", page.Needs(staff.ManageRecorders),
			s.retireCalibration),
	}
}

func (s *Room) showRecorders(w http.ResponseWriter, r *http.Request) error {
	recorders, err := s.store.Recorders(r.Context())
	if err != nil {
		return err
	}
	v := recordersView{May: page.May(r, staff.ManageRecorders)}
	for _, rec := range recorders {
		v.Rows = append(v.Rows, s.recorderRow(r, rec))
	}
	return page.Render(w, r, http.StatusOK, recordersPage(s.Page(r, "Recorders"), v))
}

func (s *Room) newRecorder(w http.ResponseWriter, r *http.Request) error {
	f := page.EmptyForm()
	f.Values.Set("usual_rate", rateInput(recorder.DefaultRateHz))
	return s.renderNewRecorder(w, r, http.StatusOK, f)
}

func (s *Room) renderNewRecorder(w http.ResponseWriter, r *http.Request, status int, f *page.Form) error {
	return page.Render(w, r, status, newRecorder(s.Page(r, "New recorder"), newRecorderView{Form: f.View()}))
}

func (s *Room) addRecorder(w http.ResponseWriter, r *http.Request) error {
	f, err := page.ReadForm(w, r)
	if err != nil {
		return err
	}
	rec := recorder.Recorder{Name: text.Line(f.Raw("name")), Note: text.Lines(f.Raw("note")),
		UsualRateHz: recorder.ParseRate(f.Text("usual_rate"))}
	f.FailAll(rec.Problems())
	var id int64
	if f.OK() {
		if id, err = s.store.AddRecorder(r.Context(), rec, page.Actor(r), s.Now()); err != nil && !f.Takes(err) {
			return err
		}
	}
	if !f.OK() {
		return s.renderNewRecorder(w, r, http.StatusUnprocessableEntity, f)
	}
	s.Say(r.Context(), rec.Name+" is added. Calibrate its clock before its readings are to decide anything.")
	return page.SeeOther(w, r, recorderPath(id))
}

func recorderPath(id int64) string { return "/recorders/" + page.Itoa64(id) }

func (s *Room) showRecorder(w http.ResponseWriter, r *http.Request) error {
	return s.renderRecorder(w, r, http.StatusOK, page.EmptyForm(), noForm)
}

// renderRecorder shows a recorder's page, with one of its forms as it was typed.
func (s *Room) renderRecorder(w http.ResponseWriter, r *http.Request, status int, f *page.Form,
	open recorderForm) error {
	id, err := page.PathID(r, "id")
	if err != nil {
		return err
	}
	record, err := s.store.RecorderRecord(r.Context(), id)
	if err != nil {
		return err
	}
	return page.Render(w, r, status, recorderPage(s.Page(r, record.Recorder.Name), s.recorderView(r, record, f, open)))
}

// changeRecorder reads a form, does what it asks to the recorder of the address, and leads back to its page, or shows
// the form again with what stopped it.
func (s *Room) changeRecorder(w http.ResponseWriter, r *http.Request, which recorderForm, said string,
	do func(f *page.Form, id int64) error) error {
	f, err := page.ReadForm(w, r)
	if err != nil {
		return err
	}
	id, err := page.PathID(r, "id")
	if err != nil {
		return err
	}
	if err := do(f, id); err != nil && !f.Takes(err) {
		return err
	}
	if !f.OK() {
		return s.renderRecorder(w, r, http.StatusUnprocessableEntity, f, which)
	}
	s.Say(r.Context(), said)
	return page.SeeOther(w, r, recorderPath(id))
}

func (s *Room) describeRecorder(w http.ResponseWriter, r *http.Request) error {
	return s.changeRecorder(w, r, describeForm, "The description is saved.", func(f *page.Form, id int64) error {
		return s.store.DescribeRecorder(r.Context(), id, text.Lines(f.Raw("note")), recorder.ParseRate(f.Text("usual_rate")),
			page.Actor(r), s.Now())
	})
}

func (s *Room) retireRecorder(w http.ResponseWriter, r *http.Request) error {
	return s.changeRecorder(w, r, retireForm, "The recorder is out of use.", func(f *page.Form, id int64) error {
		return s.store.RetireRecorder(r.Context(), id, text.Line(f.Raw("why")), page.Actor(r), s.Now())
	})
}

func (s *Room) useRecorder(w http.ResponseWriter, r *http.Request) error {
	return s.changeRecorder(w, r, noForm, "The recorder is in use again.", func(_ *page.Form, id int64) error {
		return s.store.UseRecorder(r.Context(), id, page.Actor(r), s.Now())
	})
}

func (s *Room) retireCalibration(w http.ResponseWriter, r *http.Request) error {
	calibration, err := page.PathID(r, "calibration")
	if err != nil {
		return err
	}
	field := calibrationWhy(calibration)
	return s.changeRecorder(w, r, noForm, "The calibration is retired. Readings taken until now keep it.",
		func(f *page.Form, id int64) error {
			return underNames(s.store.RetireCalibration(r.Context(), id, calibration, text.Line(f.Raw(field)), page.Actor(r),
				s.Now()),
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
