package backup_test

import (
	"bytes"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"ledgerwheel/domain/heard"
	"ledgerwheel/domain/photo"
	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/watch"
	"ledgerwheel/store"
	"ledgerwheel/store/backup"
	"ledgerwheel/store/files"
	"ledgerwheel/store/keyring"
	"ledgerwheel/store/storetest"
)

func TestMain(m *testing.M) { storetest.Main(m) }

// smallShop is a shop with one drawing, one sound, a seal and keys.
type smallShop struct {
	backup.Source
	owner   store.Actor
	files   *files.Folder
	picture photo.Picture
	sound   heard.Sound
	at      time.Time
}

func newShop(t testing.TB) *smallShop {
	t.Helper()
	h := storetest.NewHandle(t)
	db, err := backup.External(h.URL)
	if err != nil {
		t.Fatal(err)
	}
	data := t.TempDir()
	s := &smallShop{Source: backup.Source{Store: h.Store, Database: db, Folder: data, Uploads: filepath.Join(data, "uploads"),
		Program: "test"}, at: time.Date(2026, 6, 10, 9, 0, 0, 0, time.UTC)}
	sh := shop.Defaults()
	sh.Name, sh.TimeZone, sh.LinkSecret = "Haven Road Watches", "Europe/Zurich", bytes.Repeat([]byte{7}, 32)
	id, err := s.Store.Found(t.Context(), sh, staff.Member{Name: "Ada Quill", Email: "ada@haven.example", Role: staff.Owner}, "hash", s.at)
	if err != nil {
		t.Fatal(err)
	}
	s.owner = store.Actor{StaffID: id, Name: "Ada Quill", Role: staff.Owner}
	if s.files, err = files.Open(s.Uploads); err != nil {
		t.Fatal(err)
	}
	s.draw(t)
	s.sound = s.record(t, strings.NewReader("fLaC and what follows"))
	s.write(t, "seals/2026-06-10", "a signed note\n", 0o644)
	s.write(t, "keys/"+keyring.Card+".0123.key", "the private half", 0o600)
	s.write(t, "tls/authority.key", "another private half", 0o600)
	return s
}

func (s *smallShop) write(t testing.TB, name, text string, mode os.FileMode) {
	t.Helper()
	path := filepath.Join(s.Folder, name)
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, []byte(text), mode); err != nil {
		t.Fatal(err)
	}
}

// draw files a drawing of a calibre.
func (s *smallShop) draw(t testing.TB) {
	t.Helper()
	full := []byte("the picture")
	sound := heard.SoundOf(full) // for its sum
	s.picture = photo.Picture{Full: full, Thumb: []byte("small"), WidthPx: 10, HeightPx: 10, SHA256: sound.SHA256}
	for size, data := range map[files.Size][]byte{files.Full: s.picture.Full, files.Thumb: s.picture.Thumb} {
		if err := s.files.Put(sound.Sum(), size, data); err != nil {
			t.Fatal(err)
		}
	}
	id, err := s.Store.AddCalibre(t.Context(), store.CalibreChange{By: s.owner, At: s.at},
		watch.Calibre{Name: "Tarnside 7", BeatsPerHour: 18000, GradeKey: "modern", PowerReserveHours: 40})
	if err != nil {
		t.Fatal(err)
	}
	if err := s.Store.AddCalibreDrawings(t.Context(), s.owner, s.at, id, "Train side", []photo.Picture{s.picture}); err != nil {
		t.Fatal(err)
	}
}

// record sends a recording in.
func (s *smallShop) record(t testing.TB, from io.Reader) heard.Sound {
	t.Helper()
	sound, err := s.files.ReceiveSound(from, 1<<30)
	if err != nil {
		t.Fatal(err)
	}
	sound.Format = "FLAC"
	if _, err := s.Store.AddRecording(t.Context(), store.NewRecording{By: s.owner, At: s.at, FileName: "bench.flac", Sound: *sound}); err != nil {
		t.Fatal(err)
	}
	return *sound
}

// file is where the uploads folder has a file.
func (s *smallShop) file(sum, size string) string {
	return filepath.Join(s.Uploads, sum[:2], sum+size)
}

func (s *smallShop) backedUp(t testing.TB, lock backup.Lock) (string, backup.Made) {
	t.Helper()
	to := filepath.Join(t.TempDir(), "shop.backup")
	made, err := backup.Create(t.Context(), s.Source, to, lock)
	if err != nil {
		t.Fatal(err)
	}
	entries, err := os.ReadDir(filepath.Dir(to))
	if err != nil || len(entries) != 1 {
		t.Errorf("beside the backup lie %v (%v)", entries, err)
	}
	return to, made
}

// restorable is a folder that the private server's user may enter.
func restorable(t testing.TB) string {
	t.Helper()
	parent, err := os.MkdirTemp("", "lw-restore-")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { os.RemoveAll(parent) })
	if err := os.Chmod(parent, 0o711); err != nil {
		t.Fatal(err)
	}
	return filepath.Join(parent, "shop")
}

// noise is a source of so many bytes that don't compress.
func noise(n int64) io.Reader {
	var seed [32]byte
	return io.LimitReader(rand.NewChaCha8(seed), n)
}

// external is an empty database.
func external(t testing.TB) backup.Database {
	t.Helper()
	db, err := backup.External(storetest.Empty(t))
	if err != nil {
		t.Fatal(err)
	}
	return db
}
