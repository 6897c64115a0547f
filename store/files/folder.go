// Package files keeps what is not in the database: photographs and sounds, as files in one folder.
package files

import (
	"bytes"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"ledgerwheel/domain"
	"ledgerwheel/domain/photo"
)

// Folder keeps photographs and sounds as files named by the SHA-256 of what was stored, so that a row of the database
// names its picture or sound for good and the same one is kept once.
type Folder struct {
	root string
	held checks
}

// Open makes the folder if it is not there yet.
func Open(dir string) (*Folder, error) {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return nil, fmt.Errorf("uploads folder: %w", err)
	}
	return &Folder{root: dir}, nil
}

// Size is one of the two sizes in which a photograph is kept.
type Size string

// The sizes: Full for looking, Thumb for lists.
const (
	Full  Size = "full"
	Thumb Size = "thumb"
)

func (f *Folder) path(sum [32]byte, size Size) string {
	name := hex.EncodeToString(sum[:])
	return filepath.Join(f.root, name[:2], name+"-"+string(size)+".jpg")
}

// Put keeps one size of the picture whose full size has the given sum. When it returns nil the bytes
// are on the disk: the row that names them may be written.
func (f *Folder) Put(sum [32]byte, size Size, data []byte) error {
	path := f.path(sum, size)
	if kept, err := os.ReadFile(path); err == nil && bytes.Equal(kept, data) {
		now := time.Now() // it counts as new, so that no sweep takes it for what was left behind
		return fault(os.Chtimes(path, now, now))
	}
	dir := filepath.Dir(path)
	if err := makeShelf(dir); err != nil {
		return fmt.Errorf("keep picture: %w", err)
	}
	if err := writeSynced(dir, path, data); err != nil {
		return fmt.Errorf("keep picture: %w", gone(err))
	}
	return nil
}

// makeShelf makes one of the folders within the folder, but never the folder itself: one that is gone holds what was kept
// so far, and another in its place would hide that.
func makeShelf(dir string) error {
	if err := os.Mkdir(dir, 0o700); err != nil && !errors.Is(err, fs.ErrExist) {
		return gone(err)
	}
	return nil
}

// Open returns the file of one size once it was found to be what was kept. The error wraps domain.ErrNotFound when it is not
// there, and ErrAltered when it is another. A thumbnail that is missing, altered or from before they were checked is made
// again of the full size.
func (f *Folder) Open(sum [32]byte, size Size) (*os.File, error) {
	path := f.path(sum, size)
	file, err := f.held.open(path, func(r io.Reader) error {
		if size == Thumb {
			return checkThumb(r)
		}
		return checkReader(r, sum)
	})
	if size == Thumb && (errors.Is(err, ErrAltered) || errors.Is(err, fs.ErrNotExist)) {
		if err := f.thumbAgain(sum); err != nil {
			return nil, err
		}
		file, err = os.Open(path)
	}
	if errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("picture %x: %w", sum[:4], domain.ErrNotFound)
	}
	if err != nil {
		return nil, fmt.Errorf("picture %x: %w", sum[:4], err)
	}
	return file, nil
}

// thumbAgain makes a thumbnail of the full size.
func (f *Folder) thumbAgain(sum [32]byte) error {
	full, err := f.Open(sum, Full)
	if err != nil {
		return err
	}
	defer full.Close()
	data, err := io.ReadAll(full)
	if err != nil {
		return err
	}
	thumb, err := photo.ThumbOf(data)
	if err != nil {
		return err
	}
	return f.Put(sum, Thumb, thumb)
}

// Remove deletes both sizes of a picture that no row names any more; files that are gone already are no error. When it
// returns nil they are off the disk.
func (f *Folder) Remove(sum [32]byte) error {
	for _, size := range []Size{Full, Thumb} {
		if err := os.Remove(f.path(sum, size)); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return fmt.Errorf("remove picture: %w", err)
		}
	}
	err := syncDir(filepath.Dir(f.path(sum, Full)))
	if errors.Is(err, fs.ErrNotExist) { // nothing was ever kept there
		return nil
	}
	return err
}

// writeSynced writes beside the target and renames, so that a pulled plug leaves the whole file or none.
func writeSynced(dir, path string, data []byte) error {
	tmp, err := os.CreateTemp(dir, ".new-*")
	if err != nil {
		return err
	}
	defer os.Remove(tmp.Name()) // fails, harmlessly, once it is renamed
	if _, err := tmp.Write(data); err != nil {
		tmp.Close()
		return err
	}
	if err := tmp.Sync(); err != nil {
		tmp.Close()
		return err
	}
	if err := tmp.Close(); err != nil {
		return err
	}
	if err := os.Rename(tmp.Name(), path); err != nil {
		return err
	}
	return syncDir(dir)
}

func syncDir(dir string) error {
	d, err := os.Open(dir)
	if err != nil {
		return err
	}
	defer d.Close()
	return d.Sync()
}
