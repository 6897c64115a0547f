package files

import (
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"sync"
	"time"

	"ledgerwheel/domain"
	"ledgerwheel/domain/photo"
)

// ErrAltered reports a file that does not hold what its name says.
var ErrAltered = errors.New("its bytes are not those that were kept")

// CheckPicture reads a picture's full size whole. The error wraps domain.ErrNotFound where it is missing, and ErrAltered
// where its sum is another.
func (f *Folder) CheckPicture(sum [32]byte) error { return checkSum(f.path(sum, Full), sum) }

// CheckSound is CheckPicture for a sound.
func (f *Folder) CheckSound(sum [32]byte) error { return checkSum(f.soundPath(sum), sum) }

func checkSum(path string, sum [32]byte) error {
	file, err := os.Open(path)
	if errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("%x: %w", sum[:6], domain.ErrNotFound)
	}
	if err != nil {
		return err
	}
	defer file.Close()
	return checkReader(file, sum)
}

func checkReader(r io.Reader, sum [32]byte) error {
	h := sha256.New()
	if _, err := io.Copy(h, r); err != nil {
		return err
	}
	if [32]byte(h.Sum(nil)) != sum {
		return ErrAltered
	}
	return nil
}

func checkThumb(r io.Reader) error {
	data, err := io.ReadAll(r)
	if err != nil {
		return err
	}
	if _, holds := photo.SumHolds(data); !holds {
		return ErrAltered
	}
	return nil
}

// checks remembers which files were read whole and found good, so that a file that has not changed since by number, size
// and time is opened without being read.
type checks struct {
	mu   sync.Mutex
	good map[string]checked
}

type checked struct {
	info fs.FileInfo
	at   time.Time
}

const (
	trustedFor  = time.Hour // after which a file is read again: a disk also forgets without writing
	mostTrusted = 20_000
)

// open opens a file and has check read it whole unless that was done before. The file stands at its beginning.
func (c *checks) open(path string, check func(io.Reader) error) (*os.File, error) {
	file, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	info, err := file.Stat()
	if err == nil && !c.trusts(path, info) {
		if err = check(file); err == nil {
			_, err = file.Seek(0, io.SeekStart)
			c.trust(path, info)
		}
	}
	if err != nil {
		file.Close()
		return nil, err
	}
	return file, nil
}

func (c *checks) trusts(path string, info fs.FileInfo) bool {
	c.mu.Lock()
	defer c.mu.Unlock()
	k, ok := c.good[path]
	return ok && time.Since(k.at) < trustedFor && os.SameFile(k.info, info) && k.info.Size() == info.Size() && k.info.ModTime().Equal(info.ModTime())
}

func (c *checks) trust(path string, info fs.FileInfo) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.good == nil || len(c.good) >= mostTrusted {
		c.good = map[string]checked{}
	}
	c.good[path] = checked{info, time.Now()}
}
