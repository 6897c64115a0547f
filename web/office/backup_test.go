package office_test

import (
	"net/http"
	"strings"
	"testing"
	"time"

	"ledgerwheel/store"
	"ledgerwheel/web/webtest"
)

// TestOwnerSeesTheBackups: alarm without a proven backup, none with a new one, alarm again when it is too old.
func TestOwnerSeesTheBackups(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	owner := s.As(s.Owner)
	standing := func(path, words string, alarm bool) {
		t.Helper()
		page := owner.Get(path)
		text := page.Text("backup-standing")
		if !strings.Contains(text, words) || alarmed(page.One("backup-standing")) != alarm {
			t.Errorf("%s says %q, alarming %t", path, text, !alarm)
		}
	}
	standing("/owner", "No backup was ever proven.", true)
	standing("/backup", "No backup was ever proven.", true)
	now := s.Clock()
	id, err := s.Store.NoteBackup(t.Context(), store.BackupRun{At: now.Add(-3 * time.Hour), Nightly: true, Place: "/mnt/backups/a.backup",
		Bytes: 12_345_678})
	if err != nil {
		t.Fatal(err)
	}
	standing("/owner", "No backup was ever proven.", true)
	if err := s.Store.BackupProven(t.Context(), id, now.Add(-2*time.Hour), "Restored, all sums agree."); err != nil {
		t.Fatal(err)
	}
	standing("/owner", "The last proven backup is 3 hours old.", false)
	standing("/owner", "/mnt/backups/a.backup", false)
	if _, err := s.Store.NoteBackup(t.Context(), store.BackupRun{At: now, Nightly: true, Place: "/mnt/backups/b.backup",
		Failed: "There is no space left in /mnt/backups."}); err != nil {
		t.Fatal(err)
	}
	page := owner.Get("/backup")
	for id, words := range map[string]string{"backup": "12.3 MB", "backup-failed": "no space left", "backup-restore": "backup restore FILE"} {
		if text := page.Text(id); !strings.Contains(text, words) {
			t.Errorf("%s says %q, want %q", id, text, words)
		}
	}
	s.Pass(46 * time.Hour)
	standing("/owner", "The last proven backup is 2 days old.", true)
	if err := s.Store.BackupGone(t.Context(), id, now); err != nil {
		t.Fatal(err)
	}
	standing("/owner", "No backup was ever proven.", true)
	if err := s.Store.BackupFailed(t.Context(), id, false, "It was damaged."); err != nil {
		t.Fatal(err)
	}
	if got := s.As(s.Watchmaker).Get("/backup"); got.Status != http.StatusForbidden {
		t.Errorf("a watchmaker sees the backups: %d", got.Status)
	}
}
