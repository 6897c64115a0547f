package promise

import (
	"math"
	"testing"
	"time"

	"ledgerwheel/domain/shop"
)

func hoursOf(t *testing.T, lines string) shop.Hours {
	t.Helper()
	h, err := shop.ParseHours(lines)
	if err != nil {
		t.Fatal(err)
	}
	return h
}

func day(year int, month time.Month, d int) time.Time {
	return time.Date(year, month, d, 0, 0, 0, 0, time.UTC)
}

// TestOpenDays counts by hand: 2026-12-01 is a Tuesday.
func TestOpenDays(t *testing.T) {
	t.Parallel()
	holidays := []shop.Holiday{{Name: "Year's end", From: day(2026, 12, 24), To: day(2027, 1, 1)}}
	c := NewCalendar(hoursOf(t, "Mo-Fr 09:00-12:00, 13:00-18:00\nSa 09:00-13:00"), holidays, time.UTC, day(2026, 12, 1), day(2026, 12, 1))
	at := func(d, hour, minute int) float64 {
		return c.at(time.Date(2026, 12, d, hour, minute, 0, 0, time.UTC))
	}
	for _, tt := range []struct {
		from, to float64
		want     float64
		why      string
	}{
		{at(1, 9, 0), at(1, 18, 0), 1, "a whole day"},
		{at(1, 9, 0), at(1, 13, 0), 3.0 / 8, "a morning, and the break counts nothing"},
		{at(1, 18, 0), at(2, 9, 0), 0, "a night"},
		{at(5, 9, 0), at(5, 11, 0), 0.5, "half a Saturday"},
		{at(4, 18, 0), at(7, 9, 0), 1, "over a Saturday and a Sunday"},
		{at(23, 18, 0), at(31, 18, 0), 0, "the holidays"},
	} {
		if got := c.length(true, tt.from, tt.to); math.Abs(got-tt.want) > 1e-9 {
			t.Errorf("%s: %v open days, want %v", tt.why, got, tt.want)
		}
	}
	if got, want := c.day(c.reached(c.open(at(23, 18, 0))+0.5)), day(2027, 1, 2); !got.Equal(want) {
		t.Errorf("half an open day after the last before the holidays is on %s, want %s", got, want)
	}
	// There and back again, at every tenth of an open day.
	for o := 0.1; o < 60; o += 0.1 {
		if got := c.open(c.reached(o)); math.Abs(got-o) > 1e-6 {
			t.Fatalf("%v open days are reached where %v have gone", o, got)
		}
	}
}

func TestACalendarIsNeverEmpty(t *testing.T) {
	t.Parallel()
	always := []shop.Holiday{{Name: "Closed for good", From: day(2020, 1, 1), To: day(2020, 12, 31), Yearly: true}}
	for _, c := range []*Calendar{
		NewCalendar(shop.Hours{}, nil, time.UTC, day(2026, 1, 1), day(2026, 1, 1)),
		NewCalendar(shop.Hours{}, always, time.UTC, day(2026, 1, 1), day(2026, 1, 1)),
	} {
		if !c.Open(day(2026, 1, 5)) || c.Open(day(2026, 1, 4)) {
			t.Error("a shop that said nothing is not open from Monday to Friday")
		}
	}
}

// TestZone: a watch that comes at 23:30 in Auckland comes on Auckland's day.
func TestZone(t *testing.T) {
	t.Parallel()
	zone, err := time.LoadLocation("Pacific/Auckland")
	if err != nil {
		t.Fatal(err) // Go brings its own zones
	}
	c := NewCalendar(shop.Hours{}, nil, zone, time.Date(2026, 3, 1, 12, 0, 0, 0, time.UTC), time.Date(2026, 3, 1, 12, 0, 0, 0, time.UTC))
	if got, want := c.day(c.at(time.Date(2026, 3, 2, 10, 30, 0, 0, time.UTC))), day(2026, 3, 2); !got.Equal(want) {
		t.Errorf("got %s, want %s", got, want)
	}
	if got, want := c.day(c.at(time.Date(2026, 3, 2, 11, 30, 0, 0, time.UTC))), day(2026, 3, 3); !got.Equal(want) {
		t.Errorf("got %s, want %s", got, want)
	}
}
