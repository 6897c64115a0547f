package page

import (
	"fmt"
	"net/http"
	"time"
)

// DayLayout is how a civil day is written.
const DayLayout = "Mon 2 Jan 2006"

func ZoneOf(r *http.Request) *time.Location {
	v, _ := ViewerOf(r.Context())
	return v.Shop.Location()
}

// Today is the civil day in the shop, as midnight UTC, the form in which the domain keeps days.
func (s *Host) Today(r *http.Request) time.Time {
	v, _ := ViewerOf(r.Context())
	return Civil(s.Now().In(v.Shop.Location()))
}

func Civil(t time.Time) time.Time {
	y, m, d := t.Date()
	return time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
}

// Day writes a civil day, or nothing for none.
func (s *Host) Day(_ *http.Request, t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.Format("Mon 2 Jan 2006")
}

// MomentLayout is how a point in time is written, always in the shop's zone.
const MomentLayout = "2 Jan 2006, 15:04"

// Moment writes a point in time in the shop's zone.
func (s *Host) Moment(r *http.Request, t time.Time) string {
	if t.IsZero() {
		return ""
	}
	v, _ := ViewerOf(r.Context())
	t = t.In(v.Shop.Location())
	return t.Format(MomentLayout) + zoneOf(t)
}

// zoneOf is the zone's name, after a blank, where the time on the wall does not say which moment it is; else nothing.
func zoneOf(t time.Time) string {
	if twice(t) {
		return t.Format(" MST")
	}
	return ""
}

// twice reports whether the clock on the wall shows t's time twice, as in the hour when summer time ends: then only the
// zone's name tells which is meant.
func twice(t time.Time) bool {
	_, offset := t.Zone()
	for _, near := range []time.Time{t.Add(-6 * time.Hour), t.Add(6 * time.Hour)} {
		_, other := near.Zone()
		again := t.Add(time.Duration(offset-other) * time.Second)
		if _, then := again.Zone(); other != offset && then == other {
			return true
		}
	}
	return false
}

// CivilDayOf is the day in the shop on which t fell.
func (s *Host) CivilDayOf(r *http.Request, t time.Time) time.Time {
	v, _ := ViewerOf(r.Context())
	return Civil(t.In(v.Shop.Location()))
}

func TrialClock(minute int) string { return fmt.Sprintf("%02d:%02d", minute/60, minute%60) }
