package till_test

import (
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"ledgerwheel/domain/till"
)

// The book's cash is what was there, what came in and what went out, by whatever acts; and a count that is the book's
// needs no reason, while any other does.
func TestTheBookAddsUp(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		d := till.Day{On: time.Date(2027, 3, 1, 0, 0, 0, 0, time.UTC), OpenedMinor: rapid.Int64Range(0, 50_000).Draw(t, "opened")}
		cash, all := d.OpenedMinor, map[till.Way]int64{}
		for range rapid.IntRange(0, 40).Draw(t, "acts") {
			minor := rapid.Int64Range(-20_000, 20_000).Draw(t, "minor")
			if rapid.Bool().Draw(t, "payment") {
				way := rapid.SampledFrom([]till.Way{till.Cash, "card", "transfer"}).Draw(t, "way")
				d.Takings = append(d.Takings, till.Taking{Way: way, Minor: minor})
				all[way] += minor
				if way == till.Cash {
					cash += minor
				}
				continue
			}
			m := till.Move{Kind: rapid.SampledFrom(till.MoveKinds).Draw(t, "kind"), Minor: minor, Note: "paper 4"}
			if len(m.Problems(cash)) == 0 {
				d.Moves = append(d.Moves, m)
				cash += minor
			}
		}
		if got := d.BookMinor(); got != cash {
			t.Fatalf("the book has %d, by hand %d", got, cash)
		}
		for _, w := range d.ByWay() {
			if w.Minor != all[w.Way] {
				t.Fatalf("%s came to %d, by hand %d", w.Way, w.Minor, all[w.Way])
			}
		}
		c := till.Closing{CountedMinor: max(cash, 0) + rapid.Int64Range(0, 2).Draw(t, "off")}
		if bad := d.Problems(c); (bad["why"] != "") != (c.CountedMinor != cash) {
			t.Fatalf("%d counted, %d in the book: %v", c.CountedMinor, cash, bad)
		}
	})
}

func TestClosedDaysStayClosed(t *testing.T) {
	t.Parallel()
	day := func(d int) time.Time { return time.Date(2027, 3, d, 0, 0, 0, 0, time.UTC) }
	for _, c := range []struct{ today, closed, want time.Time }{{day(5), time.Time{}, day(5)}, {day(5), day(4), day(5)}, {day(5), day(5), day(6)},
		{day(5), day(6), day(7)}} {
		if got := till.OpenDay(c.today, c.closed); !got.Equal(c.want) {
			t.Errorf("on %s, closed to %s, it falls to %s", c.today, c.closed, got)
		}
	}
	d := till.Day{On: day(5), OpenedMinor: 10_000}
	if got := d.Summary(till.Closing{CountedMinor: 9_500}, "EUR"); !strings.Contains(got, "95.00 counted, 5.00 less than the book") {
		t.Error(got)
	}
	if got := till.SumMinor([]till.Counted{{WorthMinor: 2000, Pieces: 3}, {WorthMinor: 5, Pieces: 7}}); got != 6035 {
		t.Errorf("the pieces come to %d", got)
	}
	for _, code := range []string{"EUR", "GBP", "CHF", "USD", "JPY"} {
		list := till.Denominations(code)
		for i := range list {
			if list[i] < 1 || i > 0 && list[i] >= list[i-1] {
				t.Errorf("%s: %v", code, list)
			}
		}
	}
	if till.Denominations("XYZ") != nil {
		t.Error("pieces of an unknown currency")
	}
}

// The owner's word stands above what is known of the country; each country has its law, and says where that was read.
func TestCertifiedTill(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		said, region string
		want         bool
	}{{"", "DE", true}, {till.NotAsked, "DE", false}, {"", "GB", false}, {till.Asked, "GB", true}, {"", "AT", true}, {"", "CH", false}} {
		if got, _ := till.Certified(c.said, c.region); got != c.want {
			t.Errorf("%q in %s: %v", c.said, c.region, got)
		}
	}
	if _, p := till.Certified("", "DE"); !strings.Contains(p.Law, "146a AO") || p.Source == "" {
		t.Errorf("Germany: %+v", p)
	}
	if till.SaidProblem("perhaps") == "" || till.SaidProblem(till.Asked) != "" {
		t.Error("what may be said is not held")
	}
}

// The day to be counted is the earliest on which cash moved; what came since is no part of it, and a day of cards alone
// needs no count.
func TestAtHand(t *testing.T) {
	t.Parallel()
	day := func(d int) time.Time { return time.Date(2027, 3, d, 0, 0, 0, 0, time.UTC) }
	took := func(d int, way till.Way, minor int64) till.Day {
		return till.Day{On: day(d), Takings: []till.Taking{{Way: way, Minor: minor}}}
	}
	last := till.Last{On: day(1), EndMinor: 100}
	for name, c := range map[string]struct {
		days        []till.Day
		today       int
		on          int
		book, since int64
	}{
		"nothing passed":        {nil, 5, 5, 100, 0},
		"cards alone":           {[]till.Day{took(3, "card", 70)}, 5, 5, 100, 0},
		"two days uncounted":    {[]till.Day{took(4, till.Cash, 30), took(3, till.Cash, 20), took(5, till.Cash, 7)}, 5, 3, 120, 37},
		"after today's close":   {[]till.Day{took(2, till.Cash, 5)}, 1, 2, 105, 0},
		"today, with yesterday": {[]till.Day{took(4, "card", 30), took(5, till.Cash, 7)}, 5, 5, 107, 0},
	} {
		got := till.AtHand(last, c.days, day(c.today))
		if !got.On.Equal(day(c.on)) || got.BookMinor() != c.book || got.SinceMinor != c.since || got.HoldsMinor() != c.book+c.since {
			t.Errorf("%s: %+v", name, got)
		}
	}
}
