package trial

import (
	"fmt"

	"ledgerwheel/domain/metrology"
)

// BegunSummary is what the journal tells of a trial that begins.
func (p Plan) BegunSummary() string {
	return fmt.Sprintf("Trial of fifteen days begun in category %d, by %s; day 1 begins on %s.",
		p.Category, p.Method.Words(), p.FirstDay.Format("2 January 2006"))
}

// ReadSummary is what it tells of a day that was read; the day before the first has a comparison only.
func (e Entry) ReadSummary() string {
	if e.Day == 0 {
		return fmt.Sprintf("The trial's first comparison made: %s.", e.Text())
	}
	return fmt.Sprintf("Day %d of the trial read: %s.", e.Day, e.Text())
}

// CorrectedSummary is what it tells of a day that was corrected.
func (e Entry) CorrectedSummary(before Entry) string {
	return fmt.Sprintf("Day %d of the trial corrected: %s → %s.", e.Day, before.Text(), e.Text())
}

// EndedSummary is what it tells of a trial that ended with its verdict.
func EndedSummary(v metrology.Verdict) string { return "Trial ended: " + VerdictWords(v) + "." }

// AbandonedSummary is what it tells of one that ended without any.
func AbandonedSummary(daysRead int) string {
	return fmt.Sprintf("Trial abandoned after %d days read.", daysRead)
}

// VerdictWords says the verdict on a trial; one without any was spoilt.
func VerdictWords(v metrology.Verdict) string {
	if v == metrology.NotMeasured {
		return "no verdict, the programme was not followed"
	}
	return v.String()
}

// DaysRead counts the days with a reading, without the one that day 1 begins with.
func DaysRead(entries []Entry) (n int) {
	for _, e := range entries {
		if e.Day > 0 {
			n++
		}
	}
	return n
}

// Why a trial is not begun, noted, corrected or ended as asked.
const (
	RunsAlready = "A trial of this docket is running already. End or abandon it first."
	Over        = "This trial is over, so it stays as it is."
	NoWhy       = "Say why the day is corrected."
	StillOpen   = "The trial can't be ended with a verdict yet: criteria are still open. It can be abandoned with a reason."
)
