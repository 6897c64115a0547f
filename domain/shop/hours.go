package shop

import (
	"fmt"
	"regexp"
	"slices"
	"strings"
	"time"

	"ledgerwheel/domain/figure"
	"ledgerwheel/domain/tongue"
)

// Hours are when the shop is open, by the day of the week, Sunday first as time.Weekday counts. Written, they are lines
// such as Mo-Fr 09:00-17:30, the form of schema.org's openingHours. The zero value says nothing.
type Hours [7][]Span

// Span is one stretch of opening within a day, in minutes after midnight by the shop's clock; To may be 24:00.
type Span struct{ FromMin, ToMin int }

// weekdays in the order of a shop's week, as they are written.
var weekdays = []struct {
	name string
	day  time.Weekday
}{{"Mo", time.Monday}, {"Tu", time.Tuesday}, {"We", time.Wednesday}, {"Th", time.Thursday}, {"Fr", time.Friday}, {"Sa", time.Saturday},
	{"Su", time.Sunday}}

var (
	hoursLine  = regexp.MustCompile(`(?i)^((?:mo|tu|we|th|fr|sa|su)(?:\s*[-–,]\s*(?:mo|tu|we|th|fr|sa|su))*)\s+(.+)$`)
	hoursSpan  = regexp.MustCompile(`^(\d{1,2})[:.h](\d{2})\s*[-–]\s*(\d{1,2})[:.h](\d{2})$`)
	spanParted = regexp.MustCompile(`\s*,\s*|\s+(?:and\s+)?`)
	betweenEnd = regexp.MustCompile(`\s*[-–]\s*`)
)

// ParseHours reads lines such as "Mo-Fr 09:00-12:30, 13:30-18:00", one for each group of days. The error is a sentence for
// whoever typed them.
func ParseHours(typed string) (Hours, error) {
	var h Hours
	for _, line := range strings.FieldsFunc(typed, func(r rune) bool { return r == '\n' || r == ';' || r == '\r' }) {
		line = strings.TrimSpace(line)
		if line == "" {
			continue
		}
		m := hoursLine.FindStringSubmatch(line)
		if m == nil {
			return Hours{}, fmt.Errorf("“%s” can't be read: write days and times such as Mo-Fr 09:00-17:30, a line for each group of days", line)
		}
		spans, err := parseSpans(m[2])
		if err != nil {
			return Hours{}, err
		}
		for _, day := range daysOf(m[1]) {
			h[day] = append(h[day], spans...)
		}
	}
	for day := range h {
		slices.SortFunc(h[day], func(a, b Span) int { return a.FromMin - b.FromMin })
		for i := 1; i < len(h[day]); i++ {
			if h[day][i].FromMin < h[day][i-1].ToMin {
				return Hours{}, fmt.Errorf("the hours of %s overlap", time.Weekday(day))
			}
		}
	}
	return h, nil
}

func parseSpans(typed string) ([]Span, error) {
	var spans []Span
	for _, part := range spanParted.Split(betweenEnd.ReplaceAllString(typed, "-"), -1) {
		m := hoursSpan.FindStringSubmatch(part)
		if m == nil {
			return nil, fmt.Errorf("“%s” can't be read as hours: write them as 09:00-17:30", part)
		}
		s := Span{clockMin(m[1], m[2]), clockMin(m[3], m[4])}
		if s.FromMin < 0 || s.ToMin < 0 || s.FromMin >= s.ToMin {
			return nil, fmt.Errorf("“%s” are no hours of one day: the shop opens before it closes, between 00:00 and 24:00", part)
		}
		spans = append(spans, s)
	}
	return spans, nil
}

// clockMin is the minute of a day that digits of hours and minutes name; -1 for none.
func clockMin(hours, minutes string) int {
	h, errH := figure.ParseWhole(hours)
	m, errM := figure.ParseWhole(minutes)
	if errH != nil || errM != nil || m > 59 || h*60+m > 24*60 {
		return -1
	}
	return h*60 + m
}

// daysOf are the days that a group such as Mo-Fr,Su names.
func daysOf(group string) []time.Weekday {
	var days []time.Weekday
	for _, part := range strings.Split(group, ",") {
		ends := betweenEnd.Split(strings.TrimSpace(part), -1)
		first, last := weekdayIndex(ends[0]), weekdayIndex(ends[len(ends)-1])
		for i := first; ; i = (i + 1) % len(weekdays) {
			days = append(days, weekdays[i].day)
			if i == last {
				break
			}
		}
	}
	return days
}

func weekdayIndex(name string) int {
	for i, w := range weekdays {
		if strings.EqualFold(w.name, name) {
			return i
		}
	}
	return 0 // hoursLine let nothing else in
}

// Said reports whether any hours were given.
func (h Hours) Said() bool {
	return slices.ContainsFunc(h[:], func(s []Span) bool { return len(s) > 0 })
}

// String writes h as ParseHours reads it, days with equal hours together.
func (h Hours) String() string {
	var lines []string
	h.groups(func(first, last int, spans []Span) {
		if len(spans) == 0 {
			return
		}
		days := weekdays[first].name
		if last != first {
			days += "-" + weekdays[last].name
		}
		var times []string
		for _, s := range spans {
			times = append(times, clock(s.FromMin)+"-"+clock(s.ToMin))
		}
		lines = append(lines, days+" "+strings.Join(times, ", "))
	})
	return strings.Join(lines, "\n")
}

// In says h in a language, a line for each group of days that follow one another with equal hours, closed days among them.
// It is empty where nothing was said.
func (h Hours) In(t tongue.Tongue) []string {
	if !h.Said() {
		return nil
	}
	var lines []string
	h.groups(func(first, last int, spans []Span) {
		days := t.Weekday(weekdays[first].day)
		if last != first {
			days = t.Say("hours.days", "first", days, "last", t.Weekday(weekdays[last].day))
		}
		times := []string{t.Say("hours.closed")}
		for i, s := range spans {
			said := t.Say("hours.from_to", "from", clock(s.FromMin), "to", clock(s.ToMin))
			if i == 0 {
				times = nil
			}
			times = append(times, said)
		}
		lines = append(lines, t.Say("hours.line", "days", days, "times", strings.Join(times, ", ")))
	})
	return lines
}

// groups calls each with the runs of days of the shop's week, by index, that have the same hours.
func (h Hours) groups(each func(first, last int, spans []Span)) {
	for first := 0; first < len(weekdays); {
		spans, last := h[weekdays[first].day], first
		for last+1 < len(weekdays) && slices.Equal(h[weekdays[last+1].day], spans) {
			last++
		}
		each(first, last, spans)
		first = last + 1
	}
}

func clock(min int) string { return fmt.Sprintf("%02d:%02d", min/60, min%60) }
