// Package listening holds what the program hears live: a session for each page that listens, fed over a WebSocket,
// with the takes that were heard in it. Sessions live in memory alone; what is to last is kept as a reading.
package listening

import (
	"crypto/rand"
	"errors"
	"sync"
	"time"

	"ledgerwheel/domain/acoustic"
	"ledgerwheel/domain/listening"
)

// errFull reports that a person, or the shop, listens in as many places as may be at once.
var errFull = errors.New("too many are listening")

// Ear is what makes figures of sound; acoustic.Listener is one.
type Ear interface {
	Write(samples []float32)
	Result() (acoustic.Result, error)
}

// NewEar begins to listen to one position.
type NewEar func(rateHz float64, s acoustic.Settings) (Ear, error)

// Picture is what is to be drawn of the beats heard so far.
type Picture struct {
	Result acoustic.Result
	Wheel  listening.Wheel
	From   int64   // the number of the beat that stands at the first tooth
	LastS  float64 // the last seconds alone
}

// Draw draws the beats as an svg element; "" where it can't.
type Draw func(Picture) string

// Owner is who listens and to what: nobody else finds the session.
type Owner struct {
	StaffID int64
	Docket  string // its number; "" at the bench alone
}

// Hub holds the sessions.
type Hub struct {
	now    func() time.Time
	newEar NewEar
	draw   Draw

	mu       sync.Mutex
	sessions map[string]*Session
}

// NewHub returns an empty hub. Without draw there are no pictures.
func NewHub(now func() time.Time, newEar NewEar, draw Draw) *Hub {
	if newEar == nil {
		newEar = func(rateHz float64, s acoustic.Settings) (Ear, error) { return acoustic.NewListener(rateHz, s) }
	}
	return &Hub{now: now, newEar: newEar, draw: draw, sessions: map[string]*Session{}}
}

// Open begins a session for sound of rateHz samples a second. The error wraps ErrFull, or is a sentence for people
// about the rate.
func (h *Hub) Open(owner Owner, rateHz float64) (*Session, error) {
	if _, err := h.newEar(rateHz, acoustic.Settings{}); err != nil {
		return nil, err
	}
	h.mu.Lock()
	defer h.mu.Unlock()
	h.sweep()
	if !h.room(owner.StaffID) {
		return nil, errFull
	}
	s := newSession(h, rand.Text(), owner, rateHz)
	h.sessions[s.ID] = s
	return s, nil
}

// room reports whether the person may open one more, and makes room by closing one that waits for a page of theirs.
func (h *Hub) room(staffID int64) bool {
	var own, waiting []*Session
	for _, s := range h.sessions {
		if s.Owner.StaffID == staffID {
			own = append(own, s)
			if since, gone := s.goneSince(); gone {
				waiting = append(waiting, s)
				if first, _ := waiting[0].goneSince(); since.Before(first) {
					waiting[0], waiting[len(waiting)-1] = s, waiting[0]
				}
			}
		}
	}
	if len(own) < listening.MostOfOnePerson && len(h.sessions) < listening.MostInAll {
		return true
	}
	if len(waiting) == 0 {
		return false
	}
	delete(h.sessions, waiting[0].ID)
	return true
}

// Find returns the session with the id if it is the owner's; nil when there is none.
func (h *Hub) Find(owner Owner, id string) *Session {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.sweep()
	s := h.sessions[id]
	if s == nil || s.Owner != owner {
		return nil
	}
	return s
}

// Len is how many sessions there are.
func (h *Hub) Len() int {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.sweep()
	return len(h.sessions)
}

// sweep forgets sessions whose page did not come back.
func (h *Hub) sweep() {
	for id, s := range h.sessions {
		if since, gone := s.goneSince(); gone && h.now().Sub(since) > listening.KeptFor {
			delete(h.sessions, id)
		}
	}
}

// leave is called when a session's line broke: the memory is given back even if nobody comes any more.
func (h *Hub) leave() {
	time.AfterFunc(listening.KeptFor+time.Second, func() {
		h.mu.Lock()
		defer h.mu.Unlock()
		h.sweep()
	})
}
