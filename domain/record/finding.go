package record

import (
	"fmt"
	"slices"
	"time"

	"ledgerwheel/domain/text"
)

// Finding is one thing of the record that is not as the journal, the log or a seal says.
type Finding struct {
	Kind     string `json:"kind"`
	Docket   string `json:"docket,omitempty"` // its number; empty for what belongs to none
	Entry    int64  `json:"entry,omitempty"`  // the journal's entry that it hangs on
	Sentence string `json:"sentence"`
}

// The kinds of finding.
const (
	KindEntry   = "entry"   // a journal's entry was altered, left out, moved, cut off or added
	KindDocket  = "docket"  // a docket is missing
	KindRow     = "row"     // a row of evidence is not what the journal says
	KindLog     = "log"     // the log has been changed
	KindSeal    = "seal"    // the record does not hold what a seal says
	KindFile    = "file"    // a photograph or a sound is missing or altered
	KindGuard   = "guard"   // what declares rows and keeps entries was taken away
	KindUnknown = "unknown" // the record has what this release does not know
)

// Step is what one entry says of a row.
type Step struct {
	Order    int64 // the entry's place in the log
	DocketID int64 // whose journal it stands in; 0 for the shop's
	Seq      int64 // of the entry; 0 where the row was brought in
	Was, Now Digest
}

// Trail is what all entries say of one row.
type Trail []Step

// Fault is where a trail breaks off.
type Fault int

// What can be wrong with a row.
const (
	Whole    Fault = iota
	Added          // no entry declares it
	Missing        // declared, and not there
	Returned       // deleted by an entry, and there again
	Differs        // not what the newest entry wrote
	Undercut       // found by an entry otherwise than the one before it left it
)

// Sort puts the steps into the order of the log.
func (t Trail) Sort() {
	slices.SortStableFunc(t, func(a, b Step) int {
		switch {
		case a.Order < b.Order:
			return -1
		case a.Order > b.Order:
			return 1
		}
		return 0
	})
}

// Check holds a row as it is against its trail, in the order of the log. at is the step with which it no longer agrees;
// -1 where there is none.
func (t Trail) Check(is Digest) (f Fault, at int) {
	var present Digest
	for i, s := range t {
		if s.Was != present {
			return Undercut, i
		}
		present = s.Now
	}
	last := len(t) - 1
	switch {
	case is == present:
		return Whole, -1
	case last < 0:
		return Added, -1
	case is.Absent():
		return Missing, last
	case present.Absent():
		return Returned, last
	}
	return Differs, last
}

// RowSentence says what is wrong with a row. row says which, entry names the journal's entry at which it no longer
// agrees and before the one before that, "" where there is none.
func RowSentence(f Fault, row, entry, before string) string {
	row = text.Capital(row)
	switch f {
	case Added:
		return row + " stands in no journal: it was added without the program. Nothing that it says can be relied on."
	case Missing:
		return fmt.Sprintf("%s is missing: %s wrote it. Look for it in a backup.", row, entry)
	case Returned:
		return fmt.Sprintf("%s is there again, though %s deleted it.", row, entry)
	case Differs:
		return fmt.Sprintf("%s was changed without the program: it is not what %s wrote. A backup from before has the true one.", row, entry)
	case Undercut:
		if before == "" {
			return fmt.Sprintf("%s was there or was changed before %s, and no entry says so.", row, entry)
		}
		return fmt.Sprintf("%s was changed without the program between %s and %s.", row, before, entry)
	}
	return row + " is as it should be."
}

// SealAt is how a seal is spoken of.
func SealAt(at time.Time) string {
	return "the seal of " + at.UTC().Format("2 January 2006, 15:04 UTC")
}
