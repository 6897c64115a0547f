package web

import (
	"fmt"
	"net/http"
	"strconv"
	"strings"
	"time"

	"ledgerwheel/domain/acoustic"
	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/recorder"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/timing"
	"ledgerwheel/store"
	"ledgerwheel/web/view"
)

// rateInput writes samples a second as typed; rateText with thin groups, to be read.
func rateInput(hz int) string { return strconv.Itoa(hz) }

func rateText(hz int) string {
	s := strconv.Itoa(hz)
	if len(s) > 3 {
		return s[:len(s)-3] + "\u202f" + s[len(s)-3:]
	}
	return s
}

func (s *Server) recorderRow(r *http.Request, rec recorder.Recorder) view.RecorderRow {
	row := view.RecorderRow{ID: rec.ID, Name: rec.Name, Note: rec.Note, Rate: rateText(rec.UsualRateHz), State: s.recorderState(r, rec)}
	if c := rec.Calibration; c != nil {
		row.Found, row.FoundNote = c.Value().FormatSigned(), s.day(r, civil(c.At))+", "+c.Method.Words()
	}
	return row
}

// recorderState says how a recorder's clock stands today.
func (s *Server) recorderState(r *http.Request, rec recorder.Recorder) view.RecorderState {
	if rec.Retired() {
		return view.RecorderState{Words: "out of use since " + s.day(r, civil(rec.RetiredAt))}
	}
	known := recorder.PlusMinus(rec.Clock(s.now()).StdPPM)
	switch rec.Standing(s.today(r)) {
	case recorder.Calibrated:
		return view.RecorderState{Mark: view.Pass, Words: "calibrated, " + known + ", redo by " + dayWords(rec.Calibration.RedoBy)}
	case recorder.Overdue:
		return view.RecorderState{Mark: view.Undecided, Words: "overdue since " + dayWords(rec.Calibration.RedoBy) + ", now " + known}
	}
	return view.RecorderState{Mark: view.NotMeasured, Words: recorder.NeverText}
}

func dayWords(t time.Time) string { return t.Format("2 Jan 2006") }

func (s *Server) recorderView(r *http.Request, record store.RecorderRecord, f *form, open view.RecorderForm) view.RecorderView {
	rec := record.Recorder
	v := view.RecorderView{ID: rec.ID, Name: rec.Name, Note: rec.Note, State: s.recorderState(r, rec), Clock: s.clockTerms(r, rec),
		May: may(r, staff.ManageRecorders), Form: f.view(), Describe: f.view(), Open: open, Server: serverClock()}
	if may(r, staff.TakeReadings) {
		v.LiveURL = "/listen?recorder=" + itoa64(rec.ID)
	}
	if rec.Retired() {
		v.Retired = fmt.Sprintf("Since %s, by %s: %s", s.moment(r, rec.RetiredAt), rec.RetiredBy, rec.RetiredWhy)
	}
	if open != view.DescribeForm {
		described := emptyForm()
		fill(described, map[string]string{"note": rec.Note, "usual_rate": rateInput(rec.UsualRateHz)})
		v.Describe = described.view()
	}
	if open != view.TypedForm {
		f.Values.Set("made_on", s.today(r).Format(time.DateOnly))
	}
	for _, c := range record.Calibrations {
		v.Calibrations = append(v.Calibrations, s.calibrationView(r, rec, c, f))
	}
	for _, e := range record.History {
		v.History = append(v.History, view.RecorderEventView{At: s.moment(r, e.At), By: e.By, Words: e.Words})
	}
	return v
}

// clockTerms say what readings taken today are given.
func (s *Server) clockTerms(r *http.Request, rec recorder.Recorder) []view.TermView {
	clock := rec.Clock(s.now())
	now := metrology.Value{Value: clock.PPM, StdUncertainty: clock.StdPPM, Unit: "ppm"}
	perDay := metrology.Value{Value: -clock.PPM * timing.SPerDayPerPPM, StdUncertainty: clock.StdPPM * timing.SPerDayPerPPM, Unit: timing.UnitSPerDay}
	terms := []view.TermView{
		view.Term("Runs fast by", now.FormatSigned()),
		view.Term("Uncorrected, a watch would seem to gain", perDay.FormatSigned()),
	}
	if clock == acoustic.UncalibratedClock() {
		terms = []view.TermView{view.Term("Runs fast by", "not known; taken as 0, right to within ±50 ppm (rectangular)"),
			view.Term("In every rate", fmt.Sprintf("±%.2g s/d", acoustic.UncalibratedClockPPM*timing.SPerDayPerPPM))}
	}
	if c := rec.Calibration; c != nil {
		terms = append(terms, view.Term("Calibrated", s.day(r, civil(c.At))+", "+c.Method.Words()), view.Term("To be done anew by", s.day(r, c.RedoBy)))
	}
	return append(terms, view.Term("Usual rate", rateText(rec.UsualRateHz)+" samples a second"))
}

func (s *Server) calibrationView(r *http.Request, rec recorder.Recorder, c recorder.Calibration, f *form) view.CalibrationView {
	v := view.CalibrationView{ID: c.ID, Figure: c.Value().FormatSigned(), State: view.RecorderState{Words: "superseded"}}
	switch {
	case !c.RetiredAt.IsZero():
		v.State = view.RecorderState{Words: "retired"}
	case rec.Calibration != nil && rec.Calibration.ID == c.ID && rec.Standing(s.today(r)) == recorder.Overdue:
		v.State = view.RecorderState{Mark: view.Undecided, Words: "overdue"}
	case rec.Calibration != nil && rec.Calibration.ID == c.ID:
		v.State = view.RecorderState{Mark: view.Pass, Words: "in force"}
	}
	v.Terms = append(v.Terms, view.Term("Made", s.day(r, civil(c.At))+", "+c.Method.Words()), view.Term("Kept", s.moment(r, c.KeptAt)+", "+c.By))
	if c.Note != "" {
		v.Terms = append(v.Terms, view.Term("Source", c.Note))
	}
	if c.Method == recorder.ByQuartzWatch || c.ReferenceU95 != 0 {
		gains := metrology.Value{Value: c.ReferenceRate, StdUncertainty: c.ReferenceU95 / metrology.CoverageFactor, Unit: timing.UnitSPerDay}
		v.Terms = append(v.Terms, view.Term("The reference gains", gains.FormatSigned()))
	}
	if c.Used > 0 {
		v.Terms = append(v.Terms, view.Term("Found from", evidenceWords(c)))
	}
	v.Terms = append(v.Terms, view.Term("To be done anew by", s.day(r, c.RedoBy)))
	if !c.RetiredAt.IsZero() {
		v.Terms = append(v.Terms, view.Term("Retired", fmt.Sprintf("%s, %s: %s", s.moment(r, c.RetiredAt), c.RetiredBy, c.RetiredWhy)))
	}
	v.MayRetire = may(r, staff.ManageRecorders) && c.RetiredAt.IsZero()
	v.RetireProblems = f.Problems[view.CalibrationWhy(c.ID)] != ""
	return v
}

// evidenceWords say what a calibration was found from.
func evidenceWords(c recorder.Calibration) string {
	what, one := "pulses", "a pulse"
	if c.Method == recorder.ByServerClock {
		what, one = "stretches", "a stretch"
	}
	parts := []string{fmt.Sprintf("%d %s over %s", c.Used, what, durationWords(c.DurationS))}
	if c.Missed > 0 {
		parts = append(parts, fmt.Sprintf("%d missed", c.Missed))
	}
	if c.ScatterUs > 0 {
		parts = append(parts, fmt.Sprintf("%s scatters by %s µs", one, strconv.FormatFloat(c.ScatterUs, 'f', max(0, 1-digits(c.ScatterUs)), 64)))
	}
	if c.RateHz > 0 {
		parts = append(parts, "at "+rateText(int(c.RateHz+0.5))+" samples a second")
	}
	return strings.Join(parts, "; ")
}

// digits counts the digits before the decimal point, 0 below one.
func digits(x float64) int {
	n := 0
	for ; x >= 1; x /= 10 {
		n++
	}
	return n
}

// durationWords writes a length of time to be read: "45 s", "10 min", "8 h 05 min".
func durationWords(seconds float64) string {
	d := time.Duration(seconds * float64(time.Second))
	switch {
	case d < 2*time.Minute:
		return fmt.Sprintf("%.0f s", seconds)
	case d < 2*time.Hour:
		return fmt.Sprintf("%.0f min", d.Minutes())
	}
	whole := d.Round(time.Minute)
	return fmt.Sprintf("%d h %02d min", int(whole.Hours()), int(whole.Minutes())%60)
}

// serverClock says what is assumed of the server's clock and what sessions against it are worth.
func serverClock() view.ServerClockView {
	v := view.ServerClockView{SteadyMs: plainFigure(recorder.ServerSteadyMs), LeastMinutes: plainFigure(recorder.LeastSession.Minutes())}
	for _, d := range []struct {
		words  string
		length time.Duration
	}{{"10 minutes", 10 * time.Minute}, {"1 hour", time.Hour}, {"8 hours, overnight", 8 * time.Hour}} {
		v.Worth = append(v.Worth, d.words+": about "+recorder.PlusMinus(recorder.ServerStdPPM(d.length)))
	}
	return v
}
