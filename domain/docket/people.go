package docket

import (
	"fmt"
	"time"
)

// What journals tell of people's data. None of these sentences names the person: what is entered can't be taken out again.

// RecordsMergedSummary tells in the shop's journal which record went into which.
func RecordsMergedSummary(kept, merged int64) string {
	return fmt.Sprintf("The record of customer %d was merged into that of customer %d.", merged, kept)
}

// OwnerOfDocketSummary tells on a docket whose record it belongs to now.
func OwnerOfDocketSummary(kept, merged int64) string {
	return fmt.Sprintf("Belongs to customer %d, into whose record that of customer %d was merged.", kept, merged)
}

// ExportedSummary tells that somebody took a copy of everything about a customer.
func ExportedSummary(id int64) string {
	return fmt.Sprintf("Everything about customer %d was exported.", id)
}

// TakenAwaySummary tells that somebody took a copy of the whole record.
const TakenAwaySummary = "The whole record was taken away as open files."

// ErasedSummary tells what of a customer's data went; until is the day up to which invoices keep name and address, zero
// where they went too.
func ErasedSummary(id int64, until time.Time) string {
	if until.IsZero() {
		return fmt.Sprintf("Name and ways to reach customer %d were erased.", id)
	}
	return fmt.Sprintf("Ways to reach customer %d were erased; name and address stay for invoices until %s.", id, DayWords(until))
}

// ErasedAgainSummary tells that an erasure was done once more, as a backup from before it was restored.
func ErasedAgainSummary(id int64) string {
	return fmt.Sprintf("The data of customer %d were erased again: the record was restored from before.", id)
}

// Telling is how an entry is shown instead of as it was entered.
type Telling struct {
	ByName  string `json:"by_name"`
	Summary string `json:"summary"`
	Why     string `json:"why"`
	Facts   string `json:"facts"`
}

// Told returns e as it is shown. Its hash is that of the entry as it was entered, and does not fit what this returns.
func (e Entry) Told(t *Telling) Entry {
	if t == nil {
		return e
	}
	e.By.Name, e.Summary, e.Why, e.Facts = t.ByName, t.Summary, t.Why, nil
	if t.Facts != "" {
		e.Facts = []byte(t.Facts)
	}
	return e
}
