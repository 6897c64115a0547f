package main

import (
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"ledgerwheel/store"
)

// TestErasedListGoesWithTheBackups: who was erased stands beside record and backups, and comes back beside a record that
// is restored from one of them.
func TestErasedListGoesWithTheBackups(t *testing.T) {
	t.Parallel()
	data, backups, restored := t.TempDir(), t.TempDir(), t.TempDir()
	l := &erasedList{folders: []string{data}}
	l.also(backups)
	want := []store.ErasedID{{ID: 12, At: time.Date(2026, 5, 3, 9, 30, 0, 123456000, time.UTC)}, {ID: 7, At: time.Date(2027, 1, 1, 0, 0, 0, 0, time.UTC)}}
	if err := l.write(want); err != nil {
		t.Fatal(err)
	}
	if n, err := bringErased(filepath.Join(backups, "shop.backup"), dataFolder(restored)); err != nil || n != 2 {
		t.Fatalf("%d brought, %v", n, err)
	}
	for _, folder := range []string{data, backups, restored} {
		got, err := readErased(folder)
		if err != nil || cmp.Diff(want, got) != "" {
			t.Errorf("%s: %v, %s", folder, err, cmp.Diff(want, got))
		}
	}
	if n, err := bringErased(filepath.Join(t.TempDir(), "shop.backup"), dataFolder(t.TempDir())); err != nil || n != 0 {
		t.Errorf("without a list: %d, %v", n, err)
	}
	if err := os.WriteFile(filepath.Join(data, erasedName), []byte("twelve\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := readErased(data); err == nil {
		t.Error("a broken list is read")
	}
}
