package hearing

import (
	"fmt"
	"math"
	"net/http"
	"strconv"

	"github.com/a-h/templ"

	"ledgerwheel/domain/acoustic"
	"ledgerwheel/domain/figure"
	"ledgerwheel/domain/heard"
	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/timing"
	"ledgerwheel/store"
	"ledgerwheel/web/chart"
	"ledgerwheel/web/page"
	"ledgerwheel/web/runs"
	"ledgerwheel/web/view"
)

// heardForms are the forms of a recording's page as they were posted; nil for one that was not.
type heardForms struct {
	keep, instants, take, down *page.Form
	escapeTeeth                int // of the docket's calibre, 0 when not known
}

func (s *Room) showRecording(w http.ResponseWriter, r *http.Request) error {
	rec, err := s.recordingOf(r)
	if err != nil {
		return err
	}
	return s.renderRecording(w, r, http.StatusOK, rec, heardForms{})
}

func (s *Room) recordingOf(r *http.Request) (store.Recording, error) {
	id, err := page.PathID(r, "recording")
	if err != nil {
		return store.Recording{}, err
	}
	return s.store.Recording(r.Context(), id)
}

func (s *Room) renderRecording(w http.ResponseWriter, r *http.Request, status int, rec store.Recording,
	forms heardForms) error {
	p := s.Page(r, "What was heard")
	v := s.heardView(r, rec, "", forms)
	if v.State == heardToFigures {
		take := forms.take
		if take == nil {
			take = page.EmptyForm()
		}
		typed := take.View()
		v.Take, v.TakeURL = &typed, recordingURL("", rec.ID, "docket")
	}
	s.lookAgain(w, &p, v)
	return page.Render(w, r, status, heardPage(p, v))
}

// lookAgain has the page of a recording that is being listened to come back by itself, with or without scripts.
func (s *Room) lookAgain(w http.ResponseWriter, p *view.Page, v heardView) {
	if v.State == heardListening {
		w.Header().Set("Refresh", "3")
	}
	if v.Correct != nil {
		p.Scripts = append(p.Scripts, "js/instants.js")
	}
}

func (s *Room) docketRecordingOf(r *http.Request) (store.RecordingSheet, error) {
	n, err := page.PathNumber(r)
	if err != nil {
		return store.RecordingSheet{}, err
	}
	id, err := page.PathID(r, "heard")
	if err != nil {
		return store.RecordingSheet{}, err
	}
	return s.store.RecordingSheet(r.Context(), n, id)
}

func (s *Room) showDocketRecording(w http.ResponseWriter, r *http.Request) error {
	sheet, err := s.docketRecordingOf(r)
	if err != nil {
		return err
	}
	return s.renderDocketRecording(w, r, http.StatusOK, sheet, heardForms{})
}

func (s *Room) renderDocketRecording(w http.ResponseWriter, r *http.Request, status int, sheet store.RecordingSheet,
	forms heardForms) error {
	p, d := s.DocketPage(r, sheet.Head, "regulation")
	p.Title = "What was heard of " + d.Number
	rec := sheet.Recording
	forms.escapeTeeth = sheet.Head.Calibre.EscapeTeeth()
	v := s.heardView(r, rec, d.Number, forms)
	if v.State == heardToFigures {
		keep, run := s.keepForm(r, sheet, forms.keep)
		v.Keep = &keep
		v.RunDown = runDownForm(sheet, keep, forms.down)
		v.Verdict = s.heardVerdict(r, sheet, run, forms.keep)
		if rec.KeptRunID != 0 {
			v.Kept = &view.LinkView{Text: "see the run", Href: view.DocketURL(d.Number, "regulation") + "?run=" +
				page.Itoa64(rec.KeptRunID) + "#run"}
		}
	}
	s.lookAgain(w, &p, v)
	return page.Render(w, r, status, docketHeard(p, d, v))
}

// heardView is the part of the page that is the same with and without a docket.
func (s *Room) heardView(r *http.Request, rec store.Recording, number string, forms heardForms) heardView {
	v := heardView{Number: number, Name: rec.FileName, State: heardToFigures,
		Again:   view.LinkView{Text: "Send a recording again", Href: uploadURL(number), Kind: view.Chief},
		Discard: recordingURL(number, rec.ID, "discard"),
		Expires: "The recording is cleared away on " + s.Moment(r, rec.ExpiresAt) + ". What is kept as a reading stays.",
		Sound:   soundView(rec.Sound, recordingURL(number, rec.ID, "sound"))}
	v.Facts = append([]view.TermView{view.Term("File", rec.FileName),
		view.Term("Sent", s.Moment(r, rec.SentAt)+", "+rec.By)}, askedTerms(rec.Asked)...)
	switch s.standingOf(rec) {
	case store.RecordingListening:
		v.State, v.Done = heardListening, s.hearingWords(rec)
		return v
	case interrupted:
		v.State, v.Reason = heardNothing, "The program ended while it listened to this recording. Send it again."
		return v
	case store.RecordingRefused:
		v.State, v.Reason = heardNothing, rec.Reason
		return v
	}
	result := rec.Facts.Corrected(rec.Result)
	v.Figures = heardFigures(result, rec.Facts.LiftAngleAssumed)
	if reserve, stopped := reserveFigure(result, rec.Asked); stopped {
		v.Figures = append(v.Figures, reserve)
	}
	for _, n := range result.Notes {
		v.Notes = append(v.Notes, n.Text)
	}
	if c := rec.Facts.Correction; c != nil {
		v.Said = fmt.Sprintf("The instants were corrected by %s on %s. %s", c.By, s.Moment(r, c.At), foundWords(*c))
	}
	v.Charts, v.Tables = heardCharts(result, forms.escapeTeeth)
	v.Correct = instantsForm(rec, result, recordingURL(number, rec.ID, "instants"), forms.instants)
	v.Facts = append([]view.TermView{view.Term("File", rec.FileName),
		view.Term("Sent", s.Moment(r, rec.SentAt)+", "+rec.By)}, factsTerms(rec.Facts)...)
	if result.BeatScatterUs > 0 {
		v.Facts = append(v.Facts, view.Term("Scatter of one beat", fmt.Sprintf("%.0f µs (standard deviation about the line)",
			result.BeatScatterUs)))
	}
	return v
}

func plain(x float64) string { return figure.Plain(math.Round(x*100) / 100) }

// foundWords says what the instants as found had given.
func foundWords(c heard.Correction) string {
	amplitude := "no amplitude"
	if c.FoundAmplitudeDeg != nil {
		amplitude = fmt.Sprintf("an amplitude of %.0f°", *c.FoundAmplitudeDeg)
	}
	beatError := "no beat error"
	if c.FoundBeatErrorMs != nil {
		beatError = "a beat error of " + figure.Signed(*c.FoundBeatErrorMs, 2) + " ms"
	}
	return fmt.Sprintf("As found they gave %s and %s.", amplitude, beatError)
}

// askedTerms say what was given with a recording.
func askedTerms(a heard.Asked) []view.TermView {
	beats := "to be found"
	if a.BeatsPerHour > 0 {
		beats = plain(a.BeatsPerHour)
	}
	return []view.TermView{view.Term("Recorder", a.Recorder), view.Term("Beats per hour", beats),
		view.Term("Lift angle", liftText(a.LiftAngleDeg, a.LiftAssumed))}
}

func liftText(deg float64, assumed bool) string {
	if assumed {
		return plain(deg) + "°, assumed"
	}
	return plain(deg) + "°"
}

// factsTerms say what is known of the recording that figures were taken from.
func factsTerms(f heard.Facts) []view.TermView {
	clock := figure.Signed(f.ClockPPM, 2) + " ppm, u = " + figure.Places(f.ClockStdPPM, 2) + " ppm"
	if f.ClockPPM == 0 && f.ClockStdPPM == acoustic.UncalibratedClock().StdPPM {
		clock = "never calibrated: ±50 ppm"
	}
	heardOf := f.BeatsUsed + f.BeatsMissed
	return []view.TermView{view.Term("Recorder", f.Recorder), view.Term("Its clock then", clock),
		view.Term("Beats per hour", plain(f.BeatsPerHour)+", "+statedOrFound(f.BeatsPerHourStated)),
		view.Term("Lift angle", liftText(f.LiftAngleDeg, f.LiftAngleAssumed)),
		view.Term("Beats used", fmt.Sprintf("%d of %d", f.BeatsUsed, heardOf)),
		view.Term("Signal to noise", fmt.Sprintf("%.0f dB", f.SNRdB)),
		view.Term("Length", spanWords(f.Seconds)), view.Term("Sample rate", fmt.Sprintf("%.0f Hz", f.SampleRateHz))}
}

// longRunS is how long a recording must be, and with how many pieces, for its course to be drawn.
const (
	longRunS      = heard.LeastRunDownS
	longRunPieces = 4
)

// tableRows bounds a table that says in figures what a chart shows.
const tableRows = 120

// instantsForm shows the averaged sounds and asks for their instants; typed is nil where nothing was.
func instantsForm(rec store.Recording, result acoustic.Result, action string, typed *page.Form) *instantsFormView {
	f := typed
	if f == nil {
		f = page.EmptyForm()
		for swing, i := range heard.InstantsOf(result) {
			names := heard.InstantFields[swing]
			if i.UnlockingMs != nil {
				f.Values.Set(names.Unlocking, fmt.Sprintf("%.2f", *i.UnlockingMs))
			}
			f.Values.Set(names.Drop, fmt.Sprintf("%.2f", i.DropMs))
		}
	}
	voices := chart.Voices{ID: "voices", Title: "The averaged sound of each swing", Result: result}
	v := &instantsFormView{Form: f.View(), Action: action,
		Drawing: view.Chart(view.ChartView{Caption: voices.Title, TestID: "voices", Drawing: voices})}
	if at, drawn := voices.Frame(); drawn {
		number := func(x float64) string { return strconv.FormatFloat(x, 'f', 3, 64) }
		v.Frame = templ.Attributes{"data-from-x": number(at.FromX), "data-to-x": number(at.ToX),
			"data-low-ms":  number(at.LowMs),
			"data-high-ms": number(at.HighMs), "data-lanes": fmt.Sprintf("%.2f %.2f %.2f %.2f", at.Top[0], at.Bottom[0],
				at.Top[1], at.Bottom[1])}
	}
	if rec.Facts.Correction != nil {
		v.Corrected = rec.Facts.Correction.By
	}
	return v
}

// heardVerdict says how far what was heard decides, in the run and position that the form of keeping names.
func (s *Room) heardVerdict(r *http.Request, sheet store.RecordingSheet, run runChoice,
	typed *page.Form) *heardVerdict {
	b := subject{sheet: &sheet.RegulationSheet}
	limits, found := b.limits()
	position, hours := sheet.Recording.Asked.Position, sheet.Recording.Asked.Hours
	if typed != nil {
		if p, err := timing.ParsePosition(typed.Text("position")); err == nil {
			position = p
		}
		if h, problem := timing.ParseHours(typed.Text("hours")); problem == "" {
			hours = h
		}
	}
	if !found || !position.Valid() {
		return nil
	}
	viewer, _ := page.ViewerOf(r.Context())
	rec := sheet.Recording
	a := heard.Judge(heard.Question{Result: rec.Facts.Corrected(rec.Result), Recorder: rec.Facts.Recorder,
		Clock: rec.Asked.Clock(), Position: position,
		HoursAfterWinding: hours, Run: run.run, Instruments: run.instruments, Limits: limits.Limits,
		Rule: runs.JudgingRule(viewer.Shop)})
	if a.Standing == heard.NothingToJudge {
		return nil
	}
	if clash := statedOf(sheet.Head.Calibre).Clash(rec.Facts); clash != "" {
		return &heardVerdict{Text: "Nothing is judged before that is answered.", Mark: view.Undecided, Word: "is this the right watch?"}
	}
	v := &heardVerdict{Text: a.Text, Mark: view.Undecided, Word: "not decided yet"}
	switch {
	case a.Judgement != nil && a.Judgement.Verdict == metrology.Pass:
		v.Mark, v.Word = view.Pass, ""
	case a.Standing == heard.Enough:
		v.Mark, v.Word = view.Pass, "good enough to decide"
	}
	if a.Judgement != nil && a.Judgement.Verdict == metrology.Fail {
		v.Mark, v.Word = view.Fail, ""
	}
	for _, c := range a.Criteria {
		if c.Verdict == metrology.Fail {
			v.Mark, v.Word = view.Fail, ""
		}
		v.Lines = append(v.Lines, c.Text)
	}
	return v
}

// keepForm asks into which cell the reading goes. It returns the run that is chosen so far as well.
func (s *Room) keepForm(r *http.Request, sheet store.RecordingSheet, typed *page.Form) (keepHeardForm, runChoice) {
	b := subject{sheet: &sheet.RegulationSheet}
	rec := sheet.Recording
	v := keepHeardForm{Action: recordingURL(sheet.Head.Docket.Number.String(), rec.ID, "keep"), Runs: runs.Choices(s.Host, r, *b.sheet),
		Positions: positionOptions(sheet.Head.Watch.CrownAt), Clash: statedOf(sheet.Head.Calibre).Clash(rec.Facts)}
	f := typed
	if f == nil {
		f = page.EmptyForm()
		f.Values.Set("position", string(rec.Asked.Position))
		f.Values.Set("hours", timing.HoursText(rec.Asked.Hours))
		if len(v.Runs) > 0 {
			f.Values.Set("run", v.Runs[0].Value)
		}
	}
	v.Form = f.View()
	if len(v.Runs) == 0 {
		v.None = "No run is taken in the docket’s present stage, so nothing can be kept."
		if !page.May(r, staff.TakeReadings) {
			v.None = "Your role in the shop takes no readings."
		}
		return v, runChoice{run: timing.Run{CrownHour: sheet.Head.Watch.CrownAt}}
	}
	run, _ := b.chooseRun(r, f.Text("run"))
	return v, run
}
