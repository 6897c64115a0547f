package store

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

// SoundOf names a sound by its sum, its length and its kind, which the first bytes tell: WAV or FLAC, "" for neither.
func SoundOf(data []byte) *heard.Sound {
	sum := sha256.Sum256(data)
	return &heard.Sound{SHA256: hex.EncodeToString(sum[:]), Bytes: int64(len(data)), Format: soundFormat(data)}
}

// soundFormat tells by the first bytes: RIFF, RIFX, RF64 and Sony's W64 are no names of files but of what is in them.
func soundFormat(head []byte) string {
	switch {
	case bytes.HasPrefix(head, []byte("fLaC")):
		return "FLAC"
	case bytes.HasPrefix(head, []byte("RIFF")), bytes.HasPrefix(head, []byte("RF64")), bytes.HasPrefix(head, []byte("RIFX")):
		return "WAV"
	}
	return ""
}

func (u *Uploads) soundPath(sum [32]byte) string {
	name := hex.EncodeToString(sum[:])
	return filepath.Join(u.root, name[:2], name+".sound")
}

// PutSound keeps a sound. When it returns nil the bytes are on the disk: the row that names them may be written.
func (u *Uploads) PutSound(data []byte) (*heard.Sound, error) {
	return u.ReceiveSound(bytes.NewReader(data), MaxSoundBytes)
}

// ErrSoundTooLong reports a sound of more bytes than are taken.
var ErrSoundTooLong = errors.New("the sound is too long")

// ReceiveSound keeps a sound as it comes, never whole in memory. It fails with ErrSoundTooLong beyond maxBytes, and then
// keeps nothing.
func (u *Uploads) ReceiveSound(from io.Reader, maxBytes int64) (*heard.Sound, error) {
	tmp, err := os.CreateTemp(u.root, ".new-*")
	if err != nil {
		return nil, fmt.Errorf("keep sound: %w", err)
	}
	defer os.Remove(tmp.Name()) // fails, harmlessly, once it is renamed
	defer tmp.Close()
	sum, head := sha256.New(), &prefix{}
	n, err := io.Copy(io.MultiWriter(tmp, sum, head), io.LimitReader(from, maxBytes+1))
	if err != nil {
		return nil, fmt.Errorf("keep sound: %w", err)
	}
	if n > maxBytes {
		return nil, ErrSoundTooLong
	}
	sound := &heard.Sound{SHA256: hex.EncodeToString(sum.Sum(nil)), Bytes: n, Format: soundFormat(head.bytes)}
	if err := u.settle(tmp, u.soundPath([32]byte(sum.Sum(nil)))); err != nil {
		return nil, fmt.Errorf("keep sound: %w", err)
	}
	return sound, nil
}

// settle puts a written file in its place, so that a pulled plug leaves the whole file or none.
func (u *Uploads) settle(tmp *os.File, path string) error {
	dir := filepath.Dir(path)
	if err := os.MkdirAll(dir, 0o700); err != nil {
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

// OpenSound returns a kept sound; the error wraps domain.ErrNotFound when it is not there.
func (u *Uploads) OpenSound(sum [32]byte) (*os.File, error) {
	f, err := os.Open(u.soundPath(sum))
	if errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("sound %x: %w", sum[:4], domain.ErrNotFound)
	}
	return f, err
}

// RemoveSound clears away a sound that no row names any more.
func (u *Uploads) RemoveSound(sum [32]byte) error {
	err := os.Remove(u.soundPath(sum))
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	return err
}
