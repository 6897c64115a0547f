package files_test

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"image"
	"image/color"
	"image/jpeg"
	"io"
	"os"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"ledgerwheel/domain"
	"ledgerwheel/domain/photo"
	"ledgerwheel/store/files"
)

// pictured is a picture made fit to keep, and its sum.
func pictured(t testing.TB, shade uint8) (photo.Picture, [32]byte) {
	t.Helper()
	img := image.NewGray(image.Rect(0, 0, 900, 600))
	for i := range img.Pix {
		img.Pix[i] = shade + uint8(i%97)
	}
	img.Set(3, 3, color.White)
	var b bytes.Buffer
	if err := jpeg.Encode(&b, img, nil); err != nil {
		t.Fatal(err)
	}
	p, err := photo.Process(b.Bytes())
	if err != nil {
		t.Fatal(err)
	}
	sum, err := hex.DecodeString(p.SHA256)
	if err != nil {
		t.Fatal(err)
	}
	return p, [32]byte(sum)
}

func put(t testing.TB, f *files.Folder, p photo.Picture, sum [32]byte) {
	t.Helper()
	if err := errors.Join(f.Put(sum, files.Full, p.Full), f.Put(sum, files.Thumb, p.Thumb)); err != nil {
		t.Fatal(err)
	}
}

// flip changes one bit in the middle of a file, and nothing of what the system says of it.
func flip(t *testing.T, path string) {
	t.Helper()
	info, err := os.Stat(path)
	if err != nil {
		t.Fatal(err)
	}
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	data[len(data)/2] ^= 4
	if err := os.WriteFile(path, data, 0o600); err != nil {
		t.Fatal(err)
	}
	if err := os.Chtimes(path, info.ModTime(), info.ModTime().Add(time.Second)); err != nil {
		t.Fatal(err)
	}
}

func only(t *testing.T, pattern string) string {
	t.Helper()
	found, err := filepath.Glob(pattern)
	if err != nil || len(found) != 1 {
		t.Fatalf("%s: %v, %v", pattern, found, err)
	}
	return found[0]
}

func readAll(t *testing.T, f *os.File, err error) []byte {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	data, err := io.ReadAll(f)
	if err != nil {
		t.Fatal(err)
	}
	return data
}

// TestFlippedBitIsNotOpened: of a full size, also after it was found good before; a thumbnail is made again; and what is sent
// in again takes the place of what was altered.
func TestFlippedBitIsNotOpened(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	folder, err := files.Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	p, sum := pictured(t, 40)
	put(t, folder, p, sum)
	for _, size := range []files.Size{files.Full, files.Thumb} {
		for range 2 { // read, and then trusted
			f, err := folder.Open(sum, size)
			readAll(t, f, err)
		}
	}
	flip(t, only(t, dir+"/*/*-thumb.jpg"))
	f, err := folder.Open(sum, files.Thumb)
	if _, holds := photo.SumHolds(readAll(t, f, err)); !holds {
		t.Error("an altered thumbnail is opened")
	}
	if err := os.WriteFile(only(t, dir+"/*/*-thumb.jpg"), slices.Delete(slices.Clone(p.Thumb), 2, 79), 0o600); err != nil {
		t.Fatal(err) // as an older release kept it
	}
	f, err = folder.Open(sum, files.Thumb)
	if stated, holds := photo.SumHolds(readAll(t, f, err)); !stated || !holds {
		t.Error("a thumbnail of old is not made again")
	}
	flip(t, only(t, dir+"/*/*-full.jpg"))
	if _, err := folder.Open(sum, files.Full); !errors.Is(err, files.ErrAltered) {
		t.Errorf("an altered picture: %v", err)
	}
	put(t, folder, p, sum) // the same size in bytes, sent in again
	f, err = folder.Open(sum, files.Full)
	if got := sha256.Sum256(readAll(t, f, err)); got != sum {
		t.Error("sent in again it is not put right")
	}

	sound, err := folder.PutSound([]byte("fLaC and the beat of a watch"))
	if err != nil {
		t.Fatal(err)
	}
	flip(t, only(t, dir+"/*/*.sound"))
	if _, err := folder.OpenSound(sound.Sum()); !errors.Is(err, files.ErrAltered) {
		t.Errorf("an altered sound: %v", err)
	}
	if _, err := folder.PutSound([]byte("fLaC and the beat of a watch")); err != nil {
		t.Fatal(err)
	}
	f, err = folder.OpenSound(sound.Sum())
	readAll(t, f, err)
}

// TestSweep: what was left behind goes after a day, never before; what was whole is only moved, and comes back where the
// record names it after all.
func TestSweep(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	folder, err := files.Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	named, namedSum := pictured(t, 10)
	orphan, orphanSum := pictured(t, 90)
	put(t, folder, named, namedSum)
	put(t, folder, orphan, orphanSum)
	sound, err := folder.PutSound([]byte("a sound that nothing names"))
	if err != nil {
		t.Fatal(err)
	}
	for _, path := range []string{filepath.Join(dir, ".new-123"), filepath.Join(dir, hex.EncodeToString(namedSum[:1]), ".new-9"),
		filepath.Join(dir, "notes.txt")} {
		if err := os.WriteFile(path, []byte("x"), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	now := time.Now()
	is := func(sum [32]byte) bool { return sum == namedSum }
	if did, err := folder.Sweep(now.Add(23*time.Hour), is); err != nil || did.Unfinished+len(did.Lost)+len(did.Found) != 0 {
		t.Errorf("within a day it takes %+v, %v", did, err)
	}
	did, err := folder.Sweep(now.Add(25*time.Hour), is)
	if err != nil || did.Unfinished != 2 || len(did.Lost) != 3 || len(did.Found) != 0 {
		t.Errorf("after a day it takes %+v, %v", did, err)
	}
	f, err := folder.Open(namedSum, files.Full)
	readAll(t, f, err)
	if _, err := folder.Open(orphanSum, files.Full); !errors.Is(err, domain.ErrNotFound) {
		t.Errorf("the orphan is still there: %v", err)
	}
	if _, err := os.Stat(filepath.Join(dir, "notes.txt")); err != nil {
		t.Errorf("a file that is not ours: %v", err)
	}
	did, err = folder.Sweep(now.Add(26*time.Hour), func([32]byte) bool { return true })
	if err != nil || len(did.Found) != 3 {
		t.Errorf("named after all: %+v, %v", did, err)
	}
	f, err = folder.Open(orphanSum, files.Full)
	readAll(t, f, err)
	f, err = folder.OpenSound(sound.Sum())
	readAll(t, f, err)
	if got, err := os.ReadFile(filepath.Join(dir, hex.EncodeToString(orphanSum[:1]), hex.EncodeToString(orphanSum[:])+"-thumb.jpg")); err != nil ||
		!bytes.Equal(got, orphan.Thumb) {
		t.Errorf("its thumbnail: %v", err)
	}
	// What is sent in again counts as new, though it lay there for long.
	old := now.Add(-48 * time.Hour)
	for _, path := range []string{only(t, dir+"/*/"+hex.EncodeToString(orphanSum[:])+"-full.jpg")} {
		if err := os.Chtimes(path, old, old); err != nil {
			t.Fatal(err)
		}
	}
	put(t, folder, orphan, orphanSum)
	if did, err := folder.Sweep(now, is); err != nil || len(did.Lost) != 0 {
		t.Errorf("sent in again just now, it takes %+v, %v", did, err)
	}
}

// BenchmarkOpen says what reading before sending costs: the first time, and then.
func BenchmarkOpen(b *testing.B) {
	dir := b.TempDir()
	folder, err := files.Open(dir)
	if err != nil {
		b.Fatal(err)
	}
	data := bytes.Repeat([]byte("0123456789abcdef"), 1<<16) // 1 MB
	sum := sha256.Sum256(data)
	if err := folder.Put(sum, files.Full, data); err != nil {
		b.Fatal(err)
	}
	for name, fresh := range map[string]bool{"first": true, "again": false} {
		b.Run(name, func(b *testing.B) {
			for range b.N {
				if fresh {
					if folder, err = files.Open(dir); err != nil {
						b.Fatal(err)
					}
				}
				f, err := folder.Open(sum, files.Full)
				if err != nil {
					b.Fatal(err)
				}
				f.Close()
			}
		})
	}
}
