package files

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"ledgerwheel/domain/record"
)

// Seals is a folder of seals, and of the public keys that they were signed with: what the record is held against by
// somebody who does not trust its database.
type Seals struct{ dir string }

// OpenSeals makes the folder if it is not there yet.
func OpenSeals(dir string) (*Seals, error) {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return nil, fmt.Errorf("folder of seals: %w", err)
	}
	return &Seals{dir}, nil
}

// Dir is the folder's path.
func (s *Seals) Dir() string { return s.dir }

const (
	sealEnd  = ".seal"
	keysFile = "keys.txt"
)

// Keep writes a seal, and the public key that it was signed with unless it is there already. When it returns nil both
// are on the disk.
func (s *Seals) Keep(seal record.Seal, verifier string) error {
	keys, err := s.Keys()
	if err != nil {
		return err
	}
	if !slices.Contains(keys, verifier) {
		text := strings.Join(append(keys, verifier), "\n") + "\n"
		if err := writeSynced(s.dir, filepath.Join(s.dir, keysFile), []byte(text)); err != nil {
			return fmt.Errorf("keep key of seals: %w", err)
		}
	}
	name := fmt.Sprintf("%s-%d%s", seal.At.UTC().Format("20060102T150405Z"), seal.Size, sealEnd)
	if err := writeSynced(s.dir, filepath.Join(s.dir, name), seal.Text); err != nil {
		return fmt.Errorf("keep seal: %w", err)
	}
	return nil
}

// Keys returns the public keys known to the folder, the oldest first.
func (s *Seals) Keys() ([]string, error) {
	text, err := os.ReadFile(filepath.Join(s.dir, keysFile))
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, fmt.Errorf("keys of seals: %w", err)
	}
	return strings.Fields(string(text)), nil
}

// All returns the seals in the folder, the oldest first.
func (s *Seals) All() ([][]byte, error) {
	names, err := s.names()
	if err != nil {
		return nil, err
	}
	var all [][]byte
	for _, name := range names {
		text, err := os.ReadFile(name)
		if err != nil {
			return nil, fmt.Errorf("seals: %w", err)
		}
		all = append(all, bytes.TrimSpace(text))
	}
	return all, nil
}

// names are the paths of the seals, the oldest first, as their names begin with the time.
func (s *Seals) names() ([]string, error) {
	entries, err := os.ReadDir(s.dir)
	if err != nil {
		return nil, fmt.Errorf("seals: %w", err)
	}
	var names []string
	for _, e := range entries { // sorted by name
		if strings.HasSuffix(e.Name(), sealEnd) {
			names = append(names, filepath.Join(s.dir, e.Name()))
		}
	}
	return names, nil
}

// Newest returns the seal kept last, if there is any; its signature is not looked at.
func (s *Seals) Newest() (seal record.Seal, found bool, err error) {
	names, err := s.names()
	if err != nil || len(names) == 0 {
		return seal, false, err
	}
	last, err := os.ReadFile(names[len(names)-1])
	if err != nil {
		return seal, false, fmt.Errorf("seals: %w", err)
	}
	if seal, err = record.PeekSeal(append(bytes.TrimSpace(last), '\n')); err != nil {
		return seal, false, fmt.Errorf("%s: %w", names[len(names)-1], err)
	}
	return seal, true, nil
}
