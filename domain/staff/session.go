package staff

import (
	"fmt"
	"time"
)

const (
	// SessionFor is how long a session lasts at most: one long working day, so that a bench tablet stays signed in
	// through it and not overnight.
	SessionFor = 14 * time.Hour
	// SeenEvery is how often it is written down, at most, that a session was seen.
	SeenEvery = 3 * time.Minute
	// ProvenFor is for how long somebody who said who they are is not asked again before what only they may do.
	ProvenFor = 10 * time.Minute
	// WrongMost is how many wrong answers to that question end the session.
	WrongMost = 5
)

// The shop's choice of how long a session may lie idle, in minutes: enough to type a form, and no longer than a session
// lasts at all.
const (
	MinIdleMinutes, UsualIdleMinutes = 5, 12 * 60
	MaxIdleMinutes                   = int(SessionFor / time.Minute)
)

// IdleProblem says why sessions can't end after so many idle minutes, or nothing.
func IdleProblem(minutes int) string {
	if minutes < MinIdleMinutes || minutes > MaxIdleMinutes {
		return fmt.Sprintf("Give a number of minutes, %d to %d.", MinIdleMinutes, MaxIdleMinutes)
	}
	return ""
}

// Idle reports whether a session that was not seen for a while has ended by itself. What was seen is known to within
// [SeenEvery], so a session can end that much sooner.
func Idle(unseen time.Duration, idleMinutes int) bool {
	return unseen >= time.Duration(idleMinutes)*time.Minute
}
