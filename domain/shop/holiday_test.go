package shop

import (
	"testing"
	"time"
)

func holidayDay(year int, month time.Month, d int) time.Time {
	return time.Date(year, month, d, 0, 0, 0, 0, time.UTC)
}

func TestHolidayCloses(t *testing.T) {
	t.Parallel()
	newYear := Holiday{Name: "Over New Year", From: holidayDay(2026, 12, 24), To: holidayDay(2027, 1, 2), Yearly: true}
	once := Holiday{Name: "Easter", From: holidayDay(2027, 3, 26), To: holidayDay(2027, 3, 29)}
	leap := Holiday{Name: "Leap day", From: holidayDay(2024, 2, 29), To: holidayDay(2024, 2, 29), Yearly: true}
	for _, tt := range []struct {
		h    Holiday
		day  time.Time
		want bool
	}{
		{newYear, holidayDay(2026, 12, 23), false},
		{newYear, holidayDay(2026, 12, 24), true},
		{newYear, holidayDay(2027, 1, 2), true},
		{newYear, holidayDay(2027, 1, 3), false},
		{newYear, holidayDay(2026, 1, 1), false}, // before it was ever said
		{newYear, holidayDay(2030, 12, 31), true},
		{newYear, holidayDay(2031, 1, 2), true},
		{newYear, holidayDay(2031, 1, 3), false},
		{once, holidayDay(2027, 3, 28), true},
		{once, holidayDay(2028, 3, 28), false},
		{leap, holidayDay(2028, 2, 29), true},
		{leap, holidayDay(2027, 3, 1), false},
		{leap, holidayDay(2027, 2, 28), false},
	} {
		if got := tt.h.Closes(tt.day); got != tt.want {
			t.Errorf("%s on %s: %v", tt.h.Name, tt.day.Format(time.DateOnly), got)
		}
	}
}

func TestHolidayProblems(t *testing.T) {
	t.Parallel()
	good := Holiday{Name: "Easter", From: holidayDay(2027, 3, 26), To: holidayDay(2027, 3, 29)}
	if bad := good.Problems(); len(bad) > 0 {
		t.Errorf("%v", bad)
	}
	for field, change := range map[string]func(*Holiday){
		"name": func(h *Holiday) { h.Name = " " },
		"from": func(h *Holiday) { h.From = time.Time{} },
		"to":   func(h *Holiday) { h.To = h.From.AddDate(0, 0, -1) },
	} {
		h := good
		change(&h)
		if h.Problems()[field] == "" {
			t.Errorf("nothing is said of %s", field)
		}
	}
	good.To = good.From.AddDate(2, 0, 0)
	if good.Problems()["to"] == "" {
		t.Error("two years are no holiday")
	}
}
