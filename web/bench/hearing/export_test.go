package hearing

import (
	"time"

	"ledgerwheel/web/bench/hearing/listening"
)

// HearWith makes the room hear with a test's ears.
func (s *Room) HearWith(listen listener) { s.hearing.listen = listen }

// WaitFor sets how long a sender waits for the figures.
func (s *Room) WaitFor(d time.Duration) { s.hearing.wait = d }

// Done is closed when the recording has been listened to; nil where nobody listens to it.
func (s *Room) Done(recording int64) <-chan struct{} {
	if job := s.hearing.job(recording); job != nil {
		return job.done
	}
	return nil
}

// Forget makes the room know of no listening, as after a restart; the result takes that back.
func (s *Room) Forget() (remember func()) {
	was := s.hearing
	s.hearing = newHearing()
	return func() { s.hearing = was }
}

// Hub has those who listen live.
func (s *Room) Hub() *listening.Hub { return s.hub }
