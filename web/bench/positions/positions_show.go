package positions

import (
	"cmp"
	"fmt"
	"ledgerwheel/domain/docket"
	"net/http"
	"slices"
	"strconv"

	"ledgerwheel/domain/figure"
	rules "ledgerwheel/domain/listening"
	"ledgerwheel/domain/recorder"
	"ledgerwheel/domain/text"
	"ledgerwheel/domain/timing"
	"ledgerwheel/web/page"
	"ledgerwheel/web/paper"
	"ledgerwheel/web/runs"
	"ledgerwheel/web/sheet"
	"ledgerwheel/web/view"
)

// benchView makes the view of the run as it is typed.
func (s *Room) benchView(r *http.Request, b bench, recorders []recorder.Recorder) benchView {
	head, f := b.Sheet.Head, b.Form
	sh, _ := b.Parse()
	v := benchView{head: s.headView(b), Action: benchURL(head.Docket.Number.String()),
		Listen: view.DocketURL(head.Docket.Number.String(), "listen"), Form: f.View(), At: b.at.key(), AtEnd: b.at.Position == "",
		Opened: b.opened, Prefix: scanPrefix, TestWord: scanTest, OnRecord: b.Run.ID != 0, Changed: b.changed, Differs: b.conflict,
		RunKey: runs.NewRun + string(sh.Run.Kind)}
	if b.Run.ID != 0 {
		v.RunKey = page.Itoa64(b.Run.ID)
	}
	if f.Text("settle") == "" {
		f.Values.Set("settle", cmp.Or(r.URL.Query().Get("settle"), strconv.Itoa(rules.DefaultSettleS)))
	}
	if f.Text("recorder") == "" && len(recorders) > 0 {
		f.Values.Set("recorder", page.Itoa64(recorders[0].ID))
	}
	f.Values.Set("at", v.At)
	f.Values.Set("columns", timing.StatesText(b.states))
	f.Values.Set("states", timing.StatesText(b.states))
	for _, name := range []string{"at", "run_id", "run_version", "last_run", "version", "kind", "grade", "states",
		"columns", "beats_per_hour", "lift_angle", "most", "mode"} {
		v.Hidden = append(v.Hidden, view.FieldValue{Name: name, Value: hiddenValue(b, name)})
	}
	crown := head.Watch.CrownAt
	for _, hours := range b.states {
		v.States = append(v.States, stateView{Hours: timing.HoursText(hours), Words: text.Capital(timing.StateWords(hours)),
			Here: hours == b.at.Hours, Word: wordOfState(hours)})
	}
	for _, st := range stopsOf(b.states) {
		v.Stops = append(v.Stops, stopViewOf(b, st, crown))
	}
	for _, p := range timing.Positions() {
		place := placeView{PositionView: runs.PositionView(p, crown), Here: p == b.at.Position,
			Rate: f.Raw(timing.FieldName(timing.Rate, p, b.at.Hours))}
		for _, st := range stopsOf(b.states) {
			if st.Position == p && slices.ContainsFunc(st.fields(), func(name string) bool { return f.Problems[name] != "" }) {
				place.Wrong = true
			}
		}
		v.Places = append(v.Places, place)
	}
	v.Summary, v.Order = map[string]string{}, nil
	for name, why := range f.Problems { // beside their fields stand those of the figures that are in sight
		if !slices.Contains(b.at.fields(), name) {
			v.Summary[name] = s.named(sh, name) + why
		}
	}
	v.Runs = f.View().Field("run", "Run").WithOptions(runs.Choices(s.Host, r, b.Sheet)...).WithValue(v.RunKey)
	v.Recorders = runs.Recorders(recorders, s.Today(r))
	v.TestCode, _ = paper.Code128SVG(scanPrefix + scanTest)
	return v
}

// named says which figure a problem is of, where it is one's.
func (s *Room) named(sh timing.Sheet, field string) string {
	grid := sh.Grid()
	for row, p := range grid.Rows {
		for column, c := range grid.Columns {
			if grid.Field(row, column) == field {
				return fmt.Sprintf("%s %s, %s: ", p, c.Quantity.Label(), timing.StateWords(c.HoursAfterWinding))
			}
		}
	}
	return ""
}

// hiddenValue is what the form carries unseen: of the run, and how the watch is listened to.
func hiddenValue(b bench, name string) string {
	k := b.Sheet.Head.Calibre
	switch {
	case name == "run_id" && b.Run.ID != 0:
		return page.Itoa64(b.Run.ID)
	case name == "mode":
		return "one"
	case name == "most":
		return strconv.Itoa(rules.DefaultMostS)
	case name == "beats_per_hour" && k.ID != 0:
		return strconv.Itoa(k.BeatsPerHour)
	case name == "lift_angle" && k.LiftAngleDeg > 0:
		return figure.Plain(k.LiftAngleDeg)
	}
	return b.Form.Text(name)
}

func (s *Room) headView(b bench) headView {
	number := b.Sheet.Head.Docket.Number.String()
	sh, _ := b.Parse()
	h := headView{Number: number, Watch: sheet.WatchWords(b.Sheet.Head), Run: text.Capital(sh.Run.Title()),
		Regulation: view.DocketURL(number, "regulation")}
	if b.Run.ID != 0 {
		h.Run = text.Capital(b.Run.Sheet.Run.Title())
		h.Regulation = runs.URL(number, b.Run.ID)
	}
	return h
}

func stopViewOf(b bench, st stop, crown int) stopView {
	v := stopView{Key: st.key(), State: timing.HoursText(st.Hours), StateWords: timing.StateWords(st.Hours), Here: st == b.at}
	if st.Position == "" {
		for _, p := range timing.Positions() {
			row := ledgerRow{PositionView: runs.PositionView(p, crown)}
			for _, name := range (stop{p, st.Hours}).fields() {
				row.Cells = append(row.Cells, view.FieldValue{Name: name, Value: b.Form.Raw(name)})
			}
			v.Ledger = append(v.Ledger, row)
		}
		return v
	}
	v.Position = runs.PositionView(st.Position, crown)
	v.Number = view.Itoa(slices.Index(timing.Positions(), st.Position) + 1)
	for _, q := range timing.Quantities() {
		name := timing.FieldName(q, st.Position, st.Hours)
		v.Figures = append(v.Figures, figureView{Name: name, Quantity: string(q), Label: q.Label(), Unit: q.Unit(),
			Value: b.Form.Raw(name), Error: b.Form.Problems[name], Asked: b.Form.Asked[name]})
	}
	return v
}

// keptView says what became of a run that was kept.
func (s *Room) keptView(b bench) keptView {
	number, run := b.Sheet.Head.Docket.Number.String(), b.Run
	v := keptView{head: s.headView(b), Mark: runs.MarkOfOutcome(run.Outcome), Judged: run.Outcome != docket.NotYet, Advice: view.DocketURL(number, "advice"),
		Again: benchURL(number) + "?run=" + page.Itoa64(run.ID), New: benchURL(number)}
	v.head.Run = text.Capital(run.Sheet.Run.Title())
	if limits, found := b.Sheet.LimitsByID(run.RateLimitsID); found {
		v.By = runs.VersionName(limits.Limits)
	}
	for _, hours := range run.Sheet.Run.States() {
		n := 0
		for _, p := range timing.Positions() {
			if _, found := run.Sheet.Run.Reading(p, hours); found {
				n++
			}
		}
		v.Measured = append(v.Measured, fmt.Sprintf("%s: %d of %d positions", text.Capital(timing.StateWords(hours)), n,
			len(timing.Positions())))
	}
	return v
}
