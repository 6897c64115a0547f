package regulation

import (
	"cmp"
	"net/http"
	"slices"
	"strconv"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/text"
	"ledgerwheel/domain/timing"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/runs"
	"ledgerwheel/web/sheet"
	"ledgerwheel/web/view"
)

// runForm is a run being typed: a new one, or one on record that is changed.
type runForm struct {
	f     *page.Form
	sheet store.RegulationSheet
	run   store.RunRecord // zero ID for a new one
}

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
	viewer, _ := page.ViewerOf(r.Context())
	blank := timing.Sheet{Run: timing.Run{Kind: kind, CrownHour: sheet.Head.Watch.CrownAt}, States: []float64{0, 24},
		Instrument: viewer.Shop.Instrument, ClockPPM: viewer.Shop.InstrumentPPM}
	newest, found := sheet.Newest()
	if found {
		blank.States = newest.Sheet.States
	}
	f := page.EmptyForm()
	runs.Fill(f, blank.Typed())
	f.Values.Set("grade", sheet.Head.Calibre.GradeKey)
	f.Values.Set("last_run", page.Itoa64(newest.ID))
	return s.renderRunForm(w, r, http.StatusOK, runForm{f: f, sheet: sheet}, nil)
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
	f := page.EmptyForm()
	runs.Fill(f, run.Sheet.Typed())
	f.Values.Set("run_version", strconv.Itoa(run.Version))
	f.Values.Set("version", page.Itoa64(sheet.Head.Docket.Version))
	return s.renderRunForm(w, r, http.StatusOK, runForm{f: f, sheet: sheet, run: run}, nil)
}

// pathRun finds the run the address names, and refuses those who may not change one of its kind.
func pathRun(r *http.Request, sheet store.RegulationSheet) (store.RunRecord, error) {
	id, err := page.PathID(r, "run")
	if err != nil {
		return store.RunRecord{}, err
	}
	return changeableRun(r, sheet, id)
}

func changeableRun(r *http.Request, sheet store.RegulationSheet, id int64) (store.RunRecord, error) {
	run, found := sheet.Run(id)
	if !found {
		return store.RunRecord{}, domain.ErrNotFound
	}
	if !page.May(r, docket.RunPermission(run.Sheet.Run.Kind)) {
		return store.RunRecord{}, page.ErrForbidden
	}
	return run, nil
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
		if form.run, err = changeableRun(r, sheet, runID); err != nil {
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
func (rf runForm) parse() (timing.Sheet, map[string]string) {
	crown := rf.sheet.Head.Watch.CrownAt
	if crown == 0 {
		crown = timing.CrownAtThree
	}
	sh, problems := timing.ParseSheet(rf.f.Text, crown)
	if sh.Run.Kind == timing.Adjustment {
		sh.Run.Adjustment = rf.sheet.NextAdjustment
	}
	if rf.run.ID != 0 {
		sh.Run.Adjustment = rf.run.Sheet.Run.Adjustment
		sh.Keep(rf.run.Sheet)
	}
	return sh, problems
}

// ask asks about figures that look like slips of the hand, and keeps with those that are confirmed what was asked.
func (rf runForm) ask(r *http.Request, sh *timing.Sheet) {
	for field, question := range sh.Doubts(rf.run.Sheet) {
		rf.f.Ask(field, question)
	}
	sh.Confirm(rf.f.Confirmed(), page.Actor(r).Name)
}

func (s *Room) recordRun(w http.ResponseWriter, r *http.Request) error {
	form, sh, err := s.readRunForm(w, r, 0)
	if err != nil {
		return err
	}
	form.ask(r, &sh)
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
	form.ask(r, &sh)
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
	form.sheet = sheet
	conflict := &runConflictView{Text: "Nothing of yours was saved yet, and what you typed still stands below. Look at " +
		"what changed; saving again writes your figures."}
	for _, e := range changes {
		if e.Kind == docket.RunRecorded || e.Kind == docket.ReadingChanged || e.Kind == docket.RunJudged {
			conflict.Changes = append(conflict.Changes, s.EntryView(r, e))
		}
	}
	newest, _ := sheet.Newest()
	form.f.Values.Set("last_run", page.Itoa64(newest.ID))
	form.f.Values.Set("version", page.Itoa64(sheet.Head.Docket.Version))
	if form.run.ID != 0 {
		form.run, _ = sheet.Run(form.run.ID)
		form.f.Values.Set("run_version", strconv.Itoa(form.run.Version))
		typed, _ := form.parse()
		for _, e := range timing.Edits(typed, form.run.Sheet) {
			conflict.Differs = append(conflict.Differs, view.Term(text.Capital(e.What),
				text.TrueMinus(cmp.Or(e.To, "nothing"))+" (you: "+text.TrueMinus(cmp.Or(e.From, "nothing"))+")"))
		}
	} else {
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
