package files

import (
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"

	"ledgerwheel/domain"
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
	h := sha256.New()
	if _, err := io.Copy(h, file); err != nil {
		return err
	}
	if [32]byte(h.Sum(nil)) != sum {
		return ErrAltered
	}
	return nil
}
