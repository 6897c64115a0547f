package warranty

import "ledgerwheel/domain/text"

// IssuedSummary is what the journal tells of a card that was issued, in place of another where old is not "".
func IssuedSummary(code, old Code) string {
	if old == "" {
		return "Warranty card " + code.Grouped() + " issued."
	}
	return "Warranty card " + code.Grouped() + " issued in place of " + old.Grouped() + "."
}

// VoidedSummary is what it tells of one that was declared void.
func VoidedSummary(code Code) string { return "Warranty card " + code.Grouped() + " declared void." }

// StandsAlready says why no card is issued beside one that stands.
const StandsAlready = "A card stands already: reissue it, or declare it void first."

// maxReason is the longest reason, in characters.
const maxReason = 2000

// ReasonProblems says what is wrong with the reason for which a card is reissued or declared void, under "reason".
func ReasonProblems(reason string) map[string]string {
	switch {
	case reason == "":
		return map[string]string{"reason": "Write why: the reason goes into the journal."}
	case text.TooLong(reason, maxReason):
		return map[string]string{"reason": "Keep the reason to 2000 characters."}
	}
	return nil
}
