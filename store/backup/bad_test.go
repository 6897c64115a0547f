package backup_test

import (
	"archive/tar"
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"testing"

	"github.com/klauspost/compress/zstd"

	"ledgerwheel/store/backup"
)

// altered writes a changed copy of a file beside it.
func altered(t *testing.T, path string, change func([]byte) []byte) string {
	t.Helper()
	raw, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	to := filepath.Join(t.TempDir(), "altered.backup")
	if err := os.WriteFile(to, change(bytes.Clone(raw)), 0o600); err != nil {
		t.Fatal(err)
	}
	return to
}

// refusedBackup holds that a backup is neither proven nor restored, and that nothing is left behind.
func refusedBackup(t *testing.T, path string, key backup.Key, kind error, says string) {
	t.Helper()
	_, err := backup.Verify(t.Context(), path, key)
	oneSentence(t, err, kind, says)
	dir := restorable(t)
	_, err = backup.Restore(t.Context(), path, key, backup.Target{Folder: dir})
	oneSentence(t, err, kind, says)
	if _, err := os.Stat(dir); !os.IsNotExist(err) {
		t.Errorf("a folder is left behind (%v)", err)
	}
	if err := os.Mkdir(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	_, err = backup.Restore(t.Context(), path, key, backup.Target{Folder: dir})
	oneSentence(t, err, kind, says)
	if entries, err := os.ReadDir(dir); err != nil || len(entries) > 0 {
		t.Errorf("in the empty folder lie %v (%v)", entries, err)
	}
}

// TestDamagedBackups cuts and changes backups at many places, open and encrypted ones.
func TestDamagedBackups(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	file, public, err := backup.NewIdentity()
	if err != nil {
		t.Fatal(err)
	}
	lock, err := backup.RecipientLock([]string{public})
	if err != nil {
		t.Fatal(err)
	}
	key, err := backup.IdentityKey(bytes.NewReader(file))
	if err != nil {
		t.Fatal(err)
	}
	for _, l := range []backup.Lock{{}, lock} {
		path, made := s.backedUp(t, l)
		for _, share := range []float64{0.3, 0.7, 0.99} {
			at := int(share * float64(made.FileBytes))
			refusedBackup(t, altered(t, path, func(b []byte) []byte { return b[:at] }), key, backup.ErrDamaged, "cut short")
			refusedBackup(t, altered(t, path, func(b []byte) []byte { b[at] ^= 0x20; return b }), key, backup.ErrDamaged, "damaged")
		}
		refusedBackup(t, altered(t, path, func(b []byte) []byte { return b[:len(b)-1] }), key, backup.ErrDamaged, "cut short")
		refusedBackup(t, altered(t, path, func(b []byte) []byte { return append(b, "more"...) }), key, backup.ErrDamaged, "damaged")
	}
}

// repacked changes the members of an open backup, as somebody with an archiver could.
func repacked(t *testing.T, path string, change func(name string, content []byte) (string, []byte)) string {
	t.Helper()
	return altered(t, path, func(raw []byte) []byte {
		z, err := zstd.NewReader(bytes.NewReader(raw))
		if err != nil {
			t.Fatal(err)
		}
		defer z.Close()
		var out bytes.Buffer
		squeeze, err := zstd.NewWriter(&out)
		if err != nil {
			t.Fatal(err)
		}
		w := tar.NewWriter(squeeze)
		for r := tar.NewReader(z); ; {
			h, err := r.Next()
			if err != nil {
				break
			}
			var content bytes.Buffer
			if _, err := content.ReadFrom(r); err != nil {
				t.Fatal(err)
			}
			name, text := change(h.Name, content.Bytes())
			if name == "" {
				continue
			}
			if err := w.WriteHeader(&tar.Header{Name: name, Size: int64(len(text)), Mode: 0o600, Typeflag: tar.TypeReg}); err != nil {
				t.Fatal(err)
			}
			if _, err := w.Write(text); err != nil {
				t.Fatal(err)
			}
		}
		if w.Close() != nil || squeeze.Close() != nil {
			t.Fatal("packing failed")
		}
		return out.Bytes()
	})
}

// TestRepackedBackups: changed members, members of other names, a newer release's.
func TestRepackedBackups(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	path, _ := s.backedUp(t, backup.Lock{})
	change := func(which string, do func([]byte) []byte) string {
		found := false
		to := repacked(t, path, func(name string, text []byte) (string, []byte) {
			if name == which {
				found, text = true, do(text)
			}
			return name, text
		})
		if !found {
			t.Fatalf("no member %s", which)
		}
		return to
	}
	picture := "uploads/" + s.picture.SHA256[:2] + "/" + s.picture.SHA256 + "-full.jpg"
	refusedBackup(t, change(picture, func([]byte) []byte { return []byte("other words") }), backup.Key{}, backup.ErrDamaged, "not what the manifest says")
	refusedBackup(t, repacked(t, path, func(name string, text []byte) (string, []byte) {
		if name == "database.dump" {
			return "", nil
		}
		return name, text
	}), backup.Key{}, backup.ErrDamaged, "members")
	for _, bad := range []string{"../escape", "postgres/data/PG_VERSION", "/etc/passwd", "uploads/../../x", "keys", "seals/../x", "seals/.hidden"} {
		refusedBackup(t, repacked(t, path, func(name string, text []byte) (string, []byte) {
			if name == picture {
				name = bad
			}
			return name, text
		}), backup.Key{}, backup.ErrDamaged, "damaged")
	}
	for field, value := range map[string]any{"format": 2, "migration": 99999} {
		refusedBackup(t, change("head.json", func(text []byte) []byte {
			var head map[string]any
			if err := json.Unmarshal(text, &head); err != nil {
				t.Fatal(err)
			}
			head[field] = value
			text, err := json.Marshal(head)
			if err != nil {
				t.Fatal(err)
			}
			return text
		}), backup.Key{}, backup.ErrNewer, "newer release")
	}
	refusedBackup(t, change("head.json", func([]byte) []byte { return []byte("no JSON") }), backup.Key{}, backup.ErrNotBackup, "no backup")
}

func TestNoBackups(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	for name, text := range map[string]string{"empty": "", "text": "a letter", "zip": "PK\x03\x04", "short": "\x28\xb5", "age": "age-encryption.org/v9\n"} {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		refusedBackup(t, path, backup.Key{}, backup.ErrNotBackup, "is no backup")
	}
	refusedBackup(t, filepath.Join(dir, "not-there"), backup.Key{}, backup.ErrNotBackup, "can't be opened: no such file")
	refusedBackup(t, dir, backup.Key{}, backup.ErrNotBackup, "is no file")
}

func TestLocks(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	lock, err := backup.PassphraseLock(passphrase)
	if err != nil {
		t.Fatal(err)
	}
	path, _ := s.backedUp(t, lock)
	wrong, err := backup.PassphraseKey("four other words entirely")
	if err != nil {
		t.Fatal(err)
	}
	refusedBackup(t, path, wrong, backup.ErrLocked, "the passphrase is not that of")
	refusedBackup(t, path, backup.Key{}, backup.ErrLocked, "give its passphrase")
	if _, err := backup.PassphraseLock("short"); err == nil {
		t.Error("a passphrase of five letters is taken")
	}
	for _, bad := range [][]string{nil, {"age1"}, {"AGE-SECRET-KEY-1QQQ"}, {"mailto:ada@haven.example"}} {
		if _, err := backup.RecipientLock(bad); err == nil {
			t.Errorf("%v is taken for a public key", bad)
		}
	}
}

// TestNeverOverAnything: neither a backup nor a restored folder takes the place of what is there.
func TestNeverOverAnything(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	path, made := s.backedUp(t, backup.Lock{})
	_, err := backup.Create(t.Context(), s.Source, path, backup.Lock{})
	oneSentence(t, err, backup.ErrNoPlace, "there already")
	if info, err := os.Stat(path); err != nil || info.Size() != made.FileBytes {
		t.Errorf("the earlier one has changed (%v)", err)
	}
	_, err = backup.Create(t.Context(), s.Source, filepath.Join(filepath.Dir(path), "none", "x"), backup.Lock{})
	oneSentence(t, err, backup.ErrNoPlace, "is not there")
	dir := restorable(t)
	if err := os.Mkdir(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, "letter"), []byte("dear"), 0o600); err != nil {
		t.Fatal(err)
	}
	_, err = backup.Restore(t.Context(), path, backup.Key{}, backup.Target{Folder: dir})
	oneSentence(t, err, backup.ErrNoPlace, "is not empty")
	if text, err := os.ReadFile(filepath.Join(dir, "letter")); err != nil || string(text) != "dear" {
		t.Errorf("%q, %v", text, err)
	}
}
