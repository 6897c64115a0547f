package files

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"ledgerwheel/domain"
	"ledgerwheel/domain/heard"
)

func (f *Folder) soundPath(sum [32]byte) string {
	name := hex.EncodeToString(sum[:])
	return filepath.Join(f.root, name[:2], name+".sound")
}

// PutSound keeps a sound. When it returns nil the bytes are on the disk: the row that names them may be written.
func (f *Folder) PutSound(data []byte) (*heard.Sound, error) {
	return f.ReceiveSound(bytes.NewReader(data), heard.MaxSoundBytes)
}

// ErrSoundTooLong reports a sound of more bytes than are taken.
var ErrSoundTooLong = errors.New("the sound is too long")

// ReceiveSound keeps a sound as it comes, never whole in memory. It fails with ErrSoundTooLong beyond maxBytes, and
// then keeps nothing.
func (f *Folder) ReceiveSound(from io.Reader, maxBytes int64) (*heard.Sound, error) {
	tmp, err := os.CreateTemp(f.root, ".new-*")
	if err != nil {
		return nil, fmt.Errorf("keep sound: %w", gone(err))
	}
	defer os.Remove(tmp.Name()) // fails, harmlessly, once it is renamed
	defer tmp.Close()
	sum, head := sha256.New(), &prefix{}
	n, err := io.Copy(io.MultiWriter(tmp, sum, head), io.LimitReader(from, maxBytes+1))
	if err != nil {
		return nil, fmt.Errorf("keep sound: %w", fault(err))
	}
	if n > maxBytes {
		return nil, ErrSoundTooLong
	}
	sound := &heard.Sound{SHA256: hex.EncodeToString(sum.Sum(nil)), Bytes: n, Format: heard.FormatOf(head.bytes)}
	if err := f.settle(tmp, f.soundPath([32]byte(sum.Sum(nil)))); err != nil {
		return nil, fmt.Errorf("keep sound: %w", gone(err))
	}
	if info, err := tmp.Stat(); err == nil { // its sum was just worked out
		f.held.trust(f.soundPath([32]byte(sum.Sum(nil))), info)
	}
	return sound, nil
}

// settle puts a written file in its place, so that a pulled plug leaves the whole file or none.
func (f *Folder) settle(tmp *os.File, path string) error {
	dir := filepath.Dir(path)
	if err := makeShelf(dir); err != nil {
		return err
	}
	if err := tmp.Sync(); err != nil {
		return err
	}
	if err := os.Rename(tmp.Name(), path); err != nil {
		return err
	}
	return syncDir(dir)
}

// prefix keeps the first bytes written to it.
type prefix struct{ bytes []byte }

func (p *prefix) Write(b []byte) (int, error) {
	if room := 16 - len(p.bytes); room > 0 {
		p.bytes = append(p.bytes, b[:min(room, len(b))]...)
	}
	return len(b), nil
}

// OpenSound returns a kept sound once it was found to be what was kept; the error wraps domain.ErrNotFound when it is not
// there, and ErrAltered when it is another.
func (f *Folder) OpenSound(sum [32]byte) (*os.File, error) {
	file, err := f.held.open(f.soundPath(sum), func(r io.Reader) error { return checkReader(r, sum) })
	if errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("sound %x: %w", sum[:4], domain.ErrNotFound)
	}
	if err != nil {
		return nil, fmt.Errorf("sound %x: %w", sum[:4], err)
	}
	return file, nil
}

// RemoveSound clears away a sound that no row names any more.
func (f *Folder) RemoveSound(sum [32]byte) error {
	err := os.Remove(f.soundPath(sum))
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	return err
}
