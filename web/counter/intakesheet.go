package counter

import (
	"net/http"
	"strconv"
	"time"

	"ledgerwheel/domain/diagnosis"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/message"
	"ledgerwheel/domain/money"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/tongue"
	"ledgerwheel/domain/watch"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/sheet"
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
	form      *page.Form
	condition watch.Condition // as typed, of partCondition
	taken     []watch.Part    // of it that were taken over from somebody else
}

func (s *Room) showIntakeSheet(w http.ResponseWriter, r *http.Request) error {
	return s.renderIntakeSheet(w, r, http.StatusOK, sheetForm{})
}

func (s *Room) renderIntakeSheet(w http.ResponseWriter, r *http.Request, status int, typed sheetForm) error {
	n, err := page.PathNumber(r)
	if err != nil {
		return err
	}
	record, err := s.store.IntakeSheet(r.Context(), n)
	if err != nil {
		return err
	}
	viewer, _ := page.ViewerOf(r.Context())
	p, d := s.DocketPage(r, record.Head, "intake")
	v := intakeSheetView{
		TakenIn: r.URL.Query().Get("taken-in") != "", Failed: string(typed.part), Currency: record.Head.Docket.Currency,
		WatchURL: "/watches/" + strconv.FormatInt(record.Head.Watch.ID, 10), Watch: sheet.WatchTerms(record.Head.Watch,
			record.Head.Calibre),
		CustomerURL: "/customers/" + strconv.FormatInt(record.Head.Customer.ID, 10), Customer: record.Head.Customer.Name,
		Complaint: record.Head.Docket.Complaint, Said: s.SaidTerms(r, record.Head, viewer.Shop),
		Hazards:    hazardWords(record.Hazards),
		MayCorrect: page.May(r, staff.TakeIn) && !d.Closed, MayPhotograph: page.May(r, staff.AddPhotos) && !d.Closed,
		MayNote: page.May(r, staff.AddNotes) && record.Head.Docket.ConditionOpen(), MayPrint: page.May(r, staff.PrintPapers),
		MayEditWatch: page.May(r, staff.ManageWatches),
		Wanted:       page.Options(docket.WantedServices(), docket.Wanted.Label),
		Tongues:      page.Options(tongue.All, tongue.Tongue.Words),
		Noted:        record.Head.Facts.Condition,
		Outline:      conditionView(record.Condition, record.Head.Watch.CrownAt),
		Photos:       sheet.PhotoViews(record.Photos), RemovedPhotos: s.RemovedPhotos(r, record.Photos),
		MayShowPhotos: page.May(r, staff.AddPhotos), MayRemove: page.May(r, staff.RemovePhotos),
	}
	if id := record.Head.ParcelID; id != 0 {
		v.ParcelURL = "/parcels/" + strconv.FormatInt(id, 10)
	}
	if page.May(r, staff.SeeWatchList) {
		v.Notes = s.listedNotes(r, record.Listed)
	}
	s.fillSheetForms(&v, typed, record)
	if promised := record.Head.Docket.PromisedOn; !promised.IsZero() && record.Head.Docket.Delayed(promised.AddDate(0, 0, 1)) {
		v.Tell = sheet.Telling(v.Work, message.Reach{Customer: record.Head.Customer}, sheet.HomeOf(r), "", "Only where the promised day is later than before.")
	}
	return page.Render(w, r, status, intakeSheet(p, d, v))
}

// fillSheetForms gives each form of the sheet what the record says, and the refused one what was typed.
func (s *Room) fillSheetForms(v *intakeSheetView, typed sheetForm, sheet store.IntakeSheet) {
	work, condition, photos := workForm(sheet.Head.Docket.Intake), page.EmptyForm(), page.EmptyForm()
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
	if typed.part == partCondition {
		askWhichHolds(&v.Editor, condition, typed, sheet.Condition)
	}
	v.Work, v.Condition, v.Upload = work.View(), condition.View(), photos.View()
}

// workForm is what was said at the counter, as it would be typed.
func workForm(i docket.Intake) *page.Form {
	f := page.EmptyForm()
	f.Values.Set("complaint", i.Complaint)
	f.Values.Set("order_number", i.OrderNumber)
	f.Values.Set("service_wanted", string(i.Wanted))
	f.Values.Set("tongue", string(i.Tongue.Or(tongue.English)))
	for name, minor := range map[string]*int64{"declared_value": i.DeclaredValueMinor,
		"approval_limit": i.ApprovalLimitMinor} {
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
func (s *Room) correctIntake(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.ChangeForm(w, r)
	if err != nil {
		return err
	}
	head, err := s.store.Head(r.Context(), c.Number)
	if err != nil {
		return err
	}
	said := readWork(f, head.Docket.Currency, page.LocaleOf(r))
	if said.Tongue = tongue.Tongue(f.Text("tongue")); said.Tongue == head.Docket.Tongue.Or(tongue.English) {
		said.Tongue = "" // as it was: papers from before languages stay as they are
	}
	words := "The intake is as you corrected it."
	if head.Docket.Delayed(said.PromisedOn) {
		c.Tell = sheet.ReadTell(f)
		words += sheet.ToldWords(c.Tell, head.Customer)
	}
	if f.OK() {
		err = s.store.CorrectIntake(r.Context(), c, said)
	}
	return s.Settle(w, r, sheet.Ending{Form: f, Change: c, Err: err, Closed: "complaint",
		Said:  words,
		To:    view.DocketURL(c.Number.String(), "intake"),
		Again: func(status int) error { return s.renderIntakeSheet(w, r, status, sheetForm{part: partWork, form: f}) }})
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
