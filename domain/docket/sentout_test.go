package docket_test

import (
	"testing"
	"time"

	"ledgerwheel/domain/docket"
)

func TestSentOutLong(t *testing.T) {
	t.Parallel()
	now := time.Date(2026, 11, 24, 9, 0, 0, 0, time.UTC)
	out := docket.PlaceAt(docket.PlaceSentOut, "Gannet Dialworks")
	for _, tt := range []struct {
		name  string
		place docket.Place
		since time.Time
		want  bool
	}{
		{"three weeks to the hour", out, now.AddDate(0, 0, -21), false},
		{"a minute more", out, now.AddDate(0, 0, -21).Add(-time.Minute), true},
		{"yesterday", out, now.AddDate(0, 0, -1), false},
		{"long in the safe", docket.PlaceAt(docket.PlaceSafe, ""), now.AddDate(0, -6, 0), false},
	} {
		if got := docket.SentOutLong(tt.place, tt.since, now); got != tt.want {
			t.Errorf("%s: got %v", tt.name, got)
		}
	}
}
