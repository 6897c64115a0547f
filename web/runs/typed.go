package runs

import (
	"cmp"
	"net/http"
	"strconv"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/text"
	"ledgerwheel/domain/timing"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/view"
)

// Typed is a run being typed: a new one, or one on record that is changed.
type Typed struct {
	Form  *page.Form
	Sheet store.RegulationSheet
	Run   store.RunRecord // zero ID for a new one
}

// Blank fills the form of a new run of a kind in with what the shop and the run before it say.
func (t Typed) Blank(r *http.Request, kind timing.Kind) {
	viewer, _ := page.ViewerOf(r.Context())
	blank := timing.Sheet{Run: timing.Run{Kind: kind, CrownHour: t.Sheet.Head.Watch.CrownAt}, States: []float64{0, 24},
		Instrument: viewer.Shop.Instrument, ClockPPM: viewer.Shop.InstrumentPPM}
	newest, found := t.Sheet.Newest()
	if found {
		blank.States = newest.Sheet.States
	}
	Fill(t.Form, blank.Typed())
	t.Form.Values.Set("grade", t.Sheet.Head.Calibre.GradeKey)
	t.Form.Values.Set("last_run", page.Itoa64(newest.ID))
}

// OnRecord fills the form in with the run on record.
func (t Typed) OnRecord() {
	Fill(t.Form, t.Run.Sheet.Typed())
	t.Form.Values.Set("run_version", strconv.Itoa(t.Run.Version))
	t.Form.Values.Set("version", page.Itoa64(t.Sheet.Head.Docket.Version))
}

// Changeable finds a run, and refuses those who may not change one of its kind.
func Changeable(r *http.Request, sheet store.RegulationSheet, id int64) (store.RunRecord, error) {
	run, found := sheet.Run(id)
	if !found {
		return store.RunRecord{}, domain.ErrNotFound
	}
	if !page.May(r, docket.RunPermission(run.Sheet.Run.Kind)) {
		return store.RunRecord{}, page.ErrForbidden
	}
	return run, nil
}

// Parse reads the run as typed, and by field name what is wrong with it.
func (t Typed) Parse() (timing.Sheet, map[string]string) {
	crown := t.Sheet.Head.Watch.CrownAt
	if crown == 0 {
		crown = timing.CrownAtThree
	}
	sh, problems := timing.ParseSheet(t.Form.Text, crown)
	if t.Form.Text("again") == "" { // a form that does not ask for readings taken again keeps those on record
		sh.Run.Readings = append(sh.Run.Readings, t.Run.Sheet.Run.Again()...)
	}
	if sh.Run.Kind == timing.Adjustment {
		sh.Run.Adjustment = t.Sheet.NextAdjustment
	}
	sh.LiftAngle = t.Run.Sheet.LiftAngle.Now(t.Sheet.Head.Calibre.LiftAngle())
	if t.Run.ID != 0 {
		sh.Run.Adjustment = t.Run.Sheet.Run.Adjustment
		sh.Keep(t.Run.Sheet)
	}
	return sh, problems
}

// Ask asks about figures that look like slips of the hand, and keeps with those that are confirmed what was asked.
func (t Typed) Ask(r *http.Request, sh *timing.Sheet) {
	for field, question := range sh.Doubts(t.Run.Sheet) {
		t.Form.Ask(field, question)
	}
	sh.Confirm(t.Form.Confirmed(), page.Actor(r).Name)
}

// Renew has the form go on from the record as it is now, after somebody else changed it, and says where a run on record
// differs from what is typed.
func (t Typed) Renew(now store.RegulationSheet) (Typed, []view.TermView) {
	t.Sheet = now
	newest, _ := now.Newest()
	t.Form.Values.Set("last_run", page.Itoa64(newest.ID))
	t.Form.Values.Set("version", page.Itoa64(now.Head.Docket.Version))
	if t.Run.ID == 0 {
		return t, nil
	}
	t.Run, _ = now.Run(t.Run.ID)
	t.Form.Values.Set("run_version", strconv.Itoa(t.Run.Version))
	typed, _ := t.Parse()
	var differs []view.TermView
	for _, e := range timing.Edits(typed, t.Run.Sheet) {
		differs = append(differs, view.Term(text.Capital(e.What),
			text.TrueMinus(cmp.Or(e.To, "nothing"))+" (you: "+text.TrueMinus(cmp.Or(e.From, "nothing"))+")"))
	}
	return t, differs
}
