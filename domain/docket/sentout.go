package docket

import "time"

// SentOutLongDays is after how many days with an outside workshop somebody should ask after a watch. Three weeks
// is a common turnaround for dial and case work (common practice).
const SentOutLongDays = 21

// SentOutLong reports whether a watch that came to the place p at since has been with an outside workshop so long,
// at now, that somebody should ask after it.
func SentOutLong(p Place, since, now time.Time) bool {
	return p.Kind == PlaceSentOut && now.Sub(since) > SentOutLongDays*24*time.Hour
}
