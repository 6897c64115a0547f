package recorders

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"hash"
	"io"
	"mime/multipart"
	"net/http"
	"net/url"
	"time"

	"ledgerwheel/domain/figure"
	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/recorder"
	"ledgerwheel/domain/recording"
	"ledgerwheel/domain/text"
	"ledgerwheel/domain/timing"
	"ledgerwheel/web/page"
)

// Limits of a recording of a reference: an hour of two channels at 96 kHz and 24 bits is 2 GB, and ten minutes do.
const (
	maxReferenceBytes  = 2 << 30
	maxReferenceFields = 64 << 10
	referenceTime      = 30 * time.Minute // for a slow line
)

// calibrating bounds how many recordings of references are listened to at once.
var calibrating = make(chan struct{}, 2)

// typedNames are the fields of the form for a calibration found elsewhere, where they differ from the domain's.
var typedNames = map[string]string{"redo_by": "typed_redo_by", "note": "typed_note", "method": ""}

// calibrateTyped keeps a calibration found elsewhere.
func (s *Room) calibrateTyped(w http.ResponseWriter, r *http.Request) error {
	return s.changeRecorder(w, r, typedForm, "The calibration is kept.", func(f *page.Form, id int64) error {
		c := recorder.Calibration{Method: recorder.Typed, At: f.Day("made_on"), RedoBy: f.Day("typed_redo_by"),
			KeptAt: s.Now(), ByID: page.Actor(r).StaffID,
			Note: text.Lines(f.Raw("typed_note")), PPM: s.needed(f, "ppm", "ppm"), StdPPM: s.needed(f, "uncertainty",
				"ppm") / metrology.CoverageFactor}
		if c.RedoBy.IsZero() && !c.At.IsZero() {
			c.RedoBy = recorder.DefaultRedoBy(c.At)
		}
		problems := renamed(c.Problems(), typedNames)
		if c.At.IsZero() && problems["typed_redo_by"] != "" { // follows from the day that is missing
			delete(problems, "typed_redo_by")
		}
		f.FailAll(problems)
		last, err := s.inForce(r, id)
		if err != nil {
			return err
		}
		for field, question := range c.Doubts(last) {
			f.Ask(field, question)
		}
		if !f.OK() {
			return nil
		}
		_, err = s.store.KeepCalibration(r.Context(), id, c.Confirm(f.Confirmed(), page.Actor(r).Name))
		return underNames(err, typedNames)
	})
}

// inForce is the calibration that counts now; nil for none.
func (s *Room) inForce(r *http.Request, id int64) (*recorder.Calibration, error) {
	rec, err := s.store.Recorder(r.Context(), id)
	return rec.Calibration, err
}

// needed reads a number that may not be left out.
func (s *Room) needed(f *page.Form, name string, units ...string) float64 {
	x := f.Decimal(name, units...)
	if x == nil {
		f.Fail(name, "Give a number such as 0.5.")
		return 0
	}
	return *x
}

// calibrateBySound finds a recorder's clock from a recording of a reference and keeps what it found in the same step,
// so that no figure passes through the browser on its way into the record.
func (s *Room) calibrateBySound(w http.ResponseWriter, r *http.Request) error {
	id, err := page.PathID(r, "id")
	if err != nil {
		return err
	}
	rec, err := s.store.Recorder(r.Context(), id)
	if err != nil {
		return err
	}
	in, err := receiveReference(w, r)
	if err != nil {
		return err
	}
	f := in.form
	method, ref := readReference(f)
	if in.why != "" {
		f.Fail("sound", in.why)
	}
	var kept recorder.Calibration
	if f.OK() {
		kept, err = in.calibration(method, ref, s.Now())
		if err != nil {
			f.Fail("sound", text.Sentence(err.Error()))
		}
	}
	if f.OK() {
		// The figure came from the sound: the tick answers for it as it was found, and the sound is sent once more.
		if question := kept.Doubts(rec.Calibration)["ppm"]; question != "" {
			f.AskOf("sound", question+" If it is so, tick it and choose the recording again.",
				figure.Signed(kept.PPM, 1))
			kept = kept.Confirm(map[string]string{"ppm": question}, page.Actor(r).Name)
		}
	}
	if f.OK() {
		kept.ByID = page.Actor(r).StaffID
		_, err = s.store.KeepCalibration(r.Context(), id, kept)
		if err = underNames(err, map[string]string{"uncertainty": "reference_u95", "ppm": "sound"}); err != nil &&
			!f.Takes(err) {
			return err
		}
	}
	if !f.OK() {
		return s.renderRecorder(w, r, http.StatusUnprocessableEntity, f, soundForm)
	}
	s.Say(r.Context(), fmt.Sprintf("%s is calibrated: it runs fast by %s (k = 2), from %d pulses.", rec.Name,
		kept.Value().FormatSigned(), kept.Used))
	return page.SeeOther(w, r, recorderPath(id)+"#calibrations")
}

// readReference reads what was recorded.
func readReference(f *page.Form) (recorder.Method, recorder.Reference) {
	var ref recorder.Reference
	method := recorder.Method(f.Text("reference"))
	rate, u95 := f.Decimal("reference_rate", timing.UnitSPerDay), f.Decimal("reference_u95", timing.UnitSPerDay)
	switch method {
	case recorder.ByPulses:
		if rate != nil && *rate != 0 {
			f.Fail("reference_rate", "True pulses gain nothing; leave this empty, or say that it is a watch.")
		}
		ref.U95SPerDay = page.OrZero(u95)
	case recorder.ByQuartzWatch:
		if rate == nil {
			f.Fail("reference_rate", "Say what the watch gains in a day.")
		}
		if u95 == nil || *u95 == 0 {
			f.Fail("reference_u95", "Say how well that is known: no watch’s rate is known exactly.")
		}
		ref = recorder.Reference{RateSPerDay: page.OrZero(rate), U95SPerDay: page.OrZero(u95)}
	default:
		f.Fail("reference", "Say what was recorded.")
	}
	f.FailAll(ref.Problems())
	return method, ref
}

// reference is the form with a recording of a reference, listened to as it came in.
type reference struct {
	form   *page.Form
	fields int // bytes
	heard  bool
	train  recorder.Train
	rateHz float64
	why    string    // why no pulses were found, for people
	sum    hash.Hash // of what was read of the recording, by which two are told to be the same
}

// receiveReference reads the form; of the recording only the pulses are kept.
func receiveReference(w http.ResponseWriter, r *http.Request) (*reference, error) {
	// A server's usual deadlines are set for forms; one that knows none keeps none.
	control := http.NewResponseController(w)
	_ = control.SetReadDeadline(time.Now().Add(referenceTime))
	_ = control.SetWriteDeadline(time.Now().Add(referenceTime + time.Minute))
	r.Body = http.MaxBytesReader(w, r.Body, maxReferenceBytes+maxReferenceFields)
	parts, err := r.MultipartReader()
	if err != nil {
		return nil, page.BadRequest(err)
	}
	in := &reference{form: &page.Form{Values: url.Values{}, Problems: map[string]string{}}, why: "Choose a recording.", sum: sha256.New()}
	for {
		part, err := parts.NextPart()
		if errors.Is(err, io.EOF) {
			return in, page.Sent(r, in.form.Values, hex.EncodeToString(in.sum.Sum(nil)))
		}
		if err == nil {
			err = in.take(r.Context(), part)
		}
		if err != nil {
			return nil, page.UploadError(err)
		}
	}
}

func (in *reference) take(ctx context.Context, part *multipart.Part) error {
	if part.FormName() == "sound" {
		if part.FileName() == "" || in.heard { // a browser sends an empty file when none was chosen
			return nil
		}
		in.heard = true
		return in.listen(ctx, part)
	}
	value, err := io.ReadAll(io.LimitReader(part, int64(maxReferenceFields-in.fields)+1))
	if err != nil {
		return err
	}
	if in.fields += len(value); in.fields > maxReferenceFields {
		return errors.New("the fields beside the recording are too long")
	}
	in.form.Values.Add(part.FormName(), string(value))
	return nil
}

// listen finds the pulses. What is wrong with the recording becomes in.why; the error is that of the connection.
func (in *reference) listen(ctx context.Context, sound io.Reader) error {
	select {
	case calibrating <- struct{}{}:
		defer func() { <-calibrating }()
	case <-ctx.Done():
		return ctx.Err()
	}
	var err error
	in.train, in.rateHz, err = pulsesIn(ctx, io.TeeReader(sound, in.sum))
	var tooLarge *http.MaxBytesError
	switch {
	case err == nil:
		in.why = ""
	case errors.As(err, &tooLarge), ctx.Err() != nil, errors.Is(err, io.ErrUnexpectedEOF) &&
		!errors.Is(err, recording.ErrUnreadable):
		return err
	default:
		in.why = text.Sentence(err.Error())
	}
	return nil
}

func pulsesIn(ctx context.Context, sound io.Reader) (recorder.Train, float64, error) {
	file, err := recording.Open(sound)
	if err != nil {
		return recorder.Train{}, 0, err
	}
	info := file.Info()
	train, err := recorder.HearPulses(ctx, file, info.Channels, info.RateHz)
	return train, info.RateHz, err
}

// calibration is what the pulses say of the recorder's clock.
func (in *reference) calibration(m recorder.Method, ref recorder.Reference, at time.Time) (recorder.Calibration,
	error) {
	e, err := recorder.FromPulses(in.train.TimesS, ref)
	if err != nil {
		return recorder.Calibration{}, err
	}
	c := e.Calibration(m, in.rateHz, at)
	c.KeptAt, c.ReferenceRate, c.ReferenceU95 = at, ref.RateSPerDay, ref.U95SPerDay
	return c, nil
}
