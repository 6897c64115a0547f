package estimate

import (
	"fmt"
	"slices"
	"time"

	"ledgerwheel/domain/text"
)

// Consent is the written record of an answer that was given on the telephone. Its fields are those that a record of oral
// consent has under California's rule for repairers, 16 CCR 2722: day and hour, who consented, the number called, who
// called, what parts and work were added, and the total. Elsewhere they are good practice; nothing here is legal advice.
// Who consented is the answer's Name.
type Consent struct {
	At         time.Time // when it was given, UTC
	Number     string    // that was called
	CalledBy   string    // who of the shop called
	Added      string    // parts and work added, as they were said
	TotalMinor int64     // new total that was said, tax included, in minor units; 0 of an answer that declines
}

const maxNumber = 60 // characters

// Tidied returns c without stray spaces and control characters.
func (c Consent) Tidied() Consent {
	c.Number, c.CalledBy, c.Added = text.Line(c.Number), text.Line(c.CalledBy), text.Lines(c.Added)
	return c
}

// problems adds, by form field, what stops a call from being kept that is written down at the moment at.
func (c Consent) problems(bad map[string]string, approve bool, at time.Time) {
	switch {
	case c.At.IsZero():
		bad["agreed_on"] = "Give the day and the hour of the call."
	case c.At.After(at):
		bad["agreed_on"] = "The call lies in the future: give the day and the hour when it was made."
	}
	switch {
	case c.Number == "":
		bad["number"] = "Give the number that was called."
	case text.TooLong(c.Number, maxNumber):
		bad["number"] = "Give a number of at most 60 characters."
	}
	switch {
	case c.CalledBy == "":
		bad["called_by"] = "Give the name of who called."
	case text.TooLong(c.CalledBy, maxName):
		bad["called_by"] = "Give a name of at most 200 characters."
	}
	switch {
	case approve && c.Added == "":
		bad["added"] = "Write what was added: which work and which parts."
	case text.TooLong(c.Added, MaxNote):
		bad["added"] = "Keep it to at most 4000 characters."
	}
}

// TotalError reports that the total said on the telephone is not that of the lines that were approved.
type TotalError struct{ SaidMinor, ComesToMinor int64 }

func (e *TotalError) Error() string {
	return fmt.Sprintf("a total of %d minor units was said, and the lines approved come to %d", e.SaidMinor, e.ComesToMinor)
}

// Added are the descriptions of the lines of the revision of that number that the one in force does not have: what the
// customer is asked to add. Where none is in force that is every line.
func (e Estimate) Added(number int) []string {
	r, _ := e.Find(number)
	var before []Line
	if was, ok := e.InForce(); ok {
		before = was.AgreedLines()
	}
	var added []string
	for _, l := range r.Lines {
		same := func(b Line) bool {
			return b.Kind == l.Kind && b.Description == l.Description && b.QuantityMilli == l.QuantityMilli && b.UnitMinor == l.UnitMinor
		}
		if !slices.ContainsFunc(before, same) {
			added = append(added, l.Description)
		}
	}
	return added
}
