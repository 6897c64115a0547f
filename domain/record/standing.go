package record

import (
	"strconv"
	"time"

	"ledgerwheel/domain/text"
)

// Patience is the age at which the newest record check is too old: as old as a backup may be.
const Patience = 48 * time.Hour

// FindingsShown is how many findings of a check are kept and shown as sentences.
const FindingsShown = 50

// CheckStanding says, in words for the owner, how the record stands by its newest check, which ended at a time, zero for none,
// with so many findings; alarming where something differs, or where there is none or it is too old.
func CheckStanding(ended time.Time, findings int64, now time.Time) (words string, alarming bool) {
	if ended.IsZero() {
		return "The record was never checked.", true
	}
	age := now.Sub(ended)
	switch {
	case findings > 0:
		return "The last check of the record, " + text.Age(age) + " ago, found " + counted(findings, "difference", "differences") + ".", true
	case age > Patience:
		return "The last check of the record is " + text.Age(age) + " old.", true
	}
	return "The record was found whole " + text.Age(age) + " ago.", false
}

// Line is the seal in short, for papers; "" where there is none.
func (s Seal) Line() string {
	if len(s.Text) == 0 {
		return ""
	}
	return "Seal of " + s.At.UTC().Format("2 Jan 2006, 15:04") + " UTC, " + s.Over() + ": " + s.Short()
}

// Over says how many entries the seal is over.
func (s Seal) Over() string {
	if s.Size == 1 {
		return "1 entry"
	}
	return parted(s.Size) + " entries"
}

// parted is a count with its thousands parted, in the English in which papers are worded.
func parted(n int64) string {
	digits := strconv.FormatInt(n, 10)
	for i := len(digits) - 3; i > 0; i -= 3 {
		digits = digits[:i] + "," + digits[i:]
	}
	return digits
}
