package sheet

import (
	"cmp"
	"net/http"
	"slices"
	"strings"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/service"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/timing"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/view"
)

// beforeKinds are the runs of an earlier docket that stand beside its comeback.
var beforeKinds = []struct {
	kind timing.Kind
	name string
}{{timing.AsReceived, "As received"}, {timing.AfterService, "After service"}, {timing.Final, "Final"}}

// BeforeOf shows what was done on the docket from which the watch of h comes back, and what was said of that.
func (s *Frame) BeforeOf(r *http.Request, h store.Head, e store.Earlier, said store.Comeback) view.BeforeView {
	if !e.Any() {
		return view.BeforeView{}
	}
	v := view.BeforeView{Number: e.Number.String(), Left: s.Day(r, page.Civil(e.LeftAt.In(page.ZoneOf(r)))), Readings: readingsBefore(e)}
	v.Terms = append(v.Terms, view.TermView{Term: "Docket", Cell: view.Lnk(v.Number, view.DocketURL(v.Number, "")), TestID: "before-docket"},
		view.Term("Left", v.Left))
	v.Work = "Work: " + cmp.Or(workBefore(e), "none written down") + "."
	if parts := partsBefore(e); parts != "" {
		v.Terms = append(v.Terms, TypedTerm("Fitted", parts))
	}
	v.Terms = append(v.Terms, s.cardBefore(r, e))
	v.Said, v.Open = "Nobody has said why it came back yet.", true
	if said.Any() {
		v.Said, v.Open = said.Summary()+" "+said.Found, said.Cover == docket.CoverOpen
	}
	if page.May(r, staff.DecideCover) && h.Docket.Stage != docket.StageIntake {
		v.Say = &view.LinkView{Text: "Say why it came back", Href: view.DocketURL(h.Docket.Number.String(), "comeback"), TestID: "say-comeback"}
		if said.Any() {
			v.Say.Text = "The comeback, its cost, and correcting it"
		}
	}
	return v
}

// readingsBefore are the runs in the figures by which one sees what changed.
func readingsBefore(e store.Earlier) view.DataView {
	d := view.DataView{TableView: view.TableView{Caption: "Readings before", HideCaption: true, TestID: "readings-before"}, Stack: true,
		Columns: []view.Column{{Text: "Run"}, {Text: "Mean rate", Unit: "s/d", Numeric: true}, {Text: "Delta", Unit: "s/d", Numeric: true},
			{Text: "Amplitude lying", Unit: "°", Numeric: true}, {Text: "Amplitude hanging", Unit: "°", Numeric: true}}}
	for _, k := range beforeKinds {
		for _, run := range e.RunsOf(k.kind) {
			stats := timing.StatisticsOf(run.Sheet.Run, timing.Options{Positions: ratedPositions(run.Sheet.Run), Instruments: run.Sheet.Instruments()})
			if len(stats.States) == 0 {
				continue
			}
			st := stats.States[0]
			row := view.Row{Head: true, TestID: "run-before", Cells: []view.Cell{view.Lnk(k.name, view.DocketURL(e.Number.String(), "regulation")+"?run="+
				page.Itoa64(run.ID))}}
			for _, f := range []timing.Statistic{st.Mean, st.Delta, st.HorizontalAmplitude, st.VerticalAmplitude} {
				row.Cells = append(row.Cells, view.Txt(briefly(f)))
			}
			d.Rows = append(d.Rows, row)
		}
	}
	return d
}

func briefly(f timing.Statistic) string {
	if !f.Computable() {
		return "–"
	}
	return f.Value.Brief(f.Signed).Value
}

// ratedPositions are those in which a rate was read, so that a run of a few positions has a mean too.
func ratedPositions(run timing.Run) []timing.Position {
	return slices.DeleteFunc(timing.Positions(), func(p timing.Position) bool {
		return !slices.ContainsFunc(run.Readings, func(g timing.Reading) bool { return g.Position == p && g.RateSPerDay != nil })
	})
}

// workBefore is what was done, each step once, with the time that it took.
func workBefore(e store.Earlier) string {
	var steps []string
	minutes := 0
	for _, step := range service.Steps {
		if slices.ContainsFunc(e.Works, func(w service.Work) bool { return slices.Contains(w.Steps, step) }) {
			steps = append(steps, step.Words())
		}
	}
	for _, w := range e.Works {
		minutes += w.TotalMinutes()
	}
	if minutes > 0 {
		steps = append(steps, view.Itoa(minutes)+" min")
	}
	return strings.Join(steps, "; ")
}

func partsBefore(e store.Earlier) string {
	var parts []string
	for _, p := range e.Fitted {
		parts = append(parts, p.Description)
	}
	return strings.Join(parts, "; ")
}

// cardBefore is the warranty card that was issued last, and until when it runs.
func (s *Frame) cardBefore(r *http.Request, e store.Earlier) view.TermView {
	t := view.TermView{Term: "Warranty card", Cell: view.Txt("none was issued"), TestID: "card-before"}
	if len(e.Cards) == 0 {
		return t
	}
	c := e.Cards[0]
	t.Cell = view.Lnk(c.Code.Grouped(), view.DocketURL(e.Number.String(), "card"))
	switch card, err := c.Card(); {
	case !c.Fate.VoidedAt.IsZero():
		t.Cell.Note = "declared void: " + c.Fate.VoidReason
	case err != nil:
		t.Cell.Note = "does not prove itself"
	default:
		t.Cell.Note = "until " + s.Day(r, card.ExpiresOn)
	}
	return t
}
