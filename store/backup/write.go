package backup

import (
	"archive/tar"
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"filippo.io/age"
	"github.com/klauspost/compress/zstd"

	"ledgerwheel/store"
)

// Source is the shop that is backed up.
type Source struct {
	Store    *store.Store
	Database Database
	Folder   string // the data folder
	Uploads  string // the folder of photographs and sounds
	Program  string // the release that writes it
}

// Made is a backup that was written.
type Made struct {
	Head
	Manifest
	FileBytes int64
	Encrypted bool
	Left      []string // folders of private keys that were left out
}

// buffered, in bytes, is how much is written to the file at once.
const buffered = 1 << 20

// Create writes the shop as it stands now to the file to, which must not be there yet, while others work. It keeps in
// memory the names and sums of files, never their content. The file appears under its name once it is whole and on the
// disk.
func Create(ctx context.Context, src Source, to string, lock Lock) (Made, error) {
	if err := freePlace(to); err != nil {
		return Made{}, err
	}
	dir := filepath.Dir(to)
	part, err := os.CreateTemp(dir, "."+filepath.Base(to)+".part-*")
	if err != nil {
		return Made{}, fmt.Errorf("the backup can't be written to %s: %w", dir, err)
	}
	defer os.Remove(part.Name()) // fails, harmlessly, once it is renamed
	defer part.Close()
	w := &writer{ctx: ctx, src: src, dir: dir}
	w.made.Encrypted = lock.Encrypts()
	if err := w.write(part, lock); err != nil {
		return Made{}, full(err, dir)
	}
	if err := errors.Join(part.Sync(), part.Close()); err != nil {
		return Made{}, full(err, dir)
	}
	if info, err := os.Stat(part.Name()); err == nil {
		w.made.FileBytes = info.Size()
	}
	if err := freePlace(to); err != nil {
		return Made{}, err
	}
	if err := os.Rename(part.Name(), to); err != nil {
		return Made{}, err
	}
	return w.made, syncFolder(dir)
}

// freePlace makes sure that a file can be made there and that nothing is lost by it.
func freePlace(to string) error {
	if info, err := os.Stat(filepath.Dir(to)); err != nil {
		return say(ErrNoPlace, err, "the folder %s is not there: make it, or correct the path", filepath.Dir(to))
	} else if !info.IsDir() {
		return say(ErrNoPlace, nil, "%s is not a folder", filepath.Dir(to))
	}
	if _, err := os.Lstat(to); err == nil {
		return say(ErrNoPlace, nil, "%s is there already: a backup is never written over anything", to)
	}
	return nil
}

func syncFolder(dir string) error {
	d, err := os.Open(dir)
	if err != nil {
		return err
	}
	defer d.Close()
	_ = d.Sync() // some file systems cannot; then there is nothing more to do
	return nil
}

// writer is a backup being written.
type writer struct {
	ctx  context.Context
	src  Source
	dir  string // of the backup
	tar  *tar.Writer
	made Made
}

// write puts encryption, compression and archive around the members.
func (w *writer) write(file io.Writer, lock Lock) error {
	out := bufio.NewWriterSize(file, buffered)
	var under io.Writer = out
	closers := []io.Closer{}
	if lock.Encrypts() {
		crypt, err := age.Encrypt(out, lock.recipients...)
		if err != nil {
			return fmt.Errorf("encrypt: %w", err)
		}
		under, closers = crypt, append(closers, crypt)
	}
	// One at a time and with a small window, so that memory stays flat; photographs don't get smaller anyway.
	squeeze, err := zstd.NewWriter(under, zstd.WithEncoderConcurrency(1), zstd.WithWindowSize(1<<20), zstd.WithEncoderCRC(true))
	if err != nil {
		return err
	}
	w.tar = tar.NewWriter(squeeze)
	closers = append(closers, squeeze, w.tar)
	if err := w.members(); err != nil {
		return err
	}
	for i := len(closers) - 1; i >= 0; i-- {
		if err := closers[i].Close(); err != nil {
			return err
		}
	}
	return out.Flush()
}

// members writes them in their order: the database first, then the files that it names.
func (w *writer) members() error {
	// A seal that is made after the record was read would speak of entries that the backup does not have.
	var plain []string
	for _, top := range settings {
		names, err := w.named(top)
		if err != nil {
			return err
		}
		plain = append(plain, names...)
	}
	snapshot, err := w.src.Store.Snapshot(w.ctx)
	if err != nil {
		return err
	}
	defer snapshot.Close()
	if snapshot.Seeds > 0 && !w.made.Encrypted {
		return errors.New("the database still holds private keys, as an older release kept them: start ledgerwheel serve once, " +
			"which takes them out, or encrypt the backup")
	}
	present, err := w.secretFolders()
	if err != nil {
		return err
	}
	w.made.Head = Head{Format: formatNumber, Program: w.src.Program, Migration: snapshot.Migration, At: snapshot.At,
		Shop: snapshot.ShopName, TimeZone: snapshot.TimeZone, Keys: w.made.Encrypted && len(present) > 0}
	if err := w.json(headName, w.made.Head); err != nil {
		return err
	}
	if err := w.database(snapshot); err != nil {
		return err
	}
	if err := w.uploads(snapshot); err != nil {
		return err
	}
	if err := w.plain(plain); err != nil {
		return err
	}
	if err := w.secrets(present); err != nil {
		return err
	}
	return w.json(manifestName, w.made.Manifest)
}

// secrets writes the private keys where they are encrypted, and else notes that they are left out.
func (w *writer) secrets(present []string) error {
	if !w.made.Encrypted {
		w.made.Left = present
		return nil
	}
	for _, top := range secrets {
		names, err := w.named(top)
		if err != nil {
			return err
		}
		if err := w.plain(names); err != nil {
			return err
		}
	}
	return nil
}

// secretFolders are the paths of the folders that hold private keys.
func (w *writer) secretFolders() (list []string, err error) {
	for _, name := range secrets {
		dir := filepath.Join(w.src.Folder, name)
		entries, err := os.ReadDir(dir)
		if err != nil && !errors.Is(err, os.ErrNotExist) {
			return nil, err
		}
		if len(entries) > 0 {
			list = append(list, dir)
		}
	}
	return list, nil
}

// database writes the dump, by way of a file without a name, since an archive wants its length first.
func (w *writer) database(snapshot *store.Snapshot) error {
	dump, err := os.CreateTemp(w.dir, ".dump-*")
	if err != nil {
		return err
	}
	defer os.Remove(dump.Name()) // where it could not be removed while it was open
	defer dump.Close()
	_ = os.Remove(dump.Name())
	if err := w.src.Database.dump(w.ctx, snapshot.ID, dump); err != nil {
		return err
	}
	snapshot.Close() // nothing more is read as of that moment
	if _, err := dump.Seek(0, io.SeekStart); err != nil {
		return err
	}
	_, err = w.file(dumpName, dump)
	return err
}
