// Package promise says by which day a watch will probably be ready. It lays the times that the shop's past watches took onto
// the days that the shop will be open: the shop's own work counts open days, a wait for the customer or for a supplier counts
// days of the calendar. What it says is corrected by how such promises were kept (see [Shop.Backtest]).
//
// It is pure: no database, no requests, no clock of its own; what is drawn is drawn from a seed that the docket gives.
package promise

import (
	"math"
	"sort"
	"time"

	"ledgerwheel/domain/shop"
)

// Calendar is when the shop is open, over a bounded stretch of civil days. Moments on it are days since its first, in the
// shop's own time, with the part of the day that has gone (see [Calendar.at]).
type Calendar struct {
	first time.Time // civil day, midnight UTC
	zone  *time.Location
	hours shop.Hours
	// opened is how many open days lie before each day; days are the open days, by number.
	opened []float64
	days   []int
}

// usualHours are of a shop that has said none.
const usualHours = "Mo-Fr 09:00-17:00"

// horizonDays is how far beyond the last day asked for the calendar goes: longer than any promise may be.
const horizonDays = 1100

// NewCalendar is the calendar of a shop with these hours and holidays, in its zone, from the civil day of the moment from and
// good for promises made until the moment until. Hours that say nothing are Monday to Friday; a shop whose holidays close
// every day is taken to be open by its hours.
func NewCalendar(hours shop.Hours, holidays []shop.Holiday, zone *time.Location, from, until time.Time) *Calendar {
	if !hours.Said() {
		hours, _ = shop.ParseHours(usualHours) // known to be right
	}
	c := &Calendar{first: civil(from.In(zone)), zone: zone, hours: hours}
	n := int(civil(until.In(zone)).Sub(c.first).Hours()/24) + horizonDays
	c.fill(n, holidays)
	if len(c.days) < n/60 { // open less than six days a year
		c.fill(n, nil)
	}
	return c
}

func (c *Calendar) fill(n int, holidays []shop.Holiday) {
	c.opened, c.days = make([]float64, n+1), nil
	for i := range n {
		day := c.first.AddDate(0, 0, i)
		open := len(c.hours[day.Weekday()]) > 0
		for _, h := range holidays {
			open = open && !h.Closes(day)
		}
		c.opened[i+1] = c.opened[i]
		if open {
			c.opened[i+1]++
			c.days = append(c.days, i)
		}
	}
}

func civil(t time.Time) time.Time {
	return time.Date(t.Year(), t.Month(), t.Day(), 0, 0, 0, 0, time.UTC)
}

// at is the place of a moment on the calendar: whole days since its first, and the part of the day by the shop's clock.
func (c *Calendar) at(t time.Time) float64 {
	local := t.In(c.zone)
	part := float64(local.Hour()*3600+local.Minute()*60+local.Second()) / 86400
	return civil(local).Sub(c.first).Hours()/24 + part
}

// Day is the civil day of a place on the calendar, midnight UTC.
func (c *Calendar) day(x float64) time.Time { return c.first.AddDate(0, 0, int(math.Floor(x))) }

// place is the place at which a civil day begins.
func (c *Calendar) place(day time.Time) float64 { return day.Sub(c.first).Hours() / 24 }

// isOpen reports whether the shop opens on a day of the calendar.
func (c *Calendar) isOpen(day int) bool {
	return day >= 0 && day+1 < len(c.opened) && c.opened[day+1] > c.opened[day]
}

// open is how many open days have gone by at x, of an opening day the part of its hours.
func (c *Calendar) open(x float64) float64 {
	day := int(math.Floor(x))
	switch {
	case day < 0:
		return 0
	case day+1 >= len(c.opened):
		return c.opened[len(c.opened)-1]
	case c.opened[day+1] == c.opened[day]:
		return c.opened[day]
	}
	return c.opened[day] + c.gone(day, x-float64(day))
}

// gone is the part of the day's opening hours that has gone at a part of the day.
func (c *Calendar) gone(day int, part float64) float64 {
	minute, done, all := part*24*60, 0.0, 0.0
	for _, s := range c.spans(day) {
		length := float64(s.ToMin - s.FromMin)
		all += length
		done += math.Max(0, math.Min(length, minute-float64(s.FromMin)))
	}
	return done / all
}

func (c *Calendar) spans(day int) []shop.Span {
	// Weekday by arithmetic: this is asked thousands of times a proposal.
	return c.hours[(int(c.first.Weekday())+day)%7]
}

// reached is the first place at which that many open days have gone by; the calendar's end where they are not in it.
func (c *Calendar) reached(open float64) float64 {
	n := int(math.Ceil(open)) - 1
	switch {
	case n < 0:
		return 0
	case n >= len(c.days):
		return float64(len(c.opened) - 1)
	}
	day, want := c.days[n], 0.0
	for _, s := range c.spans(day) {
		want += float64(s.ToMin - s.FromMin)
	}
	want *= open - float64(n)
	for _, s := range c.spans(day) {
		length := float64(s.ToMin - s.FromMin)
		if want <= length {
			return float64(day) + (float64(s.FromMin)+want)/(24*60)
		}
		want -= length
	}
	return float64(day) + 1 - 1e-9
}

// nextOpen is the first open day from day on.
func (c *Calendar) nextOpen(day int) int {
	i := sort.SearchInts(c.days, day)
	if i >= len(c.days) {
		return len(c.opened) - 1
	}
	return c.days[i]
}

// Open reports whether the shop is open on a civil day.
func (c *Calendar) Open(day time.Time) bool { return c.isOpen(int(c.place(day))) }
