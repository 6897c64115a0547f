package docket_test

import (
	"errors"
	"testing"
	"time"

	"ledgerwheel/domain/docket"
)

// chainOf builds a journal of n entries.
func chainOf(t *testing.T, n int) []docket.Entry {
	t.Helper()
	var head docket.Head
	var entries []docket.Entry
	for i := range n {
		e, err := docket.Append(head, docket.Entry{DocketID: 7, At: time.Date(2026, 3, 1, 9, i, 0, 0, time.UTC),
			By: docket.Author{Kind: docket.BySystem}, Kind: docket.NoteAdded, Summary: "Note"}, map[string]int{"n": i})
		if err != nil {
			t.Fatal(err)
		}
		entries, head = append(entries, e), e.Head()
	}
	return entries
}

func TestVerifyStretch(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		name   string
		tamper func([]docket.Entry) []docket.Entry
		seq    int64 // of the entry named, 0 when all is well
	}{
		{"whole", func(e []docket.Entry) []docket.Entry { return e }, 0},
		{"from the middle", func(e []docket.Entry) []docket.Entry { return e[3:6] }, 0},
		{"nothing", func([]docket.Entry) []docket.Entry { return nil }, 0},
		{"summary rewritten", func(e []docket.Entry) []docket.Entry { e[4].Summary = "Other"; return e[3:] }, 5},
		{"facts rewritten", func(e []docket.Entry) []docket.Entry { e[4].Facts = []byte(`{"n":5}`); return e[3:] }, 5},
		{"author rewritten", func(e []docket.Entry) []docket.Entry { e[3].By.Name = "Else"; return e[3:] }, 4},
		{"entry left out", func(e []docket.Entry) []docket.Entry { return append(e[2:4:4], e[5:]...) }, 6},
		{"rehashed but untied", func(e []docket.Entry) []docket.Entry {
			e[4].Summary = "Other"
			e[4].Hash = docket.Chain(e[4].PrevHash, e[4])
			return e[3:]
		}, 6},
		{"another docket's", func(e []docket.Entry) []docket.Entry { e[5].DocketID = 8; return e[3:] }, 6},
		{"first with a predecessor", func(e []docket.Entry) []docket.Entry { e[0].PrevHash[0] = 1; return e }, 1},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			err := docket.VerifyStretch(tt.tamper(chainOf(t, 8)))
			var broken *docket.BrokenError
			switch {
			case tt.seq == 0 && err != nil:
				t.Errorf("refused: %v", err)
			case tt.seq != 0 && (!errors.As(err, &broken) || broken.Seq != tt.seq):
				t.Errorf("got %v, want entry %d named", err, tt.seq)
			}
		})
	}
}

func TestVerifyEnd(t *testing.T) {
	t.Parallel()
	entries := chainOf(t, 4)
	good, other := entries[3].Head(), entries[3].Head()
	other.Hash[0] ^= 1
	for _, tt := range []struct {
		name    string
		entries []docket.Entry
		want    docket.Head
		seq     int64
	}{
		{"at the head", entries[1:], good, 0},
		{"empty and new", nil, docket.Head{}, 0},
		{"cut off", entries[:3], good, 4},
		{"all gone", nil, good, 1},
		{"one too many", entries, entries[2].Head(), 4},
		{"another hash", entries, other, 4},
	} {
		err := docket.VerifyEnd(7, tt.entries, tt.want)
		var broken *docket.BrokenError
		switch {
		case tt.seq == 0 && err != nil:
			t.Errorf("%s: %v", tt.name, err)
		case tt.seq != 0 && (!errors.As(err, &broken) || broken.Seq != tt.seq):
			t.Errorf("%s: got %v, want entry %d named", tt.name, err, tt.seq)
		}
	}
}
