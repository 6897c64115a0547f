package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"ledgerwheel/domain/record"
	"ledgerwheel/domain/staff"
	"ledgerwheel/store"
	"ledgerwheel/store/storetest"
)

// newShopSealer is a sealer over a shop that was founded, with one folder beside the data folder's.
func newShopSealer(t *testing.T) (*sealer, string) {
	t.Helper()
	n := newNightly(t)
	n.found(t)
	folder, beside := dataFolder(t.TempDir()), filepath.Join(t.TempDir(), "beside")
	s, err := newSealer(n.source.Store, folder, []string{beside}, slog.New(slog.DiscardHandler))
	if err != nil {
		t.Fatal(err)
	}
	return s, beside
}

// entered makes entries of the shop's journal.
func (s *sealer) entered(t *testing.T, names ...string) {
	t.Helper()
	for _, name := range names {
		if _, err := s.store.AddMember(t.Context(), staff.Member{Name: name, Email: name + "@haven.example", Role: staff.Clerk}, "hash",
			time.Now()); err != nil {
			t.Fatal(err)
		}
	}
}

func sealsIn(t *testing.T, dir string) []string {
	t.Helper()
	names, err := filepath.Glob(filepath.Join(dir, "*.seal"))
	if err != nil {
		t.Fatal(err)
	}
	return names
}

// TestSealsByTheHourAndTheDay: an hour in which nothing was written makes none, a new day one in any case, and each
// lies in the record and in every folder, and verifies.
func TestSealsByTheHourAndTheDay(t *testing.T) {
	t.Parallel()
	s, beside := newShopSealer(t)
	own := s.Folders()[0]
	at := time.Date(2026, 11, 30, 20, 0, 0, 0, time.UTC)
	kept := func(want int, why string) {
		t.Helper()
		s.attempt(t.Context(), at)
		if err := s.Failed(); err != nil {
			t.Fatalf("%s: %v", why, err)
		}
		for _, dir := range []string{own, beside} {
			if n := len(sealsIn(t, dir)); n != want {
				t.Errorf("%s: %d seals in %s, want %d", why, n, dir, want)
			}
		}
		var inRecord int
		if err := s.store.Pool().QueryRow(t.Context(), `SELECT count(*) FROM seal`).Scan(&inRecord); err != nil || inRecord != want {
			t.Errorf("%s: %d in the record, want %d, %v", why, inRecord, want, err)
		}
	}
	kept(1, "the first")
	at = at.Add(time.Hour)
	kept(1, "an hour without an entry")
	s.entered(t, "cleo", "brin")
	at = at.Add(time.Hour)
	kept(2, "an hour with entries")
	at = at.Add(4 * time.Hour) // two in the morning
	kept(3, "a new day")
	at = at.Add(time.Hour)
	kept(3, "the hour after")

	texts, err := s.folder.All()
	if err != nil {
		t.Fatal(err)
	}
	keys, err := s.folder.Keys()
	if err != nil {
		t.Fatal(err)
	}
	for _, text := range texts {
		if _, err := record.OpenSeal(text, record.SealKeys(keys...)); err != nil {
			t.Errorf("a seal does not verify: %v", err)
		}
	}
	found := 0
	if _, err := s.store.CheckRecord(t.Context(), store.RecordCheck{Seals: texts, SealKeys: keys}, func(record.Finding) { found++ }); err != nil || found > 0 {
		t.Errorf("the record against them: %d findings, %v", found, err)
	}
}

// TestSealsSurviveAFolderThatIsAway: it is named, and the others get theirs.
func TestSealsSurviveAFolderThatIsAway(t *testing.T) {
	t.Parallel()
	s, beside := newShopSealer(t)
	if err := os.RemoveAll(beside); err != nil {
		t.Fatal(err)
	}
	s.attempt(t.Context(), time.Now())
	if err := s.Failed(); err == nil || !strings.Contains(err.Error(), beside) || errors.Is(err, store.ErrRewritten) {
		t.Errorf("it says %v", err)
	}
	if n := len(sealsIn(t, s.Folders()[0])); n != 1 {
		t.Errorf("%d seals in the data folder", n)
	}
	if err := os.Mkdir(beside, 0o755); err != nil {
		t.Fatal(err)
	}
	s.entered(t, "cleo")
	s.attempt(t.Context(), time.Now())
	if err := s.Failed(); err != nil || len(sealsIn(t, beside)) != 1 {
		t.Errorf("once it is back: %v", err)
	}
}

// TestARewrittenLogIsNotSealed: whoever writes the whole log anew, seals in the database and all, is found by the
// folder's newest seal.
func TestARewrittenLogIsNotSealed(t *testing.T) {
	t.Parallel()
	s, _ := newShopSealer(t)
	s.entered(t, "cleo", "brin")
	at := time.Now()
	s.attempt(t.Context(), at)
	if err := s.Failed(); err != nil {
		t.Fatal(err)
	}
	if _, err := s.store.Pool().Exec(t.Context(), `ALTER TABLE log_leaf DISABLE TRIGGER USER; DELETE FROM seal; DELETE FROM log_hash;
		INSERT INTO log_pending (docket_id, seq, hash) SELECT docket_id, seq, hash FROM log_leaf ORDER BY leaf DESC; DELETE FROM log_leaf`); err != nil {
		t.Fatal(err)
	}
	s.attempt(t.Context(), at.Add(time.Hour))
	if err := s.Failed(); !errors.Is(err, store.ErrRewritten) {
		t.Errorf("it is sealed: %v", err)
	}
	if n := len(sealsIn(t, s.Folders()[0])); n != 1 {
		t.Errorf("%d seals are kept", n)
	}
	var inRecord int
	if err := s.store.Pool().QueryRow(t.Context(), `SELECT count(*) FROM seal`).Scan(&inRecord); err != nil || inRecord != 0 {
		t.Errorf("%d seals in the record, %v", inRecord, err)
	}
}

// TestEntriesAreInTheLogWithinASecond while the program runs, however many are written.
func TestEntriesAreInTheLogWithinASecond(t *testing.T) {
	t.Parallel()
	s, _ := newShopSealer(t)
	ctx, stop := context.WithCancel(t.Context())
	done := make(chan struct{})
	go func() { defer close(done); s.run(ctx) }()
	t.Cleanup(func() { stop(); <-done })
	var slowest time.Duration
	for round := range 5 {
		var names []string
		for n := range 10 {
			names = append(names, fmt.Sprintf("clerk-%d-%d", round, n))
		}
		s.entered(t, names...)
		written := time.Now()
		for waiting := 1; waiting > 0; time.Sleep(5 * time.Millisecond) {
			if err := s.store.Pool().QueryRow(t.Context(), `SELECT count(*) FROM log_pending`).Scan(&waiting); err != nil {
				t.Fatal(err)
			}
			if time.Since(written) > 20*time.Second {
				t.Fatalf("%d entries still wait", waiting)
			}
		}
		slowest = max(slowest, time.Since(written))
	}
	t.Logf("the slowest of five runs of ten entries was in the log after %s", slowest.Round(time.Millisecond))
	if slowest > time.Second {
		t.Errorf("entries were in the log only after %s", slowest)
	}
	storetest.Whole(t, s.store)
}
