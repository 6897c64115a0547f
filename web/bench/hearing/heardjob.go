package hearing

import (
	"context"
	"errors"
	"fmt"
	"io"
	"runtime/debug"
	"sync"
	"sync/atomic"
	"time"

	"ledgerwheel/domain/acoustic"
	"ledgerwheel/domain/heard"
	"ledgerwheel/domain/recording"
	"ledgerwheel/domain/text"
	"ledgerwheel/store"
	"ledgerwheel/store/files"
)

// Bounds of listening to recordings that were sent in.
const (
	maxHearing  = 12               // listened to or waiting for their turn
	longestHear = 60 * time.Minute // of one: days of sound take minutes
)

// listener hears a recording to its end, as recording.Listen does.
type listener func(context.Context, *recording.Reader, acoustic.Settings, func(frames int64)) (acoustic.Result, error)

// hearing is the recordings that this process is listening to, one after another. What the process was listening to
// when it ended is lost; its page says so.
type hearing struct {
	listen listener
	wait   time.Duration // that a sender waits for the figures
	turn   chan struct{}

	mu      sync.Mutex
	jobs    map[int64]*hearingJob
	running int
}

func newHearing() *hearing {
	return &hearing{listen: recording.Listen, wait: briefly, turn: make(chan struct{}, 1), jobs: map[int64]*hearingJob{}}
}

// hearingJob is one recording being listened to.
type hearingJob struct {
	heardS  atomic.Int64  // seconds of the sound so far
	done    chan struct{} // closed at the end
	refused string        // why no figures were found, once done
}

func (h *hearing) room() bool {
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.running < maxHearing
}

func (h *hearing) job(id int64) *hearingJob {
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.jobs[id]
}

func (h *hearing) begin(id int64, job *hearingJob) {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.jobs[id] = job
	h.running++
}

// end keeps the job for a while: whoever read just before it ended that it was being listened to must not be told that
// it was interrupted.
func (h *hearing) end(id int64, job *hearingJob) {
	close(job.done)
	h.mu.Lock()
	defer h.mu.Unlock()
	h.running--
	time.AfterFunc(time.Minute, func() {
		h.mu.Lock()
		defer h.mu.Unlock()
		delete(h.jobs, id)
	})
}

// hear begins to listen to a recording and returns at once.
func (s *Room) hear(id int64, asked heard.Asked, sound heard.Sound) *hearingJob {
	job := &hearingJob{done: make(chan struct{})}
	h := s.hearing
	h.begin(id, job)
	go func() {
		defer h.end(id, job)
		h.turn <- struct{}{}
		defer func() { <-h.turn }()
		ctx, cancel := context.WithTimeout(context.Background(), longestHear)
		defer cancel()
		s.finishHearing(ctx, h.listen, id, job, asked, sound)
	}()
	return job
}

// finishHearing listens to the end and keeps what was heard, or why nothing was.
func (s *Room) finishHearing(ctx context.Context, listen listener, id int64, job *hearingJob, asked heard.Asked,
	sound heard.Sound) {
	result, err := s.hearOut(ctx, listen, job, asked, sound)
	if err == nil {
		err = s.store.RecordingHeardAs(ctx, id, result, heard.FactsOf(result, asked.Source()))
	}
	if err == nil {
		return
	}
	why, ours := whyNotHeard(err)
	if ours {
		s.Log.Error("listening to a recording", "recording", id, "error", err)
	}
	job.refused = why
	// The listening may have ended with its time; why is written all the same.
	ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), 10*time.Second)
	defer cancel()
	if err := s.store.RecordingRefusedFor(ctx, id, why); err != nil {
		s.Log.Error("listening to a recording", "recording", id, "error", err)
	}
}

func (s *Room) hearOut(ctx context.Context, listen listener, job *hearingJob, asked heard.Asked,
	sound heard.Sound) (result acoustic.Result, err error) {
	defer func() { // a recording from outside must not stop the program
		if p := recover(); p != nil {
			err = fmt.Errorf("panic: %v\n%s", p, debug.Stack())
		}
	}()
	result, err = heard.Hear(asked.Settings(), func(settings acoustic.Settings, mostS float64) (acoustic.Result, error) {
		return s.hearOnce(ctx, listen, job, settings, sound, mostS)
	})
	if err == nil && asked.ByBrowser {
		result.Notes = append(result.Notes, acoustic.CodedNote())
	}
	return result, err
}

// hearOnce listens to a sound, or to its first seconds where most is above 0.
func (s *Room) hearOnce(ctx context.Context, listen listener, job *hearingJob, settings acoustic.Settings, sound heard.Sound,
	mostS float64) (acoustic.Result, error) {
	var files []io.Closer
	defer func() {
		for _, file := range files {
			file.Close()
		}
	}()
	open := func() (*recording.Reader, error) {
		file, err := s.Uploads.OpenSound(sound.Sum())
		if err != nil {
			return nil, err
		}
		files = append(files, file)
		return recording.Open(file)
	}
	rd, err := open()
	if err != nil {
		return acoustic.Result{}, err
	}
	rate := rd.Info().RateHz
	if mostS > 0 { // the whole was heard already
		rd.Only(mostS)
		return listen(ctx, rd, settings, func(int64) {})
	}
	r, err := listen(ctx, rd, settings, func(frames int64) { job.heardS.Store(int64(float64(frames) / rate)) })
	if err != nil {
		return r, err
	}
	return recording.Rejoin(ctx, open, settings, r)
}

// whyNotHeard says for people why a recording gave no figures; ours reports a fault of the program.
func whyNotHeard(err error) (why string, ours bool) {
	switch {
	case errors.Is(err, acoustic.ErrNoWatch):
		return "No watch was heard in this recording. Put the microphone against the case or the movement holder, keep " +
			"the room quiet, and record at least ten seconds.", false
	case errors.Is(err, recording.ErrUnreadable):
		return text.Sentence(err.Error()), false
	case errors.Is(err, files.ErrAltered):
		return "The sound was altered on the disk, so it is not listened to. Send the same file in again.", false
	case errors.Is(err, context.DeadlineExceeded):
		return "Listening to this recording took longer than an hour and was given up. Send a shorter piece of it.", false
	}
	return "The program failed while it listened to this recording. Tell the owner; the log says more.", true
}

// interrupted is the standing of a recording that nobody listens to any more.
const interrupted store.RecordingState = "interrupted"

// standingOf is how far a recording has come: what the record holds as being listened to, and this process does not
// listen to, was interrupted when the program last ended.
func (s *Room) standingOf(rec store.Recording) store.RecordingState {
	if rec.State == store.RecordingListening && s.hearing.job(rec.ID) == nil {
		return interrupted
	}
	return rec.State
}

// hearingWords says how far the listening has come.
func (s *Room) hearingWords(rec store.Recording) string {
	job := s.hearing.job(rec.ID)
	if job == nil || job.heardS.Load() == 0 {
		return "It waits for its turn."
	}
	so := spanWords(float64(job.heardS.Load()))
	if rec.Asked.LengthS > 0 {
		return fmt.Sprintf("Heard so far: %s of %s.", so, spanWords(rec.Asked.LengthS))
	}
	return fmt.Sprintf("Heard so far: %s.", so)
}

// spanWords says a length of sound: "34 s", "12 min", "3 h 20 min".
func spanWords(seconds float64) string {
	switch {
	case seconds < 120:
		return fmt.Sprintf("%.0f s", seconds)
	case seconds < 7200:
		return fmt.Sprintf("%.0f min", seconds/60)
	}
	minutes := int(seconds/60 + 0.5)
	return fmt.Sprintf("%d h %d min", minutes/60, minutes%60)
}
