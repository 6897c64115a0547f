package bench

import (
	"net/http"

	"ledgerwheel/domain/photo"
	"ledgerwheel/domain/text"
	"ledgerwheel/domain/timing"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/view"
)

// asReceivedView is the as-received run in the few figures that diagnosis looks at: those of full wind, or of the
// freshest state of wind measured.
func (s *Room) asReceivedView(r *http.Request, sheet store.DiagnosisSheet) asReceivedView {
	v := asReceivedView{SheetURL: view.DocketURL(sheet.Head.Docket.Number.String(), "regulation")}
	run := sheet.AsReceived
	if run.ID == 0 {
		return v
	}
	v.Taken = "Taken " + s.Moment(r, run.TakenAt) + " by " + run.TakenBy
	stats := timing.StatisticsOf(run.Sheet.Run, timing.Options{Positions: measured(run.Sheet.Run),
		Instruments: run.Sheet.Instruments()})
	if len(stats.States) == 0 {
		return v
	}
	state := stats.States[0]
	for _, f := range []struct {
		key       string
		statistic timing.Statistic
	}{
		{"mean", state.Mean}, {"delta", state.Delta}, {"horizontal-amplitude", state.LeastHorizontalAmplitude},
		{"vertical-amplitude", state.LeastVerticalAmplitude}, {"beat-error", state.GreatestBeatError},
	} {
		if f.statistic.Computable() {
			v.Figures = append(v.Figures, statisticFigure(f.key, f.statistic, timing.StateWords(state.HoursAfterWinding)))
		}
	}
	return v
}

// measured are the positions in which a rate was read, so that a run of a few positions has a mean too.
func measured(run timing.Run) []timing.Position {
	var list []timing.Position
	for _, p := range timing.Positions() {
		for _, reading := range run.Readings {
			if reading.Position == p && reading.RateSPerDay != nil {
				list = append(list, p)
				break
			}
		}
	}
	return list
}

func statisticFigure(key string, st timing.Statistic, state string) view.FigureView {
	printed := st.Value.Print(st.Signed)
	return view.FigureView{Label: text.Capital(st.Label), Value: printed.Value, Uncertainty: printed.Uncertainty,
		Unit: printed.Unit,
		Note: state + ", k = 2", TestID: "as-received-" + key}
}

// receiveFinding reads the form of a finding, to which a photograph may be joined.
func (s *Room) receiveFinding(w http.ResponseWriter, r *http.Request) (*page.Form, []photo.Picture, error) {
	u, err := page.ReceiveUpload(w, r, 2) // one too many is told so, rather than cut off
	if err != nil {
		return nil, nil, err
	}
	switch {
	case u.Files > 1:
		u.Form.Fail("photos", "Choose one photograph; more can be added on the intake sheet.")
	case u.Refused != "":
		u.Form.Fail("photos", u.Refused+"Nothing was saved; choose another, or none.")
	}
	return u.Form, u.Pictures, nil
}
