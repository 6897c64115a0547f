package runs

import (
	"cmp"
	"net/http"
	"slices"
	"time"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/recorder"
	"ledgerwheel/domain/text"
	"ledgerwheel/domain/timing"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/view"
)

// NewRun begins the value of a choice that is a new run; its kind follows.
const NewRun = "new:"

// Choices are the runs a reading may go to: those begun, the newest first, and new ones.
func Choices(s *page.Host, r *http.Request, sheet store.RegulationSheet) []view.Option {
	d := sheet.Head.Docket
	kinds := AllowedKinds(r, d)
	var options []view.Option
	for _, run := range slices.Backward(sheet.Runs) {
		if slices.Contains(kinds, run.Sheet.Run.Kind) {
			options = append(options, view.Option{Value: page.Itoa64(run.ID),
				Text: text.Capital(Name(s, r, run, sheet.Runs)), Group: "On record"})
		}
	}
	var fresh []view.Option
	usual := UsualKind(sheet)
	slices.SortStableFunc(kinds, func(a, b timing.Kind) int { // the usual one last, which is offered first
		return cmp.Compare(order(a == usual), order(b == usual))
	})
	for _, k := range slices.Backward(kinds) {
		fresh = append(fresh, view.Option{Value: NewRun + string(k), Text: "A new run " +
			KindTitle(k, sheet.NextAdjustment), Group: "New"})
	}
	if len(options) == 0 || d.Stage.Order() > 0 && newestIsFull(sheet) {
		return append(fresh, options...)
	}
	return append(options, fresh...)
}

func order(last bool) int {
	if last {
		return 1
	}
	return 0
}

// UsualKind is the kind of run that the docket's stage calls for.
func UsualKind(sheet store.RegulationSheet) timing.Kind {
	d := sheet.Head.Docket
	var taken []timing.Kind
	var newest docket.Outcome
	for _, run := range sheet.Runs {
		if !run.TakenAt.Before(d.WorkSince) && run.Sheet.Run.Kind != timing.AsReceived {
			taken, newest = append(taken, run.Sheet.Run.Kind), run.Outcome
		}
	}
	return d.UsualRun(taken, newest)
}

// newestIsFull reports whether the newest run has all six positions at some state of wind: the next reading likely
// begins another.
func newestIsFull(sheet store.RegulationSheet) bool {
	newest, found := sheet.Newest()
	if !found {
		return false
	}
	for _, hours := range newest.Sheet.Run.States() {
		n := 0
		for _, p := range timing.Positions() {
			if _, measured := newest.Sheet.Run.Reading(p, hours); measured {
				n++
			}
		}
		if n == len(timing.Positions()) {
			return true
		}
	}
	return false
}

// Recorders offers the recorders in use, each with how well its clock is known on a day.
func Recorders(list []recorder.Recorder, day time.Time) []view.Option {
	var options []view.Option
	for _, rec := range list {
		text := rec.Name
		if standing := rec.Standing(day); standing != recorder.Calibrated {
			text += " (" + string(standing) + ")"
		}
		options = append(options, view.Option{Value: page.Itoa64(rec.ID), Text: text})
	}
	return append(options, view.Option{Value: "0", Text: "another one, not in the list (± 50 ppm, ± 4.3 s/d)"})
}
