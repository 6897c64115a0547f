package trial

import (
	"fmt"
	"time"

	"ledgerwheel/domain/chronometer"
)

// OnClock returns the moments at which a zone's clocks show a time of day on a civil day, earliest first: one on most
// days, none where daylight saving skips it, two where it stands twice. day is midnight UTC.
func OnClock(day time.Time, sinceMidnight time.Duration, zone *time.Location) []time.Time {
	y, m, d := day.Date()
	shown := time.Date(y, m, d, 0, 0, 0, int(sinceMidnight), time.UTC) // the wall, read as if it were UTC
	var moments []time.Time
	for _, near := range []time.Duration{-24 * time.Hour, 24 * time.Hour} {
		_, offset := shown.Add(near).In(zone).Zone()
		at := shown.Add(-time.Duration(offset) * time.Second)
		if _, now := at.In(zone).Zone(); now == offset && (len(moments) == 0 || !moments[0].Equal(at)) {
			moments = append(moments, at)
		}
	}
	return moments
}

// Which is which of two moments a time of day means that stands twice.
type Which string

// The two.
const (
	Earlier Which = "earlier" // before the clocks go back
	Later   Which = "later"   // after
)

// ReadingAt returns the moment that a typed time of a reading means; which tells where it stands twice. why says as a
// sentence why it means none, or none for certain.
func ReadingAt(day time.Time, sinceMidnight time.Duration, zone *time.Location, which Which) (at time.Time, why string) {
	moments := OnClock(day, sinceMidnight, zone)
	switch {
	case len(moments) == 0:
		return time.Time{}, "This time does not exist on that day: daylight saving begins, and the clocks skip it. Give " +
			"the time that the clock showed."
	case len(moments) == 1 || which == Earlier:
		return moments[0], ""
	case which == Later:
		return moments[1], ""
	}
	return time.Time{}, "This time stands twice on that day: daylight saving ends, and the clocks go back. Say which."
}

// ClockProblems says by form field where the reading time of p falls on a day on which the clocks of the zone skip it,
// or show it twice.
func (p Plan) ClockProblems(zone *time.Location) map[string]string {
	if p.FirstDay.IsZero() || p.ReadingMinute < 0 || p.ReadingMinute >= minutesPerDay {
		return nil
	}
	for day := range chronometer.Days + 1 {
		on := p.FirstDay.AddDate(0, 0, day)
		n := len(OnClock(on, time.Duration(p.ReadingMinute)*time.Minute, zone))
		if n == 1 {
			continue
		}
		what := "stands twice"
		if n == 0 {
			what = "is skipped"
		}
		return map[string]string{"reading_time": fmt.Sprintf("On %s this time %s, as the clocks change for daylight "+
			"saving. Choose another time of day.", on.Format("2 January 2006"), what)}
	}
	return nil
}
