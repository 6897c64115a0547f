package recorders

import (
	"fmt"
	"net/http"
	"strconv"
	"strings"
	"time"

	"ledgerwheel/domain/acoustic"
	"ledgerwheel/domain/figure"
	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/recorder"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/timing"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/runs"
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

func (s *Room) recorderRow(r *http.Request, rec recorder.Recorder) recorderRow {
	row := recorderRow{ID: rec.ID, Name: rec.Name, Note: rec.Note, Rate: rateText(rec.UsualRateHz),
		State: s.recorderState(r, rec)}
	if c := rec.Calibration; c != nil {
		row.Found, row.FoundNote = c.Value().FormatSigned(), s.Day(r, page.Civil(c.At))+", "+c.Method.Words()
	}
	return row
}

// recorderState says how a recorder's clock stands today.
func (s *Room) recorderState(r *http.Request, rec recorder.Recorder) stateView {
	if rec.Retired() {
		return stateView{Words: "out of use since " + s.Day(r, page.Civil(rec.RetiredAt))}
	}
	known := recorder.PlusMinus(rec.Clock(s.Now()).StdPPM)
	switch rec.Standing(s.Today(r)) {
	case recorder.Calibrated:
		return stateView{Mark: view.Pass, Words: "calibrated, " + known + ", redo by " + dayWords(rec.Calibration.RedoBy)}
	case recorder.Overdue:
		return stateView{Mark: view.Undecided, Words: "overdue since " + dayWords(rec.Calibration.RedoBy) + ", now " + known}
	}
	return stateView{Mark: view.NotMeasured, Words: recorder.NeverText}
}

func dayWords(t time.Time) string { return t.Format("2 Jan 2006") }

func (s *Room) recorderView(r *http.Request, record store.RecorderRecord, f *page.Form,
	open recorderForm) recorderView {
	rec := record.Recorder
	v := recorderView{ID: rec.ID, Name: rec.Name, Note: rec.Note, State: s.recorderState(r, rec),
		Clock: s.clockTerms(r, rec),
		May:   page.May(r, staff.ManageRecorders), Form: f.View(), Describe: f.View(), Open: open, Server: serverClock()}
	if page.May(r, staff.TakeReadings) {
		v.LiveURL = "/listen?recorder=" + page.Itoa64(rec.ID)
	}
	if rec.Retired() {
		v.Retired = fmt.Sprintf("Since %s, by %s: %s", s.Moment(r, rec.RetiredAt), rec.RetiredBy, rec.RetiredWhy)
	}
	if open != describeForm {
		described := page.EmptyForm()
		runs.Fill(described, map[string]string{"note": rec.Note, "usual_rate": rateInput(rec.UsualRateHz)})
		v.Describe = described.View()
	}
	if open != typedForm {
		f.Values.Set("made_on", s.Today(r).Format(time.DateOnly))
	}
	for _, c := range record.Calibrations {
		v.Calibrations = append(v.Calibrations, s.calibrationView(r, rec, c, f))
	}
	for _, e := range record.History {
		v.History = append(v.History, recorderEventView{At: s.Moment(r, e.At), By: e.By, Words: e.Words})
	}
	return v
}

// clockTerms say what readings taken today are given.
func (s *Room) clockTerms(r *http.Request, rec recorder.Recorder) []view.TermView {
	clock := rec.Clock(s.Now())
	now := metrology.Value{Value: clock.PPM, StdUncertainty: clock.StdPPM, Unit: "ppm"}
	perDay := metrology.Value{Value: -clock.PPM * timing.SPerDayPerPPM,
		StdUncertainty: clock.StdPPM * timing.SPerDayPerPPM, Unit: timing.UnitSPerDay}
	terms := []view.TermView{
		view.Term("Runs fast by", now.FormatSigned()),
		view.Term("Uncorrected, a watch would seem to gain", perDay.FormatSigned()),
	}
	if clock == acoustic.UncalibratedClock() {
		terms = []view.TermView{view.Term("Runs fast by", "not known; taken as 0, right to within ±50 ppm (rectangular)"),
			view.Term("In every rate", fmt.Sprintf("±%.2g s/d", acoustic.UncalibratedClockPPM*timing.SPerDayPerPPM))}
	}
	if c := rec.Calibration; c != nil {
		terms = append(terms, view.Term("Calibrated", s.Day(r, page.Civil(c.At))+", "+c.Method.Words()),
			view.Term("Due again by", s.Day(r, c.RedoBy)))
	}
	return append(terms, view.Term("Usual rate", rateText(rec.UsualRateHz)+" samples a second"))
}

func (s *Room) calibrationView(r *http.Request, rec recorder.Recorder, c recorder.Calibration,
	f *page.Form) calibrationView {
	v := calibrationView{ID: c.ID, Figure: c.Value().FormatSigned(), State: stateView{Words: "superseded"}}
	switch {
	case !c.RetiredAt.IsZero():
		v.State = stateView{Words: "retired"}
	case rec.Calibration != nil && rec.Calibration.ID == c.ID && rec.Standing(s.Today(r)) == recorder.Overdue:
		v.State = stateView{Mark: view.Undecided, Words: "overdue"}
	case rec.Calibration != nil && rec.Calibration.ID == c.ID:
		v.State = stateView{Mark: view.Pass, Words: "in force"}
	}
	v.Terms = append(v.Terms, view.Term("Made", s.Day(r, page.Civil(c.At))+", "+c.Method.Words()),
		view.Term("Kept", s.Moment(r, c.KeptAt)+", "+c.By))
	if c.Asked != "" {
		v.Terms = append(v.Terms, view.Term("Asked and confirmed", c.Asked))
	}
	if c.Note != "" {
		v.Terms = append(v.Terms, view.Term("Source", c.Note))
	}
	if c.Method == recorder.ByQuartzWatch || c.ReferenceU95 != 0 {
		gains := metrology.Value{Value: c.ReferenceRate, StdUncertainty: c.ReferenceU95 / metrology.CoverageFactor,
			Unit: timing.UnitSPerDay}
		v.Terms = append(v.Terms, view.Term("The reference gains", gains.FormatSigned()))
	}
	if c.Used > 0 {
		v.Terms = append(v.Terms, view.Term("Found from", evidenceWords(c)))
	}
	v.Terms = append(v.Terms, view.Term("Due again by", s.Day(r, c.RedoBy)))
	if !c.RetiredAt.IsZero() {
		v.Terms = append(v.Terms, view.Term("Retired", fmt.Sprintf("%s, %s: %s", s.Moment(r, c.RetiredAt), c.RetiredBy,
			c.RetiredWhy)))
	}
	v.MayRetire = page.May(r, staff.ManageRecorders) && c.RetiredAt.IsZero()
	v.RetireProblems = f.Problems[calibrationWhy(c.ID)] != ""
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
		parts = append(parts, fmt.Sprintf("%s scatters by %s µs", one, strconv.FormatFloat(c.ScatterUs, 'f',
			max(0, 1-digits(c.ScatterUs)), 64)))
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
func serverClock() serverClockView {
	v := serverClockView{SteadyMs: figure.Plain(recorder.ServerSteadyMs),
		LeastMinutes: figure.Plain(recorder.LeastSession.Minutes())}
	for _, d := range []struct {
		words  string
		length time.Duration
	}{{"10 minutes", 10 * time.Minute}, {"1 hour", time.Hour}, {"8 hours, overnight", 8 * time.Hour}} {
		v.Worth = append(v.Worth, d.words+": about "+recorder.PlusMinus(recorder.ServerStdPPM(d.length)))
	}
	return v
}
