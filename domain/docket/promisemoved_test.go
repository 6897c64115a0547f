package docket

import (
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
)

func TestPromiseMoves(t *testing.T) {
	t.Parallel()
	day := func(d int) time.Time { return time.Date(2026, 12, d, 0, 0, 0, 0, time.UTC) }
	at := func(minutes int) time.Time {
		return time.Date(2026, 11, 24, 9, 0, 0, 0, time.UTC).Add(time.Duration(minutes) * time.Minute)
	}
	read := func(from, to time.Time, minutes int) PromiseMoved {
		m, ok := PromiseMovedOf(DayWords(from), DayWords(to), at(minutes))
		if !ok || !m.From.Equal(from) || !m.To.Equal(to) {
			t.Fatalf("%s to %s is read as %+v, %t", DayWords(from), DayWords(to), m, ok)
		}
		return m
	}
	none := time.Time{}
	for name, c := range map[string]struct{ all, want []PromiseMoved }{
		"first given":              {[]PromiseMoved{read(none, day(3), 0)}, nil},
		"moved":                    {[]PromiseMoved{read(none, day(3), 0), read(day(3), day(9), 500)}, []PromiseMoved{read(day(3), day(9), 500)}},
		"moved twice":              {[]PromiseMoved{read(day(3), day(9), 0), read(day(9), day(12), 90)}, []PromiseMoved{read(day(3), day(9), 0), read(day(9), day(12), 90)}},
		"mistyped, then corrected": {[]PromiseMoved{read(day(3), day(19), 0), read(day(19), day(9), 2)}, []PromiseMoved{{From: day(3), To: day(9), At: at(0)}}},
		"set back at once":         {[]PromiseMoved{read(day(3), day(30), 0), read(day(30), day(3), 1)}, nil},
		"taken back":               {[]PromiseMoved{read(day(3), none, 0)}, []PromiseMoved{{From: day(3), At: at(0)}}},
	} {
		if diff := cmp.Diff(c.want, PromiseMoves(c.all), cmpopts.EquateEmpty()); diff != "" {
			t.Errorf("%s: %s", name, diff)
		}
	}
	if _, ok := PromiseMovedOf("3 Dec", "no day", at(0)); ok {
		t.Error("what was never written so is read")
	}
}
