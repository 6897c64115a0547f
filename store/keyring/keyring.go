// Package keyring keeps the shop's private keys outside the database: each as a file that the program's user alone may
// read, or given by the environment.
package keyring

import (
	"bytes"
	"cmp"
	"crypto/rand"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"regexp"
	"slices"
	"time"
)

// What keys are for. A purpose is part of a key's name, so that one is never taken for another.
const (
	Card         = "card"          // Ed25519 seeds that sign warranty cards; each named by its warranty.KeyID
	Seal         = "seal"          // Ed25519 seeds that sign seals of the log
	SecondFactor = "second-factor" // a secret of 32 bytes
	Journal      = "journal"       // a secret of 32 bytes that marks the entries of the journals
)

// SeedBytes is the length of every key: an Ed25519 seed (RFC 8032) or a secret of 256 bits.
const SeedBytes = 32

// EnvName names the variable by which keys are given; see [Open].
const EnvName = "LEDGERWHEEL_KEYS"

// Errors of a ring.
var (
	// ErrMissing reports a key that is neither in the folder nor in the environment.
	ErrMissing = errors.New("the private key is not on this machine")
	// ErrExposed reports a key file, or the folder, that others than the program's user may use.
	ErrExposed = errors.New("a private key is open to others on this machine")
	// ErrDamaged reports a key file that doesn't hold what its name says.
	ErrDamaged = errors.New("a private key's file is damaged")
)

// Key names a private key without showing it.
type Key struct {
	Purpose, ID string
	MadeAt      time.Time // UTC; zero for one given by the environment
	Given       bool      // by the environment
}

// Ring holds the private keys. Files are read when they are asked for, so that several copies of the program over one
// folder share what each of them keeps. It is safe for use by many goroutines.
type Ring struct {
	dir   string
	given []entry // oldest first
}

// entry is a key with its private half.
type entry struct {
	Key
	seed []byte
}

// part is what a purpose or an id is made of: it becomes part of a file's name.
var part = regexp.MustCompile(`^[A-Za-z0-9_-]{1,64}$`)

// Open returns the ring of the folder dir, which it makes where there is none, and of the keys given as text:
// PURPOSE/ID:SEED, with the seed in base64 (RFC 4648), parted by commas or white space, the newest of a purpose last.
// Nothing is made on disk before a key is kept there. The error wraps [ErrExposed], or says what is wrong with the text
// without repeating a seed.
func Open(dir, given string) (*Ring, error) {
	list, err := parseGiven(given)
	if err != nil {
		return nil, err
	}
	r := &Ring{dir: dir, given: list}
	if err := r.checkFolder(); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, err
	}
	return r, nil
}

// Dir is the folder of the key files.
func (r *Ring) Dir() string { return r.dir }

// Seed returns a private key. The error wraps [ErrMissing], [ErrExposed] or [ErrDamaged].
func (r *Ring) Seed(purpose, id string) ([]byte, error) {
	for _, e := range r.given {
		if e.Purpose == purpose && e.ID == id {
			return bytes.Clone(e.seed), nil
		}
	}
	if err := checkName(purpose, id); err != nil {
		return nil, err
	}
	e, err := r.read(r.path(purpose, id))
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, fmt.Errorf("%w: there is no file %s", ErrMissing, r.path(purpose, id))
	case err != nil:
		return nil, err
	case e.Purpose != purpose || e.ID != id:
		return nil, fmt.Errorf("%w: %s holds the key %s/%s", ErrDamaged, r.path(purpose, id), e.Purpose, e.ID)
	}
	return e.seed, nil
}

// Keep writes a private key to the folder. When it returns nil the key is on the disk and was read back, or was there
// or given already. A key of the same name with another seed is never overwritten.
func (r *Ring) Keep(purpose, id string, seed []byte) error {
	if err := checkName(purpose, id); err != nil {
		return err
	}
	if len(seed) != SeedBytes {
		return fmt.Errorf("key %s/%s: a seed has %d bytes, not %d", purpose, id, SeedBytes, len(seed))
	}
	have, err := r.Seed(purpose, id)
	if errors.Is(err, ErrMissing) {
		e := entry{Key: Key{Purpose: purpose, ID: id, MadeAt: time.Now().UTC().Truncate(time.Second)}, seed: seed}
		if err := r.write(e); err != nil {
			return fmt.Errorf("keep key %s/%s: %w", purpose, id, err)
		}
		have, err = r.Seed(purpose, id)
	}
	if err != nil {
		return fmt.Errorf("keep key %s/%s: %w", purpose, id, err)
	}
	if !bytes.Equal(have, seed) {
		return fmt.Errorf("keep key %s/%s: another key of this name is kept already, and stays", purpose, id)
	}
	return nil
}

// List names the keys of a purpose, the newest last. Files that can't be used are left out; [Ring.Seed] says why.
func (r *Ring) List(purpose string) ([]Key, error) {
	entries, err := r.entries(purpose)
	if err != nil {
		return nil, err
	}
	var list []Key
	for _, e := range entries {
		list = append(list, e.Key)
	}
	return list, nil
}

// Newest returns the newest key of a purpose with its private half: the last one given or, where none is given, the
// one whose file was made last. The error wraps [ErrMissing] where there is none.
func (r *Ring) Newest(purpose string) (Key, []byte, error) {
	entries, err := r.entries(purpose)
	if err != nil {
		return Key{}, nil, err
	}
	if len(entries) == 0 {
		return Key{}, nil, fmt.Errorf("%w: none for %s", ErrMissing, purpose)
	}
	last := entries[len(entries)-1]
	return last.Key, last.seed, nil
}

// Secret returns the newest key of a purpose, making one of chance where there is none. Copies of the program that
// begin at once over one folder get the same. The id tells under which key something was made.
func (r *Ring) Secret(purpose string) (id string, secret []byte, err error) {
	key, secret, err := r.Newest(purpose)
	if err == nil || !errors.Is(err, ErrMissing) {
		return key.ID, secret, err
	}
	const first = "first"
	secret = make([]byte, SeedBytes)
	rand.Read(secret) // never fails, as crypto/rand documents
	if err := r.write(entry{Key: Key{Purpose: purpose, ID: first, MadeAt: time.Now().UTC().Truncate(time.Second)},
		seed: secret}); err != nil {
		return "", nil, fmt.Errorf("make a secret for %s: %w", purpose, err)
	}
	secret, err = r.Seed(purpose, first) // another copy may have been first
	return first, secret, err
}

// Given reports whether keys of a purpose come by the environment: new ones must then come that way too, so that every
// copy of the program has them.
func (r *Ring) Given(purpose string) bool {
	return slices.ContainsFunc(r.given, func(e entry) bool { return e.Purpose == purpose })
}

// entries are the keys of a purpose: those of the folder by age, then those given.
func (r *Ring) entries(purpose string) ([]entry, error) {
	if err := r.checkFolder(); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, err
	}
	files, err := os.ReadDir(r.dir)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("folder of private keys: %w", err)
	}
	var list []entry
	for _, f := range files {
		e, err := r.read(r.pathOf(f.Name()))
		if err == nil && e.Purpose == purpose && r.path(e.Purpose, e.ID) == r.pathOf(f.Name()) {
			list = append(list, e)
		}
	}
	slices.SortFunc(list, func(a, b entry) int { return cmp.Or(a.MadeAt.Compare(b.MadeAt), cmp.Compare(a.ID, b.ID)) })
	for _, e := range r.given {
		if e.Purpose == purpose {
			list = append(slices.DeleteFunc(list, func(k entry) bool { return k.ID == e.ID }), e)
		}
	}
	return list, nil
}

func checkName(purpose, id string) error {
	if !part.MatchString(purpose) || !part.MatchString(id) {
		return fmt.Errorf("key %q/%q: a name has up to 64 letters, digits, dashes and underscores", purpose, id)
	}
	return nil
}
