package photo

import (
	"fmt"

	"ledgerwheel/domain/text"
)

// About says what a photograph of a docket shows. The value is kept in the database.
type About string

// What photographs are about.
const (
	OfCondition About = "condition" // how the watch came in
	OfDiagnosis About = "diagnosis"
	OfWork      About = "work"
)

var aboutWords = map[About]string{OfCondition: "the condition", OfDiagnosis: "a finding", OfWork: "the work"}

// AddedSummary is what the journal tells of a photograph that was added.
func (a About) AddedSummary() string { return "Photograph added, about " + aboutWords[a] + "." }

// CaptionSummary is what it tells of a caption that was changed.
const CaptionSummary = "Caption of a photograph changed."

// What the journal tells of a photograph's way out of sight, and back into the customer's.
const (
	ShownSummary   = "Photograph shown to the customer."
	HiddenSummary  = "Photograph taken out of the customer's sight."
	RemovedSummary = "Photograph removed. Its file is deleted; its sum stays here."
)

// Label is what is said of photographs as they are added.
type Label struct {
	About   About
	Caption string
	// CustomerSees puts them on the page behind the customer's private link.
	CustomerSees bool
}

const maxRemovalReason = 500 // characters

// RemovalProblems says what is wrong with the reason for removing a photograph, under "reason".
func RemovalProblems(why string) map[string]string {
	switch {
	case why == "":
		return map[string]string{"reason": "Write why the photograph is removed: it goes into the journal."}
	case text.TooLong(why, maxRemovalReason):
		return map[string]string{"reason": "Keep the reason to 500 characters."}
	}
	return nil
}

// MaxCaption is the longest caption, in characters.
const MaxCaption = 200

// CaptionProblems says what is wrong with a caption, under "caption".
func CaptionProblems(caption string) map[string]string {
	if text.TooLong(caption, MaxCaption) {
		return map[string]string{"caption": "Keep the caption to 200 characters."}
	}
	return nil
}

// MaxPerDocket bounds one docket's photographs.
const MaxPerDocket = 400

// CountProblem says that a docket with so many photographs takes no more.
func CountProblem(kept int) string {
	return fmt.Sprintf("A docket takes %d photographs; this one has %d.", MaxPerDocket, kept)
}
