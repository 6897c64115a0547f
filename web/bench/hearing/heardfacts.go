package hearing

import (
	"encoding/hex"
	"fmt"
	"net/http"
	"time"

	"ledgerwheel/domain"
	"ledgerwheel/domain/acoustic"
	"ledgerwheel/domain/figure"
	"ledgerwheel/domain/heard"
	"ledgerwheel/domain/text"
	"ledgerwheel/domain/timing"
	"ledgerwheel/store"
	"ledgerwheel/web/chart"
	"ledgerwheel/web/page"
	"ledgerwheel/web/runs"
	"ledgerwheel/web/sheet"
	"ledgerwheel/web/view"
)

// showHeard shows what was kept of the recording that a reading was taken from.
func (s *Room) showHeard(w http.ResponseWriter, r *http.Request) error {
	n, err := page.PathNumber(r)
	if err != nil {
		return err
	}
	id, err := page.PathID(r, "kept")
	if err != nil {
		return err
	}
	sheet, err := s.store.HeardSheet(r.Context(), n, id)
	if err != nil {
		return err
	}
	p, d := s.DocketPage(r, sheet.Head, "regulation")
	p.Title = "A reading of " + d.Number + " that was heard"
	return page.Render(w, r, http.StatusOK, heardFacts(p, d, s.heardFactsView(r, sheet, d.Number)))
}

func (s *Room) heardFactsView(r *http.Request, record store.HeardSheet, number string) heardFactsView {
	h := record.Heard
	f := h.Facts
	v := heardFactsView{RunHref: view.DocketURL(number, "regulation") + "?run=" + page.Itoa64(h.RunID) + "#run",
		RunText: "To the run",
		Reading: []view.TermView{view.Term("Run", text.Capital(record.Run.Title())),
			view.Term("Position", fmt.Sprintf("%s, %s", h.Position, h.Position.Words(record.Head.Watch.CrownAt))),
			view.Term("State of wind", timing.StateWords(h.Hours))},
		Facts: append([]view.TermView{view.Term("Kept", s.Moment(r, h.KeptAt)+", "+h.KeptBy)}, factsTerms(f)...)}
	if record.Run.Kind == timing.RunDown {
		v.RunHref, v.RunText = runs.RunDownURL(number, h.RunID), "To the run-down"
	}
	rate, amplitude, beatError := f.Figures()
	v.Reading = append(v.Reading, sheet.TypedTerm("Rate", timing.Rate.Format(rate)+" (k = 2, the clock included)"))
	if amplitude != nil {
		v.Reading = append(v.Reading, sheet.TypedTerm("Amplitude", timing.Amplitude.Format(*amplitude)+", for "+
			heard.LiftWords(f.LiftAngleDeg, f.LiftAngleAssumed)))
	}
	if p := f.Piece; p != nil {
		v.Reading = append(v.Reading, view.Term("Piece of the run-down", fmt.Sprintf("%d beats about %s into the "+
			"recording, which began %s h after winding",
			p.Beats, spanWords(p.AtS), timing.HoursText(p.StartHours))))
	} else if beatError != nil {
		v.Reading = append(v.Reading, sheet.TypedTerm("Beat error", beatError.FormatSigned()))
	}
	if !h.Stands {
		v.Standing = "The reading in the grid is another one now: this one was replaced. What was kept of its recording stays."
	}
	for _, n := range f.Notes {
		v.Notes = append(v.Notes, n.Text)
	}
	if a := f.RightWatch; a != nil {
		v.Notes = append(v.Notes, a.Asked+" "+a.By+" said yes, "+s.Moment(r, a.At)+".")
	}
	if c := f.Correction; c != nil {
		v.Corrected = s.correctionTerms(r, *c)
	}
	if h.Result != nil {
		result := f.Corrected(*h.Result)
		v.Charts, v.Tables = heardCharts(result, record.Head.Calibre.EscapeTeeth())
		voices := chart.Voices{ID: "voices", Title: "The averaged sound of each swing", Result: result}
		v.Charts = append(v.Charts, view.ChartView{Caption: voices.Title, TestID: "voices", Drawing: voices})
	}
	if f.Sound != nil {
		sound := soundView(*f.Sound, view.DocketURL(number, "heard/"+page.Itoa64(h.ID)+"/sound"))
		v.Sound = &sound
		v.Facts = append(v.Facts, view.Term("SHA-256 of the sound", f.Sound.SHA256))
	}
	return v
}

func (s *Room) correctionTerms(r *http.Request, c heard.Correction) []view.TermView {
	terms := []view.TermView{view.Term("By", c.By), view.Term("When", s.Moment(r, c.At))}
	for swing := range c.Set {
		name := text.Capital(acoustic.Swing(swing).String())
		terms = append(terms, sheet.TypedTerm(name+", unlocking",
			msWords(c.Found[swing].UnlockingMs)+" as found, "+msWords(c.Set[swing].UnlockingMs)+" as corrected"),
			sheet.TypedTerm(name+", drop", msWords(&c.Found[swing].DropMs)+" as found, "+msWords(&c.Set[swing].DropMs)+" as corrected"))
	}
	return append(terms, sheet.TypedTerm("What it changed", foundWords(c)))
}

func msWords(ms *float64) string {
	if ms == nil {
		return "none"
	}
	return figure.Signed(*ms, 2) + " ms"
}

func (s *Room) sendHeard(w http.ResponseWriter, r *http.Request) error {
	n, err := page.PathNumber(r)
	if err != nil {
		return err
	}
	id, err := page.PathID(r, "kept")
	if err != nil {
		return err
	}
	h, err := s.store.KeptSound(r.Context(), id)
	if err != nil {
		return err
	}
	if h.Number != n {
		return domain.ErrNotFound
	}
	return s.sendSound(w, r, *h.Facts.Sound, fmt.Sprintf("%s %s %s", n, h.Position, timing.StateWords(h.Hours)))
}

func (s *Room) sendRecording(w http.ResponseWriter, r *http.Request) error {
	rec, err := s.recordingOf(r)
	if err != nil {
		return err
	}
	return s.sendSound(w, r, rec.Sound, "recording "+page.Itoa64(rec.ID))
}

func (s *Room) sendDocketRecording(w http.ResponseWriter, r *http.Request) error {
	sheet, err := s.docketRecordingOf(r)
	if err != nil {
		return err
	}
	return s.sendSound(w, r, sheet.Recording.Sound, "recording "+page.Itoa64(sheet.Recording.ID))
}

// sendSound sends a sound that the asker has been found to be entitled to. Like a picture it may be kept by a browser
// that asks again each time. Its name is ours, never that of the file as it was sent.
func (s *Room) sendSound(w http.ResponseWriter, r *http.Request, sound heard.Sound, name string) error {
	sum := sound.Sum()
	file, err := s.Uploads.OpenSound(sum)
	if err != nil {
		return err
	}
	defer file.Close()
	extension := ".wav"
	if sound.Format == "FLAC" {
		extension = ".flac"
	}
	h := w.Header()
	h.Set("Content-Type", soundType(sound.Format))
	h.Set("Cache-Control", "private, no-cache")
	h.Set("ETag", `"`+hex.EncodeToString(sum[:])+`"`)
	h.Set("Content-Disposition", `inline; filename="`+name+extension+`"`)
	http.ServeContent(w, r, "", time.Time{}, file)
	return nil
}
