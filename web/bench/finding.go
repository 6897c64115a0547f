package bench

import (
	"errors"
	"net/http"
	"slices"
	"strconv"

	"ledgerwheel/domain"
	"ledgerwheel/domain/diagnosis"
	"ledgerwheel/domain/text"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/sheet"
	"ledgerwheel/web/view"
)

func (s *Room) showFinding(w http.ResponseWriter, r *http.Request) error {
	id, err := page.PathID(r, "id")
	if err != nil {
		return err
	}
	return s.renderFinding(w, r, http.StatusOK, findingTyped{id: id})
}

// findingTyped is a form of a finding's page that was refused: its correction, or its striking out. Without either the
// page shows the finding as it stands.
type findingTyped struct {
	id              int64
	correct, strike *page.Form
}

// renderFinding shows the page of one finding.
func (s *Room) renderFinding(w http.ResponseWriter, r *http.Request, status int, typed findingTyped) error {
	n, err := page.PathNumber(r)
	if err != nil {
		return err
	}
	sheet, err := s.store.DiagnosisSheet(r.Context(), n)
	if err != nil {
		return err
	}
	at := slices.IndexFunc(sheet.Findings, func(row store.FindingRow) bool { return row.ID == typed.id && !row.Struck() })
	if at < 0 {
		return domain.ErrNotFound
	}
	row := sheet.Findings[at]
	f, strike := typed.correct, typed.strike
	if f == nil {
		f = typedFinding(row.Finding)
	}
	if strike == nil {
		strike = page.EmptyForm()
	}
	p, d := s.DocketPage(r, sheet.Head, "diagnosis")
	v := correctFindingView{Form: findingForm("", row.Component, f, photoOptions(sheet.Photos)),
		Component: text.Capital(row.Component.Words()), Strike: strike.View(),
		Said: s.findingView(r, sheet, row), Action: view.DocketURL(d.Number, "diagnosis/findings/"+page.Itoa64(typed.id))}
	v.Said.CorrectURL = ""
	return page.Render(w, r, status, correctFinding(p, d, v))
}

// typedFinding is a finding as it would be typed.
func typedFinding(found diagnosis.Finding) *page.Form {
	f := page.EmptyForm()
	field := "fault"
	if found.Fault == soundFault || slices.Contains(diagnosis.UsualFaults(found.Component), found.Fault) {
		field = "usual"
	}
	f.Values.Set(field, found.Fault)
	f.Values.Set("severity", string(found.Severity))
	f.Values.Set("note", found.Note)
	if found.PhotoID != 0 {
		f.Values.Set("photo", strconv.FormatInt(found.PhotoID, 10))
	}
	return f
}

// correctFinding puts another finding on the same component in the place of one.
func (s *Room) correctFinding(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.ChangeForm(w, r)
	if err != nil {
		return err
	}
	id, err := page.PathID(r, "id")
	if err != nil {
		return err
	}
	record, err := s.store.DiagnosisSheet(r.Context(), c.Number)
	if err != nil {
		return err
	}
	found := readFinding(f)
	for _, row := range record.Findings {
		if row.ID == id {
			found.Component = row.Component
		}
	}
	f.FailAll(found.Problems())
	if f.OK() {
		err = s.store.CorrectFinding(r.Context(), c, id, found)
	}
	return s.Settle(w, r, sheet.Ending{Form: f, Change: c, Err: err,
		Said:    "The finding is as you corrected it.",
		To:      view.DocketURL(c.Number.String(), "diagnosis") + "#" + string(found.Component),
		Changed: func() error { return s.correctionClash(w, r, f, found, err) },
		Again: func(status int) error {
			return s.renderFinding(w, r, status, findingTyped{id: id, correct: f})
		}})
}

func (s *Room) strikeFinding(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.ChangeForm(w, r)
	if err != nil {
		return err
	}
	id, err := page.PathID(r, "id")
	if err != nil {
		return err
	}
	why := text.Line(f.Text("why"))
	if text.TooLong(why, maxWhy) {
		f.Fail("why", "Keep the reason to 300 characters.")
	}
	if f.OK() {
		err = s.store.StrikeFinding(r.Context(), c, id, why)
	}
	return s.Settle(w, r, sheet.Ending{Form: f, Change: c, Err: err,
		Said:    "Struck out. It stays readable below the findings.",
		To:      view.DocketURL(c.Number.String(), "diagnosis") + "#findings",
		Changed: func() error { return s.strikeClash(w, r, f, err) },
		Again:   func(status int) error { return s.renderDiagnosis(w, r, status, f) }})
}

// correctionClash shows a finding that somebody else corrected meanwhile with the correction put together as far as it
// goes, and theirs beside what both changed; or, when they struck it out, the correction as a finding to be added.
func (s *Room) correctionClash(w http.ResponseWriter, r *http.Request, f *page.Form, found diagnosis.Finding,
	err error) error {
	var clash *store.FindingClash
	if !errors.As(err, &clash) {
		return err
	}
	if clash.Standing == 0 {
		f.Values.Set("component", string(found.Component))
		f.Fail("", clash.Changed.Name+" struck this finding out, "+s.Moment(r, clash.Changed.At)+". What you typed "+
			"stands below: save it as a new finding if it still holds.")
		return s.renderDiagnosis(w, r, http.StatusConflict, f)
	}
	theirs, err := s.standingFinding(r, clash.Standing)
	if err != nil {
		return err
	}
	mine := typedFinding(clash.Merged)
	for _, name := range clash.Clashes {
		mine.Fail(name, s.TheirsWords(r, clash.Changed, findingWords(theirs, name)))
	}
	return s.renderFinding(w, r, http.StatusConflict, findingTyped{id: clash.Standing, correct: mine})
}

// strikeClash shows a finding as somebody else corrected it meanwhile, with the reason for striking it out kept.
func (s *Room) strikeClash(w http.ResponseWriter, r *http.Request, f *page.Form, err error) error {
	var clash *store.FindingClash
	if !errors.As(err, &clash) {
		return err
	}
	theirs, err := s.standingFinding(r, clash.Standing)
	if err != nil {
		return err
	}
	shown := typedFinding(theirs)
	shown.Fail("", clash.Changed.Name+" corrected this finding, "+s.Moment(r, clash.Changed.At)+". It is not struck out "+
		"yet: look at it as it stands now, then strike it out if that is still right.")
	return s.renderFinding(w, r, http.StatusConflict, findingTyped{id: clash.Standing, correct: shown, strike: f})
}

// standingFinding reads a finding of the request's docket.
func (s *Room) standingFinding(r *http.Request, id int64) (diagnosis.Finding, error) {
	n, err := page.PathNumber(r)
	if err != nil {
		return diagnosis.Finding{}, err
	}
	record, err := s.store.DiagnosisSheet(r.Context(), n)
	if err != nil {
		return diagnosis.Finding{}, err
	}
	for _, row := range record.Findings {
		if row.ID == id {
			return row.Finding, nil
		}
	}
	return diagnosis.Finding{}, domain.ErrNotFound
}

// findingWords says what a finding has in a form field.
func findingWords(f diagnosis.Finding, name string) string {
	switch name {
	case "fault":
		return f.Fault
	case "severity":
		return f.Severity.Words()
	case "photo":
		if f.PhotoID != 0 {
			return "another photograph"
		}
		return ""
	}
	return f.Note
}
