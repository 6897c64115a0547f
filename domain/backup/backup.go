// Package backup has the rules of the shop's backups: when one is due, which are kept, and when the owner must be told
// that there is none to rely on.
package backup

import (
	"fmt"
	"slices"
	"strconv"
	"time"

	"ledgerwheel/domain/text"
)

// How many are kept, counted in days, weeks and months that have a proven backup: common practice.
const (
	Days   = 7
	Weeks  = 5
	Months = 12
)

// Patience is the age at which the last proven backup is too old.
const Patience = 48 * time.Hour

// Worth is what trying to restore a backup has shown.
type Worth int

// From worst to best.
const (
	Unproven Worth = iota // not tried, or not to be restored
	Faithful              // restored, and every sum agrees; but the record that it copies is not whole
	Proven                // restored, and the record found whole
)

// Kept is one backup that lies in the folder of the nightly ones.
type Kept struct {
	At    time.Time // when the record was read
	Worth Worth
}

// Superfluous returns which of the backups need not be kept any longer, as their places in the list. Of the days, weeks
// (ISO 8601) and months of the shop's time zone that have proven backups, the newest of each of the last seven, five
// and twelve is kept, and so the newest of all. Faithful ones are counted in the same way, but by themselves, and
// unproven ones go once they are older than seven days: neither ever pushes out what is better.
func Superfluous(list []Kept, now time.Time, zone *time.Location) []int {
	order := make([]int, len(list))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return list[b].At.Compare(list[a].At) })
	places := map[Worth][]period{Proven: periods(), Faithful: periods()}
	var gone []int
	for _, i := range order {
		keep := list[i].Worth == Unproven && now.Sub(list[i].At) <= Days*24*time.Hour
		for _, p := range places[list[i].Worth] {
			keep = p.take(list[i].At.In(zone)) || keep
		}
		if !keep {
			gone = append(gone, i)
		}
	}
	slices.Sort(gone)
	return gone
}

// period is one way of counting: by days, by weeks or by months.
type period struct {
	most  int
	name  func(time.Time) string
	taken map[string]bool
}

func periods() []period {
	week := func(t time.Time) string {
		year, week := t.ISOWeek()
		return fmt.Sprintf("%d-W%02d", year, week)
	}
	return []period{
		{Days, func(t time.Time) string { return t.Format(time.DateOnly) }, map[string]bool{}},
		{Weeks, week, map[string]bool{}},
		{Months, func(t time.Time) string { return t.Format("2006-01") }, map[string]bool{}},
	}
}

// take reports whether the moment is the first to be asked for of one of the periods that are kept.
func (p period) take(t time.Time) bool {
	name := p.name(t)
	if p.taken[name] || len(p.taken) == p.most {
		return false
	}
	p.taken[name] = true
	return true
}

// Clock is a time of day at which the nightly backup is made, in minutes after midnight.
type Clock int

// ParseClock reads HH:MM.
func ParseClock(text string) (Clock, error) {
	t, err := time.Parse("15:04", text)
	if err != nil {
		return 0, fmt.Errorf("%s is no time of day such as 02:30", strconv.Quote(text))
	}
	return Clock(t.Hour()*60 + t.Minute()), nil
}

func (c Clock) String() string { return fmt.Sprintf("%02d:%02d", c/60, c%60) }

// On is the moment of the clock on a day of a zone. Where clocks skip it, it is as much later; where they pass it twice, it is
// once.
func (c Clock) On(day time.Time, zone *time.Location) time.Time {
	y, m, d := day.In(zone).Date()
	return time.Date(y, m, d, int(c)/60, int(c)%60, 0, 0, zone)
}

// AgainAfter is how long after a failed backup another is tried.
const AgainAfter = time.Hour

// Due is the moment at which the next backup is to be made: now or earlier where one was missed, as on a machine that
// is off at night. Last is when the last one began, or zero.
func Due(last time.Time, failed bool, now time.Time, at Clock, zone *time.Location) time.Time {
	today := at.On(now, zone)
	missed := today // the newest night that has passed
	if now.Before(today) {
		missed = at.On(today.In(zone).AddDate(0, 0, -1), zone)
	}
	if last.Before(missed) {
		return missed
	}
	next := today
	if !now.Before(today) {
		next = at.On(today.In(zone).AddDate(0, 0, 1), zone)
	}
	if again := last.Add(AgainAfter); failed && again.Before(next) {
		return again
	}
	return next
}

// Standing says, in words for the owner, how far the last proven backup can be relied on; alarming where there is none or
// it is too old.
func Standing(proven, now time.Time) (words string, alarming bool) {
	if proven.IsZero() {
		return "No backup was ever proven.", true
	}
	age := now.Sub(proven)
	return "The last proven backup is " + text.Age(age) + " old.", age > Patience
}

// Name is the file name of a nightly backup.
func Name(at time.Time, encrypted bool) string {
	name := "ledgerwheel-" + at.UTC().Format("20060102T150405Z") + ".backup"
	if encrypted {
		name += ".age"
	}
	return name
}
