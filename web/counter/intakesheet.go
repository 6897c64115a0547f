package web

import (
	"net/http"
	"strconv"
	"time"

	"ledgerwheel/domain/diagnosis"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/money"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/watch"
	"ledgerwheel/store"
	"ledgerwheel/web/view"
)

// sheetPart is one of the forms on the intake sheet.
type sheetPart string

const (
	partWork      sheetPart = "work"
	partCondition sheetPart = "condition"
	partPhotos    sheetPart = "photos"
)

// sheetForm is the form of the sheet that was refused, to be shown again with what was typed. The zero value is a
// sheet that nobody has typed on.
type sheetForm struct {
	part      sheetPart
	form      *form
	condition watch.Condition // as typed, of partCondition
}

func (s *Server) showIntakeSheet(w http.ResponseWriter, r *http.Request) error {
	return s.renderIntakeSheet(w, r, http.StatusOK, sheetForm{})
}

func (s *Server) renderIntakeSheet(w http.ResponseWriter, r *http.Request, status int, typed sheetForm) error {
	n, err := pathNumber(r)
	if err != nil {
		return err
	}
	sheet, err := s.store.IntakeSheet(r.Context(), n)
	if err != nil {
		return err
	}
	viewer, _ := viewerOf(r.Context())
	p, d := s.docketPage(r, sheet.Head, "intake")
	v := view.IntakeSheetView{
		TakenIn: r.URL.Query().Get("taken-in") != "", Failed: string(typed.part), Currency: sheet.Head.Docket.Currency,
		WatchURL: "/watches/" + strconv.FormatInt(sheet.Head.Watch.ID, 10), Watch: watchTerms(sheet.Head.Watch, sheet.Head.Calibre),
		CustomerURL: "/customers/" + strconv.FormatInt(sheet.Head.Customer.ID, 10), Customer: sheet.Head.Customer.Name,
		Complaint: sheet.Head.Docket.Complaint, Said: s.saidTerms(r, sheet.Head, viewer.Shop),
		Hazards:    hazardWords(sheet.Hazards),
		MayCorrect: may(r, staff.TakeIn) && !d.Closed, MayPhotograph: may(r, staff.AddPhotos) && !d.Closed,
		MayNote: may(r, staff.AddNotes) && sheet.Head.Docket.ConditionOpen(), MayPrint: may(r, staff.PrintPapers),
		MayEditWatch: may(r, staff.ManageWatches),
		Wanted:       options(docket.WantedServices(), docket.Wanted.Label),
		Noted:        sheet.Head.Facts.Condition,
		Outline:      conditionView(sheet.Condition, sheet.Head.Watch.CrownAt),
		Photos:       photoViews(sheet.Photos),
	}
	if may(r, staff.SeeWatchList) {
		v.Notes = s.listedNotes(r, sheet.Listed)
	}
	s.fillSheetForms(&v, typed, sheet)
	return render(w, r, status, view.IntakeSheet(p, d, v))
}

// fillSheetForms gives each form of the sheet what the record says, and the refused one what was typed.
func (s *Server) fillSheetForms(v *view.IntakeSheetView, typed sheetForm, sheet store.IntakeSheet) {
	work, condition, photos := workForm(sheet.Head.Docket.Intake), emptyForm(), emptyForm()
	noted := sheet.Condition
	switch typed.part {
	case partWork:
		work = typed.form
	case partCondition:
		condition, noted = typed.form, typed.condition
	case partPhotos:
		photos = typed.form
	}
	v.Editor = conditionForm(condition, noted, sheet.Head.Watch.CrownAt)
	v.Work, v.Condition, v.Upload = work.view(), condition.view(), photos.view()
}

// workForm is what was said at the counter, as it would be typed.
func workForm(i docket.Intake) *form {
	f := emptyForm()
	f.Values.Set("complaint", i.Complaint)
	f.Values.Set("service_wanted", string(i.Wanted))
	for name, minor := range map[string]*int64{"declared_value": i.DeclaredValueMinor, "approval_limit": i.ApprovalLimitMinor} {
		if minor != nil {
			f.Values.Set(name, money.Plain(*minor, i.Currency))
		}
	}
	if !i.PromisedOn.IsZero() {
		f.Values.Set("promised_on", i.PromisedOn.Format(time.DateOnly))
	}
	return f
}

// correctIntake replaces what was said at the counter.
func (s *Server) correctIntake(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.changeForm(w, r)
	if err != nil {
		return err
	}
	head, err := s.store.Head(r.Context(), c.Number)
	if err != nil {
		return err
	}
	said := readWork(f, head.Docket.Currency, localeOf(r))
	if f.OK() {
		err = s.store.CorrectIntake(r.Context(), c, said)
	}
	return s.settle(w, r, ending{form: f, change: c, err: err, closed: "complaint", said: "The intake is as you corrected it.",
		to:    view.DocketURL(c.Number.String(), "intake"),
		again: func(status int) error { return s.renderIntakeSheet(w, r, status, sheetForm{part: partWork, form: f}) }})
}

func conditionView(c watch.Condition, crownAt int) view.OutlineView {
	v := view.OutlineView{CrownHour: crownAt, Marks: outlineMarks(c.Marks)}
	for _, p := range c.NoMarksSeen {
		v.Clear = append(v.Clear, p.Words())
	}
	return v
}

func hazardWords(slugs []string) []string {
	words := make([]string, len(slugs))
	for i, h := range slugs {
		words[i] = diagnosis.Hazard(h).Words()
	}
	return words
}
