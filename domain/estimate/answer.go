package estimate

import (
	"time"

	"ledgerwheel/domain/text"
)

// Channel is how the customer answered.
type Channel string

// The channels.
const (
	ByLink    Channel = "private-link"
	AtCounter Channel = "counter"
	// ByTelephone answers bear a [Consent].
	ByTelephone Channel = "telephone"
)

// Words says c in plain words.
func (c Channel) Words() string {
	switch c {
	case ByLink:
		return "by the private link"
	case ByTelephone:
		return "by telephone"
	}
	return "at the counter"
}

// Answer is the customer's decision about one revision.
type Answer struct {
	Revision      int // its number
	Approve       bool
	Name          string // of the person who answered
	By            Channel
	At            time.Time // UTC
	Note          string
	DeclinedLines []int    // indexes of optional lines left out of an approval
	Consent       *Consent // of an answer by telephone; else nil
	// ShownMinor is the total that stood before the customer as they approved by the link, in minor units. What an answer
	// at the counter agreed to is said there.
	ShownMinor *int64
}

// maxName is the longest name of who answered, in characters.
const maxName = 200

// Problems says, by form field, what stops a being saved.
func (a Answer) Problems() map[string]string {
	bad := map[string]string{}
	switch {
	case a.Name == "":
		bad["name"] = "Give the name of the person who decides."
	case text.TooLong(a.Name, maxName):
		bad["name"] = "Give a name of at most 200 characters."
	}
	if a.By != ByLink && a.By != AtCounter && a.By != ByTelephone || (a.By == ByTelephone) != (a.Consent != nil) {
		bad["by"] = "Say how the customer answered."
	}
	if a.Consent != nil {
		a.Consent.problems(bad, a.Approve, a.At)
	}
	if text.TooLong(a.Note, MaxNote) {
		bad["note"] = "Keep the note to at most 4000 characters."
	}
	return bad
}

// Done says who answered how: "approved by Ines Marlow at the counter".
func (a Answer) Done() string {
	done := "approved"
	if !a.Approve {
		done = "declined"
	}
	return done + " by " + a.Name + " " + a.By.Words()
}
