package web

import (
	"context"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/service"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/text"
	"ledgerwheel/domain/watch"
	"ledgerwheel/store"
	"ledgerwheel/web/view"
)

type serviceStore interface {
	ServiceSheet(ctx context.Context, n docket.Number) (store.ServiceSheet, error)
	AddWork(ctx context.Context, c store.Change, w service.Work) (int64, error)
	CorrectWork(ctx context.Context, c store.Change, id int64, w service.Work) error
}

func (s *Server) serviceRoutes() []route {
	return []route{
		{http.MethodGet, "/dockets/{number}/service", needs(staff.ViewDockets), s.showService},
		{http.MethodPost, "/dockets/{number}/service", needs(staff.DoService), s.addWork},
		{http.MethodGet, "/dockets/{number}/service/{id}", needs(staff.DoService), s.showWork},
		{http.MethodPost, "/dockets/{number}/service/{id}", needs(staff.DoService), s.correctWork},
	}
}

func (s *Server) showService(w http.ResponseWriter, r *http.Request) error {
	return s.renderService(w, r, http.StatusOK, emptyForm())
}

func (s *Server) renderService(w http.ResponseWriter, r *http.Request, status int, f *form) error {
	n, err := pathNumber(r)
	if err != nil {
		return err
	}
	sheet, err := s.store.ServiceSheet(r.Context(), n)
	if err != nil {
		return err
	}
	p, d := s.docketPage(r, sheet.Head, "service")
	d.Hazards = unread(sheet.Hazards)
	sum := service.Summarise(sheet.Works)
	v := view.ServiceView{Form: f.view(), MayWork: may(r, staff.DoService) && !d.Closed, Unread: len(d.Hazards) > 0,
		DiagnosisURL: view.DocketURL(d.Number, "diagnosis") + "#hazards", NotAgreed: notAgreed(sheet.Head),
		Time: service.FormatMinutes(sum.Minutes), Done: len(sum.Done), Steps: len(service.Steps)}
	for _, l := range sum.Lubricants {
		v.Lubricants = append(v.Lubricants, view.TypedTerm(text.Capital(l.Place.Words()), l.Kind))
	}
	v.Entry = s.benchForm(r, f, sheet, sum)
	for _, work := range slices.Backward(sheet.Works) {
		v.Works = append(v.Works, s.workView(r, d, work))
	}
	return render(w, r, status, view.Service(p, d, v))
}

// notAgreed says why work should not go on yet, or nothing.
func notAgreed(h store.Head) string {
	order := h.Docket.Stage.Order()
	if h.Docket.Closed() || h.Facts.Agreed() || h.Facts.ApprovedMinor > 0 || order < 0 || order > docket.StageService.Order() {
		return ""
	}
	return "The customer has not agreed to the work yet. The docket stands at " + h.Docket.Stage.Label() + "."
}

// benchForm is the form of a stretch of work: every usual step, with who did it before, and every place of lubricant.
func (s *Server) benchForm(r *http.Request, f *form, sheet store.ServiceSheet, sum service.Summary) view.WorkForm {
	v := view.WorkForm{Form: f.view(), Kinds: service.LubricantKinds}
	for _, step := range service.Steps {
		row := view.StepRow{Slug: string(step), Words: text.Capital(step.Words()), Ticked: slices.Contains(f.Values["step"], string(step))}
		for _, d := range sum.Done {
			if d.Step == step {
				row.Done = d.By + ", " + s.moment(r, d.At)
			}
		}
		v.Steps = append(v.Steps, row)
	}
	automatic := sheet.Head.Watch.Winding == watch.WindingAutomatic
	for _, place := range service.Places {
		row := view.PlaceRow{Slug: string(place), Words: text.Capital(place.Words()), Usual: service.UsualLubricant(place, automatic)}
		for _, l := range sum.Lubricants {
			if l.Place == place {
				row.Used = l.Kind
			}
		}
		v.Places = append(v.Places, row)
	}
	return v
}

func (s *Server) workView(r *http.Request, d view.DocketView, work service.Work) view.WorkView {
	v := view.WorkView{By: work.By, At: s.moment(r, work.At), Note: work.Note}
	for _, step := range work.Steps {
		words := step.Words()
		if m := work.StepMinutes[step]; m > 0 {
			words += " (" + service.FormatMinutes(m) + ")"
		}
		v.Steps = append(v.Steps, words)
	}
	for _, l := range work.Lubricants {
		v.Lubricants = append(v.Lubricants, l.Place.Words()+": "+l.Kind)
	}
	if m := work.TotalMinutes(); m > 0 {
		v.Time = service.FormatMinutes(m)
	}
	if may(r, staff.DoService) && !d.Closed {
		v.CorrectURL = view.DocketURL(d.Number, "service/"+strconv.FormatInt(work.ID, 10))
	}
	return v
}

// readBenchWork reads a stretch of work and notes what is wrong with it.
func readBenchWork(f *form) service.Work {
	typed := service.Form{Lubricants: map[string]string{}, StepMinutes: map[string]string{}, Minutes: f.Text("minutes"), Note: f.Text("note")}
	for _, step := range f.Values["step"] {
		if !slices.Contains(typed.Steps, step) {
			typed.Steps = append(typed.Steps, step)
		}
	}
	for name := range f.Values {
		if step, ok := strings.CutPrefix(name, "minutes."); ok {
			typed.StepMinutes[step] = f.Text(name)
		}
		if place, ok := strings.CutPrefix(name, "lubricant."); ok {
			typed.Lubricants[place] = f.Text(name)
		}
	}
	work, problems := typed.Check()
	f.FailAll(problems)
	return work
}

func (s *Server) addWork(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.changeForm(w, r)
	if err != nil {
		return err
	}
	c.Version = 0 // an addition does not depend on what others did meanwhile
	work := readBenchWork(f)
	if f.OK() {
		_, err = s.store.AddWork(r.Context(), c, work)
	}
	return s.settle(w, r, ending{form: f, change: c, err: err, said: "Bench work entered.",
		to:    view.DocketURL(c.Number.String(), "service"),
		again: func(status int) error { return s.renderService(w, r, status, f) }})
}

func (s *Server) showWork(w http.ResponseWriter, r *http.Request) error {
	return s.renderWork(w, r, http.StatusOK, nil)
}

// renderWork shows the page that corrects one stretch: as it stands, or as f was typed when that was refused.
func (s *Server) renderWork(w http.ResponseWriter, r *http.Request, status int, f *form) error {
	n, err := pathNumber(r)
	if err != nil {
		return err
	}
	id, err := pathID(r, "id")
	if err != nil {
		return err
	}
	sheet, err := s.store.ServiceSheet(r.Context(), n)
	if err != nil {
		return err
	}
	work, ok := sheet.Work(id)
	if !ok {
		return domain.ErrNotFound
	}
	if f == nil {
		f = typedWork(work)
	}
	p, d := s.docketPage(r, sheet.Head, "service")
	v := view.CorrectWorkView{Entry: s.benchForm(r, f, sheet, service.Summary{}), Said: s.workView(r, d, work),
		Action: view.DocketURL(d.Number, "service/"+strconv.FormatInt(id, 10))}
	return render(w, r, status, view.CorrectWork(p, d, v))
}

// typedWork is a stretch of work as it would be typed.
func typedWork(work service.Work) *form {
	f, typed := emptyForm(), work.Form()
	f.Values["step"] = typed.Steps
	for step, minutes := range typed.StepMinutes {
		f.Values.Set("minutes."+step, minutes)
	}
	for place, kind := range typed.Lubricants {
		f.Values.Set("lubricant."+place, kind)
	}
	f.Values.Set("minutes", typed.Minutes)
	f.Values.Set("note", typed.Note)
	return f
}

func (s *Server) correctWork(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.changeForm(w, r)
	if err != nil {
		return err
	}
	id, err := pathID(r, "id")
	if err != nil {
		return err
	}
	work := readBenchWork(f)
	if f.OK() {
		err = s.store.CorrectWork(r.Context(), c, id, work)
	}
	return s.settle(w, r, ending{form: f, change: c, err: err, said: "The entry is as you corrected it; the journal keeps what it said before.",
		to:    view.DocketURL(c.Number.String(), "service"),
		again: func(status int) error { return s.renderWork(w, r, status, f) }})
}
