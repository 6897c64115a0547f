package bench

import (
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
	"ledgerwheel/web/page"
	"ledgerwheel/web/sheet"
	"ledgerwheel/web/view"
)

func (s *Room) serviceRoutes() []page.Route {
	return []page.Route{
		page.Get("/dockets/{number}/service", page.Needs(staff.ViewDockets), s.showService),
		page.Post("/dockets/{number}/service", page.Needs(staff.DoService), s.addWork),
		page.Get("/dockets/{number}/service/{id}", page.Needs(staff.DoService), s.showWork),
		page.Post("/dockets/{number}/service/{id}", page.Needs(staff.DoService), s.correctWork),
	}
}

func (s *Room) showService(w http.ResponseWriter, r *http.Request) error {
	return s.renderService(w, r, http.StatusOK, page.EmptyForm())
}

func (s *Room) renderService(w http.ResponseWriter, r *http.Request, status int, f *page.Form) error {
	n, err := page.PathNumber(r)
	if err != nil {
		return err
	}
	record, err := s.store.ServiceSheet(r.Context(), n)
	if err != nil {
		return err
	}
	p, d := s.DocketPage(r, record.Head, "service")
	d.Hazards = unread(record.Hazards)
	sum := service.Summarise(record.Works)
	v := serviceView{Form: f.View(), MayWork: page.May(r, staff.DoService) && !d.Closed, Unread: len(d.Hazards) > 0,
		DiagnosisURL: view.DocketURL(d.Number, "diagnosis") + "#hazards", NotAgreed: notAgreed(record.Head),
		Opens: record.Head.Facts.WorkOpens(),
		Time:  service.FormatMinutes(sum.Minutes), Done: len(sum.Done), Steps: len(service.Steps)}
	for _, l := range sum.Lubricants {
		v.Lubricants = append(v.Lubricants, sheet.TypedTerm(text.Capital(l.Place.Words()), l.Kind))
	}
	v.Entry = s.benchForm(r, f, record, sum)
	for _, work := range slices.Backward(record.Works) {
		v.Works = append(v.Works, s.workView(r, d, work))
	}
	return page.Render(w, r, status, servicePage(p, d, v))
}

// notAgreed says why work should not go on yet, or nothing.
func notAgreed(h store.Head) string {
	order := h.Docket.Stage.Order()
	if h.Docket.Closed() || h.Facts.Agreed() || h.Facts.ApprovedMinor > 0 || order < 0 ||
		order > docket.StageService.Order() {
		return ""
	}
	return "The customer has not agreed to the work yet. The docket stands at " + h.Docket.Stage.Label() + "."
}

// benchForm is the form of a stretch of work: every usual step, with who did it before, and every place of lubricant.
func (s *Room) benchForm(r *http.Request, f *page.Form, sheet store.ServiceSheet, sum service.Summary) workForm {
	v := workForm{Form: f.View(), Kinds: service.LubricantKinds}
	for _, step := range service.Steps {
		row := stepRow{Slug: string(step), Words: text.Capital(step.Words()), Ticked: slices.Contains(f.Values["step"],
			string(step))}
		for _, d := range sum.Done {
			if d.Step == step {
				row.Done = d.By + ", " + s.Moment(r, d.At)
			}
		}
		v.Steps = append(v.Steps, row)
	}
	v.Of = sheet.Head.Calibre.Name
	for _, o := range sheet.Head.Calibre.Lubrication {
		v.Sheet = append(v.Sheet, view.Term(text.Capital(o.Place), oilWords(o)))
	}
	automatic := sheet.Head.Watch.Winding == watch.WindingAutomatic
	for _, place := range service.Places {
		row := placeRow{Slug: string(place), Words: text.Capital(place.Words()), Usual: service.UsualLubricant(place,
			automatic)}
		for _, o := range sheet.Head.Calibre.Lubrication {
			if row.Calibre == "" && place.NamedBy(o.Place) {
				row.Calibre = o.Oil
			}
		}
		for _, l := range sum.Lubricants {
			if l.Place == place {
				row.Used = l.Kind
			}
		}
		v.Places = append(v.Places, row)
	}
	return v
}

// oilWords is what a calibre's sheet says of one place.
func oilWords(o watch.OilPlace) string {
	if o.Note == "" {
		return o.Oil
	}
	return o.Oil + " (" + o.Note + ")"
}

func (s *Room) workView(r *http.Request, d view.DocketView, work service.Work) workView {
	v := workView{By: work.By, At: s.Moment(r, work.At), Note: work.Note}
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
	if page.May(r, staff.DoService) && !d.Closed {
		v.CorrectURL = view.DocketURL(d.Number, "service/"+strconv.FormatInt(work.ID, 10))
	}
	return v
}

// readBenchWork reads a stretch of work and notes what is wrong with it.
func readBenchWork(f *page.Form) service.Work {
	typed := service.Form{Lubricants: map[string]string{}, StepMinutes: map[string]string{}, Minutes: f.Text("minutes"),
		Note: f.Text("note")}
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

func (s *Room) addWork(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.ChangeForm(w, r)
	if err != nil {
		return err
	}
	c.Version = 0 // an addition does not depend on what others did meanwhile
	work := readBenchWork(f)
	if f.OK() {
		_, err = s.store.AddWork(r.Context(), c, work)
	}
	return s.Settle(w, r, sheet.Ending{Form: f, Change: c, Err: err, Said: "Bench work entered.",
		To:    view.DocketURL(c.Number.String(), "service"),
		Again: func(status int) error { return s.renderService(w, r, status, f) }})
}

func (s *Room) showWork(w http.ResponseWriter, r *http.Request) error {
	return s.renderWork(w, r, http.StatusOK, nil)
}

// renderWork shows the page that corrects one stretch: as it stands, or as f was typed when that was refused.
func (s *Room) renderWork(w http.ResponseWriter, r *http.Request, status int, f *page.Form) error {
	n, err := page.PathNumber(r)
	if err != nil {
		return err
	}
	id, err := page.PathID(r, "id")
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
	p, d := s.DocketPage(r, sheet.Head, "service")
	v := correctWorkView{Entry: s.benchForm(r, f, sheet, service.Summary{}), Said: s.workView(r, d, work),
		Action: view.DocketURL(d.Number, "service/"+strconv.FormatInt(id, 10))}
	return page.Render(w, r, status, correctWork(p, d, v))
}

// typedWork is a stretch of work as it would be typed.
func typedWork(work service.Work) *page.Form {
	f, typed := page.EmptyForm(), work.Form()
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

func (s *Room) correctWork(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.ChangeForm(w, r)
	if err != nil {
		return err
	}
	id, err := page.PathID(r, "id")
	if err != nil {
		return err
	}
	work := readBenchWork(f)
	if f.OK() {
		err = s.store.CorrectWork(r.Context(), c, id, work)
	}
	return s.Settle(w, r, sheet.Ending{Form: f, Change: c, Err: err, Said: "The entry is as you corrected it; the " +
		"journal keeps what it said before.",
		To:    view.DocketURL(c.Number.String(), "service"),
		Again: func(status int) error { return s.renderWork(w, r, status, f) }})
}
