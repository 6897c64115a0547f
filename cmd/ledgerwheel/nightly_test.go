package main

import (
	"bytes"
	"context"
	"log/slog"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/staff"
	"ledgerwheel/store"
	"ledgerwheel/store/backup"
	"ledgerwheel/store/files"
	"ledgerwheel/store/storetest"
)

// newNightly is a maker of backups for an empty shop.
func newNightly(t *testing.T) *nightly {
	t.Helper()
	h := storetest.NewHandle(t)
	db, err := backup.External(h.URL)
	if err != nil {
		t.Fatal(err)
	}
	data, dir := dataFolder(t.TempDir()), t.TempDir()
	if _, err := files.Open(data.uploads()); err != nil {
		t.Fatal(err)
	}
	e := &env{ctx: t.Context(), log: slog.New(slog.DiscardHandler)}
	n, err := nightlyFlags{BackupTo: dir, BackupAt: "02:30"}.nightly(e)
	if err != nil {
		t.Fatal(err)
	}
	n.source = sourceOf(h.Store, db, data)
	return n
}

func (n *nightly) found(t *testing.T) {
	t.Helper()
	sh := shop.Defaults()
	sh.Name, sh.TimeZone, sh.LinkSecret = "Haven Road Watches", "Europe/Zurich", bytes.Repeat([]byte{7}, 32)
	if _, err := n.source.Store.Found(t.Context(), sh, staff.Member{Name: "Ada Quill", Email: "ada@haven.example", Role: staff.Owner}, "hash",
		time.Now()); err != nil {
		t.Fatal(err)
	}
}

func (n *nightly) isDue(t *testing.T, at time.Time) bool {
	t.Helper()
	_, due, err := n.due(t.Context(), at)
	if err != nil {
		t.Fatal(err)
	}
	return due
}

func (n *nightly) known(t *testing.T) []store.BackupRun {
	t.Helper()
	runs, err := n.source.Store.NightlyBackups(t.Context(), time.Now())
	if err != nil {
		t.Fatal(err)
	}
	return runs
}

// TestNightly goes through nights: none to save, one that fails, one that is proven, and what is due after each.
func TestNightly(t *testing.T) {
	t.Parallel()
	n := newNightly(t)
	now := time.Now()
	if n.isDue(t, now) {
		t.Error("a shop that was not founded is backed up")
	}
	n.found(t)
	if !n.isDue(t, now) {
		t.Error("the first backup is not due")
	}
	dir := n.dir
	n.dir = filepath.Join(dir, "away")
	n.make(t.Context(), time.UTC)
	if runs := n.known(t); len(runs) != 1 || !strings.Contains(runs[0].Failed, "is not there") || runs[0].Bytes != 0 {
		t.Fatalf("the failed night is kept as %+v", runs)
	}
	if n.isDue(t, now.Add(30*time.Minute)) && n.isDue(t, now.Add(time.Minute)) {
		t.Error("it is tried again at once")
	}
	if !n.isDue(t, now.Add(61*time.Minute)) {
		t.Error("it is not tried again in an hour")
	}
	n.dir = dir
	n.make(t.Context(), time.UTC)
	runs := n.known(t)
	if len(runs) != 2 || runs[0].ProvenAt.IsZero() || runs[0].Failed != "" || !strings.HasPrefix(runs[0].Proof, "Restored") {
		t.Fatalf("kept are %+v", runs)
	}
	if info, err := os.Stat(runs[0].Place); err != nil || info.Size() != runs[0].Bytes || filepath.Dir(runs[0].Place) != dir {
		t.Errorf("the file: %v", err)
	}
	last, err := n.source.Store.LastProvenBackup(t.Context())
	if err != nil || last.ID != runs[0].ID {
		t.Errorf("the last proven one is %d, %v", last.ID, err)
	}
	other := &nightly{env: n.env, source: n.source, dir: n.dir, at: n.at} // after a new start
	if !other.isDue(t, now.Add(25*time.Hour)) {
		t.Error("none is due the next night")
	}
}

// TestThinning deletes what is superfluous of its own, and nothing else.
func TestThinning(t *testing.T) {
	t.Parallel()
	n := newNightly(t)
	now := time.Date(2026, 11, 30, 3, 0, 0, 0, time.UTC)
	note := func(name string, days int, proven bool) store.BackupRun {
		t.Helper()
		run := store.BackupRun{At: now.AddDate(0, 0, -days), Nightly: true, Place: filepath.Join(n.dir, name), Bytes: 1}
		id, err := n.source.Store.NoteBackup(t.Context(), run)
		if err == nil && proven {
			err = n.source.Store.BackupProven(t.Context(), id, now, "Restored.")
		}
		if err == nil {
			err = os.WriteFile(run.Place, []byte("x"), 0o600)
		}
		if err != nil {
			t.Fatal(err)
		}
		run.ID = id
		return run
	}
	for name, days := range map[string]int{"today": 0, "yesterday": 1, "week": 8, "same-week": 9, "year": 340} {
		note(name, days, true)
	}
	note("bad-new", 2, false)
	note("bad-old", 20, false)
	for _, name := range []string{"letter.txt", "ledgerwheel-20200101T023000Z.backup"} { // not noted: somebody else's
		if err := os.WriteFile(filepath.Join(n.dir, name), []byte("x"), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	away := note("away", 3, true)
	if err := os.Rename(away.Place, away.Place+".elsewhere"); err != nil {
		t.Fatal(err)
	}
	lies := func(want ...string) {
		t.Helper()
		if err := n.thin(t.Context(), now, time.UTC); err != nil {
			t.Fatal(err)
		}
		entries, err := os.ReadDir(n.dir)
		var names []string
		for _, e := range entries {
			names = append(names, e.Name())
		}
		slices.Sort(want)
		if err != nil || !slices.Equal(names, want) {
			t.Errorf("there lie %v (%v), want %v", names, err, want)
		}
	}
	rest := []string{"bad-new", "ledgerwheel-20200101T023000Z.backup", "letter.txt", "today", "week", "same-week", "year", "yesterday"}
	lies(append(rest, "away.elsewhere")...) // seven days have places for all of the last weeks' nights
	gone := func() (list []string) {
		for _, run := range n.known(t) {
			if !run.GoneAt.IsZero() {
				list = append(list, filepath.Base(run.Place))
			}
		}
		return list
	}
	if list := gone(); !slices.Equal(list, []string{"away", "bad-old"}) {
		t.Errorf("gone are %v", list)
	}
	if err := os.Rename(away.Place+".elsewhere", away.Place); err != nil {
		t.Fatal(err)
	}
	lies(append(rest, "away")...)
	if list := gone(); !slices.Equal(list, []string{"bad-old"}) {
		t.Errorf("gone are %v", list)
	}
	for i := range 6 { // nights of their own push out the one that shared its week, and the one that shared its night
		note("night-"+string(rune('a'+i)), 2+i, true)
	}
	lies("bad-new", "ledgerwheel-20200101T023000Z.backup", "letter.txt", "today", "yesterday", "year", "week",
		"night-a", "night-b", "night-c", "night-d", "night-e")
}

// TestNightlyStops: a program that ends does not wait for a backup.
func TestNightlyStops(t *testing.T) {
	t.Parallel()
	n := newNightly(t)
	n.found(t)
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	n.make(ctx, time.UTC)
	if runs := n.known(t); len(runs) != 0 {
		t.Errorf("an interrupted night is kept as %+v", runs)
	}
	if entries, err := os.ReadDir(n.dir); err != nil || len(entries) != 0 {
		t.Errorf("there lie %v (%v)", entries, err)
	}
}

func TestNightlyFlags(t *testing.T) {
	t.Parallel()
	for _, f := range []nightlyFlags{{BackupTo: "/x", BackupAt: "25:00"}, {BackupTo: "/x", BackupAt: "02:30", BackupRecipient: []string{"age1x"}}} {
		if n, err := f.nightly(nil); err == nil {
			t.Errorf("%+v makes %+v", f, n)
		}
	}
	if n, err := (nightlyFlags{BackupAt: "02:30"}).nightly(nil); err != nil || n != nil || n.words() != "" {
		t.Errorf("nothing asked for: %v, %v", n, err)
	}
}
