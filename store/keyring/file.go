package keyring

import (
	"encoding/base64"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"time"
)

// A key's file is named PURPOSE.ID.key and holds these lines:
//
//	ledgerwheel private key 1
//	purpose PURPOSE
//	id ID
//	made 2006-01-02T15:04:05Z
//	seed BASE64
const fileHead = "ledgerwheel private key 1"

const suffix = ".key"

func (r *Ring) pathOf(name string) string { return filepath.Join(r.dir, name) }

func (r *Ring) path(purpose, id string) string { return r.pathOf(purpose + "." + id + suffix) }

// checkFolder refuses a folder that others may look into. The error wraps [ErrExposed] or fs.ErrNotExist.
func (r *Ring) checkFolder() error {
	info, err := os.Stat(r.dir)
	switch {
	case err != nil:
		return fmt.Errorf("folder of private keys: %w", err)
	case !info.IsDir():
		return fmt.Errorf("folder of private keys: %s is not a folder", r.dir)
	case exposed(info):
		return fmt.Errorf("%w: the folder %s may be used by others than its owner; run: chmod 700 %s", ErrExposed, r.dir, r.dir)
	}
	return nil
}

// exposed reports whether others than the owner may use a file. Windows keeps that elsewhere than in these bits: there
// a person's own folders are closed to others by themselves.
func exposed(info fs.FileInfo) bool {
	return runtime.GOOS != "windows" && info.Mode().Perm()&0o077 != 0
}

// maxFile is far above the length of a key's file.
const maxFile = 1024

// read reads a key's file. The error wraps fs.ErrNotExist, [ErrExposed] or [ErrDamaged].
func (r *Ring) read(path string) (entry, error) {
	text, err := readPrivate(path)
	if err != nil {
		return entry{}, err
	}
	e, ok := parseFile(string(text))
	if !ok {
		return entry{}, fmt.Errorf("%w: %s; put it back from a backup", ErrDamaged, path)
	}
	return e, nil
}

// readPrivate reads a file that its owner alone may use. The error wraps fs.ErrNotExist, [ErrExposed] or [ErrDamaged].
func readPrivate(path string) ([]byte, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, fmt.Errorf("private key: %w", err)
	}
	defer f.Close()
	info, err := f.Stat()
	switch {
	case err != nil:
		return nil, fmt.Errorf("private key: %w", err)
	case !info.Mode().IsRegular() || info.Size() > maxFile:
		return nil, fmt.Errorf("%w: %s is no key's file", ErrDamaged, path)
	case exposed(info):
		return nil, fmt.Errorf("%w: %s may be used by others than its owner; run: chmod 600 %s, and if others "+
			"may have read it, begin a new key", ErrExposed, path, path)
	}
	text := make([]byte, info.Size())
	if _, err := f.ReadAt(text, 0); err != nil {
		return nil, fmt.Errorf("private key %s: %w", path, err)
	}
	return text, nil
}

func parseFile(text string) (entry, bool) {
	lines := strings.Split(strings.TrimSuffix(text, "\n"), "\n")
	if len(lines) != 5 || lines[0] != fileHead {
		return entry{}, false
	}
	var values [4]string
	for i, name := range []string{"purpose", "id", "made", "seed"} {
		var ok bool
		if values[i], ok = strings.CutPrefix(lines[i+1], name+" "); !ok {
			return entry{}, false
		}
	}
	made, err := time.Parse(time.RFC3339, values[2])
	if err != nil || checkName(values[0], values[1]) != nil {
		return entry{}, false
	}
	seed, err := base64.StdEncoding.DecodeString(values[3])
	if err != nil || len(seed) != SeedBytes {
		return entry{}, false
	}
	return entry{Key: Key{Purpose: values[0], ID: values[1], MadeAt: made.UTC()}, seed: seed}, true
}

func (e entry) file() []byte {
	return fmt.Appendf(nil, "%s\npurpose %s\nid %s\nmade %s\nseed %s\n", fileHead, e.Purpose, e.ID,
		e.MadeAt.UTC().Format(time.RFC3339), base64.StdEncoding.EncodeToString(e.seed))
}

// write puts a key's file into the folder, whole and synced, unless one of its name is there already.
func (r *Ring) write(e entry) error { return r.put(r.path(e.Purpose, e.ID), e.file(), settle) }

// put writes a file whole and synced beside path and has settle give it that name.
func (r *Ring) put(path string, text []byte, settle func(tmp, path string) error) error {
	if r.dir == "" {
		return errors.New("no folder for private keys is known")
	}
	if err := os.MkdirAll(r.dir, 0o700); err != nil {
		return err
	}
	if err := r.checkFolder(); err != nil {
		return err
	}
	tmp, err := os.CreateTemp(r.dir, ".new-*") // readable by its owner alone, as CreateTemp documents
	if err != nil {
		return err
	}
	defer os.Remove(tmp.Name()) // fails, harmlessly, once it is renamed
	_, err = tmp.Write(text)
	if err == nil {
		err = tmp.Sync()
	}
	if err := errors.Join(err, tmp.Close()); err != nil {
		return err
	}
	if err := settle(tmp.Name(), path); err != nil {
		return err
	}
	if err := syncDir(r.dir); err != nil {
		return err
	}
	return syncDir(filepath.Dir(r.dir)) // the folder itself may be new
}

// settle gives a written file its name. A second name by a link, unlike renaming, never takes the place of a file that
// another copy of the program has just put there; where there are no links, renaming must do.
func settle(tmp, path string) error {
	err := os.Link(tmp, path)
	if err == nil || errors.Is(err, fs.ErrExist) {
		return nil
	}
	if _, err := os.Stat(path); err == nil {
		return nil
	}
	return os.Rename(tmp, path)
}

func syncDir(dir string) error {
	if runtime.GOOS == "windows" {
		return nil // folders can't be synced there
	}
	d, err := os.Open(dir)
	if err != nil {
		return err
	}
	defer d.Close()
	return d.Sync()
}
