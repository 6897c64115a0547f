package hearing

import (
	"cmp"
	"errors"
	"fmt"
	"net/http"

	"ledgerwheel/domain"
	"ledgerwheel/domain/acoustic"
	"ledgerwheel/domain/heard"
	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/timing"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/runs"
	"ledgerwheel/web/sheet"
	"ledgerwheel/web/view"
)

// keepRunDown keeps a long recording as a run-down, a part of the docket's newest run.
func (s *Room) keepRunDown(w http.ResponseWriter, r *http.Request) error {
	f, err := page.ReadForm(w, r)
	if err != nil {
		return err
	}
	record, err := s.docketRecordingOf(r)
	if err != nil {
		return err
	}
	rec := record.Recording
	if rec.State != store.RecordingHeard {
		return domain.ErrNotFound
	}
	d := runDownTyped(f, record)
	right := s.answered(r, f, "down_right_watch", statedOf(record.Head.Calibre), rec.Facts)
	for i := range d.Facts {
		d.Facts[i].RightWatch = right.RightWatch
	}
	c := store.Change{Number: record.Head.Docket.Number, By: page.Actor(r), At: s.Now()}
	said, id := "", int64(0)
	if f.OK() {
		said = fmt.Sprintf("The run-down was kept: %d readings in %s.", len(d.Readings), d.Readings[0].Position)
		in := store.RunDown{RunDown: d, Recording: rec.Facts, RecordingID: rec.ID}
		if f.Checked("down_sound") {
			in.Recording.Sound = &rec.Sound
		}
		id, err = s.store.KeepRunDown(r.Context(), c, in)
	}
	return s.Settle(w, r, sheet.Ending{Form: f, Change: c, Err: takeRunDownError(f, err), Closed: "down_position", Said: said,
		To:    runs.RunDownURL(c.Number.String(), id),
		Again: func(status int) error { return s.renderDocketRecording(w, r, status, record, heardForms{down: f}) }})
}

// takeRunDownError notes a refusal by the record beside the fields of the form, and returns any other error.
func takeRunDownError(f *page.Form, err error) error {
	var invalid *domain.InvalidError
	if !errors.As(err, &invalid) {
		return err
	}
	beside := map[string]string{"position": "down_position", "hours_after_winding": "down_hours", "sound": "down_sound"}
	for field, why := range invalid.Problems {
		f.Fail(cmp.Or(beside[field], "down_position"), why)
	}
	return nil
}

// runDownTyped reads position and state of wind and makes the readings. What is wrong stands in the form then.
func runDownTyped(f *page.Form, sheet store.RecordingSheet) heard.RunDown {
	rec := sheet.Recording
	hours, problem := timing.ParseHours(f.Text("down_hours"))
	if problem != "" {
		f.Fail("down_hours", problem)
	}
	position, _ := timing.ParsePosition(f.Text("down_position")) // what is none is refused below
	start := heard.StartOf{Position: position, Hours: hours, TakenBy: rec.By, At: rec.SentAt}
	d, bad := heard.RunDownOf(rec.Facts.Corrected(rec.Result), rec.Facts, start, timing.MaxStates)
	for field, why := range bad {
		if field == "run" { // it is the recording that does not do, which no field can help
			field = "position"
		}
		f.Fail("down_"+field, why)
	}
	return d
}

// runDownForm asks how the watch of a long recording lay; nil for a short one. Keep is the form that keeps the recording as
// one reading.
func runDownForm(sheet store.RecordingSheet, keep keepHeardForm, typed *page.Form) *runDownFormView {
	rec := sheet.Recording
	if rec.Result.Seconds < longRunS || len(rec.Result.Stretches) < longRunPieces {
		return nil
	}
	v := &runDownFormView{Action: recordingURL(sheet.Head.Docket.Number.String(), rec.ID, "run-down"),
		Positions: keep.Positions, None: keep.None, Clash: keep.Clash}
	f := typed
	if f == nil {
		f = page.EmptyForm()
		f.Values.Set("down_position", string(rec.Asked.Position))
		f.Values.Set("down_hours", timing.HoursText(rec.Asked.Hours))
	}
	v.Form = f.View()
	if v.None != "" {
		return v
	}
	v.Of = "The run-down stands by itself: no run was taken on this docket yet."
	if newest, found := sheet.Newest(); found {
		v.Of = "It becomes a part of the run “" + newest.Sheet.Run.Title() + "”, beside its readings."
	}
	trial := &page.Form{Values: f.Values, Problems: map[string]string{}}
	d := runDownTyped(trial, sheet)
	if typed == nil && len(d.Readings) == 0 {
		v.None = trial.Problems["down_position"]
	}
	if len(d.Readings) > 0 && trial.Problems["down_hours"] == "" {
		table := runDownTable(d)
		v.Preview = &table
	}
	return v
}

// runDownTable shows the readings that would be kept.
func runDownTable(d heard.RunDown) view.DataView {
	t := view.DataView{TableView: view.TableView{ID: "run-down-table", Caption: "The readings to be kept", Dense: true,
		TestID: "run-down-table"}, Stack: true,
		Columns: []view.Column{{Text: "state of wind"}, {Text: "rate", Unit: timing.UnitSPerDay, Numeric: true},
			{Text: "amplitude", Unit: timing.UnitDegree, Numeric: true}, {Text: "beats", Numeric: true}}}
	for i, f := range d.Facts {
		_, amplitude, _ := f.Figures()
		rate := metrology.Value{Value: f.RateSPerDay, StdUncertainty: f.RateFitStdSPerDay, Unit: timing.UnitSPerDay}
		p, a := rate.Print(true), amplitude.Print(false)
		t.Rows = append(t.Rows, view.Row{Head: true,
			Cells: []view.Cell{view.Txt(timing.StateWords(d.Readings[i].HoursAfterWinding)),
				view.Txt(p.Value + " ± " + p.Uncertainty), view.Txt(a.Value + " ± " + a.Uncertainty),
				view.Txt(fmt.Sprint(f.Piece.Beats))}})
	}
	return t
}

// reserveFigure is the power reserve of a watch that was heard to stop.
func reserveFigure(result acoustic.Result, asked heard.Asked) (view.FigureView, bool) {
	hours, stopped := heard.PowerReserveH(result, asked.Hours)
	if !stopped {
		return view.FigureView{}, false
	}
	ran := "it ran " + spanWords(result.EndS-result.StartS) + " here until it stopped"
	if asked.Hours > 0 {
		ran += ", wound " + timing.HoursText(asked.Hours) + " h before"
	} else {
		ran += ", fully wound at the start"
	}
	value := fmt.Sprintf("%.1f", hours)
	if hours < 10 {
		value = fmt.Sprintf("%.2f", hours)
	}
	return view.FigureView{Label: "Power reserve", Value: value, Unit: "h", Note: ran, TestID: "heard-reserve"}, true
}
