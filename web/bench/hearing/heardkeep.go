package hearing

import (
	"errors"
	"net/http"
	"strings"
	"time"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/heard"
	"ledgerwheel/domain/text"
	"ledgerwheel/domain/timing"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/runs"
	"ledgerwheel/web/sheet"
	"ledgerwheel/web/view"
)

// keepRecording keeps what was heard as a reading in the chosen cell of the chosen run.
func (s *Room) keepRecording(w http.ResponseWriter, r *http.Request) error {
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
	run, why := subject{sheet: &record.RegulationSheet}.chooseRun(r, f.Text("run"))
	if why != "" {
		f.Fail("run", why)
	}
	position, err := timing.ParsePosition(f.Text("position"))
	if err != nil {
		f.Fail("position", "Say in which position the watch lay.")
	}
	hours, problem := timing.ParseHours(f.Text("hours"))
	if problem != "" {
		f.Fail("hours", problem)
	}
	facts := s.answered(r, f, "right_watch", statedOf(record.Head.Calibre), rec.Facts)
	if !f.OK() {
		return s.renderDocketRecording(w, r, http.StatusUnprocessableEntity, record, heardForms{keep: f})
	}
	c := store.Change{Number: record.Head.Docket.Number, By: page.Actor(r), At: s.Now()}
	in := store.HeardReading{RunID: run.id, Kind: run.run.Kind, RecordingID: rec.ID, Facts: facts, Result: &rec.Result,
		Reading: rec.Reading(position, hours, c.By.Name, rec.SentAt)}
	if f.Checked("keep_sound") {
		in.Facts.Sound = &rec.Sound
	}
	runID, err := s.store.KeepHeard(r.Context(), c, in)
	return s.Settle(w, r, sheet.Ending{Form: f, Change: c, Err: err, Closed: "run",
		Said:  "The reading was kept: " + string(position) + ", " + timing.StateWords(hours) + ".",
		To:    runs.URL(c.Number.String(), runID),
		Again: func(status int) error { return s.renderDocketRecording(w, r, status, record, heardForms{keep: f}) }})
}

func (s *Room) correctRecording(w http.ResponseWriter, r *http.Request) error {
	f, err := page.ReadForm(w, r)
	if err != nil {
		return err
	}
	rec, err := s.recordingOf(r)
	if err != nil {
		return err
	}
	if ok, err := s.correctInstants(r, f, rec); err != nil || ok {
		return s.afterCorrecting(w, r, "", rec, err)
	}
	return s.renderRecording(w, r, http.StatusUnprocessableEntity, rec, heardForms{instants: f})
}

func (s *Room) correctDocketRecording(w http.ResponseWriter, r *http.Request) error {
	f, err := page.ReadForm(w, r)
	if err != nil {
		return err
	}
	sheet, err := s.docketRecordingOf(r)
	if err != nil {
		return err
	}
	if ok, err := s.correctInstants(r, f, sheet.Recording); err != nil || ok {
		return s.afterCorrecting(w, r, sheet.Head.Docket.Number.String(), sheet.Recording, err)
	}
	return s.renderDocketRecording(w, r, http.StatusUnprocessableEntity, sheet, heardForms{instants: f})
}

func (s *Room) afterCorrecting(w http.ResponseWriter, r *http.Request, number string, rec store.Recording,
	err error) error {
	if err != nil {
		return err
	}
	return page.SeeOther(w, r, recordingURL(number, rec.ID, "")+"#instants")
}

// correctInstants works the figures out anew; ok is false when the form cannot be read.
func (s *Room) correctInstants(r *http.Request, f *page.Form, rec store.Recording) (ok bool, err error) {
	if rec.State != store.RecordingHeard {
		return false, domain.ErrNotFound
	}
	set := heard.InstantsOf(rec.Result)
	if !f.Checked("as_found") {
		typed, problems := heard.ParseInstants(f.Text)
		if f.FailAll(problems); !f.OK() {
			return false, nil
		}
		set = typed
	}
	_, facts := heard.Correct(rec.Result, rec.Asked.Source(), set, page.Actor(r).Name, s.Now().UTC().Truncate(time.Second))
	return true, s.store.CorrectRecording(r.Context(), rec.ID, facts)
}

// takeRecording has a recording belong to a docket, where it can be kept as a reading.
func (s *Room) takeRecording(w http.ResponseWriter, r *http.Request) error {
	f, err := page.ReadForm(w, r)
	if err != nil {
		return err
	}
	rec, err := s.recordingOf(r)
	if err != nil {
		return err
	}
	n, err := docket.ParseNumber(strings.TrimSpace(f.Text("docket")))
	if err != nil {
		f.Fail("docket", text.Sentence(err.Error()))
	} else if err = s.store.TakeRecording(r.Context(), rec.ID, n); errors.Is(err, domain.ErrNotFound) {
		f.Fail("docket", "There is no docket of this number.")
	} else if err != nil {
		return err
	}
	if !f.OK() {
		return s.renderRecording(w, r, http.StatusUnprocessableEntity, rec, heardForms{take: f})
	}
	return page.SeeOther(w, r, recordingURL(n.String(), rec.ID, ""))
}

func (s *Room) discardRecording(w http.ResponseWriter, r *http.Request) error {
	rec, err := s.recordingOf(r)
	if err != nil {
		return err
	}
	return s.discard(w, r, rec, uploadURL(""))
}

func (s *Room) discardDocketRecording(w http.ResponseWriter, r *http.Request) error {
	sheet, err := s.docketRecordingOf(r)
	if err != nil {
		return err
	}
	return s.discard(w, r, sheet.Recording, view.DocketURL(sheet.Head.Docket.Number.String(), "regulation"))
}

func (s *Room) discard(w http.ResponseWriter, r *http.Request, rec store.Recording, then string) error {
	f, err := page.ReadForm(w, r)
	if err != nil {
		return err
	}
	sure, err := s.Sure(w, r, f, view.SureView{Title: "Throw this recording away?", Button: "Throw it away",
		Text: "The sound and what was heard in it are deleted for good."})
	if !sure {
		return err
	}
	unnamed, err := s.store.DiscardRecording(r.Context(), rec.ID)
	if err != nil {
		return err
	}
	for _, sum := range unnamed {
		if err := s.Uploads.RemoveSound(sum); err != nil {
			return err
		}
	}
	s.Say(r.Context(), "The recording was thrown away.")
	return page.SeeOther(w, r, then)
}
