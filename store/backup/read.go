package backup

import (
	"archive/tar"
	"bufio"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"slices"

	"filippo.io/age"
	"github.com/klauspost/compress/zstd"

	"ledgerwheel/store"
)

// longestHead and longestManifest, in bytes, are far above what is written.
const (
	longestHead     = 1 << 16
	longestManifest = 1 << 29
	widestWindow    = 8 << 20
)

// Archive is a backup that is being read, from its beginning to its end.
type Archive struct {
	Head
	name   string
	ctx    context.Context
	file   *os.File
	zstd   *zstd.Decoder
	tar    *tar.Reader
	plain  io.Reader // what was squeezed
	first  Member    // of the head
	shut   Locked
	length int64
}

// LockedBy tells how the backup at path is encrypted. The error wraps [ErrNotBackup].
func LockedBy(path string) (Locked, error) {
	f, err := openFile(path)
	if err != nil {
		return 0, err
	}
	defer f.Close()
	first := make([]byte, longestPreface)
	n, _ := io.ReadFull(f, first) // a short one is judged as it is
	return lockedBy(path, first[:n])
}

func openFile(path string) (*os.File, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, say(ErrNotBackup, err, "the backup %s can't be opened: %v", path, reason(err))
	}
	if info, err := f.Stat(); err != nil || !info.Mode().IsRegular() {
		f.Close()
		return nil, say(ErrNotBackup, err, "%s is no file", path)
	}
	return f, nil
}

// reason is what the system said, without the path that is named already.
func reason(err error) error {
	var path *fs.PathError
	if errors.As(err, &path) {
		return path.Err
	}
	return err
}

// OpenArchive opens the backup at path and reads its head. Nothing else of it is read. The error wraps one of the kinds
// of this package.
func OpenArchive(ctx context.Context, path string, key Key) (_ *Archive, err error) {
	shut, err := LockedBy(path)
	if err != nil {
		return nil, err
	}
	a := &Archive{name: path, ctx: ctx, shut: shut}
	if a.file, err = openFile(path); err != nil {
		return nil, err
	}
	defer func() {
		if err != nil {
			a.Close()
		}
	}()
	if info, err := a.file.Stat(); err == nil {
		a.length = info.Size()
	}
	var in io.Reader = bufio.NewReaderSize(a.file, buffered)
	if shut != Open {
		if in, err = a.decrypt(in, key); err != nil {
			return nil, err
		}
	}
	a.zstd, err = zstd.NewReader(in, zstd.WithDecoderConcurrency(1), zstd.WithDecoderMaxWindow(widestWindow), zstd.WithDecoderLowmem(true))
	if err != nil {
		return nil, a.damaged(err)
	}
	a.plain = &checked{from: a.zstd, archive: a}
	a.tar = tar.NewReader(a.plain)
	return a, a.readHead()
}

func (a *Archive) decrypt(in io.Reader, key Key) (io.Reader, error) {
	if len(key.identities) == 0 {
		return nil, say(ErrLocked, nil, "%s is encrypted: give %s", a.name, wanted(a.shut))
	}
	out, err := age.Decrypt(in, key.identities...)
	var no *age.NoIdentityMatchError
	switch {
	case errors.As(err, &no) && a.shut == ByPassphrase:
		return nil, say(ErrLocked, err, "the passphrase is not that of %s", a.name)
	case errors.As(err, &no):
		return nil, say(ErrLocked, err, "%s is encrypted to another key: give %s", a.name, wanted(a.shut))
	case err != nil:
		return nil, a.damaged(err)
	}
	return out, nil
}

func wanted(l Locked) string {
	if l == ByPassphrase {
		return "its passphrase"
	}
	return "the file of its private key with --identity"
}

// damaged says that the backup can't be relied on. Errors of the disk and of being told to stop pass through.
func (a *Archive) damaged(err error) error {
	var disk *fs.PathError
	if a.ctx.Err() != nil {
		return a.ctx.Err()
	}
	if errors.As(err, &disk) || errors.Is(err, ErrDamaged) {
		return err
	}
	return say(ErrDamaged, err, "%s is damaged or was cut short: restore another backup (%v)", a.name, err)
}

// checked marks errors of reading as the backup's, so that they are told from those of writing elsewhere.
type checked struct {
	from    io.Reader
	archive *Archive
}

func (c *checked) Read(b []byte) (int, error) {
	if err := c.archive.ctx.Err(); err != nil {
		return 0, err
	}
	n, err := c.from.Read(b)
	if err != nil && err != io.EOF {
		err = c.archive.damaged(err)
	}
	return n, err
}

// readHead reads the first member, and refuses what a newer release has written.
func (a *Archive) readHead() error {
	h, err := a.tar.Next()
	if err != nil {
		if errors.Is(err, tar.ErrHeader) {
			return say(ErrNotBackup, err, "%s is no backup of this program", a.name)
		}
		return a.damaged(err)
	}
	if h.Name != headName || h.Size > longestHead {
		return say(ErrNotBackup, nil, "%s is no backup of this program", a.name)
	}
	text, err := io.ReadAll(a.tar)
	if err != nil {
		return a.damaged(err)
	}
	if err := json.Unmarshal(text, &a.Head); err != nil || a.Format < 1 {
		return say(ErrNotBackup, err, "%s is no backup of this program", a.name)
	}
	newest, err := store.NewestMigration()
	if err != nil {
		return err
	}
	if a.Format > formatNumber || a.Migration > newest {
		return say(ErrNewer, nil, "%s was made by a newer release (%s): use that release or a newer one", a.name, a.Program)
	}
	sum := sha256.Sum256(text)
	a.first = Member{Name: headName, Bytes: int64(len(text)), SHA256: hex.EncodeToString(sum[:])}
	return nil
}

// Each gives every member but head and manifest to do, which may read it or leave it, and then holds all that was read
// against the manifest. Nothing of a backup is to be relied on before Each has returned without an error.
func (a *Archive) Each(do func(m Member, content io.Reader) error) (Manifest, error) {
	seen := []Member{a.first}
	for {
		h, err := a.tar.Next()
		if err != nil { // the manifest comes before the end
			return Manifest{}, a.damaged(unexpected(err))
		}
		if h.Name == manifestName && h.Size <= longestManifest {
			return a.settle(seen)
		}
		if h.Typeflag != tar.TypeReg || !known(h.Name) {
			return Manifest{}, a.damaged(fmt.Errorf("it holds %q, which no backup does", h.Name))
		}
		m := Member{Name: h.Name, Bytes: h.Size}
		sum := sha256.New()
		content := io.TeeReader(a.tar, sum)
		if err := do(m, content); err != nil {
			return Manifest{}, err
		}
		if _, err := io.Copy(io.Discard, content); err != nil {
			return Manifest{}, a.damaged(err)
		}
		m.SHA256 = hex.EncodeToString(sum.Sum(nil))
		seen = append(seen, m)
	}
}

func unexpected(err error) error {
	if err == io.EOF {
		return io.ErrUnexpectedEOF
	}
	return err
}

// settle reads the manifest, and on to the end of the file.
func (a *Archive) settle(seen []Member) (Manifest, error) {
	var m Manifest
	if err := json.NewDecoder(a.tar).Decode(&m); err != nil {
		return m, a.damaged(err)
	}
	if len(m.Members) != len(seen) {
		return m, a.damaged(fmt.Errorf("its manifest names %d members, and there are %d", len(m.Members), len(seen)))
	}
	for i := range seen {
		if m.Members[i] != seen[i] {
			return m, a.damaged(fmt.Errorf("%s is not what the manifest says", seen[i].Name))
		}
	}
	if !slices.ContainsFunc(seen, func(m Member) bool { return m.Name == dumpName }) {
		return m, a.damaged(errors.New("it holds no database"))
	}
	if _, err := a.tar.Next(); err != io.EOF {
		return m, a.damaged(errors.New("it does not end after its manifest"))
	}
	// The end is where encryption and compression tell whether all of it was there.
	if _, err := io.Copy(io.Discard, a.plain); err != nil {
		return m, a.damaged(err)
	}
	return m, nil
}

// Close lets the file go.
func (a *Archive) Close() {
	if a.zstd != nil {
		a.zstd.Close()
	}
	a.file.Close()
}
