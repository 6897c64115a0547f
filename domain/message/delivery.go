package message

import (
	"errors"
	"time"
)

// How long is tried, and how long one try may take.
const (
	// KeepTrying is how long after it was written a mail is given up: RFC 5321 section 4.5.4.1 asks for four to five days.
	KeepTrying = 5 * 24 * time.Hour
	// SessionLimit bounds one try, long enough for the ten minutes that a server may take to answer the last line (RFC 5321
	// section 4.5.3.2.6): whoever hangs up earlier sends twice.
	SessionLimit = 11 * time.Minute
	// Lease is how long a try that was begun keeps every other copy of the program from the message.
	Lease = 15 * time.Minute
	// LookAgain is when a message that waits for the settings of mail is looked at again; saving them looks at once.
	LookAgain = time.Hour
)

// pauses after the first try, the second and so on; the last one from then on. A server that turns strangers away at first
// (greylisting) lets them in after minutes; RFC 5321 section 4.5.4.1 asks for two tries in the first hour and then fewer.
var pauses = []time.Duration{time.Minute, 5 * time.Minute, 15 * time.Minute, 30 * time.Minute, time.Hour, 2 * time.Hour, 4 * time.Hour}

// Pause is how long to wait after so many tries, at least one.
func Pause(tries int) time.Duration { return pauses[min(max(tries, 1), len(pauses))-1] }

// Delivery is how far handing over one mail has come.
type Delivery struct {
	State    State
	QueuedAt time.Time
	Tries    int
	BegunAt  time.Time // of a try whose outcome is not written down; zero for none
	NextAt   time.Time // not to be tried before; zero for at once
	Unsure   bool      // the server may have it: an answer was lost
	Said     string    // why it was not taken at the last try; "" before one
}

// Hold is what stands in the way of a mail before the server is asked.
type Hold int

// The holds.
const (
	Free     Hold = iota
	NotSetUp      // no mail server is set up
	Unwanted      // the customer wants no mail
	CameBack      // mail to this address came back
)

// Act is what to do with a mail now.
type Act int

// The acts.
const (
	Nothing Act = iota // it is settled
	Try                // hand it to the server
	Wait               // until a time
	GiveUp             // for the reason given
)

// Decision is what to do with a mail now.
type Decision struct {
	Act   Act
	Until time.Time // of Wait
	Why   string    // of GiveUp, as a sentence
}

// Decide says what to do with a mail at a time. Nobody else tries while a try is under way, by whichever clock.
func (d Delivery) Decide(now time.Time, hold Hold) Decision {
	end := d.QueuedAt.Add(KeepTrying)
	switch {
	case d.State != Queued:
		return Decision{Act: Nothing}
	case d.underWay(now):
		return Decision{Act: Wait, Until: now.Add(max(time.Second, d.BegunAt.Add(Lease).Sub(now)))}
	case hold == Unwanted:
		return d.giveUp("The customer wants no mail.")
	case hold == CameBack:
		return d.giveUp("Mail to this address came back before.")
	case !now.Before(end):
		return d.giveUp(lateWords(hold, d.Said))
	case hold == NotSetUp:
		return Decision{Act: Wait, Until: earlier(now.Add(LookAgain), end)}
	case now.Before(d.NextAt) && d.NextAt.Sub(now) <= pauses[len(pauses)-1]: // a longer one is a clock that was set back
		return Decision{Act: Wait, Until: earlier(d.NextAt, end)}
	}
	return Decision{Act: Try}
}

// underWay reports whether a try was begun so lately that it may still go on. A clock that is behind is no reason to think
// otherwise.
func (d Delivery) underWay(now time.Time) bool {
	return !d.BegunAt.IsZero() && now.Sub(d.BegunAt).Abs() < Lease
}

func (d Delivery) giveUp(why string) Decision {
	if d.Unsure || !d.BegunAt.IsZero() {
		why += " The mail server may have it all the same: its answer was lost."
	}
	return Decision{Act: GiveUp, Why: why}
}

func lateWords(hold Hold, said string) string {
	switch {
	case hold == NotSetUp:
		return "No mail server was set up within five days."
	case said == "":
		return "It could not be tried within five days."
	}
	return "Tried for five days. " + said
}

func earlier(a, b time.Time) time.Time {
	if b.Before(a) {
		return b
	}
	return a
}

// Begin is d with a try begun, to be written down before the server is asked. An earlier one without an outcome was cut off:
// nobody knows whether the server has it.
func (d Delivery) Begin(now time.Time) Delivery {
	if !d.BegunAt.IsZero() {
		d.Unsure = true
	}
	d.Tries++
	d.BegunAt = now
	return d
}

// After is d with the answer to the try under way.
func (d Delivery) After(a Answer, now time.Time) Delivery {
	d.BegunAt = time.Time{}
	d.Unsure = d.Unsure || a.Lost
	switch a.Outcome() {
	case Taken:
		d.State, d.Said, d.NextAt = Sent, "", time.Time{}
	case Never:
		d.State, d.Said, d.NextAt = Refused, a.Words(), time.Time{}
	default:
		d.Said, d.NextAt = a.Words(), earlier(now.Add(Pause(d.Tries)), d.QueuedAt.Add(KeepTrying))
	}
	return d
}

// MayHandOver reports whether a try that was begun at a time may still hand its message over: later, another copy of the program
// may have begun one of its own.
func MayHandOver(begun, now time.Time) bool { return now.Sub(begun).Abs() < SessionLimit }

// Settle is d with the answer to the try that was begun at that time, which need not be the newest. What the server has taken
// is sent, whatever was thought meanwhile.
func (d Delivery) Settle(begun time.Time, a Answer, now time.Time) Delivery {
	switch {
	case a.Taken, d.State == Queued && d.BegunAt.Equal(begun):
		return d.After(a, now)
	case d.State == Queued:
		d.Unsure = d.Unsure || a.Lost
	}
	return d
}

// Why a mail can't be withdrawn.
var (
	ErrSettled  = errors.New("it is settled already")
	ErrUnderWay = errors.New("it is being handed to the mail server now")
)

// Withdraw returns why the mail can't be withdrawn at a time; nil for it can, and then no server ever gets it.
func (d Delivery) Withdraw(now time.Time) error {
	switch {
	case !d.State.Open():
		return ErrSettled
	case d.underWay(now):
		return ErrUnderWay
	}
	return nil
}
