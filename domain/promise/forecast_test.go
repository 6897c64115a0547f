package promise_test

import (
	"testing"
	"time"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/promise"
	"ledgerwheel/domain/shop"
)

// steady is a watch that came at 09:00 on one day and was serviced until 17:00 of another.
func steady(id int64, came time.Time, ready time.Time) promise.Watch {
	came = came.Add(9 * time.Hour)
	ready = ready.Add(17 * time.Hour)
	return promise.Watch{ID: id, Received: came, Kind: "full service", Stays: []promise.Stay{
		{Stage: docket.StageService, Since: came, Until: ready}, {Stage: docket.StageReady, Since: ready}}}
}

// alike is a shop whose watches all took five open days, one after the other, Monday to Friday.
func alike(t *testing.T, n int, holidays ...shop.Holiday) (*promise.Shop, time.Time) {
	t.Helper()
	hours, err := shop.ParseHours("Mo-Fr 09:00-17:00")
	if err != nil {
		t.Fatal(err)
	}
	begin := date(2024, 1, 1) // a Monday
	var list []promise.Watch
	for i := range n {
		came := begin.AddDate(0, 0, 7*i)
		list = append(list, steady(int64(i+1), came, came.AddDate(0, 0, 4)))
	}
	now := begin.AddDate(0, 0, 7*n).Add(9 * time.Hour)
	return promise.NewShop(promise.NewCalendar(hours, holidays, time.UTC, begin, now), promise.UsualStart(), list, now), now
}

// TestAShopThatAlwaysTakesFiveDays promises five open days, and no closed day is promised.
func TestAShopThatAlwaysTakesFiveDays(t *testing.T) {
	t.Parallel()
	s, now := alike(t, 60)
	f := s.Propose(promise.Watch{ID: 99, Kind: "full service"}, now, 1)
	if got, want := f.Day(0.5), now.Truncate(24*time.Hour).AddDate(0, 0, 4); !got.Equal(want) {
		t.Errorf("promised %s, want %s", got, want)
	}
	if f.Watches != 60 || f.StartShare > 0.12 {
		t.Errorf("drawn from %d watches, %.2f of the start", f.Watches, f.StartShare)
	}
	s, now = alike(t, 60, shop.Holiday{Name: "Stocktaking", From: date(2025, 2, 24), To: date(2025, 2, 25)})
	if got, want := s.Propose(promise.Watch{ID: 99, Kind: "full service"}, now, 1).Day(0.5), date(2025, 3, 4); !got.Equal(want) {
		t.Errorf("over two closed days promised %s, want %s", got, want)
	}
}

// TestChanceGrowsWithTheDay: the chance never falls from one day to the next, ends at 1, and the day of a chance has at least it.
func TestChanceGrowsWithTheDay(t *testing.T) {
	t.Parallel()
	cal, list, end := kinds()[0].run(3)
	s := promise.NewShop(cal, promise.UsualStart(), list, end)
	for _, stretch := range []float64{0.6, 1, 1.7} {
		f := s.Propose(promise.Watch{ID: 1234, Kind: "repair"}, end, stretch)
		before := 0.0
		for d := range 400 {
			chance := f.Chance(end.AddDate(0, 0, d))
			if chance < before {
				t.Fatalf("the chance falls from %.3f to %.3f on day %d", before, chance, d)
			}
			before = chance
		}
		for _, level := range promise.Levels {
			day := f.Day(level)
			if got := f.Chance(day); got < level-1e-9 {
				t.Errorf("the day of %.2f has a chance of %.3f", level, got)
			}
			if got := f.Chance(day.AddDate(0, 0, -1)); got >= level {
				t.Errorf("the day before that of %.2f has a chance of %.3f already", level, got)
			}
			if !cal.Open(day) {
				t.Errorf("%s is promised, and the shop is closed", day)
			}
		}
	}
}

// TestWithoutHistoryTheStartSpeaks, and with each watch less.
func TestWithoutHistoryTheStartSpeaks(t *testing.T) {
	t.Parallel()
	share := 2.0
	for _, n := range []int{0, 1, 5, 20, 60} {
		s, now := alike(t, n)
		f := s.Propose(promise.Watch{ID: 99, Kind: "full service"}, now, 1)
		if f.Watches != n || f.StartShare >= share {
			t.Errorf("after %d watches: drawn from %d, %.2f of the start, before %.2f", n, f.Watches, f.StartShare, share)
		}
		if share = f.StartShare; n == 0 && share != 1 {
			t.Errorf("without a watch %.2f is of the start", share)
		}
	}
}

// TestAWatchInWork: what it has stood already is not asked for again, and it is not ready before its parts are here.
func TestAWatchInWork(t *testing.T) {
	t.Parallel()
	hours, _ := shop.ParseHours("Mo-Fr 09:00-17:00")
	begin := date(2024, 1, 1)
	var list []promise.Watch
	for i := range 60 {
		came := begin.AddDate(0, 0, 7*i)
		list = append(list, steady(int64(i+1), came, came.AddDate(0, 0, 4)))
	}
	monday := begin.AddDate(0, 0, 7*60)
	open := promise.Watch{ID: 99, Kind: "full service", Received: monday.Add(9 * time.Hour),
		Stays: []promise.Stay{{Stage: docket.StageService, Since: monday.Add(9 * time.Hour)}}}
	wednesday := monday.AddDate(0, 0, 2).Add(17 * time.Hour)
	outlook := func(w promise.Watch) promise.Forecast {
		t.Helper()
		cal := promise.NewCalendar(hours, nil, time.UTC, begin, wednesday)
		f, ok := promise.NewShop(cal, promise.UsualStart(), append(list[:60:60], w), wednesday).Outlook(99, wednesday, 1)
		if !ok {
			t.Fatal("the watch is in work")
		}
		return f
	}
	if got, want := outlook(open).Day(0.5), monday.AddDate(0, 0, 4); !got.Equal(want) {
		t.Errorf("after three days of five it will be ready on %s, want %s", got, want)
	}
	open.PartsDue = monday.AddDate(0, 0, 21)
	if got := outlook(open).Day(0.5); got.Before(open.PartsDue) {
		t.Errorf("it will be ready on %s, before its parts come", got)
	}
	if _, ok := promise.NewShop(promise.NewCalendar(hours, nil, time.UTC, begin, wednesday), promise.UsualStart(), list, wednesday).Outlook(1, wednesday, 1); ok {
		t.Error("a watch that is ready has an outlook")
	}
}

// TestAWatchThatStandsLongest still has an answer.
func TestAWatchThatStandsLongest(t *testing.T) {
	t.Parallel()
	hours, _ := shop.ParseHours("Mo-Fr 09:00-17:00")
	begin := date(2024, 1, 1)
	now := begin.AddDate(3, 0, 0)
	w := promise.Watch{ID: 5, Received: begin, Stays: []promise.Stay{{Stage: docket.StageParts, Since: begin}}}
	s := promise.NewShop(promise.NewCalendar(hours, nil, time.UTC, begin, now), promise.UsualStart(), []promise.Watch{w}, now)
	f, ok := s.Outlook(5, now, 1)
	if !ok || !f.Day(promise.Level).After(now) {
		t.Errorf("got %v, %s", ok, f.Day(promise.Level))
	}
}
