package store

import (
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"ledgerwheel/domain"
)

// Uploads keeps photographs as files in one folder, named by the SHA-256 of what was stored, so that
// a row of the database names its picture for good and the same picture is kept once.
type Uploads struct {
	root string
}

// OpenUploads makes the folder if it is not there yet.
func OpenUploads(dir string) (*Uploads, error) {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return nil, fmt.Errorf("uploads folder: %w", err)
	}
	return &Uploads{root: dir}, nil
}

// Size is one of the two sizes in which a photograph is kept.
type Size string

// The sizes: Full for looking, Thumb for lists.
const (
	Full  Size = "full"
	Thumb Size = "thumb"
)

func (u *Uploads) path(sum [32]byte, size Size) string {
	name := hex.EncodeToString(sum[:])
	return filepath.Join(u.root, name[:2], name+"-"+string(size)+".jpg")
}

// Put keeps one size of the picture whose full size has the given sum. When it returns nil the bytes
// are on the disk: the row that names them may be written.
func (u *Uploads) Put(sum [32]byte, size Size, data []byte) error {
	path := u.path(sum, size)
	if info, err := os.Stat(path); err == nil && info.Size() == int64(len(data)) {
		return nil
	}
	dir := filepath.Dir(path)
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return fmt.Errorf("keep picture: %w", err)
	}
	if err := writeSynced(dir, path, data); err != nil {
		return fmt.Errorf("keep picture: %w", err)
	}
	return nil
}

// Open returns the file of one size; the error wraps domain.ErrNotFound when it is not there.
func (u *Uploads) Open(sum [32]byte, size Size) (*os.File, error) {
	f, err := os.Open(u.path(sum, size))
	if errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("picture %x: %w", sum[:4], domain.ErrNotFound)
	}
	return f, err
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
