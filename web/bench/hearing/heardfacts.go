package web

import (
	"encoding/hex"
	"fmt"
	"net/http"
	"time"

	"ledgerwheel/domain"
	"ledgerwheel/domain/acoustic"
	"ledgerwheel/domain/heard"
	"ledgerwheel/domain/text"
	"ledgerwheel/domain/timing"
	"ledgerwheel/store"
	"ledgerwheel/web/chart"
	"ledgerwheel/web/view"
)

// showHeard shows what was kept of the recording that a reading was taken from.
func (s *Server) showHeard(w http.ResponseWriter, r *http.Request) error {
	n, err := pathNumber(r)
	if err != nil {
		return err
	}
	id, err := pathID(r, "kept")
	if err != nil {
		return err
	}
	sheet, err := s.store.HeardSheet(r.Context(), n, id)
	if err != nil {
		return err
	}
	p, d := s.docketPage(r, sheet.Head, "regulation")
	p.Title = "A reading of " + d.Number + " that was heard"
	return render(w, r, http.StatusOK, view.HeardFacts(p, d, s.heardFactsView(r, sheet, d.Number)))
}

func (s *Server) heardFactsView(r *http.Request, sheet store.HeardSheet, number string) view.HeardFactsView {
	h := sheet.Heard
	f := h.Facts
	v := view.HeardFactsView{RunHref: view.DocketURL(number, "regulation") + "?run=" + itoa64(h.RunID) + "#run", RunText: "To the run",
		Reading: []view.TermView{view.Term("Run", text.Capital(sheet.Run.Title())),
			view.Term("Position", fmt.Sprintf("%s, %s", h.Position, h.Position.Words(sheet.Head.Watch.CrownAt))),
			view.Term("State of wind", timing.StateWords(h.Hours))},
		Facts: append([]view.TermView{view.Term("Kept", s.moment(r, h.KeptAt)+", "+h.KeptBy)}, factsTerms(f)...)}
	rate, amplitude, beatError := f.Figures()
	v.Reading = append(v.Reading, view.TypedTerm("Rate", timing.Rate.Format(rate)+" (k = 2, the clock included)"))
	if amplitude != nil {
		v.Reading = append(v.Reading, view.TypedTerm("Amplitude", timing.Amplitude.Format(*amplitude)))
	}
	if p := f.Piece; p != nil {
		v.Reading = append(v.Reading, view.Term("Piece of the run-down", fmt.Sprintf("%d beats about %s into the recording, which began %s h after winding",
			p.Beats, spanWords(p.AtS), timing.HoursText(p.StartHours))))
	} else {
		v.Reading = append(v.Reading, view.TypedTerm("Beat error", beatError.FormatSigned()))
	}
	if !h.Stands {
		v.Standing = "The reading in the grid is another one now: this one was replaced. What was kept of its recording stays."
	}
	for _, n := range f.Notes {
		v.Notes = append(v.Notes, n.Text)
	}
	if c := f.Correction; c != nil {
		v.Corrected = s.correctionTerms(r, *c)
	}
	if h.Result != nil {
		result := f.Corrected(*h.Result)
		v.Charts, v.Tables = heardCharts(result)
		voices := chart.Voices{ID: "voices", Title: "The averaged sound of each swing", Result: result}
		v.Charts = append(v.Charts, view.ChartView{Caption: voices.Title, TestID: "voices", Drawing: voices})
	}
	if f.Sound != nil {
		sound := soundView(*f.Sound, view.DocketURL(number, "heard/"+itoa64(h.ID)+"/sound"))
		v.Sound = &sound
		v.Facts = append(v.Facts, view.Term("SHA-256 of the sound", f.Sound.SHA256))
	}
	return v
}

func (s *Server) correctionTerms(r *http.Request, c heard.Correction) []view.TermView {
	terms := []view.TermView{view.Term("By", c.By), view.Term("When", s.moment(r, c.At))}
	for swing := range c.Set {
		name := text.Capital(acoustic.Swing(swing).String())
		terms = append(terms, view.TypedTerm(name+", unlocking", msWords(c.Found[swing].UnlockingMs)+" as found, "+msWords(c.Set[swing].UnlockingMs)+" as corrected"),
			view.TypedTerm(name+", drop", msWords(&c.Found[swing].DropMs)+" as found, "+msWords(&c.Set[swing].DropMs)+" as corrected"))
	}
	return append(terms, view.TypedTerm("What it changed", foundWords(c)))
}

func msWords(ms *float64) string {
	if ms == nil {
		return "none"
	}
	return text.TrueMinus(fmt.Sprintf("%+.2f ms", *ms))
}

func (s *Server) sendHeard(w http.ResponseWriter, r *http.Request) error {
	n, err := pathNumber(r)
	if err != nil {
		return err
	}
	id, err := pathID(r, "kept")
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

func (s *Server) sendRecording(w http.ResponseWriter, r *http.Request) error {
	rec, err := s.recordingOf(r)
	if err != nil {
		return err
	}
	return s.sendSound(w, r, rec.Sound, "recording "+itoa64(rec.ID))
}

func (s *Server) sendDocketRecording(w http.ResponseWriter, r *http.Request) error {
	sheet, err := s.docketRecordingOf(r)
	if err != nil {
		return err
	}
	return s.sendSound(w, r, sheet.Recording.Sound, "recording "+itoa64(sheet.Recording.ID))
}

// sendSound sends a sound that the asker has been found to be entitled to. Like a picture it may be kept by a browser that
// asks again each time. Its name is ours, never that of the file as it was sent.
func (s *Server) sendSound(w http.ResponseWriter, r *http.Request, sound heard.Sound, name string) error {
	sum := sound.Sum()
	file, err := s.uploads.OpenSound(sum)
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
