package trial

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"ledgerwheel/domain/chronometer"
)

// Needs is what a running trial asks of one civil day.
type Needs struct {
	DueOn  int              // as Plan.DueOn
	Read   bool             // the reading numbered DueOn is to be taken
	Set    *chronometer.Day // what the watch is set for at that reading; nil when the programme is over or not yet begun
	Behind []int            // readings that fell due before and are not noted, ascending
}

// NeedsOn returns what a running trial asks of a civil day.
func (p Plan) NeedsOn(entries []Entry, civil time.Time) Needs {
	n := Needs{DueOn: p.DueOn(civil)}
	for day := p.FirstNoted(); day <= min(n.DueOn, chronometer.Days); day++ {
		if slices.ContainsFunc(entries, func(e Entry) bool { return e.Day == day }) {
			continue
		}
		if day == n.DueOn {
			n.Read = true
		} else {
			n.Behind = append(n.Behind, day)
		}
	}
	if n.DueOn >= 0 {
		if day, ok := chronometer.DayOf(n.DueOn + 1); ok {
			n.Set = &day
		}
	}
	return n
}

// Asks says whether the trial asks for anything on the day: what is due, or what was left.
func (n Needs) Asks() bool {
	return n.Read || n.Set != nil || len(n.Behind) > 0 || n.DueOn > chronometer.Days
}

// Text says in a line what is to be done at the time of day given as words, such as "09:00".
func (n Needs) Text(at string) string {
	var parts []string
	if n.DueOn < 0 {
		first, _ := chronometer.DayOf(1)
		return fmt.Sprintf("not begun: it settles, fully wound, for %g h at %g °C, then day 1 begins in %s",
			chronometer.SettlingHours, chronometer.SettlingTemperatureC, first.Position)
	}
	switch {
	case n.Read && n.DueOn == 0:
		parts = append(parts, "first comparison at "+at)
	case n.Read:
		day, _ := chronometer.DayOf(n.DueOn)
		parts = append(parts, fmt.Sprintf("read day %d (%s, %g °C) at %s", n.DueOn, day.Position, day.TemperatureC, at))
	}
	if n.Set != nil {
		parts = append(parts, fmt.Sprintf("day %d: %s at %g °C", n.Set.Number, n.Set.Position, n.Set.TemperatureC))
	}
	if len(n.Behind) > 0 {
		parts = append(parts, "not noted: "+daysText(n.Behind))
	}
	if len(parts) == 0 {
		return "every day is noted: the trial can be ended"
	}
	return strings.Join(parts, "; ")
}

// daysText lists days, as "day 3" or "days 3, 4".
func daysText(days []int) string {
	words := make([]string, len(days))
	for i, day := range days {
		words[i] = fmt.Sprint(day)
	}
	if len(days) == 1 {
		return "day " + words[0]
	}
	return "days " + strings.Join(words, ", ")
}
