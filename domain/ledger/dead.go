package ledger

import "time"

// Wants reports whether a move shows that a part is of use: pieces of it came, or a docket asked for some.
func (k Kind) Wants() bool { return k != Counted && k != WrittenOff && k != SentBack }

// DeadMonths is after how many months without such a move what lies in the drawer is called dead: the shop's own choice of a year is
// common practice, no rule.
const DeadMonths = 12

// DeadBefore is the moment before which a part must last have been wanted to be dead now.
func DeadBefore(now time.Time) time.Time { return now.AddDate(0, -DeadMonths, 0) }
