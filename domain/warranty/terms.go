// Package warranty holds the shop's warranty: its terms, the card that states what was done and how the
// watch ran, the signature that proves a card genuine, and what anyone who checks a card may be told.
package warranty

import (
	"strings"
	"time"
	"unicode/utf8"
)

// Terms are what the shop promises on a repair.
type Terms struct {
	Months int    // calendar months from the day of hand-over
	Covers string // what is covered and what is not, in plain words; printed and public
}

const (
	maxMonths = 120
	maxCovers = 600 // characters that the card's back holds
)

// Problems says, by form field, what stops the terms being used.
func (t Terms) Problems() map[string]string {
	bad := map[string]string{}
	if t.Months < 1 || t.Months > maxMonths {
		bad["months"] = "Give a term between 1 and 120 months."
	}
	switch {
	case strings.TrimSpace(t.Covers) == "":
		bad["covers"] = "Say what the warranty covers."
	case utf8.RuneCountInString(t.Covers) > maxCovers:
		bad["covers"] = "Keep this to 600 characters, so that it fits the card."
	}
	return bad
}

// Expires returns the last day covered by a term of the given months from the day start: the same day of
// the month, or that month's last day where it has no such day. Both are civil dates at midnight UTC.
//
// This is the rule of Regulation (EEC, Euratom) No 1182/71, article 3(2)(c), for periods in months (from
// memory), and common practice for guarantees.
func Expires(start time.Time, months int) time.Time {
	y, m, d := start.Date()
	last := time.Date(y, m+time.Month(months)+1, 0, 0, 0, 0, 0, time.UTC)
	return time.Date(last.Year(), last.Month(), min(d, last.Day()), 0, 0, 0, 0, time.UTC)
}
