package bench

import (
	"cmp"
	"fmt"
	"net/http"
	"slices"
	"strconv"

	"github.com/go-chi/chi/v5"

	"ledgerwheel/domain/diagnosis"
	"ledgerwheel/domain/photo"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/text"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/sheet"
	"ledgerwheel/web/view"
)

func (s *Room) diagnosisRoutes() []page.Route {
	return []page.Route{
		page.Get("/dockets/{number}/diagnosis", page.Needs(staff.ViewDockets), s.showDiagnosis),
		page.Post("/dockets/{number}/diagnosis/findings", page.Needs(staff.Diagnose), s.addFinding),
		page.Get("/dockets/{number}/diagnosis/findings/{id}", page.Needs(staff.Diagnose), s.showFinding),
		page.Post("/dockets/{number}/diagnosis/findings/{id}", page.Needs(staff.Diagnose), s.correctFinding),
		page.Post("/dockets/{number}/diagnosis/findings/{id}/strike", page.Needs(staff.Diagnose), s.strikeFinding),
		page.Post("/dockets/{number}/diagnosis/hazards", page.Needs(staff.Diagnose), s.addHazard),
		page.Post("/dockets/{number}/diagnosis/hazards/{hazard}/acknowledge", page.Needs(staff.Diagnose),
			s.acknowledgeHazard),
	}
}

func (s *Room) showDiagnosis(w http.ResponseWriter, r *http.Request) error {
	return s.renderDiagnosis(w, r, http.StatusOK, page.EmptyForm())
}

func (s *Room) renderDiagnosis(w http.ResponseWriter, r *http.Request, status int, f *page.Form) error {
	n, err := page.PathNumber(r)
	if err != nil {
		return err
	}
	sheet, err := s.store.DiagnosisSheet(r.Context(), n)
	if err != nil {
		return err
	}
	p, d := s.DocketPage(r, sheet.Head, "diagnosis")
	d.Hazards = unread(sheet.Hazards)
	v := diagnosisView{Form: f.View(), MayDiagnose: page.May(r, staff.Diagnose), AsReceived: s.asReceivedView(r, sheet),
		Before: s.BeforeOf(r, sheet.Head, sheet.Before, sheet.Comeback)}
	photos := photoOptions(sheet.Photos)
	for _, c := range diagnosis.Components {
		cv := componentView{Slug: string(c), Name: text.Capital(c.Words()), Open: !f.OK() &&
			f.Values.Get("component") == string(c)}
		cv.Form = findingForm(string(c), c, page.EmptyForm(), photos)
		if cv.Open {
			cv.Form = findingForm("", c, f, photos)
		}
		for _, row := range sheet.Findings {
			if row.Component == c && !row.Struck() {
				cv.Findings = append(cv.Findings, s.findingView(r, sheet, row))
			}
		}
		v.Components = append(v.Components, cv)
	}
	for _, row := range sheet.Findings {
		if row.Struck() {
			v.Struck = append(v.Struck, s.findingView(r, sheet, row))
		}
	}
	v.Hazards = s.hazardViews(r, sheet.Head, sheet.Hazards)
	for _, h := range diagnosis.Hazards {
		if !slices.ContainsFunc(sheet.Hazards, func(row store.HazardRow) bool { return row.Hazard == h }) {
			v.MoreHazards = append(v.MoreHazards, view.Option{Value: string(h), Text: h.Words()})
		}
	}
	return page.Render(w, r, status, diagnosisPage(p, d, v))
}

// unread are the words of the hazards whose cautions nobody has read.
func unread(hazards []store.HazardRow) []string {
	var words []string
	for _, h := range hazards {
		if h.AcknowledgedAt.IsZero() {
			words = append(words, h.Hazard.Words())
		}
	}
	return words
}

func (s *Room) hazardViews(r *http.Request, head store.Head, hazards []store.HazardRow) []hazardView {
	var views []hazardView
	for _, row := range hazards {
		c := row.Hazard.Caution()
		h := hazardView{Slug: string(row.Hazard), Title: row.Hazard.Words(), Cautions: c.Usual, Defer: c.Defer}
		switch {
		case !row.AcknowledgedAt.IsZero():
			h.AcknowledgedBy = row.AcknowledgedBy + ", " + s.Moment(r, row.AcknowledgedAt)
		case page.May(r, staff.Diagnose) && !head.Docket.Closed():
			h.AcknowledgeURL = view.DocketURL(head.Docket.Number.String(),
				"diagnosis/hazards/"+string(row.Hazard)+"/acknowledge")
		}
		views = append(views, h)
	}
	return views
}

func (s *Room) findingView(r *http.Request, record store.DiagnosisSheet, row store.FindingRow) findingView {
	v := findingView{ID: strconv.FormatInt(row.ID, 10), Component: text.Capital(row.Component.Words()), Fault: row.Fault,
		Note:     row.Note,
		Severity: row.Severity.Words(), Grave: row.Severity == diagnosis.Require, By: row.By, At: s.Moment(r, row.At),
		StruckBy: row.StruckBy, StruckAt: s.Moment(r, row.StruckAt)}
	if page.May(r, staff.Diagnose) && !row.Struck() && !record.Head.Docket.Closed() {
		v.CorrectURL = view.DocketURL(record.Head.Docket.Number.String(), "diagnosis/findings/"+v.ID)
	}
	photoID := strconv.FormatInt(row.PhotoID, 10)
	for _, p := range sheet.PhotoViews(record.Photos) {
		if p.ID == photoID {
			v.Photo = &p.Photo
		}
	}
	v.PhotoRemoved = v.Photo == nil && row.PhotoID != 0
	v.Corrected = slices.ContainsFunc(record.Findings, func(f store.FindingRow) bool { return f.Corrects == row.ID })
	return v
}

// findingForm asks for a finding on one component; prefix tells its fields from those of the others on the page.
func findingForm(prefix string, c diagnosis.Component, f *page.Form, photos []view.Option) findingFormView {
	form := findingFormView{Prefix: prefix, Form: f.View(), Photos: photos,
		Faults:     []view.Option{{Value: soundFault, Text: "Sound: nothing wrong"}},
		Severities: page.Options(diagnosis.Severities, diagnosis.Severity.Words)}
	for _, fault := range diagnosis.UsualFaults(c) {
		form.Faults = append(form.Faults, view.Option{Value: fault, Text: text.Capital(fault)})
	}
	return form
}

// soundFault is what is noted of a component that was looked at and needs nothing.
const soundFault = "sound"

// photoOptions are the photographs that a finding may show; none where there is nothing to choose.
func photoOptions(photos []store.Photo) []view.Option {
	list := []view.Option{{Text: "No photograph"}}
	for i, p := range photos {
		if p.Removed() {
			continue
		}
		list = append(list, view.Option{Value: strconv.FormatInt(p.ID, 10), Text: fmt.Sprintf("%d: %s", i+1,
			cmp.Or(p.Caption, "about the "+string(p.About)))})
	}
	if len(list) == 1 {
		return nil
	}
	return list
}

// readFinding reads what was seen: a usual fault, or words in its stead. A component that is sound needs no severity.
func readFinding(f *page.Form) diagnosis.Finding {
	found := diagnosis.Finding{Component: diagnosis.Component(f.Text("component")), Fault: cmp.Or(f.Text("fault"),
		f.Text("usual")),
		Severity: diagnosis.Severity(f.Text("severity")), Note: f.Text("note"), PhotoID: f.ID("photo")}
	if found.Fault == soundFault && found.Severity == "" {
		found.Severity = diagnosis.Observe
	}
	return found.Tidied()
}

func (s *Room) addFinding(w http.ResponseWriter, r *http.Request) error {
	f, pictures, err := s.receiveFinding(w, r)
	if err != nil {
		return err
	}
	c, err := s.ChangeOf(r, f)
	if err != nil {
		return err
	}
	c.Version = 0 // an addition does not depend on what others did meanwhile
	found := readFinding(f)
	f.FailAll(found.Problems())
	if f.OK() && len(pictures) > 0 {
		err = s.KeepPictures(pictures, func() error {
			ids, err := s.store.AddPhotos(r.Context(), c, photo.Label{About: photo.OfDiagnosis,
				Caption: found.Component.Words() + ": " + found.Fault, CustomerSees: f.Checked("customer_sees")}, pictures)
			if len(ids) > 0 {
				found.PhotoID = ids[0]
			}
			return err
		})
	}
	if f.OK() && err == nil {
		_, err = s.store.AddFinding(r.Context(), c, found)
	}
	return s.Settle(w, r, sheet.Ending{Form: f, Change: c, Err: err, Said: "Finding saved: " + found.Component.Words() +
		", " + found.Fault + ".",
		To:    view.DocketURL(c.Number.String(), "diagnosis") + "#" + string(found.Component),
		Again: func(status int) error { return s.renderDiagnosis(w, r, status, f) }})
}

// maxWhy is the longest reason, in characters.
const maxWhy = 300

func (s *Room) addHazard(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.ChangeForm(w, r)
	if err != nil {
		return err
	}
	h, why := diagnosis.Hazard(f.Text("hazard")), text.Line(f.Text("why"))
	if text.TooLong(why, maxWhy) {
		f.Fail("why", "Keep the reason to 300 characters.")
	}
	if f.OK() {
		err = s.store.AddHazard(r.Context(), c, h, why)
	}
	return s.Settle(w, r, sheet.Ending{Form: f, Change: c, Err: err, Said: "Hazard added. Read its cautions.",
		To:    view.DocketURL(c.Number.String(), "diagnosis") + "#hazard-" + string(h),
		Again: func(status int) error { return s.renderDiagnosis(w, r, status, f) }})
}

func (s *Room) acknowledgeHazard(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.ChangeForm(w, r)
	if err != nil {
		return err
	}
	h := diagnosis.Hazard(chi.URLParam(r, "hazard"))
	c.Version = 0 // reading a caution does not depend on what others did meanwhile
	return s.Settle(w, r, sheet.Ending{Form: f, Change: c, Err: s.store.AcknowledgeHazard(r.Context(), c, h),
		To:    view.DocketURL(c.Number.String(), "diagnosis") + "#hazard-" + string(h),
		Again: func(status int) error { return s.renderDiagnosis(w, r, status, f) }})
}
