package backup

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"ledgerwheel/store"
	"ledgerwheel/store/pgserver"
)

// stageName is the folder, within the one that is restored into, in which everything is put together before it is moved
// to its place. A folder that has it was not restored to the end.
const stageName = "restoring"

// Unfinished reports whether a restore into the data folder was cut off.
func Unfinished(folder string) bool {
	_, err := os.Lstat(filepath.Join(folder, stageName))
	return err == nil
}

// Target is where a backup is restored to.
type Target struct {
	Folder   string    // the data folder; empty or not there
	Database *Database // an empty one; nil for a private server in the folder
	Options  []pgserver.Option
}

// Restored is what was restored.
type Restored struct {
	Head
	Manifest
}

// Restore puts a backup into an empty place. Where it fails it leaves the place as it was.
func Restore(ctx context.Context, path string, key Key, to Target) (_ Restored, err error) {
	a, err := OpenArchive(ctx, path, key)
	if err != nil {
		return Restored{}, err
	}
	defer a.Close()
	if err := to.free(ctx); err != nil {
		return Restored{}, err
	}
	_, statErr := os.Stat(to.Folder)
	if err := pgserver.MakeFolder(to.Folder); err != nil {
		return Restored{}, err
	}
	stage := filepath.Join(to.Folder, stageName)
	defer func() {
		if err != nil {
			err = errors.Join(full(err, to.Folder), os.RemoveAll(stage))
			if errors.Is(statErr, os.ErrNotExist) {
				_ = os.Remove(to.Folder) // unless somebody put something there meanwhile
			}
		}
	}()
	if err := pgserver.MakeFolder(stage); err != nil {
		return Restored{}, err
	}
	r := Restored{Head: a.Head}
	if r.Manifest, err = a.Each(unpack(stage)); err != nil {
		return r, err
	}
	if err := to.fill(ctx, stage); err != nil {
		return r, err
	}
	return r, settle(stage, to.Folder)
}

// free makes sure that nothing is where the backup will be.
func (to Target) free(ctx context.Context) error {
	entries, err := os.ReadDir(to.Folder)
	if err != nil && !errors.Is(err, os.ErrNotExist) {
		return say(ErrNoPlace, err, "the folder %s can't be used: %v", to.Folder, reason(err))
	}
	for _, e := range entries {
		if e.Name() != "lost+found" { // of a disk of its own
			return say(ErrNoPlace, nil, "the folder %s is not empty: a backup is restored into an empty one only, never over anything; "+
				"name another with --data", to.Folder)
		}
	}
	if to.Database == nil {
		return nil
	}
	st, err := store.Open(ctx, to.Database.URL)
	if err != nil {
		return err
	}
	defer st.Close()
	if empty, err := st.IsEmpty(ctx); err != nil {
		return err
	} else if !empty {
		return say(ErrNoPlace, nil, "the database is not empty: a backup is restored into an empty one only; make another (createdb) "+
			"and name it with --database")
	}
	return nil
}

// unpack writes each member below dir.
func unpack(dir string) func(Member, io.Reader) error {
	return func(m Member, content io.Reader) error {
		path := filepath.Join(dir, filepath.FromSlash(m.Name))
		if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
			return err
		}
		mode := os.FileMode(0o600)
		if !strings.Contains(m.Name, "/") && m.Name != dumpName {
			mode = 0o644
		}
		f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, mode)
		if err != nil {
			return err
		}
		defer f.Close()
		if _, err := io.Copy(f, content); err != nil {
			return err
		}
		return f.Close()
	}
}

// fill restores the dump that was unpacked into stage.
func (to Target) fill(ctx context.Context, stage string) error {
	path := filepath.Join(stage, dumpName)
	dump, err := os.Open(path)
	if err != nil {
		return err
	}
	defer dump.Close()
	if to.Database != nil {
		if err := to.Database.restore(ctx, dump); err != nil {
			return err
		}
		return os.Remove(path)
	}
	server, err := pgserver.Start(ctx, filepath.Join(stage, "postgres"), to.Options...)
	if err != nil {
		return err
	}
	db := Private(server)
	if err := errors.Join(db.restore(ctx, dump), server.Stop()); err != nil {
		return err
	}
	for _, name := range []string{dumpName, "postgres.log", "postgres.lock"} {
		if err := os.Remove(filepath.Join(stage, name)); err != nil {
			return err
		}
	}
	return nil
}

// settle moves everything from stage to its place, once it is on the disk. The mark that it is unfinished goes last.
func settle(stage, folder string) error {
	syncAll()
	entries, err := os.ReadDir(stage)
	if err != nil {
		return err
	}
	for _, e := range entries {
		if err := os.Rename(filepath.Join(stage, e.Name()), filepath.Join(folder, e.Name())); err != nil {
			return fmt.Errorf("put %s in its place: %w", e.Name(), err)
		}
	}
	if err := syncFolder(folder); err != nil {
		return err
	}
	if err := os.Remove(stage); err != nil {
		return err
	}
	return syncFolder(folder)
}
