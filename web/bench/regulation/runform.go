package regulation

import (
	"net/http"
	"slices"
	"strconv"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/text"
	"ledgerwheel/domain/timing"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/runs"
	"ledgerwheel/web/sheet"
	"ledgerwheel/web/view"
)

// runForm is a run being typed.
type runForm struct {
	f     *page.Form
	sheet store.RegulationSheet
	run   store.RunRecord // zero ID for a new one
}

func (rf runForm) typed() runs.Typed { return runs.Typed{Form: rf.f, Sheet: rf.sheet, Run: rf.run} }

// newRun opens the sheet for a new run. The query may name its kind.
func (s *Room) newRun(w http.ResponseWriter, r *http.Request) error {
	sheet, err := runs.Read(r, s.store)
	if err != nil {
		return err
	}
	kinds := runs.AllowedKinds(r, sheet.Head.Docket)
	if len(kinds) == 0 {
		return s.renderRegulation(w, r, http.StatusOK, sheet, nil)
	}
	kind := timing.Kind(r.URL.Query().Get("kind"))
	if !slices.Contains(kinds, kind) {
		kind = kinds[len(kinds)-1]
	}
	form := runForm{f: page.EmptyForm(), sheet: sheet}
	form.typed().Blank(r, kind)
	return s.renderRunForm(w, r, http.StatusOK, form, nil)
}

// editRun opens a run on record, to correct it or to add what was measured later.
func (s *Room) editRun(w http.ResponseWriter, r *http.Request) error {
	sheet, err := runs.Read(r, s.store)
	if err != nil {
		return err
	}
	run, err := pathRun(r, sheet)
	if err != nil {
		return err
	}
	if sheet.Head.Docket.RunProblem(run.Sheet.Run.Kind) != "" {
		return page.SeeOther(w, r, view.DocketURL(sheet.Head.Docket.Number.String(),
			"regulation")+"?run="+page.Itoa64(run.ID)) // it says why
	}
	form := runForm{f: page.EmptyForm(), sheet: sheet, run: run}
	form.typed().OnRecord()
	return s.renderRunForm(w, r, http.StatusOK, form, nil)
}

// pathRun finds the run the address names, and refuses those who may not change one of its kind.
func pathRun(r *http.Request, sheet store.RegulationSheet) (store.RunRecord, error) {
	id, err := page.PathID(r, "run")
	if err != nil {
		return store.RunRecord{}, err
	}
	return runs.Changeable(r, sheet, id)
}

// readRunForm reads the posted run with the docket it belongs to; runID is 0 for a new one, unless the form says
// otherwise, as it does to the preview.
func (s *Room) readRunForm(w http.ResponseWriter, r *http.Request, runID int64) (runForm, timing.Sheet, error) {
	f, err := page.ReadForm(w, r)
	if err != nil {
		return runForm{}, timing.Sheet{}, err
	}
	sheet, err := runs.Read(r, s.store)
	if err != nil {
		return runForm{}, timing.Sheet{}, err
	}
	form := runForm{f: f, sheet: sheet}
	if runID == 0 {
		runID = f.ID("run_id")
	}
	if runID != 0 {
		if form.run, err = runs.Changeable(r, sheet, runID); err != nil {
			return runForm{}, timing.Sheet{}, err
		}
		f.Values.Set("kind", string(form.run.Sheet.Run.Kind))
	}
	typed, problems := form.parse()
	f.FailAll(problems)
	if kind := typed.Run.Kind; f.Problems["kind"] == "" && !page.May(r, docket.RunPermission(kind)) {
		return runForm{}, timing.Sheet{}, page.ErrForbidden
	}
	return form, typed, nil
}

// parse reads the run as typed, and by field name what is wrong with it.
func (rf runForm) parse() (timing.Sheet, map[string]string) { return rf.typed().Parse() }

func (s *Room) recordRun(w http.ResponseWriter, r *http.Request) error {
	form, sh, err := s.readRunForm(w, r, 0)
	if err != nil {
		return err
	}
	form.typed().Ask(r, &sh)
	if !form.f.OK() {
		return s.renderRunForm(w, r, http.StatusUnprocessableEntity, form, nil)
	}
	c, err := s.ChangeOf(r, form.f)
	if err != nil {
		return err
	}
	entry := store.RunEntry{Sheet: sh, Grade: form.f.Text("grade")}
	if form.f.Text("last_run") != "" {
		last := form.f.ID("last_run")
		entry.LastSeen = &last
	}
	c.Version = 0 // a run depends on the runs before it, not on whatever else happened to the docket
	id, err := s.store.RecordRun(r.Context(), c, entry)
	return s.afterSaving(w, r, form, id, err)
}

func (s *Room) changeRun(w http.ResponseWriter, r *http.Request) error {
	id, err := page.PathID(r, "run")
	if err != nil {
		return err
	}
	form, sh, err := s.readRunForm(w, r, id)
	if err != nil {
		return err
	}
	form.typed().Ask(r, &sh)
	version := form.f.Int("run_version")
	if !form.f.OK() {
		return s.renderRunForm(w, r, http.StatusUnprocessableEntity, form, nil)
	}
	c, err := s.ChangeOf(r, form.f)
	if err != nil {
		return err
	}
	c.Version = 0 // the run has a version of its own
	c.Why = text.Lines(form.f.Raw("why"))
	err = s.store.ChangeRun(r.Context(), c, id, version, sh)
	return s.afterSaving(w, r, form, id, err)
}

// afterSaving leads to the run that was saved, or shows the form again with what stood in its way.
func (s *Room) afterSaving(w http.ResponseWriter, r *http.Request, form runForm, id int64, err error) error {
	return s.Settle(w, r, sheet.Ending{Form: form.f, Err: err, Closed: "kind", Said: "The run is saved.",
		To:      view.DocketURL(form.sheet.Head.Docket.Number.String(), "regulation") + "?run=" + page.Itoa64(id),
		Changed: func() error { return s.runConflict(w, r, form) },
		Again:   func(status int) error { return s.renderRunForm(w, r, status, form, nil) }})
}

// runConflict keeps the grid as typed and shows what somebody else did meanwhile; sending it again saves it all the
// same.
func (s *Room) runConflict(w http.ResponseWriter, r *http.Request, form runForm) error {
	seen := form.f.ID("version")
	n := form.sheet.Head.Docket.Number
	sheet, err := s.store.RegulationSheet(r.Context(), n) // as it is now
	if err != nil {
		return err
	}
	changes, err := s.store.ChangesSince(r.Context(), n, seen)
	if err != nil {
		return err
	}
	typed, differs := form.typed().Renew(sheet)
	form.sheet, form.run = typed.Sheet, typed.Run
	conflict := &runConflictView{Differs: differs, Text: "Nothing of yours was saved yet, and what you typed still stands " +
		"below. Look at what changed; saving again writes your figures."}
	for _, e := range changes {
		if e.Kind == docket.RunRecorded || e.Kind == docket.ReadingChanged || e.Kind == docket.RunJudged {
			conflict.Changes = append(conflict.Changes, s.EntryView(r, e))
		}
	}
	if form.run.ID == 0 {
		conflict.Text = "Another run was recorded since you opened this page; it may be this one, sent twice. " +
			conflict.Text
	}
	return s.renderRunForm(w, r, http.StatusConflict, form, conflict)
}

// previewRun computes the run as typed without saving it. The script asks for the panel of figures alone; the buttons
// that need no script ask for the whole page, with new columns or with a pasted block put into the grid.
func (s *Room) previewRun(w http.ResponseWriter, r *http.Request) error {
	form, sh, err := s.readRunForm(w, r, 0)
	if err != nil {
		return err
	}
	if form.f.Text("fragment") == "figures" {
		return page.Render(w, r, http.StatusOK, runs.Figures(s.typedFigures(r, form, sh)))
	}
	delete(form.f.Problems, "readings") // an empty grid is no fault before it is saved
	var paste []timing.PasteProblem
	if form.f.Text("do") == "paste" {
		paste = form.paste(sh)
	}
	status := http.StatusOK
	if !form.f.OK() {
		status = http.StatusUnprocessableEntity
	}
	return s.renderPreview(w, r, status, form, paste)
}

// paste puts the pasted block into the cells, or into none of them when any of it can't be read.
func (rf runForm) paste(sh timing.Sheet) []timing.PasteProblem {
	row, column := rf.f.Int("paste_row"), rf.f.Int("paste_column")
	cells, problems, err := timing.ParsePaste(rf.f.Raw("paste"), sh.Grid(), row, column)
	switch {
	case err != nil:
		rf.f.Fail("paste_row", "Choose a cell of the grid to begin in.")
		return nil
	case len(problems) == 1:
		rf.f.Fail("paste", problems[0].String())
		return nil
	case len(problems) > 1:
		rf.f.Fail("paste", strconv.Itoa(len(problems))+" lines or figures can't be read; nothing was put into the grid. "+
			"Correct what is listed here.")
		return problems
	}
	for _, c := range cells {
		rf.f.Values.Set(c.Field, c.Text)
		delete(rf.f.Problems, c.Field)
	}
	rf.f.Values.Del("paste")
	return nil
}

func (s *Room) renderRunForm(w http.ResponseWriter, r *http.Request, status int, form runForm,
	conflict *runConflictView) error {
	p, d, v := s.runFormView(r, form)
	v.Conflict = conflict
	v.Refused = status != http.StatusOK
	return page.Render(w, r, status, runFormPage(p, d, v))
}

func (s *Room) renderPreview(w http.ResponseWriter, r *http.Request, status int, form runForm,
	paste []timing.PasteProblem) error {
	p, d, v := s.runFormView(r, form)
	v.Refused = true
	for _, problem := range paste {
		v.Paste.Problems = append(v.Paste.Problems, problem.String())
	}
	return page.Render(w, r, status, runFormPage(p, d, v))
}
