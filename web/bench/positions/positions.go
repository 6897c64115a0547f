package positions

import (
	"errors"
	"net/http"
	"slices"
	"strings"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/recorder"
	"ledgerwheel/domain/text"
	"ledgerwheel/domain/timing"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/runs"
	"ledgerwheel/web/sheet"
	"ledgerwheel/web/view"
)

// bench is the view as it stands: the run being typed, and where.
type bench struct {
	runs.Typed
	states   []float64
	at       stop
	opened   bool // and not sent back: the page may put back what was typed before
	conflict []view.TermView
	changed  string // what was said of somebody who saved first
}

func benchURL(number string) string { return view.DocketURL(number, "positions") }

func (s *Room) showBench(w http.ResponseWriter, r *http.Request) error {
	sheet, err := runs.Read(r, s.store)
	if err != nil {
		return err
	}
	number := sheet.Head.Docket.Number.String()
	if kept := r.URL.Query().Get("done"); kept != "" {
		return s.renderKept(w, r, sheet, kept)
	}
	choices := runs.Choices(s.Host, r, sheet)
	asked := r.URL.Query().Get("run")
	if len(choices) == 0 || asked != "" && !slices.ContainsFunc(choices, func(o view.Option) bool { return o.Value == asked }) {
		return page.SeeOther(w, r, view.DocketURL(number, "regulation")) // it says why no run is taken
	}
	b, err := s.openRun(r, sheet, asked, choices)
	if err != nil {
		return err
	}
	return s.renderBench(w, r, http.StatusOK, b)
}

// openRun opens one of the runs offered, the first unless one is asked for, where the query says.
func (s *Room) openRun(r *http.Request, sheet store.RegulationSheet, asked string, choices []view.Option) (bench, error) {
	b := bench{Typed: runs.Typed{Form: page.EmptyForm(), Sheet: sheet}, opened: true}
	if asked == "" {
		asked = choices[0].Value
	}
	if kind, fresh := strings.CutPrefix(asked, runs.NewRun); fresh {
		b.Blank(r, timing.Kind(kind))
	} else {
		b.Run, _ = runNamed(sheet, asked)
		b.OnRecord()
	}
	sh, _ := b.Parse()
	b.states = withDay(sh.States)
	for _, name := range []string{"states", "columns"} {
		b.Form.Values.Set(name, timing.StatesText(b.states))
	}
	stops := stopsOf(b.states)
	b.at = firstToMeasure(stops, sh)
	if typed := r.URL.Query().Get("hours"); typed != "" {
		hours, problem := timing.ParseHours(typed)
		if problem != "" || !slices.Contains(b.states, hours) {
			return b, page.BadRequest(errors.New("hours: no state of wind of this run"))
		}
		b.at = find(stops, stop{timing.DialUp, hours}.key())
	}
	if p, err := timing.ParsePosition(r.URL.Query().Get("position")); err == nil {
		b.at.Position = p
	}
	return b, nil
}

// runNamed finds a run on record by its id as text.
func runNamed(sheet store.RegulationSheet, id string) (store.RunRecord, bool) {
	at := slices.IndexFunc(sheet.Runs, func(run store.RunRecord) bool { return page.Itoa64(run.ID) == id })
	if at < 0 {
		return store.RunRecord{}, false
	}
	return sheet.Runs[at], true
}

// firstToMeasure is the first stop of a run on record that has no reading, dial up for others.
func firstToMeasure(stops []stop, sh timing.Sheet) stop {
	for _, s := range stops {
		if _, found := sh.Run.Reading(s.Position, s.Hours); s.Position != "" && !found {
			return s
		}
	}
	return stops[0]
}

// actAtBench answers the buttons of the form: steps, which save nothing, what the script asks while the run is typed,
// and keeping the run.
func (s *Room) actAtBench(w http.ResponseWriter, r *http.Request) error {
	b, sh, err := s.readBench(w, r)
	if err != nil {
		return err
	}
	act, to, _ := strings.Cut(b.Form.Text("do"), ":")
	if act == "keep" {
		return s.keep(w, r, b, sh)
	}
	delete(b.Form.Problems, "readings") // an empty run is no fault before it is kept
	b.Ask(r, &sh)
	if act == "look" {
		return s.renderBench(w, r, http.StatusOK, b)
	}
	here := map[string]string{}
	for _, name := range b.at.fields() {
		if why := b.Form.Problems[name]; why != "" {
			here[name] = why
		}
	}
	if len(here) > 0 && act == "next" {
		b.Form.Problems = here
		return s.renderBench(w, r, http.StatusUnprocessableEntity, b)
	}
	stops := stopsOf(b.states)
	switch act {
	case "next":
		b.at = step(stops, b.at, 1)
	case "back":
		b.at = step(stops, b.at, -1)
	case "go":
		b.at = find(stops, stop{timing.Position(to), b.at.Hours}.key())
	case "state":
		b.at = find(stops, stop{timing.DialUp, find(stops, "CH-"+to).Hours}.key())
	}
	return s.renderBench(w, r, http.StatusOK, b)
}

// readBench reads the posted run with the docket it belongs to.
func (s *Room) readBench(w http.ResponseWriter, r *http.Request) (b bench, sh timing.Sheet, err error) {
	f, err := page.ReadForm(w, r)
	if err != nil {
		return b, sh, err
	}
	sheet, err := runs.Read(r, s.store)
	if err != nil {
		return b, sh, err
	}
	b = bench{Typed: runs.Typed{Form: f, Sheet: sheet}}
	if id := f.ID("run_id"); id != 0 {
		if b.Run, err = runs.Changeable(r, sheet, id); err != nil {
			return b, sh, err
		}
		f.Values.Set("kind", string(b.Run.Sheet.Run.Kind))
	}
	sh, problems := b.Parse()
	f.FailAll(problems)
	if f.Problems["kind"] == "" && !page.May(r, docket.RunPermission(sh.Run.Kind)) {
		return b, sh, page.ErrForbidden
	}
	b.states = sh.States
	b.at = find(stopsOf(b.states), f.Text("at"))
	return b, sh, nil
}

// keep records the run, or changes the one on record. A run that is sent twice is kept once.
func (s *Room) keep(w http.ResponseWriter, r *http.Request, b bench, sh timing.Sheet) error {
	b.Ask(r, &sh)
	if !b.Form.OK() {
		return s.refuse(w, r, http.StatusUnprocessableEntity, b)
	}
	c, err := s.ChangeOf(r, b.Form)
	if err != nil {
		return err
	}
	c.Version = 0 // a run has a version of its own, and a new one depends on the runs before it
	sh = measured(sh, b.Run.Sheet.States)
	id := b.Run.ID
	if id != 0 {
		c.Why = text.Lines(b.Form.Raw("why"))
		err = s.store.ChangeRun(r.Context(), c, id, b.Form.Int("run_version"), sh)
	} else {
		last := b.Form.ID("last_run")
		id, err = s.store.RecordRun(r.Context(), c, store.RunEntry{Sheet: sh, Grade: b.Form.Text("grade"), LastSeen: &last})
	}
	if errors.Is(err, domain.ErrChanged) {
		return s.keptOrChanged(w, r, b, sh)
	}
	return s.Settle(w, r, sheet.Ending{Form: b.Form, Err: err, Closed: "kind", To: keptURL(c.Number.String(), id),
		Again: func(status int) error { return s.refuse(w, r, status, b) }})
}

func keptURL(number string, id int64) string { return benchURL(number) + "?done=" + page.Itoa64(id) }

// keptOrChanged finds that the record already has the run as it was typed, because it was sent twice, or says that
// somebody else saved first; keeping it again then writes it.
func (s *Room) keptOrChanged(w http.ResponseWriter, r *http.Request, b bench, sh timing.Sheet) error {
	n := b.Sheet.Head.Docket.Number
	now, err := s.store.RegulationSheet(r.Context(), n)
	if err != nil {
		return err
	}
	run, found := now.Newest()
	if b.Run.ID != 0 {
		run, found = now.Run(b.Run.ID)
	}
	if found && run.TakenBy == page.Actor(r).Name && run.Sheet.Run.Kind == sh.Run.Kind && len(timing.Edits(sh, run.Sheet)) == 0 {
		return page.SeeOther(w, r, keptURL(n.String(), run.ID))
	}
	b.Typed, b.conflict = b.Renew(now)
	b.changed = "Nothing of yours was kept yet, and what you typed still stands here. Keeping it again writes your figures."
	if b.Run.ID == 0 {
		b.changed = "Another run was recorded since you opened this page. " + b.changed
	}
	return s.renderBench(w, r, http.StatusConflict, b)
}

// refuse shows the run again where the first thing that is wrong with it stands.
func (s *Room) refuse(w http.ResponseWriter, r *http.Request, status int, b bench) error {
	for _, st := range stopsOf(b.states) {
		if slices.ContainsFunc(st.fields(), func(name string) bool { return b.Form.Problems[name] != "" }) {
			b.at = st
			break
		}
	}
	return s.renderBench(w, r, status, b)
}

func (s *Room) renderBench(w http.ResponseWriter, r *http.Request, status int, b bench) error {
	list, err := s.store.Recorders(r.Context())
	if err != nil {
		return err
	}
	list = slices.DeleteFunc(list, recorder.Recorder.Retired)
	return page.Render(w, r, status, benchPage(s.benchPageOf(r, b), s.benchView(r, b, list)))
}

func (s *Room) renderKept(w http.ResponseWriter, r *http.Request, sheet store.RegulationSheet, id string) error {
	run, found := runNamed(sheet, id)
	if !found {
		return domain.ErrNotFound
	}
	b := bench{Typed: runs.Typed{Form: page.EmptyForm(), Sheet: sheet, Run: run}}
	return page.Render(w, r, http.StatusOK, keptPage(s.benchPageOf(r, b), s.keptView(b)))
}

func (s *Room) benchPageOf(r *http.Request, b bench) view.Page {
	p := s.Page(r, "Bench view of "+b.Sheet.Head.Docket.Number.String())
	p.Scripts = append(p.Scripts, "js/positions.js")
	return p
}
