package uncollected

import (
	"fmt"
	"slices"
	"time"

	"ledgerwheel/domain/text"
)

// Letter is a letter to the customer as it is printed, word for word.
type Letter struct {
	Kind      NoticeKind
	Tongue    string // ISO 639-1
	Title     string
	Addressee string // lines
	Body      string // paragraphs, parted by an empty line
}

const (
	maxBlockWords = 1000 // characters
	maxNumber     = 60
)

// WritingProblem says why a letter of that kind can't be written; "" where it can. A reminder may be written before a profile
// is confirmed, a formal notice counts from one. Nothing is written while something stands against it.
func WritingProblem(kind NoticeKind, confirmed bool, blocks []BlockKind) string {
	switch {
	case kind != CollectNotice && kind != FormalNotice:
		return "Choose which letter it is."
	case len(blocks) > 0:
		return "No letter is written while this stands: " + blocks[0].Words()
	case kind == FormalNotice && !confirmed:
		return "Confirm a profile of the place first: a formal notice is counted by it."
	}
	return ""
}

// WrittenSummary tells that a letter was written.
func (k NoticeKind) WrittenSummary() string { return text.Capital(k.Words()) + " written." }

// Posting is the proof that a letter was posted: a number, a photograph of the receipt, or both.
type Posting struct {
	On      time.Time // civil day
	Number  string
	PhotoID int64 // 0 for none
}

// Problems says, by form field, what stops p being kept on the civil day today for a letter written on another: "posted_on",
// "post_number".
func (p Posting) Problems(writtenOn, today time.Time) map[string]string {
	bad := map[string]string{}
	switch {
	case p.On.IsZero():
		bad["posted_on"] = "Give the day on which it was posted."
	case p.On.Before(writtenOn):
		bad["posted_on"] = "That day is before the letter was written."
	case p.On.After(today):
		bad["posted_on"] = "That day is still to come."
	}
	switch {
	case p.Number == "" && p.PhotoID == 0:
		bad["post_number"] = "Give the number of the posting, or choose a photograph of its receipt."
	case text.TooLong(p.Number, maxNumber):
		bad["post_number"] = fmt.Sprintf("Keep the number to %d characters.", maxNumber)
	}
	return bad
}

// PostedSummary tells that a letter was posted.
func (k NoticeKind) PostedSummary() string { return text.Capital(k.Words()) + " posted." }

// BlockProblems says, by form field, what stops a block being noted: "kind", "words".
func BlockProblems(kind BlockKind, words string) map[string]string {
	bad := map[string]string{}
	if !slices.Contains(BlockKinds(), kind) {
		bad["kind"] = "Choose what stands against it."
	}
	if words == "" {
		bad["words"] = "Write what is known of it: facts alone, and who said so."
	} else if text.TooLong(words, maxBlockWords) {
		bad["words"] = "Keep this to 1000 characters."
	}
	return bad
}

// NotedSummary tells that a block was noted.
func (k BlockKind) NotedSummary() string { return "No letter is written for now: " + k.Words() }

// LiftedSummary tells that a block was lifted.
func (k BlockKind) LiftedSummary() string { return "No longer so: " + k.Words() }

// LiftProblem says why a block can't be lifted for that reason; "" where it can.
func LiftProblem(why string) string {
	switch {
	case why == "":
		return "Write why it no longer stands: it goes into the journal."
	case text.TooLong(why, maxBlockWords):
		return "Keep this to 1000 characters."
	}
	return ""
}

// ConfirmedSummary tells that the owner confirmed a profile.
func (p Profile) ConfirmedSummary() string {
	return "Profile of the place confirmed for watches that nobody collects: " + p.Place + "."
}
