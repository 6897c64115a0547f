package sheet

import (
	"slices"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/message"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/text"
	"ledgerwheel/store"
	"ledgerwheel/web/view"
)

// railStates are how the page draws a docket's progress.
var railStates = map[docket.Progress]view.StageState{docket.StageDone: view.StageDone, docket.StageNow: view.StageNow,
	docket.StageToCome: view.StageNext, docket.StageNotTaken: view.StageSkipped}

// stationSheets are where the stations lead that are not called as their sheet is.
var stationSheets = map[docket.Stage]string{docket.StageReady: "hand-over", docket.StageHandedOver: "hand-over"}

// innerSheet is a sheet within regulation.
type innerSheet struct {
	slug, text string
	needs      staff.Permission
}

var inRegulation = []innerSheet{
	{"regulation", "Readings", staff.ViewDockets}, {"positions", "Bench view", staff.TakeReadings},
	{"advice", "Advice", staff.ViewDockets},
	{"trial", "Trial", staff.ViewDockets}, {"listen", "Listen", staff.TakeReadings},
}

// railOf shows how far the docket has come and leads to its sheets; sheet is the one being read.
func railOf(h store.Head, sheet string, reader staff.Role) view.RailView {
	number, d := h.Docket.Number.String(), h.Docket
	station := func(name, slug string, current bool) view.StageView {
		return view.StageView{Name: name, Href: view.DocketURL(number, slug), Current: current, TestID: "tab-" + slug}
	}
	rail := view.RailView{Watch: station("Watch", "", sheet == ""), Told: station("Told", "told", sheet == "told"), Journal: station("Journal", "journal", sheet == "journal")}
	within := slices.ContainsFunc(inRegulation, func(in innerSheet) bool { return in.slug == sheet })
	for _, step := range docket.Along(d.Stage, h.Entered) {
		slug := string(step.Stage)
		if at := stationSheets[step.Stage]; at != "" {
			slug = at
		}
		reading := slug == sheet && (step.Stage != docket.StageHandedOver || d.Closed()) &&
			(step.Stage != docket.StageReady || !d.Closed())
		s := station(text.Capital(step.Stage.Label()), slug, reading || within && step.Stage == docket.StageRegulation)
		s.State = railStates[step.Progress]
		if step.Stage == docket.StageHandedOver {
			s.TestID = "" // the same sheet as ready
		}
		rail.Stages = append(rail.Stages, s)
	}
	if within {
		for _, in := range inRegulation {
			if staff.Can(reader, in.needs) {
				rail.Within = append(rail.Within, view.TabView{Text: in.text, Href: view.DocketURL(number, in.slug),
					Current: in.slug == sheet, TestID: "within-" + in.slug})
			}
		}
	}
	if d.Stage.Exit() {
		rail.Exit = &view.ExitView{Name: d.Stage.Label()}
		if d.Closed() {
			rail.Exit.Name += ", handed back"
		}
	}
	return rail
}

// nextOf is the one next thing that the reader can do with the docket, nil where it is others' turn. A move that asks
// for nothing is made at once; one that does leads to its form.
func nextOf(h store.Head, sheet string, by store.Actor) *view.NextView {
	a, ok := docket.NextAction(h.Docket.Stage, h.Facts, by.Role)
	if !ok {
		return nil
	}
	number := h.Docket.Number.String()
	next := &view.NextView{Text: a.Text}
	if a.To == "" {
		slug, _ := NeedSheet(a.Need)
		if a.Need == docket.NeedRunPassed {
			slug, next.Corrects = "advice", true
		}
		next.Href, next.Here = view.DocketURL(number, slug), slug == sheet
		return next
	}
	m, err := docket.FindMove(h.Docket.Stage, a.To)
	place := h.Docket.Place
	switch {
	case err != nil || m.Closes:
		next.Href, next.Here = view.DocketURL(number, "hand-over"), sheet == "hand-over"
	case m.Reason || !slices.Contains(m.Places, place.Kind) || m.To.Exit():
		next.Href = view.DocketURL(number, "") + "#move-form-" + string(m.To)
	default:
		next.Move = &view.NextMove{To: string(m.To), Place: string(place.Kind), Detail: place.Detail,
			Bench: MoveBuilder{Viewer: by, Head: h}.likelyBench(m)}
		if a.To == docket.StageReady {
			next.Move.Tell, next.Move.Told = toldByNext(message.Reach{Customer: h.Customer})
		}
	}
	return next
}
