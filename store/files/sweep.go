package files

import (
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"
)

// Swept is what a sweep did.
type Swept struct {
	Unfinished int      // files that were never written to their end, removed
	Lost       []string // files that no row names, moved to the folder of lost ones
	Found      []string // files moved back from there, as rows name them
}

const (
	lostFolder = "lost"
	// sweptAfter is how old a file must be before it is swept: by then no upload under way can still come to be named.
	sweptAfter = 24 * time.Hour
)

// Sweep removes what was never written to its end, and moves files that are not named to the folder "lost", where somebody may
// look at them; both only if they are older than a day. Nothing that was whole is deleted: were the sweep shown the wrong
// record, the next one with the right record would move back what that names.
func (f *Folder) Sweep(now time.Time, named func(sum [32]byte) bool) (Swept, error) {
	s := sweep{root: f.root, before: now.Add(-sweptAfter), named: named}
	err := s.shelf(f.root)
	entries, readErr := os.ReadDir(f.root)
	err = errors.Join(err, readErr)
	for _, e := range entries {
		if e.IsDir() && len(e.Name()) == 2 {
			err = errors.Join(err, s.shelf(filepath.Join(f.root, e.Name())))
		}
	}
	err = errors.Join(err, s.bringBack())
	if err != nil {
		return s.did, fmt.Errorf("sweep uploads: %w", fault(err))
	}
	return s.did, nil
}

type sweep struct {
	root   string
	before time.Time
	named  func([32]byte) bool
	did    Swept
}

func (s *sweep) shelf(dir string) error {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return err
	}
	var errs []error
	for _, e := range entries {
		info, err := e.Info()
		if err != nil || !info.Mode().IsRegular() || !info.ModTime().Before(s.before) {
			continue // gone meanwhile, no file of ours, or too young
		}
		path := filepath.Join(dir, e.Name())
		if strings.HasPrefix(e.Name(), ".new-") {
			errs = append(errs, os.Remove(path))
			s.did.Unfinished++
		} else if sum, ours := sumOfName(e.Name()); ours && !s.named(sum) {
			errs = append(errs, move(path, filepath.Join(s.root, lostFolder, e.Name())))
			s.did.Lost = append(s.did.Lost, e.Name())
		}
	}
	return errors.Join(errs...)
}

func (s *sweep) bringBack() error {
	entries, err := os.ReadDir(filepath.Join(s.root, lostFolder))
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	errs := []error{err}
	for _, e := range entries {
		sum, ours := sumOfName(e.Name())
		if !ours || !s.named(sum) {
			continue
		}
		place := filepath.Join(s.root, e.Name()[:2], e.Name())
		if _, err := os.Lstat(place); err == nil {
			continue // it was sent in again
		}
		errs = append(errs, move(filepath.Join(s.root, lostFolder, e.Name()), place))
		s.did.Found = append(s.did.Found, e.Name())
	}
	return errors.Join(errs...)
}

func move(from, to string) error {
	if err := makeShelf(filepath.Dir(to)); err != nil {
		return err
	}
	if err := os.Rename(from, to); err != nil {
		return err
	}
	return errors.Join(syncDir(filepath.Dir(to)), syncDir(filepath.Dir(from)))
}

// sumOfName is the sum by which a file is named; ours is false for what this program did not put there.
func sumOfName(name string) (sum [32]byte, ours bool) {
	for _, end := range []string{"-" + string(Full) + ".jpg", "-" + string(Thumb) + ".jpg", ".sound"} {
		if digits, ok := strings.CutSuffix(name, end); ok && len(digits) == 2*len(sum) {
			_, err := hex.Decode(sum[:], []byte(digits))
			return sum, err == nil
		}
	}
	return sum, false
}
