package backup_test

import (
	"slices"
	"testing"
	"time"

	"ledgerwheel/domain/backup"
)

func zurich(t *testing.T) *time.Location {
	t.Helper()
	zone, err := time.LoadLocation("Europe/Zurich")
	if err != nil {
		t.Fatal(err)
	}
	return zone
}

// TestTwoYearsOfNights makes a backup every night for two years, thins them out every night, and holds what is left
// against the calendar, worked out here by another way: backwards from the last day.
func TestTwoYearsOfNights(t *testing.T) {
	t.Parallel()
	zone := zurich(t)
	var kept []backup.Kept
	first := time.Date(2025, 1, 1, 2, 30, 0, 0, zone)
	for n := range 730 {
		now := first.AddDate(0, 0, n)
		kept = append(kept, backup.Kept{At: now, Worth: backup.Proven})
		for _, i := range slices.Backward(backup.Superfluous(kept, now, zone)) {
			kept = slices.Delete(kept, i, i+1)
		}
		if len(kept) > backup.Days+backup.Weeks+backup.Months {
			t.Fatalf("%s: %d are kept", now.Format(time.DateOnly), len(kept))
		}
		if !kept[len(kept)-1].At.Equal(now) {
			t.Fatalf("%s: the newest is gone", now.Format(time.DateOnly))
		}
		want := map[string]bool{}
		for d := range min(7, n+1) {
			want[now.AddDate(0, 0, -d).Format(time.DateOnly)] = true
		}
		sunday := now // the last night of each week that is over
		for sunday.Weekday() != time.Sunday {
			sunday = sunday.AddDate(0, 0, -1)
		}
		weeks := 5
		if now.Weekday() != time.Sunday {
			weeks = 4 // today stands for this week
		}
		for w := range weeks {
			want[sunday.AddDate(0, 0, -7*w).Format(time.DateOnly)] = true
		}
		for m := range 12 { // the last night of each month
			last := time.Date(now.Year(), now.Month()-time.Month(m)+1, 0, 2, 30, 0, 0, zone)
			if m > 0 || last.Equal(now) {
				want[last.Format(time.DateOnly)] = true
			}
		}
		for day := range want {
			if day < first.Format(time.DateOnly) {
				delete(want, day)
			}
		}
		got := map[string]bool{}
		for _, k := range kept {
			got[k.At.Format(time.DateOnly)] = true
		}
		for day := range want {
			if !got[day] {
				t.Errorf("%s: that of %s is gone", now.Format(time.DateOnly), day)
			}
		}
		for day := range got {
			if !want[day] {
				t.Errorf("%s: that of %s is kept for nothing", now.Format(time.DateOnly), day)
			}
		}
	}
}

// TestBadBackupsPushNoneOut has proven backups stay through any run of ones that were not.
func TestBadBackupsPushNoneOut(t *testing.T) {
	t.Parallel()
	zone := zurich(t)
	first := time.Date(2026, 3, 1, 2, 30, 0, 0, zone)
	kept := []backup.Kept{{At: first, Worth: backup.Proven}}
	for n := 1; n < 400; n++ {
		now := first.AddDate(0, 0, n)
		kept = append(kept, backup.Kept{At: now})
		for _, i := range slices.Backward(backup.Superfluous(kept, now, zone)) {
			kept = slices.Delete(kept, i, i+1)
		}
		if kept[0].Worth != backup.Proven || len(kept) > 2+backup.Days {
			t.Fatalf("after %d nights: %+v", n, kept)
		}
	}
	// Faithful ones have places of their own.
	both := []backup.Kept{{At: first, Worth: backup.Proven}, {At: first.AddDate(0, 0, 1), Worth: backup.Faithful}}
	if got := backup.Superfluous(both, first.AddDate(0, 0, 300), zone); len(got) > 0 {
		t.Errorf("of one proven and one faithful %v are superfluous", got)
	}
	// Several of one day: the newest proven stands for it, in whatever order they are listed.
	day := []backup.Kept{{At: first.Add(time.Hour), Worth: backup.Proven}, {At: first.Add(2 * time.Hour)}, {At: first, Worth: backup.Proven}}
	if got := backup.Superfluous(day, first.Add(3*time.Hour), zone); !slices.Equal(got, []int{2}) {
		t.Errorf("of three of one day %v are superfluous", got)
	}
	if got := backup.Superfluous(nil, first, zone); len(got) > 0 {
		t.Errorf("of none %v are superfluous", got)
	}
}

func TestDue(t *testing.T) {
	t.Parallel()
	zone := zurich(t)
	at, err := backup.ParseClock("02:30")
	if err != nil || at.String() != "02:30" {
		t.Fatal(at, err)
	}
	for _, bad := range []string{"", "2", "24:00", "02:60", "2.30"} {
		if _, err := backup.ParseClock(bad); err == nil {
			t.Errorf("%q is taken for a time of day", bad)
		}
	}
	on := func(month time.Month, day, hour, minute int) time.Time {
		return time.Date(2026, month, day, hour, minute, 0, 0, zone)
	}
	for _, tt := range []struct {
		name   string
		last   time.Time
		failed bool
		now    time.Time
		want   time.Time
	}{
		{"never made", time.Time{}, false, on(6, 10, 9, 0), on(6, 10, 2, 30)},
		{"never made, before the hour", time.Time{}, false, on(6, 10, 1, 0), on(6, 9, 2, 30)},
		{"made last night", on(6, 10, 2, 30), false, on(6, 10, 9, 0), on(6, 11, 2, 30)},
		{"made last night, before midnight", on(6, 10, 2, 30), false, on(6, 10, 23, 59), on(6, 11, 2, 30)},
		{"made yesterday, before the hour", on(6, 9, 2, 31), false, on(6, 10, 1, 0), on(6, 10, 2, 30)},
		{"the machine was off last night", on(6, 9, 2, 30), false, on(6, 10, 8, 0), on(6, 10, 2, 30)},
		{"failed last night", on(6, 10, 2, 30), true, on(6, 10, 2, 40), on(6, 10, 3, 30)},
		{"failed just before the hour", on(6, 10, 2, 0), true, on(6, 10, 2, 10), on(6, 10, 2, 30)},
		// In 2026 clocks in Zurich go from 02:00 to 03:00 on 29 March and from 03:00 back to 02:00 on 25 October.
		{"the hour is skipped", on(3, 28, 2, 30), false, on(3, 29, 1, 0), on(3, 29, 3, 30)},
		{"the hour comes twice", on(10, 24, 2, 30), false, on(10, 25, 1, 0), on(10, 25, 2, 30)},
	} {
		if got := backup.Due(tt.last, tt.failed, tt.now, at, zone); !got.Equal(tt.want) {
			t.Errorf("%s: due at %s, want %s", tt.name, got, tt.want)
		}
	}
	// The second passing of an hour that comes twice makes no second backup.
	made := backup.Due(on(10, 24, 2, 30), false, on(10, 25, 1, 0), at, zone)
	if again := backup.Due(made, false, made.Add(61*time.Minute), at, zone); !again.Equal(on(10, 26, 2, 30)) {
		t.Errorf("the next is due at %s", again)
	}
}

func TestStanding(t *testing.T) {
	t.Parallel()
	now := time.Date(2026, 6, 10, 9, 0, 0, 0, time.UTC)
	for _, tt := range []struct {
		age   time.Duration
		words string
		alarm bool
	}{
		{-time.Minute, "The last proven backup is less than a minute old.", false}, // a clock that was set back
		{90 * time.Second, "The last proven backup is 1 minute old.", false},
		{time.Hour, "The last proven backup is 1 hour old.", false},
		{25 * time.Hour, "The last proven backup is 25 hours old.", false},
		{48 * time.Hour, "The last proven backup is 2 days old.", false},
		{48*time.Hour + time.Second, "The last proven backup is 2 days old.", true},
		{400 * 24 * time.Hour, "The last proven backup is 400 days old.", true},
	} {
		if words, alarm := backup.Standing(now.Add(-tt.age), now); words != tt.words || alarm != tt.alarm {
			t.Errorf("%s: %q, %t", tt.age, words, alarm)
		}
	}
	if words, alarm := backup.Standing(time.Time{}, now); words != "No backup was ever proven." || !alarm {
		t.Errorf("never: %q, %t", words, alarm)
	}
}
