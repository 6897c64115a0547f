package shop

import (
	"strings"
	"time"
	"unicode/utf8"
)

// Holiday is a stretch of civil days on which the shop is closed whatever its hours say.
type Holiday struct {
	ID   int64
	Name string
	// From and To are its first and last day, civil days at midnight UTC.
	From, To time.Time
	// Yearly closes on the same dates of every later year too. A day that moves, such as Easter, is written down each year.
	Yearly bool
}

const (
	maxHolidayName = 80  // characters
	maxHolidayDays = 366 // longer is no holiday, or a year typed wrongly
)

// Problems says, by form field, what stops h being saved.
func (h Holiday) Problems() map[string]string {
	bad := map[string]string{}
	switch {
	case strings.TrimSpace(h.Name) == "":
		bad["name"] = "Give the holiday a name, such as New Year."
	case utf8.RuneCountInString(h.Name) > maxHolidayName:
		bad["name"] = "The name is longer than 80 characters."
	}
	switch {
	case h.From.IsZero():
		bad["from"] = "Give the first day."
	case h.To.Before(h.From):
		bad["to"] = "The last day is before the first."
	case h.To.Sub(h.From) >= maxHolidayDays*24*time.Hour:
		bad["to"] = "That is more than a year: are the days right?"
	}
	return bad
}

// Closes reports whether h closes the shop on a civil day. The 29th of February returns in leap years only.
func (h Holiday) Closes(day time.Time) bool {
	if !day.Before(h.From) && !day.After(h.To) {
		return true
	}
	if !h.Yearly || day.Before(h.From) {
		return false
	}
	// The stretch that began in day's own year, and the one that began the year before and reaches over New Year.
	for _, years := range []int{day.Year() - h.From.Year(), day.Year() - h.From.Year() - 1} {
		if years < 1 {
			continue
		}
		from := h.From.AddDate(years, 0, 0)
		if from.Day() != h.From.Day() { // the 29th of February of a common year: the day before it closed in vain
			continue
		}
		if !day.Before(from) && !day.After(h.To.AddDate(years, 0, 0)) {
			return true
		}
	}
	return false
}

// DaysWords are the days of h in words, such as "24 Dec 2026 to 2 Jan 2027, every year".
func (h Holiday) DaysWords() string {
	const layout = "2 Jan 2006"
	words := h.From.Format(layout)
	if !h.To.Equal(h.From) {
		words += " to " + h.To.Format(layout)
	}
	if h.Yearly {
		words += ", every year"
	}
	return words
}

// AddedSummary tells in the shop's journal that the shop will be closed.
func (h Holiday) AddedSummary() string { return "Closed for " + h.Name + ": " + h.DaysWords() + "." }

// RemovedSummary is of one that counts no longer.
func (h Holiday) RemovedSummary() string {
	return "No longer closed for " + h.Name + ": " + h.DaysWords() + "."
}
