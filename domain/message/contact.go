package message

import (
	"slices"

	"ledgerwheel/domain/text"
)

// ContactKind is what sort of line the log of a docket has. The value is kept in the database, so none is ever renamed.
type ContactKind string

// The kinds.
const (
	NoAnswer    ContactKind = "no answer"
	LeftMessage ContactKind = "left a message"
	SpokeWith   ContactKind = "spoke"
	TheyCalled  ContactKind = "they called"
	Note        ContactKind = "note"
)

// ContactKinds lists every kind in the order in which a form offers them.
var ContactKinds = []ContactKind{NoAnswer, LeftMessage, SpokeWith, TheyCalled, Note}

// Words says what was done, to begin a sentence.
func (k ContactKind) Words() string {
	switch k {
	case NoAnswer:
		return "Rang, no answer"
	case LeftMessage:
		return "Rang, left a message"
	case SpokeWith:
		return "Rang and spoke"
	case TheyCalled:
		return "They called"
	case Note:
		return "Note"
	}
	return string(k)
}

// Call reports whether k is a telephone call.
func (k ContactKind) Call() bool { return k != Note }

// Contact is a line of a docket's log: a call made or taken, or a note of somebody who works on it.
type Contact struct {
	Kind    ContactKind
	SpokeTo string // whom they spoke with; "" where nobody was reached
	Number  string // called or calling; "" for a note
	Words   string // what was said
}

// Tidied returns c without stray spaces and control characters.
func (c Contact) Tidied() Contact {
	c.SpokeTo, c.Number, c.Words = text.Line(c.SpokeTo), text.Line(c.Number), text.Lines(c.Words)
	if !c.Kind.Call() {
		c.SpokeTo, c.Number = "", ""
	}
	return c
}

// The longest that is kept of a line of the log, in characters.
const (
	MaxContactWords = 4000
	maxSpokeTo      = 200
	maxNumber       = 60
)

// Problems says, by form field, what stops a Tidied line from being kept.
func (c Contact) Problems() map[string]string {
	bad := map[string]string{}
	if !slices.Contains(ContactKinds, c.Kind) {
		bad["words"] = "Choose what happened."
	}
	switch {
	case c.Words == "" && (c.Kind == Note || c.Kind == SpokeWith || c.Kind == TheyCalled):
		bad["words"] = "Write down what was said."
		if c.Kind == Note {
			bad["words"] = "Write the note."
		}
	case text.TooLong(c.Words, MaxContactWords):
		bad["words"] = "Keep it to at most 4000 characters."
	}
	if text.TooLong(c.SpokeTo, maxSpokeTo) {
		bad["spoke_to"] = "Keep the name to at most 200 characters."
	}
	if text.TooLong(c.Number, maxNumber) {
		bad["number"] = "Keep the number to at most 60 characters."
	}
	return bad
}

// summaryLetters is how much of the words the journal's sentence has; its facts have all.
const summaryLetters = 200

// Summary is what the journal tells of the line.
func (c Contact) Summary() string {
	said := c.Kind.Words()
	if c.SpokeTo != "" {
		said += ", " + c.SpokeTo
	}
	if c.Words == "" {
		return said + "."
	}
	return said + ": " + cut(text.Line(c.Words), summaryLetters)
}
