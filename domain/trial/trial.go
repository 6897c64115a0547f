// Package trial holds a chronometer's trial as a shop runs it on a docket: how it is set up, what may be noted of a
// day, which day is due, and how the whole is judged. The programme and its criteria are those of package chronometer.
package trial

import (
	"fmt"
	"math"
	"slices"
	"time"

	"ledgerwheel/domain/chronometer"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/text"
	"ledgerwheel/domain/timing"
)

// Method is how the rates of a trial are found.
type Method string

// The two methods.
const (
	ByInstrument Method = "instrument" // each day's rate is read off a timing instrument
	ByComparison Method = "comparison" // the watch is read against a reference clock at the end of every day
)

// Words says the method.
func (m Method) Words() string {
	if m == ByComparison {
		return "clock comparisons"
	}
	return "a timing instrument"
}

// State is whether a trial goes on.
type State string

// The three states.
const (
	Running   State = "running"
	Ended     State = "ended" // with a verdict
	Abandoned State = "abandoned"
)

// Bounds of a plan. A trial may be written up afterwards, and begun ahead of its first day.
const (
	earliestBack  = 366 // days
	latestAhead   = 60  // days
	minutesPerDay = 24 * 60
	maxPPM        = 1000.0
	maxText       = 200  // characters of an instrument's name
	maxNote       = 2000 // characters of a note or a reason
)

// Plan is how a trial is set up.
type Plan struct {
	Category      chronometer.Category
	Method        Method
	FirstDay      time.Time // civil day on which day 1 begins, as midnight UTC
	ReadingMinute int       // after midnight in the shop's zone, when the watch is read and wound
	Instrument    string
	ClockPPM      float64 // half-width of the error of the instrument's clock, parts per million, rectangular
	Settling      *chronometer.Settling
}

// Problems says by form field why p can't be begun on the civil day today.
func (p Plan) Problems(today time.Time) map[string]string {
	bad := map[string]string{}
	if !p.Category.Valid() {
		bad["category"] = "Choose category 1 or 2, by the size of the movement."
	}
	if p.Method != ByInstrument && p.Method != ByComparison {
		bad["method"] = "Choose how the rates are found."
	}
	switch days := p.FirstDay.Sub(today).Hours() / 24; {
	case p.FirstDay.IsZero():
		bad["first_day"] = "Give the day on which day 1 begins."
	case days < -earliestBack || days > latestAhead:
		bad["first_day"] = fmt.Sprintf("Give a day from a year ago to %d days ahead.", latestAhead)
	}
	if p.ReadingMinute < 0 || p.ReadingMinute >= minutesPerDay {
		bad["reading_time"] = "Give a time of day such as 09:00."
	}
	if text.TooLong(p.Instrument, maxText) {
		bad["instrument"] = fmt.Sprintf("Use at most %d characters.", maxText)
	}
	if !(p.ClockPPM >= 0 && p.ClockPPM <= maxPPM) {
		bad["clock_ppm"] = "Give parts per million from 0 to 1000."
	}
	if p.Settling != nil {
		for field, why := range (chronometer.Trial{Category: chronometer.Category1, Settling: p.Settling}).Problems() {
			bad[field] = why
		}
	}
	return bad
}

// StageProblem says, as a sentence, why no trial may begin on the docket as it stands; "" when one may. A trial is run
// on a watch whose work is done.
func StageProblem(d docket.Docket) string {
	switch {
	case d.Closed():
		return "The watch has left the shop, so no trial is begun any more."
	case d.Stage != docket.StageRegulation && d.Stage != docket.StageFinalTest:
		return fmt.Sprintf("A trial begins in the stages %s and %s; the docket stands in %s.",
			docket.StageRegulation.Label(), docket.StageFinalTest.Label(), d.Stage.Label())
	}
	return ""
}

// DueAt returns when the reading that ends a day is due, day 0 being the beginning of day 1. The same time of day on
// the shop's clock is kept when summer time changes, so that one day of the trial is then an hour longer or shorter.
func (p Plan) DueAt(day int, zone *time.Location) time.Time {
	y, m, d := p.FirstDay.Date()
	return time.Date(y, m, d+day, p.ReadingMinute/60, p.ReadingMinute%60, 0, 0, zone).UTC()
}

// DueOn returns the number of the day whose reading falls on a civil day: 0 on the first day, when day 1 begins,
// negative before it, and more than 15 when the programme is over.
func (p Plan) DueOn(civil time.Time) int { return int(math.Round(civil.Sub(p.FirstDay).Hours() / 24)) }

// WatchZone is the time that the watch shows from the beginning to the end: its hands are not set for summer time.
func (p Plan) WatchZone(zone *time.Location) *time.Location {
	_, offset := p.DueAt(0, zone).In(zone).Zone()
	return time.FixedZone("", offset)
}

// FirstNoted is the number of the first reading: 0 by comparison, where day 1 begins with one, else 1.
func (p Plan) FirstNoted() int {
	if p.Method == ByComparison {
		return 0
	}
	return 1
}

// NextDay returns the earliest day not noted whose reading has fallen due by a civil day; ok is false when nothing is
// due. What lies before a day that was noted counts as missed, and is not asked for any more.
func (p Plan) NextDay(entries []Entry, civil time.Time) (day int, ok bool) {
	next := p.FirstNoted()
	for _, e := range entries {
		next = max(next, e.Day+1)
	}
	return next, next <= chronometer.Days && next <= p.DueOn(civil)
}

// Record is the trial as package chronometer judges it.
func Record(p Plan, entries []Entry, zone *time.Location) chronometer.Trial {
	t := chronometer.Trial{Category: p.Category, Settling: p.Settling, Start: p.DueAt(0, zone)}
	if p.Method == ByInstrument {
		t.ClockStdSPerDay = timing.ClockStdSPerDay(p.ClockPPM)
	}
	for _, e := range entries {
		if c := e.Compared; c != nil {
			t.Comparisons = append(t.Comparisons, chronometer.Comparison{Day: e.Day, Reference: c.Reference, Watch: c.Watch,
				StdS: metrology.FromHalfWidth(c.WithinS)})
		}
		if e.Day > 0 {
			t.Days = append(t.Days, chronometer.DayRecord{Day: e.Day, Rate: e.Rate, Position: e.Position,
				TemperatureC: e.TemperatureC, ReadAt: e.ReadAt, FunctionsEngaged: e.FunctionsEngaged})
		}
	}
	return t
}

// VerdictBy returns the verdict on a trial by a rule. A trial with a spoilt criterion has none: the programme was not
// followed, so whether the watch would have passed can't be said. A failure stands all the same, unless the rule leaves
// it in doubt.
func VerdictBy(j chronometer.Judgement, rule metrology.Rule) metrology.Verdict {
	switch {
	case j.Standing == chronometer.Fail && (rule == metrology.Simple || j.Guarded == metrology.NotMeasured && !inDoubt(j)):
		return metrology.Fail
	case j.Standing == chronometer.Spoilt || j.Standing == chronometer.Open:
		return metrology.NotMeasured
	case rule == metrology.Simple:
		return metrology.Pass
	}
	return j.Guarded
}

// inDoubt reports whether a criterion is spoilt and no other fails beyond its guard band.
func inDoubt(j chronometer.Judgement) bool {
	return len(j.With(chronometer.Spoilt)) > 0 && !slices.ContainsFunc(j.Results, func(r chronometer.Result) bool {
		return r.Standing == chronometer.Fail && r.Guarded != metrology.Undecided
	})
}

// MayEnd reports whether a trial can be ended with what it shows: every criterion is settled, or one has failed for
// certain.
func MayEnd(j chronometer.Judgement) bool {
	return j.Standing == chronometer.Fail || !slices.ContainsFunc(j.Results, func(r chronometer.Result) bool {
		return !r.Known
	})
}

// ReasonProblems says by form field what is wrong with the reason for abandoning a trial.
func ReasonProblems(reason string) map[string]string {
	switch {
	case reason == "":
		return map[string]string{"reason": "Say why the trial is abandoned."}
	case text.TooLong(reason, maxNote):
		return map[string]string{"reason": fmt.Sprintf("Use at most %d characters.", maxNote)}
	}
	return nil
}
