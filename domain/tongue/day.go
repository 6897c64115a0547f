package tongue

import (
	"strconv"
	"time"
)

// Day is a civil day in words, such as 30 November 2026. The forms are those of Unicode's CLDR (pattern "long") without
// the comma that English in the United States would write; French writes the first of a month 1er (usage of the
// Imprimerie nationale, from memory).
func (t Tongue) Day(day time.Time) string {
	number := strconv.Itoa(day.Day())
	switch {
	case t == German:
		number += "."
	case t == French && day.Day() == 1:
		number = "1er"
	}
	return number + " " + t.Say("month."+strconv.Itoa(int(day.Month()))) + " " + strconv.Itoa(day.Year())
}

// Weekday names a day of the week.
func (t Tongue) Weekday(d time.Weekday) string { return t.Say("weekday." + strconv.Itoa(int(d))) }

// DayOfWeek is a civil day with its weekday in front, such as Monday 30 November 2026.
func (t Tongue) DayOfWeek(day time.Time) string {
	if t == German {
		return t.Weekday(day.Weekday()) + ", " + t.Day(day)
	}
	return t.Weekday(day.Weekday()) + " " + t.Day(day)
}

// Moment is a day and a time of it, by the zone that at is in.
func (t Tongue) Moment(at time.Time) string { return t.Day(at) + ", " + t.Clock(at) }

// Clock is a time of day on the clock of twenty-four hours.
func (t Tongue) Clock(at time.Time) string {
	switch t {
	case German:
		return at.Format("15:04") + "\u00a0Uhr"
	case French:
		return at.Format("15\u00a0h\u00a004")
	}
	return at.Format("15:04")
}
