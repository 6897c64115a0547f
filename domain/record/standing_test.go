package record_test

import (
	"strings"
	"testing"
	"time"

	"ledgerwheel/domain/record"
)

// TestStanding goes along the bounds at which the owner must be told.
func TestStanding(t *testing.T) {
	t.Parallel()
	now := time.Date(2026, 11, 30, 20, 0, 0, 0, time.UTC)
	for _, c := range []struct {
		age      time.Duration
		findings int64
		words    string
		alarming bool
	}{
		{0, 0, "The record was found whole less than a minute ago.", false},
		{3 * time.Hour, 0, "The record was found whole 3 hours ago.", false},
		{record.Patience, 0, "The record was found whole 2 days ago.", false},
		{record.Patience + time.Second, 0, "The last check of the record is 2 days old.", true},
		{time.Minute, 1, "The last check of the record, 1 minute ago, found 1 difference.", true},
		{5 * 24 * time.Hour, 12, "The last check of the record, 5 days ago, found 12 differences.", true},
	} {
		words, alarming := record.CheckStanding(now.Add(-c.age), c.findings, now)
		if words != c.words || alarming != c.alarming {
			t.Errorf("%s old with %d: %q, alarming %t", c.age, c.findings, words, alarming)
		}
	}
	if words, alarming := record.CheckStanding(time.Time{}, 0, now); !alarming || words != "The record was never checked." {
		t.Errorf("without any: %q, alarming %t", words, alarming)
	}
}

// TestSealInShort: date, thousands and the root's first eight bytes, as papers print them.
func TestSealInShort(t *testing.T) {
	t.Parallel()
	if line := (record.Seal{}).Line(); line != "" {
		t.Errorf("without a seal it says %q", line)
	}
	s := record.Seal{Text: []byte("…"), Size: 1234, At: time.Date(2026, 11, 30, 21, 0, 0, 0, time.FixedZone("", 3600))}
	copy(s.Root[:], "\xab\xcd\xef\x01\x23\x45\x67\x89\xff")
	if got, want := s.Line(), "Seal of 30 Nov 2026, 20:00 UTC, 1,234 entries: abcd ef01 2345 6789"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
	for size, want := range map[int64]string{0: "0 entries", 1: "1 entry", 999: "999 entries", 1000: "1,000 entries", 1234567: "1,234,567 entries"} {
		if got := (record.Seal{Size: size}).Over(); !strings.HasPrefix(got, want) || len(got) != len(want) {
			t.Errorf("over %d: %q", size, got)
		}
	}
}
