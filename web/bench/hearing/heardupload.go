package hearing

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"mime/multipart"
	"net/http"
	"net/url"
	"time"

	"github.com/go-chi/chi/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/acoustic"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/heard"
	"ledgerwheel/domain/recording"
	"ledgerwheel/domain/text"
	"ledgerwheel/store"
	"ledgerwheel/store/files"
	"ledgerwheel/web/page"
	"ledgerwheel/web/sheet"
)

// Limits of one recording that is sent in.
const (
	maxSoundMB      = 512
	maxSoundFields  = 64 << 10 // bytes of all fields that are no files
	maxSoundMinutes = 20       // for a slow line
	// briefly is how long the sender waits for the figures; a longer recording has a page that looks again.
	briefly = 8 * time.Second
)

// soundSent is a form with a recording. Its sound is in the uploads.
type soundSent struct {
	form  *page.Form
	name  string
	sound *heard.Sound // nil when none came
	read  int          // bytes of the fields
}

// receiveSound reads a form with one recording, which goes to the disk as it comes. A sound that is too long becomes
// the problem of the field "sound".
func (s *Room) receiveSound(w http.ResponseWriter, r *http.Request) (*soundSent, error) {
	_ = http.NewResponseController(w).SetReadDeadline(time.Now().Add(maxSoundMinutes * time.Minute))
	r.Body = http.MaxBytesReader(w, r.Body, maxSoundMB<<20+maxSoundFields)
	parts, err := r.MultipartReader()
	if err != nil {
		return nil, page.BadRequest(err)
	}
	sent := &soundSent{form: &page.Form{Values: url.Values{}, Problems: map[string]string{}}}
	for {
		part, err := parts.NextPart()
		if errors.Is(err, io.EOF) {
			return sent, s.onceOnly(r, sent)
		}
		if err == nil {
			err = s.takePart(sent, part)
		}
		var tooLarge *http.MaxBytesError
		switch {
		case errors.Is(err, files.ErrSoundTooLong), errors.As(err, &tooLarge):
			sent.form.Fail("sound", fmt.Sprintf("This recording is too large: at most %d MB. Send a shorter piece of it, or "+
				"FLAC, which is smaller.", maxSoundMB))
			return sent, nil
		case err != nil:
			s.forget(sent.sound)
			return nil, page.UploadError(err)
		}
	}
}

// onceOnly has a recording that is sent again by mistake answered as it was the first time.
func (s *Room) onceOnly(r *http.Request, sent *soundSent) error {
	sum := ""
	if sent.sound != nil {
		sum = sent.sound.SHA256
	}
	err := page.Sent(r, sent.form.Values, sum)
	if err != nil {
		s.forget(sent.sound)
	}
	return err
}

func (s *Room) takePart(sent *soundSent, part *multipart.Part) (err error) {
	switch {
	case part.FormName() == "sound" && part.FileName() != "" && sent.sound == nil:
		sent.name = page.Shortened(text.Line(part.FileName()), 120)
		sent.sound, err = s.Uploads.ReceiveSound(part, maxSoundMB<<20)
		return err
	case part.FileName() != "" || part.FormName() == "sound":
		return nil // a browser sends an empty file when none was chosen; a second one is not asked for
	}
	value, err := io.ReadAll(io.LimitReader(part, int64(maxSoundFields-sent.read)+1))
	if err != nil {
		return err
	}
	if sent.read += len(value); sent.read > maxSoundFields {
		return errors.New("the fields beside the recording are too long")
	}
	sent.form.Values.Add(part.FormName(), string(value))
	return nil
}

// forget removes a sound that no row came to name. The same sound may be named by another recording, so it stays where
// the record knows it.
func (s *Room) forget(sound *heard.Sound) {
	if sound == nil {
		return
	}
	ctx, cancel := context.WithTimeout(context.Background(), 10*time.Second)
	defer cancel()
	named, err := s.store.SoundNamed(ctx, sound.Sum())
	if err == nil && !named {
		err = s.Uploads.RemoveSound(sound.Sum())
	}
	if err != nil {
		s.Log.Warn("a sound that was refused stays on the disk", "sum", sound.SHA256, "error", err)
	}
}

// uploadSound takes a recording in, listens to it, and leads to what was heard.
func (s *Room) uploadSound(w http.ResponseWriter, r *http.Request) error {
	number, err := s.uploadFor(r)
	if err != nil {
		return err
	}
	s.clearRecordings(r.Context())
	sent, err := s.receiveSound(w, r)
	if err != nil {
		return err
	}
	id, err := s.hearSent(r, number, sent)
	if err != nil {
		s.forget(sent.sound)
		return err
	}
	if !sent.form.OK() {
		s.forget(sent.sound)
		if number != nil {
			return s.renderDocketUpload(w, r, http.StatusUnprocessableEntity, sent.form)
		}
		return s.renderUpload(w, r, http.StatusUnprocessableEntity, sent.form)
	}
	return page.SeeOther(w, r, recordingURL(chi.URLParam(r, "number"), id, ""))
}

// uploadFor is the docket that the address names, nil for none. One that is not there is refused before any sound is
// read.
func (s *Room) uploadFor(r *http.Request) (*docket.Number, error) {
	if chi.URLParam(r, "number") == "" {
		return nil, nil
	}
	n, err := page.PathNumber(r)
	if err != nil {
		return nil, err
	}
	_, err = s.store.Head(r.Context(), n)
	return &n, err
}

// hearSent checks what was sent and has it listened to. What cannot be read, and what is found within a moment to hold
// no watch, becomes a problem of the form and leaves no trace.
func (s *Room) hearSent(r *http.Request, number *docket.Number, sent *soundSent) (int64, error) {
	f := sent.form
	asked, problems := heard.ParseAsked(f.Text)
	f.FailAll(problems)
	asked.ByBrowser = f.Checked("by_browser")
	if err := s.nameRecorder(r.Context(), f, &asked); err != nil {
		return 0, err
	}
	if sent.sound == nil {
		f.Fail("sound", "Choose a recording.")
	}
	if !f.OK() {
		return 0, nil
	}
	info, err := s.lookInto(sent.sound)
	if errors.Is(err, recording.ErrUnreadable) {
		f.Fail("sound", text.Sentence(err.Error()))
		return 0, nil
	}
	if err != nil {
		return 0, err
	}
	if info.Lossy() { // only WAV and FLAC are kept; the page's script makes WAV of the others
		f.Fail("sound", "WAV and FLAC can be sent as they are. For "+info.Format+" and other files the browser's scripts must be "+
			"on: it decodes them here and sends WAV.")
		return 0, nil
	}
	if _, err := acoustic.NewListener(info.RateHz, asked.Settings()); err != nil {
		f.Fail("sound", text.Sentence(err.Error()))
		return 0, nil
	}
	asked.SampleRateHz, sent.sound.Format = info.RateHz, info.Format
	if info.Frames > 0 {
		asked.LengthS = float64(info.Frames) / info.RateHz
	}
	if !s.hearing.room() {
		f.Fail("sound", "Too many recordings are being listened to just now. Send it again in a minute.")
		return 0, nil
	}
	id, err := s.store.AddRecording(r.Context(), store.NewRecording{Number: number, By: page.Actor(r), At: s.Now(),
		FileName: sent.name,
		Asked:    asked, Sound: *sent.sound})
	switch {
	case errors.Is(err, domain.ErrClosed):
		f.Fail("sound", sheet.ClosedSentence)
		return 0, nil
	case err != nil && f.Takes(err):
		return 0, nil
	case err != nil:
		return 0, err
	}
	return id, s.hearBriefly(r.Context(), f, id, asked, *sent.sound)
}

// hearBriefly begins to listen and waits a moment for the end of it.
func (s *Room) hearBriefly(ctx context.Context, f *page.Form, id int64, asked heard.Asked, sound heard.Sound) error {
	job := s.hear(id, asked, sound)
	timer := time.NewTimer(s.hearing.wait)
	defer timer.Stop()
	select {
	case <-job.done:
	case <-timer.C:
		return nil
	case <-ctx.Done():
		return nil // it goes on without its sender, who finds it in the list
	}
	if job.refused == "" {
		return nil
	}
	f.Fail("sound", job.refused)
	if _, err := s.store.DiscardRecording(ctx, id); err != nil {
		return err
	}
	return nil
}

// nameRecorder finds the recorder that was chosen and its clock as it is known today.
func (s *Room) nameRecorder(ctx context.Context, f *page.Form, asked *heard.Asked) error {
	id := f.ID("recorder")
	asked.Recorder = heard.UnlistedRecorder
	clock := acoustic.UncalibratedClock()
	if id != 0 {
		rec, err := s.store.Recorder(ctx, id)
		switch {
		case errors.Is(err, domain.ErrNotFound):
			f.Fail("recorder", "Choose one of those offered.")
		case err != nil:
			return err
		}
		asked.RecorderID, asked.Recorder, clock = id, rec.Name, rec.Clock(s.Now())
	}
	asked.ClockPPM, asked.ClockStdPPM = clock.PPM, clock.StdPPM
	return nil
}

// lookInto reads what a recording says of itself.
func (s *Room) lookInto(sound *heard.Sound) (recording.Info, error) {
	file, err := s.Uploads.OpenSound(sound.Sum())
	if err != nil {
		return recording.Info{}, err
	}
	defer file.Close()
	rd, err := recording.Open(file)
	if err != nil {
		return recording.Info{}, err
	}
	return rd.Info(), nil
}

// clearRecordings clears away what has been kept long enough.
func (s *Room) clearRecordings(ctx context.Context) {
	unnamed, err := s.store.ExpireRecordings(ctx, s.Now())
	for _, sum := range unnamed {
		if gone := s.Uploads.RemoveSound(sum); gone != nil && !errors.Is(gone, fs.ErrNotExist) {
			err = gone
		}
	}
	if err != nil {
		s.Log.Warn("old recordings are not cleared away", "error", err)
	}
}
