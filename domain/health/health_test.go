package health_test

import (
	"errors"
	"fmt"
	"slices"
	"testing"
	"time"

	"ledgerwheel/domain"
	"ledgerwheel/domain/health"
)

func TestJudge(t *testing.T) {
	t.Parallel()
	now := time.Date(2026, 11, 24, 9, 30, 0, 0, time.UTC)
	const gb = int64(1) << 30
	for _, tt := range []struct {
		name string
		seen health.Seen
		want []health.Trouble
	}{
		{"well", health.Seen{DiskBytes: 100 * gb, FreeBytes: 50 * gb, Now: now, Newest: now}, nil},
		{"nothing known", health.Seen{Now: now}, nil},
		{"one byte too little", health.Seen{DiskBytes: 100 * gb, FreeBytes: gb - 1}, []health.Trouble{health.LowSpace}},
		{"just enough", health.Seen{DiskBytes: 100 * gb, FreeBytes: gb}, nil},
		{"full", health.Seen{DiskBytes: 100 * gb, FreeBytes: health.ReserveBytes - 1}, []health.Trouble{health.DiskFull}},
		{"quite full", health.Seen{DiskBytes: gb}, []health.Trouble{health.DiskFull}},
		{"gone, whatever is there now", health.Seen{FolderGone: true, DiskBytes: gb}, []health.Trouble{health.FolderGone}},
		{"read-only", health.Seen{ReadOnly: true, DiskBytes: 100 * gb, FreeBytes: gb / 2}, []health.Trouble{health.ReadOnly}},
		{"within the slack", health.Seen{Now: now, Newest: now.Add(health.ClockSlack)}, nil},
		{"set back", health.Seen{Now: now, Newest: now.Add(health.ClockSlack + time.Second)}, []health.Trouble{health.ClockBack}},
		{"set back and low", health.Seen{DiskBytes: 9 * gb, FreeBytes: 1e8, Now: now, Newest: now.AddDate(1, 0, 0)},
			[]health.Trouble{health.ClockBack, health.LowSpace}},
		{"full and set back", health.Seen{DiskBytes: 9 * gb, Now: now, Newest: now.AddDate(1, 0, 0)},
			[]health.Trouble{health.DiskFull, health.ClockBack}},
	} {
		if got := health.Judge(tt.seen); !slices.Equal(got, tt.want) {
			t.Errorf("%s: %q, want %q", tt.name, got, tt.want)
		}
	}
}

// TestTroublesAreErrorsAndBack: what stops the work is known by its error, and is always also domain.ErrUnavailable.
func TestTroublesAreErrorsAndBack(t *testing.T) {
	t.Parallel()
	for _, trouble := range []health.Trouble{health.FolderGone, health.ReadOnly, health.DiskFull, health.Unreachable} {
		err := fmt.Errorf("save: %w", trouble.Err())
		if got := health.Of(err); got != trouble || !errors.Is(err, domain.ErrUnavailable) || !trouble.Stops() {
			t.Errorf("%s comes back as %q", trouble, got)
		}
	}
	if got := health.Of(domain.ErrNotFound); got != "" || health.ClockBack.Stops() || health.LowSpace.Stops() {
		t.Errorf("%q", got)
	}
}

func TestBehind(t *testing.T) {
	t.Parallel()
	newest := time.Date(2026, 11, 24, 9, 30, 0, 0, time.UTC)
	for d, want := range map[time.Duration]string{
		3 * time.Minute:                  "3 min before the newest entry",
		61*time.Minute + 40*time.Second:  "1 h 2 min before the newest entry",
		24*400*time.Hour + 5*time.Minute: "400 d 0 h before the newest entry",
		26 * time.Hour:                   "1 d 2 h before the newest entry",
	} {
		if got := health.Behind(newest.Add(-d), newest); got != want {
			t.Errorf("%v: %q, want %q", d, got, want)
		}
	}
}
