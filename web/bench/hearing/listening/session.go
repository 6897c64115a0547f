package listening

import (
	"slices"
	"sync"
	"time"

	"ledgerwheel/domain/heard"
	"ledgerwheel/domain/listening"
	"ledgerwheel/domain/recorder"
	"ledgerwheel/domain/timing"
)

// evaluateS is how often figures are made, in seconds of sound; they are made less often where they take long, so that
// no session uses more than a tenth of a processor for it in real time.
const (
	evaluateS     = 0.25
	evaluateShare = 10
	// The picture of the beats is drawn once a second, of the last minute.
	drawS, pictureS = 1, 60
)

// Session is what one page listens to. Its methods may be called from several goroutines.
type Session struct {
	ID     string
	Owner  Owner
	RateHz float64

	hub *Hub

	mu      sync.Mutex
	intake  *listening.Intake
	clock   *recorder.ClockSession
	begin   *Begin
	course  *listening.Course
	take    *Take
	takes   []*Take // those that are over, oldest first
	number  int
	written int64     // samples that went the way to the ear
	look    float64   // when figures are made next, seconds of sound
	line    int       // which connection feeds the session
	gone    time.Time // zero while a connection feeds the session
	version int       // raised by everything that a page is told
	round   Round     // the picture of the beats
	drawnS  float64   // when it was drawn, seconds of sound
}

func newSession(h *Hub, id string, owner Owner, rateHz float64) *Session {
	return &Session{ID: id, Owner: owner, RateHz: rateHz, hub: h, intake: listening.NewIntake(rateHz, h.now()),
		clock: recorder.NewClockSession(rateHz), gone: h.now()}
}

// goneSince says since when no page has fed the session; ok is false while one does.
func (s *Session) goneSince() (since time.Time, ok bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.gone, !s.gone.IsZero()
}

// Attach makes a connection the one that feeds the session; one that did before feeds it no longer. It returns the
// connection's mark and the number of the sample that is awaited.
func (s *Session) Attach() (line int, next int64) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.line++
	s.gone = time.Time{}
	return s.line, s.intake.Next()
}

// Detach says that a connection broke.
func (s *Session) Detach(line int) {
	s.mu.Lock()
	if s.line == line {
		s.gone = s.hub.now()
	}
	s.mu.Unlock()
	s.hub.leave()
}

// feed takes samples of which the first has the number given, and returns how long to wait before more are read.
// current is false when another connection has taken the session over. The error is one of listening.ErrGap and
// listening.ErrLong.
func (s *Session) feed(line int, first int64, samples []float32) (wait time.Duration, current bool, err error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.line != line {
		return 0, false, nil
	}
	skip, gap, err := s.intake.Take(first, len(samples))
	if err != nil {
		return 0, true, err
	}
	now := s.hub.now()
	if gap > 0 {
		s.clock = recorder.NewClockSession(s.RateHz)
		s.silence(gap)
	}
	s.write(samples[skip:])
	s.clock.Add(s.intake.Next(), now)
	return s.intake.Wait(gap+int64(len(samples)), now), true, nil
}

// silence stands for samples that were lost, so that those after them keep their time.
func (s *Session) silence(n int64) {
	var quiet [4096]float32
	for n > 0 {
		m := min(n, int64(len(quiet)))
		s.write(quiet[:m])
		n -= m
	}
}

// nowS is the session's time: seconds of sound.
func (s *Session) nowS() float64 { return float64(s.written) / s.RateHz }

// write leads samples to the ear, and looks at what was heard whenever that is due.
func (s *Session) write(samples []float32) {
	for len(samples) > 0 {
		n := len(samples)
		if s.course != nil {
			due := int64(s.look*s.RateHz) + 1 - s.written
			n = int(max(1, min(int64(n), due)))
			if s.take != nil {
				s.take.hear(samples[:n])
			}
		}
		s.written += int64(n)
		samples = samples[n:]
		if s.course != nil && s.nowS() >= s.look {
			s.lookAt()
		}
	}
}

// lookAt makes figures of what was heard and goes on with the course.
func (s *Session) lookAt() {
	now, more := s.nowS(), evaluateS
	var h listening.Heard
	if s.take != nil {
		began := time.Now()
		s.take.judge(s.question())
		more = max(more, evaluateShare*time.Since(began).Seconds())
		h = s.take.heard()
		if now-s.drawnS >= drawS {
			s.draw(s.take)
		}
	}
	s.step(s.course.Advance(now, h))
	s.look = s.course.Until(now, more)
	s.change()
}

// draw draws the beats of a take; nil for none.
func (s *Session) draw(t *Take) {
	s.drawnS = s.nowS()
	s.round.Number++
	s.round.SVG = ""
	if t != nil && t.Watch && s.hub.draw != nil {
		s.round.SVG = s.hub.draw(Picture{Result: t.Result, Wheel: t.wheel(), From: t.from, LastS: pictureS})
	}
}

// question is what is asked, with the other positions heard in this session among the readings of the run.
func (s *Session) question() heard.Question {
	q := s.begin.Ask
	q.Run.Readings = slices.Clone(q.Run.Readings)
	for _, t := range s.takes {
		if t.RunKey != s.begin.RunKey || t.Source.Recorder != q.Recorder {
			continue
		}
		reading := t.Reading("")
		q.Run.Readings = slices.DeleteFunc(q.Run.Readings, func(old timing.Reading) bool {
			return old.Repeat == 0 && timing.CellName(old.Position, old.HoursAfterWinding) == timing.CellName(reading.Position,
				reading.HoursAfterWinding)
		})
		q.Run.Readings = append(q.Run.Readings, reading)
	}
	return q
}

// step does what the course says.
func (s *Session) step(step listening.Step) {
	switch step {
	case listening.Begin:
		s.newTake()
	case listening.Next:
		s.closeTake()
		if s.course.Phase() == listening.Measuring {
			s.newTake()
		}
	case listening.End:
		s.closeTake()
	}
}

func (s *Session) newTake() {
	ear, err := s.hub.newEar(s.RateHz, s.begin.Settings)
	if err != nil { // the settings were tried when listening began
		s.course.Stop()
		return
	}
	s.draw(nil)
	s.number++
	s.take = &Take{Number: s.number, Position: s.course.Position(), Hours: s.begin.Hours, RunKey: s.begin.RunKey,
		At: s.hub.now(), Source: s.begin.Source, ear: ear, stated: s.begin.Stated,
		leastS: s.begin.Plan.DecidesAfterS(), escapeTeeth: s.begin.EscapeTeeth}
	settings := s.begin.Settings
	s.take.rejoining = rejoining{newEar: func() (Ear, error) { return s.hub.newEar(s.RateHz, settings) }, settings: settings}
	if alone := s.begin.Settings; alone.BeatsPerHour > 0 {
		stated := alone.BeatsPerHour
		alone.BeatsPerHour = 0
		if ear, err := s.hub.newEar(s.RateHz, alone); err == nil {
			s.take.unaided = unaided{ear: ear, rateHz: s.RateHz, statedPerHour: stated, look: int64(unaidedLookS * s.RateHz)}
		}
	}
}

// closeTake puts the take with those that are over, if its rate means something; a position that is taken again replaces
// what was heard in it before, unless that was kept.
func (s *Session) closeTake() {
	t := s.take
	s.take = nil
	if t == nil || !t.says().Rate {
		return
	}
	s.draw(t)
	t.ear, t.unaided.ear = nil, nil
	s.takes = slices.DeleteFunc(s.takes, func(old *Take) bool {
		return !old.Kept && old.Position == t.Position && old.Hours == t.Hours && old.RunKey == t.RunKey
	})
	s.takes = append(s.takes, t)
	if n := len(s.takes) - listening.MostTakes; n > 0 {
		s.takes = slices.Delete(s.takes, 0, n)
	}
	if n := len(s.takes) - listening.SoundTakes; n > 0 {
		for _, old := range s.takes[:n] {
			old.sound = nil
		}
	}
}

// change notes that there is something new to say.
func (s *Session) change() { s.version++ }

// start begins to listen as asked; what was being listened to is over. The error is a sentence for people about the
// settings.
func (s *Session) start(b Begin) error {
	if _, err := s.hub.newEar(s.RateHz, b.Settings); err != nil {
		return err
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	s.closeTake()
	s.begin, s.course = &b, listening.NewCourse(b.Plan, s.nowS())
	if s.course.Phase() == listening.Measuring {
		s.newTake()
	}
	s.look = s.course.Until(s.nowS(), evaluateS)
	s.change()
	return nil
}

// skip leaves the position for the next one; what was heard so far counts.
func (s *Session) skip() {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.course != nil {
		s.step(s.course.Skip(s.nowS()))
		s.look = s.course.Until(s.nowS(), evaluateS)
		s.change()
	}
}

// stop ends listening; what was heard so far counts.
func (s *Session) stop() {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.course != nil {
		s.course.Stop()
		s.closeTake()
		s.change()
	}
}

// Take returns a copy of a take that has figures: one that is over, or the one being listened to as it stands. ok is
// false when there is none.
func (s *Session) Take(number int) (t Take, ok bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, each := range append(slices.Clone(s.takes), s.take) {
		if each != nil && each.Number == number && each.says().Rate {
			t = *each
			t.sound = slices.Clone(each.sound)
			return t, true
		}
	}
	return Take{}, false
}

// MarkKept notes that a take was kept as a reading. The one being listened to is over then.
func (s *Session) MarkKept(number int, runKey string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.take != nil && s.take.Number == number {
		s.step(s.course.Skip(s.nowS()))
		s.look = s.course.Until(s.nowS(), evaluateS)
	}
	for _, t := range s.takes {
		if t.Number == number {
			t.Kept = true
			s.rename(t.RunKey, runKey)
		}
	}
	s.change()
}

// rename gives a run that was new the key it has on record.
func (s *Session) rename(from, to string) {
	for _, t := range s.takes {
		if t.RunKey == from {
			t.RunKey = to
		}
	}
	if s.begin != nil && s.begin.RunKey == from {
		s.begin.RunKey = to
	}
	if s.take != nil && s.take.RunKey == from {
		s.take.RunKey = to
	}
}

// Clock returns what the session says of the recorder's clock; the error says why it can't yet.
func (s *Session) Clock() (recorder.Estimate, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.clock.Estimate()
}
