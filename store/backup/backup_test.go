package backup_test

import (
	"bytes"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"testing"

	"filippo.io/age"

	"ledgerwheel/store"
	"ledgerwheel/store/backup"
	"ledgerwheel/store/pgserver"
)

const passphrase = "four words are enough here"

// TestBackupIsRestored makes a backup of each kind, proves it, restores it, and looks at what came back.
func TestBackupIsRestored(t *testing.T) {
	t.Parallel()
	byPassphrase, err := backup.PassphraseLock(passphrase)
	if err != nil {
		t.Fatal(err)
	}
	key, err := backup.PassphraseKey(passphrase)
	if err != nil {
		t.Fatal(err)
	}
	file, public, err := backup.NewIdentity()
	if err != nil {
		t.Fatal(err)
	}
	toPublic, err := backup.RecipientLock([]string{public})
	if err != nil {
		t.Fatal(err)
	}
	identity, err := backup.IdentityKey(bytes.NewReader(file))
	if err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct {
		name string
		lock backup.Lock
		key  backup.Key
		shut backup.Locked
	}{{"plain", backup.Lock{}, backup.Key{}, backup.Open}, {"passphrase", byPassphrase, key, backup.ByPassphrase},
		{"public key", toPublic, identity, backup.ToPublicKeys}} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			s := newShop(t)
			path, made := s.backedUp(t, tt.lock)
			if shut, err := backup.LockedBy(path); err != nil || shut != tt.shut {
				t.Errorf("locked by %v (%v)", shut, err)
			}
			raw, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			encrypted := tt.shut != backup.Open
			if encrypted == (len(made.Left) > 0) || made.Keys != encrypted || made.Encrypted != encrypted {
				t.Errorf("keys in it: %t, left apart: %v", made.Keys, made.Left)
			}
			if encrypted && bytes.Contains(raw, []byte("the private half")) {
				t.Error("a private key stands readable in an encrypted backup")
			}
			p, err := backup.Verify(t.Context(), path, tt.key)
			if err != nil || !p.Whole() || p.Pictures != 1 || p.Sounds != 1 || p.Shop != "Haven Road Watches" {
				t.Fatalf("proof %+v, %v", p, err)
			}
			if encrypted {
				if p, err := backup.Verify(t.Context(), path, tt.lock.Witness()); err != nil || !p.Whole() {
					t.Errorf("by the witness: %v", err)
				}
			}
			s.restores(t, path, tt.key, encrypted)
		})
	}
}

func (s *smallShop) restores(t *testing.T, path string, key backup.Key, keys bool) {
	t.Helper()
	dir := restorable(t)
	if _, err := backup.Restore(t.Context(), path, key, backup.Target{Folder: dir}); err != nil {
		t.Fatal(err)
	}
	want := map[string]string{
		s.file(s.picture.SHA256, "-full.jpg"):       "the picture",
		s.file(s.picture.SHA256, "-thumb.jpg"):      "small",
		s.file(s.sound.SHA256, ".sound"):            "fLaC and what follows",
		filepath.Join(s.Folder, "seals/2026-06-10"): "a signed note\n",
	}
	if keys {
		want[filepath.Join(s.Folder, "keys/card.0123.key")] = "the private half"
		want[filepath.Join(s.Folder, "tls/authority.key")] = "another private half"
	}
	for was, text := range want {
		below, _ := filepath.Rel(s.Folder, was)
		got, err := os.ReadFile(filepath.Join(dir, below))
		if err != nil || string(got) != text {
			t.Errorf("%s: %q, %v", below, got, err)
		}
	}
	entries, err := os.ReadDir(dir)
	var names []string
	for _, e := range entries {
		names = append(names, e.Name())
	}
	expected := []string{"postgres", "seals", "uploads"}
	if keys {
		expected = []string{"keys", "postgres", "seals", "tls", "uploads"}
	}
	if err != nil || !slices.Equal(names, expected) {
		t.Errorf("restored are %v (%v), want %v", names, err, expected)
	}
	server, err := pgserver.Start(t.Context(), filepath.Join(dir, "postgres"))
	if err != nil {
		t.Fatal(err)
	}
	defer server.Stop()
	st, err := store.Open(t.Context(), server.URL("ledgerwheel"))
	if err != nil {
		t.Fatal(err)
	}
	defer st.Close()
	if sh, err := st.Shop(t.Context()); err != nil || sh.Name != "Haven Road Watches" {
		t.Errorf("the shop is %q, %v", sh.Name, err)
	}
	var sessions int
	if err := st.Pool().QueryRow(t.Context(), `SELECT count(*) FROM sessions`).Scan(&sessions); err != nil || sessions != 0 {
		t.Errorf("%d sessions are still open (%v)", sessions, err)
	}
}

// TestRestoreIntoDatabase restores into a database that somebody else runs, and never into one that holds anything.
func TestRestoreIntoDatabase(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	if _, err := s.Store.Pool().Exec(t.Context(), `INSERT INTO sessions VALUES ('token', 'data', now() + interval '1 day')`); err != nil {
		t.Fatal(err)
	}
	path, _ := s.backedUp(t, backup.Lock{})
	dir := restorable(t)
	_, err := backup.Restore(t.Context(), path, backup.Key{}, backup.Target{Folder: dir, Database: &s.Database})
	oneSentence(t, err, backup.ErrNoPlace, "the database is not empty")
	empty := external(t)
	if _, err := backup.Restore(t.Context(), path, backup.Key{}, backup.Target{Folder: dir, Database: &empty}); err != nil {
		t.Fatal(err)
	}
	st, err := store.Open(t.Context(), empty.URL)
	if err != nil {
		t.Fatal(err)
	}
	defer st.Close()
	if sh, err := st.Shop(t.Context()); err != nil || sh.Name != "Haven Road Watches" {
		t.Errorf("the shop is %q, %v", sh.Name, err)
	}
	var sessions int
	if err := st.Pool().QueryRow(t.Context(), `SELECT count(*) FROM sessions`).Scan(&sessions); err != nil || sessions != 0 {
		t.Errorf("%d sessions are still open (%v)", sessions, err)
	}
	if _, err := os.Stat(filepath.Join(dir, "postgres")); !os.IsNotExist(err) {
		t.Errorf("a private server was made (%v)", err)
	}
	again := external(t)
	_, err = backup.Restore(t.Context(), path, backup.Key{}, backup.Target{Folder: dir, Database: &again})
	oneSentence(t, err, backup.ErrNoPlace, "is not empty")
}

// TestOpensWithoutTheProgram opens a backup by the standard tools alone.
func TestOpensWithoutTheProgram(t *testing.T) {
	t.Parallel()
	if _, err := exec.LookPath("zstd"); err != nil {
		t.Log("no zstd on this machine: the library that wrote it is all that has read it")
		return
	}
	s := newShop(t)
	path, _ := s.backedUp(t, backup.Lock{})
	list, err := exec.Command("sh", "-c", `zstd -dcq < "$1" | tar -tf -`, "sh", path).Output()
	if err != nil || !strings.Contains(string(list), "database.dump\n") || strings.Contains(string(list), "keys/") {
		t.Errorf("%v\n%s", err, list)
	}
	dump, err := backup.ProgramPath("pg_restore")
	if err != nil {
		t.Fatal(err)
	}
	toc, err := exec.Command("sh", "-c", `zstd -dcq < "$1" | tar -xOf - database.dump | "$2" -l`, "sh", path, dump).Output()
	if err != nil || !strings.Contains(string(toc), "TABLE DATA public docket") {
		t.Errorf("%v\n%.300s", err, toc)
	}
}

// TestWhatTheShopLacks has the manifest say which files could not be copied, and tells loss from removal.
func TestWhatTheShopLacks(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	if err := os.WriteFile(s.file(s.picture.SHA256, "-full.jpg"), []byte("another"), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := os.Remove(s.file(s.sound.SHA256, ".sound")); err != nil {
		t.Fatal(err)
	}
	path, made := s.backedUp(t, backup.Lock{})
	if len(made.Altered) != 1 || len(made.Missing) != 1 || len(made.Removed) != 0 || !strings.HasSuffix(made.Missing[0], ".sound") {
		t.Errorf("altered %v, missing %v, removed %v", made.Altered, made.Missing, made.Removed)
	}
	p, err := backup.Verify(t.Context(), path, backup.Key{})
	if err != nil || p.Whole() || len(p.Findings) != 2 {
		t.Errorf("findings %v, %v", p.Findings, err)
	}
}

// TestWhatHappensMeanwhile: a sound is removed and a seal made while the backup is written. Of the moment that it shows it
// has all that can be had, and no seal of a later one.
func TestWhatHappensMeanwhile(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	recordings, err := s.Store.RecordingsOf(t.Context(), s.owner.StaffID, s.at)
	if err != nil || len(recordings) != 1 {
		t.Fatal(recordings, err)
	}
	s.Database = s.Database.BeforeDump(func() {
		unnamed, err := s.Store.DiscardRecording(t.Context(), recordings[0].ID)
		if err == nil && len(unnamed) == 1 {
			err = s.files.RemoveSound(unnamed[0])
		}
		if err != nil {
			t.Errorf("remove the sound: %v", err)
		}
		s.write(t, "seals/2026-06-11", "a later note\n", 0o644)
	})
	path, made := s.backedUp(t, backup.Lock{})
	if len(made.Removed) != 1 || len(made.Missing) != 0 || !strings.HasSuffix(made.Removed[0], s.sound.SHA256+".sound") {
		t.Errorf("removed %v, missing %v", made.Removed, made.Missing)
	}
	for _, m := range made.Members {
		if m.Name == "seals/2026-06-11" {
			t.Error("a seal of later is in the backup")
		}
	}
	p, err := backup.Verify(t.Context(), path, backup.Key{})
	if err != nil || !p.Whole() || len(p.Removed) != 1 {
		t.Errorf("findings %v, %v", p.Findings, err)
	}
}

// TestMemoryStaysFlat: sixty-four megabytes more to copy and to check are no more to keep in memory.
func TestMemoryStaysFlat(t *testing.T) {
	s := newShop(t)
	allocated := func(do func()) int64 {
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		do()
		runtime.ReadMemStats(&after)
		return int64(after.TotalAlloc - before.TotalAlloc)
	}
	var path string
	measure := func() (create, verify int64) {
		create = allocated(func() { path, _ = s.backedUp(t, backup.Lock{}) })
		verify = allocated(func() {
			if p, err := backup.Verify(t.Context(), path, backup.Key{}); err != nil || !p.Whole() {
				t.Fatalf("%v %v", p.Findings, err)
			}
		})
		return create, verify
	}
	createSmall, verifySmall := measure()
	const much = 64 << 20
	s.record(t, noise(much))
	createLarge, verifyLarge := measure()
	if info, err := os.Stat(path); err != nil || info.Size() < much {
		t.Fatalf("the large backup has %v (%v)", info, err)
	}
	t.Logf("allocated in all: to create %d kB and %d kB with 64 MB more, to verify %d kB and %d kB", createSmall>>10, createLarge>>10,
		verifySmall>>10, verifyLarge>>10)
	for _, d := range []int64{createLarge - createSmall, verifyLarge - verifySmall} {
		if d > 8<<20 {
			t.Errorf("64 MB more cost %d kB of memory", d>>10)
		}
	}
}

// TestAgeOpensIt reads an encrypted backup by the library that the format's authors give, apart from ours.
func TestAgeOpensIt(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	id, err := age.GenerateX25519Identity()
	if err != nil {
		t.Fatal(err)
	}
	lock, err := backup.RecipientLock([]string{id.Recipient().String()})
	if err != nil {
		t.Fatal(err)
	}
	path, _ := s.backedUp(t, lock)
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r, err := age.Decrypt(f, id)
	if err != nil {
		t.Fatal(err)
	}
	magic := make([]byte, 4)
	if _, err := r.Read(magic); err != nil || !bytes.Equal(magic, []byte{0x28, 0xb5, 0x2f, 0xfd}) { // RFC 8878, 3.1.1
		t.Errorf("within lies % x (%v)", magic, err)
	}
	other, err := age.GenerateX25519Identity()
	if err != nil {
		t.Fatal(err)
	}
	key, err := backup.IdentityKey(strings.NewReader(other.String()))
	if err != nil {
		t.Fatal(err)
	}
	_, err = backup.Verify(t.Context(), path, key)
	oneSentence(t, err, backup.ErrLocked, "encrypted to another key")
}

// oneSentence checks that err is of a kind and one line that says what it should.
func oneSentence(t *testing.T, err, kind error, says string) {
	t.Helper()
	if !errors.Is(err, kind) {
		t.Errorf("error %v, want %v", err, kind)
		return
	}
	if strings.Contains(err.Error(), "\n") || !strings.Contains(err.Error(), says) {
		t.Errorf("%q, want one line that says %q", err, says)
	}
}
