package web

import (
	"errors"
	"maps"
	"net/http"
	"slices"
	"strconv"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/timing"
	"ledgerwheel/store"
	"ledgerwheel/web/view"
)

func isChanged(err error) bool { return errors.Is(err, domain.ErrChanged) }

// judgingRule is the decision rule the shop has chosen.
func judgingRule(sh shop.Shop) metrology.Rule {
	if sh.SimpleAcceptance {
		return metrology.Simple
	}
	return metrology.Guarded
}

// runForm is a run being typed: a new one, or one on record that is changed.
type runForm struct {
	f     *form
	sheet store.RegulationSheet
	run   store.RunRecord // zero ID for a new one
}

// newRun opens the sheet for a new run. The query may name its kind.
func (s *Server) newRun(w http.ResponseWriter, r *http.Request) error {
	sheet, err := s.regulation(r)
	if err != nil {
		return err
	}
	kinds := allowedKinds(r, sheet.Head.Docket)
	if len(kinds) == 0 {
		return s.renderRegulation(w, r, http.StatusOK, sheet, "")
	}
	kind := timing.Kind(r.URL.Query().Get("kind"))
	if !slices.Contains(kinds, kind) {
		kind = kinds[len(kinds)-1]
	}
	viewer, _ := viewerOf(r.Context())
	blank := timing.Sheet{Run: timing.Run{Kind: kind, CrownHour: sheet.Head.Watch.CrownAt}, States: []float64{0, 24},
		Instrument: viewer.Shop.Instrument, ClockPPM: viewer.Shop.InstrumentPPM}
	newest, found := sheet.Newest()
	if found {
		blank.States = newest.Sheet.States
	}
	f := emptyForm()
	fill(f, blank.Typed())
	f.Values.Set("grade", sheet.Head.Calibre.GradeKey)
	f.Values.Set("last_run", itoa64(newest.ID))
	return s.renderRunForm(w, r, http.StatusOK, runForm{f: f, sheet: sheet}, nil)
}

func fill(f *form, typed map[string]string) {
	for name, text := range typed {
		f.Values.Set(name, text)
	}
}

// allowedKinds are the kinds of run that may be taken on the docket now by this person.
func allowedKinds(r *http.Request, d docket.Docket) []timing.Kind {
	return slices.DeleteFunc(d.RunKinds(), func(k timing.Kind) bool { return !may(r, docket.RunPermission(k)) })
}

// editRun opens a run on record, to correct it or to add what was measured later.
func (s *Server) editRun(w http.ResponseWriter, r *http.Request) error {
	sheet, err := s.regulation(r)
	if err != nil {
		return err
	}
	run, err := pathRun(r, sheet)
	if err != nil {
		return err
	}
	if sheet.Head.Docket.RunProblem(run.Sheet.Run.Kind) != "" {
		return seeOther(w, r, view.DocketURL(sheet.Head.Docket.Number.String(), "regulation")+"?run="+itoa64(run.ID)) // it says why
	}
	f := emptyForm()
	fill(f, run.Sheet.Typed())
	f.Values.Set("run_version", strconv.Itoa(run.Version))
	f.Values.Set("version", itoa64(sheet.Head.Docket.Version))
	return s.renderRunForm(w, r, http.StatusOK, runForm{f: f, sheet: sheet, run: run}, nil)
}

// pathRun finds the run the address names, and refuses those who may not change one of its kind.
func pathRun(r *http.Request, sheet store.RegulationSheet) (store.RunRecord, error) {
	id, err := pathID(r, "run")
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
	if !may(r, docket.RunPermission(run.Sheet.Run.Kind)) {
		return store.RunRecord{}, errForbidden
	}
	return run, nil
}

// readRunForm reads the posted run with the docket it belongs to; runID is 0 for a new one, unless the form says
// otherwise, as it does to the preview.
func (s *Server) readRunForm(w http.ResponseWriter, r *http.Request, runID int64) (runForm, timing.Sheet, error) {
	f, err := readForm(w, r)
	if err != nil {
		return runForm{}, timing.Sheet{}, err
	}
	sheet, err := s.regulation(r)
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
	if kind := typed.Run.Kind; f.Problems["kind"] == "" && !may(r, docket.RunPermission(kind)) {
		return runForm{}, timing.Sheet{}, errForbidden
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

func (s *Server) recordRun(w http.ResponseWriter, r *http.Request) error {
	form, sh, err := s.readRunForm(w, r, 0)
	if err != nil {
		return err
	}
	if !form.f.OK() {
		return s.renderRunForm(w, r, http.StatusUnprocessableEntity, form, nil)
	}
	c, err := s.changeOf(r, form.f)
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

func (s *Server) changeRun(w http.ResponseWriter, r *http.Request) error {
	id, err := pathID(r, "run")
	if err != nil {
		return err
	}
	form, sh, err := s.readRunForm(w, r, id)
	if err != nil {
		return err
	}
	version := form.f.Int("run_version")
	if !form.f.OK() {
		return s.renderRunForm(w, r, http.StatusUnprocessableEntity, form, nil)
	}
	c, err := s.changeOf(r, form.f)
	if err != nil {
		return err
	}
	c.Version = 0 // the run has a version of its own
	err = s.store.ChangeRun(r.Context(), c, id, version, sh)
	return s.afterSaving(w, r, form, id, err)
}

// afterSaving leads to the run that was saved, or shows the form again with what stood in its way.
func (s *Server) afterSaving(w http.ResponseWriter, r *http.Request, form runForm, id int64, err error) error {
	switch {
	case isChanged(err):
		return s.runConflict(w, r, form)
	case errors.Is(err, domain.ErrClosed):
		form.f.Fail("kind", "The watch has left the shop, so its docket takes no more runs.")
	case err != nil && !form.f.takes(err):
		return err
	}
	if !form.f.OK() {
		return s.renderRunForm(w, r, http.StatusUnprocessableEntity, form, nil)
	}
	s.say(r.Context(), "The run is saved.")
	return seeOther(w, r, view.DocketURL(form.sheet.Head.Docket.Number.String(), "regulation")+"?run="+itoa64(id))
}

// runConflict keeps the grid as typed and shows what somebody else did meanwhile; sending it again saves it all the same.
func (s *Server) runConflict(w http.ResponseWriter, r *http.Request, form runForm) error {
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
	conflict := &view.RunConflictView{Text: "Nothing of yours was saved yet, and what you typed still stands below. Look at what changed; saving again writes your figures."}
	for _, e := range changes {
		if e.Kind == docket.RunRecorded || e.Kind == docket.ReadingChanged || e.Kind == docket.RunJudged {
			conflict.Changes = append(conflict.Changes, s.entryView(r, e))
		}
	}
	newest, _ := sheet.Newest()
	form.f.Values.Set("last_run", itoa64(newest.ID))
	form.f.Values.Set("version", itoa64(sheet.Head.Docket.Version))
	if form.run.ID != 0 {
		form.run, _ = sheet.Run(form.run.ID)
		form.f.Values.Set("run_version", strconv.Itoa(form.run.Version))
		typed, _ := form.parse()
		for _, e := range timing.Edits(typed, form.run.Sheet) {
			conflict.Differs = append(conflict.Differs, view.Term(capital(e.What), trueMinus(or(e.To, "nothing"))+" (you: "+trueMinus(or(e.From, "nothing"))+")"))
		}
	} else {
		conflict.Text = "Another run was recorded since you opened this page; it may be this one, sent twice. " + conflict.Text
	}
	return s.renderRunForm(w, r, http.StatusConflict, form, conflict)
}

// previewRun computes the run as typed without saving it. The script asks for the panel of figures alone; the buttons
// that need no script ask for the whole page, with new columns or with a pasted block put into the grid.
func (s *Server) previewRun(w http.ResponseWriter, r *http.Request) error {
	form, sh, err := s.readRunForm(w, r, 0)
	if err != nil {
		return err
	}
	if form.f.Text("fragment") == "figures" {
		return render(w, r, http.StatusOK, view.Figures(s.typedFigures(r, form, sh)))
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
		rf.f.Fail("paste", strconv.Itoa(len(problems))+" lines or figures can't be read; nothing was put into the grid. Mend what is listed here.")
		return problems
	}
	for _, c := range cells {
		rf.f.Values.Set(c.Field, c.Text)
		delete(rf.f.Problems, c.Field)
	}
	rf.f.Values.Del("paste")
	return nil
}

// typedFigures computes what could be read of the run as typed.
func (s *Server) typedFigures(r *http.Request, form runForm, sh timing.Sheet) view.FiguresView {
	viewer, _ := viewerOf(r.Context())
	by := judging{rule: judgingRule(viewer.Shop)}
	limits, found := form.sheet.LimitsByID(form.sheet.Head.RateLimitsID)
	if !found {
		limits, found = form.sheet.NewestLimits(form.f.Text("grade"))
	}
	if found {
		by.limits = &limits
	}
	grid := sh.Grid()
	fields := map[string]bool{}
	var unread []view.Problem
	for row := range grid.Rows {
		for column := range grid.Columns {
			name := grid.Field(row, column)
			fields[name] = true
			if why := form.f.Problems[name]; why != "" {
				unread = append(unread, view.Problem{Name: name, Text: cellName(grid, row, column) + ": " + why})
			}
		}
	}
	f := figuresOf(readable(sh, form.f.Problems), by)
	f.Unread, f.Compact = unread, true
	if len(sh.Run.Readings) > 0 {
		f.Chart = []view.ChartView{ratesChart("chart-typed", readable(sh, form.f.Problems), by)}
	}
	return f
}

// readable leaves out of a sheet what can't be computed with: a clock without a figure.
func readable(sh timing.Sheet, problems map[string]string) timing.Sheet {
	if problems["clock_ppm"] != "" {
		sh.ClockPPM = timing.UncalibratedClockPPM
	}
	return sh
}

func cellName(g timing.Grid, row, column int) string {
	c := g.Columns[column]
	return string(g.Rows[row]) + " " + c.Quantity.Label() + ", " + timing.StateWords(c.HoursAfterWinding)
}

func (s *Server) renderRunForm(w http.ResponseWriter, r *http.Request, status int, form runForm, conflict *view.RunConflictView) error {
	p, d, v := s.runFormView(r, form)
	v.Conflict = conflict
	v.Refused = status != http.StatusOK
	return render(w, r, status, view.RunForm(p, d, v))
}

func (s *Server) renderPreview(w http.ResponseWriter, r *http.Request, status int, form runForm, paste []timing.PasteProblem) error {
	p, d, v := s.runFormView(r, form)
	v.Refused = true
	for _, problem := range paste {
		v.Paste.Problems = append(v.Paste.Problems, problem.String())
	}
	return render(w, r, status, view.RunForm(p, d, v))
}

// runFormView draws the form from what is typed in it.
func (s *Server) runFormView(r *http.Request, form runForm) (view.Page, view.DocketView, view.RunFormView) {
	p, d := s.docketPage(r, form.sheet.Head, "regulation")
	p.Scripts = append(p.Scripts, "js/regulation.js")
	sh, _ := form.parse()
	base := view.DocketURL(d.Number, "regulation")
	v := view.RunFormView{Form: form.f.view(), Action: base + "/new", Preview: base + "/preview", Save: "Save the run", Back: base,
		Title: "A new run", Grid: gridOf("grid", "Rate, amplitude and beat error in six positions", sh, form.f.Raw, form.f.Problems), Figures: s.typedFigures(r, form, sh)}
	v.Grid.Edit = true
	hidden := []string{"last_run", "version"}
	if form.run.ID != 0 {
		v.Action, v.Title = base+"/runs/"+itoa64(form.run.ID), capital(form.run.Sheet.Run.Title())
		v.KindText = form.run.Sheet.Run.Title()
		v.Hidden = append(v.Hidden, view.FieldValue{Name: "run_id", Value: itoa64(form.run.ID)})
		v.Back += "?run=" + itoa64(form.run.ID)
		hidden = append(hidden, "run_version")
	} else {
		v.Kinds = form.f.view().Field("kind", "Kind of run").WithOptions(kindOptions(r, form.sheet)...)
		p.Title = "A run of " + d.Number
	}
	for _, name := range hidden {
		v.Hidden = append(v.Hidden, view.FieldValue{Name: name, Value: form.f.Text(name)})
	}
	v.Hidden = append(v.Hidden, view.FieldValue{Name: "columns", Value: timing.StatesText(sh.States)})
	if _, judged := form.sheet.LimitsByID(form.sheet.Head.RateLimitsID); !judged && form.run.ID == 0 {
		grade := form.f.view().Field("grade", "Judge it by").WithWidth(view.Half).WithOptions(gradeOptions(form.sheet, !hasGrade(form.sheet))...).
			WithHint("The docket keeps the version that first judges it.")
		v.Grade = &grade
	}
	v.Order, v.Summary = formOrder(sh), maps.Clone(form.f.Problems)
	for _, p := range v.Figures.Unread {
		v.Summary[p.Name] = p.Text
	}
	v.Paste = pasteView(form.f, sh)
	return p, d, v
}

// hasGrade reports whether the watch's calibre names a grade that the shop has limits for.
func hasGrade(sheet store.RegulationSheet) bool {
	_, found := sheet.NewestLimits(sheet.Head.Calibre.GradeKey)
	return found
}

func kindOptions(r *http.Request, sheet store.RegulationSheet) []view.Option {
	var options []view.Option
	for _, k := range allowedKinds(r, sheet.Head.Docket) {
		options = append(options, view.Option{Value: string(k), Text: kindTitle(k, sheet.NextAdjustment)})
	}
	return options
}

// formOrder is the order of the form's fields, for the summary of problems.
func formOrder(sh timing.Sheet) []string {
	order := []string{"kind", "instrument", "clock_ppm", "temperature", "grade", "readings"}
	grid := sh.Grid()
	for row := range grid.Rows {
		for column := range grid.Columns {
			order = append(order, grid.Field(row, column))
		}
	}
	return append(order, "states", "label", "paste", "paste_row", "paste_column")
}

// pasteView is the place to paste into without a script.
func pasteView(f *form, sh timing.Sheet) view.PasteView {
	var rows, columns []view.Option
	for i, p := range sh.Grid().Rows {
		rows = append(rows, view.Option{Value: strconv.Itoa(i), Text: string(p) + ", " + p.Words(sh.Run.CrownHour)})
	}
	for i, c := range sh.Grid().Columns {
		columns = append(columns, view.Option{Value: strconv.Itoa(i), Text: c.Quantity.Label(), Group: timing.StateWords(c.HoursAfterWinding)})
	}
	v := f.view()
	return view.PasteView{
		Text: v.Field("paste", "Column or block, as copied from a spreadsheet").WithRows(6).
			WithHint("One position to a line, from the position chosen downwards; figures of a line parted by tabs or semicolons."),
		Row:    v.Field("paste_row", "Begins at position").WithWidth(view.Half).WithOptions(rows...),
		Column: v.Field("paste_column", "Begins at").WithWidth(view.Half).WithOptions(columns...),
		Open:   f.Text("paste") != "" || f.Problems["paste"] != "" || f.Problems["paste_row"] != "",
	}
}
