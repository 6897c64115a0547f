package backup

import (
	"archive/tar"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"ledgerwheel/store"
)

// json writes a member that is worked out rather than read. It is no part of the manifest.
func (w *writer) json(name string, value any) error {
	text, err := json.MarshalIndent(value, "", "\t")
	if err != nil {
		return err
	}
	if err := w.header(name, int64(len(text))+1); err != nil {
		return err
	}
	if _, err := w.tar.Write(append(text, '\n')); err != nil {
		return err
	}
	if name == headName { // the manifest vouches for it too
		w.note(name, int64(len(text))+1, sha256.Sum256(append(text, '\n')))
	}
	return nil
}

func (w *writer) header(name string, bytes int64) error {
	return w.tar.WriteHeader(&tar.Header{Typeflag: tar.TypeReg, Name: name, Size: bytes, Mode: 0o600, ModTime: w.made.At.Truncate(time.Second),
		Format: tar.FormatPAX})
}

func (w *writer) note(name string, bytes int64, sum [32]byte) {
	w.made.Members = append(w.made.Members, Member{Name: name, Bytes: bytes, SHA256: hex.EncodeToString(sum[:])})
}

// file writes an open file as a member and returns its sum.
func (w *writer) file(name string, f *os.File) (sum [32]byte, err error) {
	if err := w.ctx.Err(); err != nil {
		return sum, err
	}
	info, err := f.Stat()
	if err != nil {
		return sum, err
	}
	if err := w.header(name, info.Size()); err != nil {
		return sum, err
	}
	h := sha256.New()
	n, err := io.Copy(io.MultiWriter(w.tar, h), f)
	if err == nil && n != info.Size() {
		err = fmt.Errorf("%s changed while it was read", f.Name())
	}
	if err != nil {
		return sum, err
	}
	sum = [32]byte(h.Sum(nil))
	w.note(name, n, sum)
	return sum, nil
}

// uploads writes the photographs and sounds that the snapshot names.
func (w *writer) uploads(snapshot *store.Snapshot) error {
	absent := map[string][32]byte{}
	for _, kind := range []struct {
		sums  [][32]byte
		sizes []string // the first has the content that the sum is of
	}{{snapshot.Pictures, []string{"-full.jpg", "-thumb.jpg"}}, {snapshot.Sounds, []string{".sound"}}} {
		for _, sum := range kind.sums {
			for i, size := range kind.sizes {
				if err := w.upload(sum, size, i == 0, absent); err != nil {
					return err
				}
			}
		}
	}
	return w.explain(absent)
}

// upload writes one file of the uploads folder, or notes that it is absent.
func (w *writer) upload(named [32]byte, size string, content bool, absent map[string][32]byte) error {
	digits := hex.EncodeToString(named[:])
	name := "uploads/" + digits[:2] + "/" + digits + size
	f, err := os.Open(filepath.Join(w.src.Uploads, digits[:2], digits+size))
	if errors.Is(err, fs.ErrNotExist) {
		absent[name] = named
		return nil
	}
	if err != nil {
		return err
	}
	defer f.Close()
	sum, err := w.file(name, f)
	if err == nil && content && sum != named {
		w.made.Altered = append(w.made.Altered, name)
	}
	return err
}

// explain tells what was removed from the shop since the snapshot from what it has lost.
func (w *writer) explain(absent map[string][32]byte) error {
	if len(absent) == 0 {
		return nil
	}
	pictures, sounds, err := w.src.Store.NamedFiles(w.ctx)
	if err != nil {
		return err
	}
	still := map[[32]byte]bool{}
	for _, sum := range append(pictures, sounds...) {
		still[sum] = true
	}
	for name, sum := range absent {
		if still[sum] {
			w.made.Missing = append(w.made.Missing, name)
		} else {
			w.made.Removed = append(w.made.Removed, name)
		}
	}
	slices.Sort(w.made.Missing)
	slices.Sort(w.made.Removed)
	return nil
}

// named lists the names of the files that lie in one of the data folder's own folders, or its name where it is a file.
// Names that no backup takes, such as those of files half written, are left out.
func (w *writer) named(top string) (names []string, err error) {
	err = filepath.WalkDir(filepath.Join(w.src.Folder, top), func(path string, d fs.DirEntry, err error) error {
		if errors.Is(err, fs.ErrNotExist) { // not there, or gone meanwhile
			return nil
		}
		if err != nil || !d.Type().IsRegular() {
			return err
		}
		below, err := filepath.Rel(w.src.Folder, path)
		if name := filepath.ToSlash(below); err == nil && known(name) && !strings.HasSuffix(name, ".lock") {
			names = append(names, name)
		}
		return err
	})
	return names, err
}

// plain writes files of the data folder.
func (w *writer) plain(names []string) error {
	for _, name := range names {
		f, err := os.Open(filepath.Join(w.src.Folder, filepath.FromSlash(name)))
		if errors.Is(err, fs.ErrNotExist) { // gone meanwhile
			continue
		}
		if err != nil {
			return err
		}
		_, err = w.file(name, f)
		f.Close()
		if err != nil {
			return err
		}
	}
	return nil
}
