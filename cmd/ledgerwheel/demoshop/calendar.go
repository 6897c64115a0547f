package demoshop

import (
	"fmt"
	"time"
)

// calendar counts the shop's working days, Monday to Saturday, back from the last one before the demo was first filled.
// What happened lies wholly before the day of filling, whatever the hour.
type calendar struct {
	zone *time.Location
	last time.Time // that last working day, civil, as midnight UTC
}

// calendarBefore is the calendar of a demo filled at the time now.
func calendarBefore(now time.Time, zone *time.Location) calendar {
	y, m, d := now.In(zone).Date()
	return calendar{zone, workday(time.Date(y, m, d, 0, 0, 0, 0, time.UTC), 1)}
}

// calendarFrom is the calendar in which the given time lies so many working days back, as in [calendar.at].
func calendarFrom(t time.Time, back int, zone *time.Location) calendar {
	y, m, d := t.In(zone).Date()
	return calendar{zone, workday(time.Date(y, m, d, 0, 0, 0, 0, time.UTC), 1-back)}
}

// workday is the working day n working days before the civil day d, or after it for a negative n.
func workday(d time.Time, n int) time.Time {
	step := -1
	if n < 0 {
		step, n = 1, -n
	}
	for n > 0 {
		if d = d.AddDate(0, 0, step); d.Weekday() != time.Sunday {
			n--
		}
	}
	return d
}

// openOn is the civil day d or, where that is a Sunday, the day after: nothing is promised for a day when the shop is
// shut.
func openOn(d time.Time) time.Time {
	if d.Weekday() == time.Sunday {
		return d.AddDate(0, 0, 1)
	}
	return d
}

// day is the civil day, as midnight UTC, that lies back working days back; 1 is the last working day.
func (c calendar) day(back int) time.Time { return workday(c.last, back-1) }

// at is the moment on that day when the shop's clock shows hours and minutes, such as "09:40". It panics on a clock
// that can't be read, which is a slip in this package.
func (c calendar) at(back int, clock string) time.Time {
	hm, err := time.Parse("15:04", clock)
	if err != nil {
		panic(fmt.Sprintf("demoshop: %v", err))
	}
	y, m, d := c.day(back).Date()
	return time.Date(y, m, d, hm.Hour(), hm.Minute(), 0, 0, c.zone).UTC()
}

// midnight is when a civil day begins in the shop.
func (c calendar) midnight(day time.Time) time.Time {
	y, m, d := day.Date()
	return time.Date(y, m, d, 0, 0, 0, 0, c.zone).UTC()
}

// civil is the civil day in the shop on which t lies, as midnight UTC.
func (c calendar) civil(t time.Time) time.Time {
	y, m, d := t.In(c.zone).Date()
	return time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
}
