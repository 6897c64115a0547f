package message

import (
	"fmt"
	"time"
)

// Reminders are what the program tells by itself when its day comes. 0 stands for never.
type Reminders struct {
	NotCollectedDays int // days after the watch became ready
	WarrantyDays     int // days before the warranty's last day
	ServiceYears     int // years after a service was handed over
}

// UsualReminders are what a shop begins with: a fortnight, a month and five years. They are ours to choose; five years is a
// usual span between services of a mechanical watch (common practice, from memory).
func UsualReminders() Reminders {
	return Reminders{NotCollectedDays: 14, WarrantyDays: 30, ServiceYears: 5}
}

// Problems says, by form field, what stops r from being kept.
func (r Reminders) Problems() map[string]string {
	bad := map[string]string{}
	for _, f := range []struct {
		field, unit string
		n, most     int
	}{{"not_collected_days", "days", r.NotCollectedDays, 365}, {"warranty_days", "days", r.WarrantyDays, 365},
		{"service_years", "years", r.ServiceYears, 20}} {
		if f.n < 0 || f.n > f.most {
			bad[f.field] = fmt.Sprintf("Give a whole number of %s from 1 to %d, or 0 for never.", f.unit, f.most)
		}
	}
	return bad
}

// graceDays are for how long after its day a reminder is still told: a shop that was shut over the holidays tells it when it
// opens, but one that begins with this program does not write to the customers of years gone by.
const graceDays = 30

// NotCollectedFrom is the civil day from which a watch that was ready on readyOn is told not to be collected yet. Days are
// civil days, midnight UTC.
func (r Reminders) NotCollectedFrom(readyOn time.Time) time.Time {
	return readyOn.AddDate(0, 0, r.NotCollectedDays)
}

// NotCollected reports whether it is told on the civil day today.
func (r Reminders) NotCollected(readyOn, today time.Time) bool {
	return r.NotCollectedDays > 0 && within(today, r.NotCollectedFrom(readyOn))
}

// Warranty reports whether it is told on the civil day today that the warranty ends on until. A warranty that has ended is
// told nobody.
func (r Reminders) Warranty(until, today time.Time) bool {
	from := until.AddDate(0, 0, -r.WarrantyDays)
	return r.WarrantyDays > 0 && !today.Before(from) && !today.After(until)
}

// Service reports whether it is told on the civil day today that a watch handed over on left may be due for a service. A day
// that the year does not have, 29 February, counts as 1 March (time.Time.AddDate).
func (r Reminders) Service(left, today time.Time) bool {
	return r.ServiceYears > 0 && within(today, left.AddDate(r.ServiceYears, 0, 0))
}

// within reports whether today lies in the days of grace that begin with from.
func within(today, from time.Time) bool {
	return !today.Before(from) && today.Before(from.AddDate(0, 0, graceDays))
}

// OfDay is the occasion of what is told because a civil day has come, or comes.
func OfDay(day time.Time) string { return day.Format(time.DateOnly) }

// SweepFromHour is the hour of the shop's clock from which the day's reminders are written: nobody is woken.
const SweepFromHour = 9
