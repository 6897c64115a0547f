package keyring_test

import (
	"bytes"
	"encoding/base64"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"ledgerwheel/store/keyring"
)

func open(t *testing.T, dir, given string) *keyring.Ring {
	t.Helper()
	r, err := keyring.Open(dir, given)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func seed(b byte) []byte { return bytes.Repeat([]byte{b}, keyring.SeedBytes) }

func TestKeptKeysAreThePrivateFilesOfTheirOwner(t *testing.T) {
	t.Parallel()
	dir := filepath.Join(t.TempDir(), "keys")
	r := open(t, dir, "")
	if _, err := r.Seed(keyring.Card, "a1"); !errors.Is(err, keyring.ErrMissing) {
		t.Fatalf("a key that nobody kept: %v", err)
	}
	if err := errors.Join(r.Keep(keyring.Card, "a1", seed(1)), r.Keep(keyring.Card, "a1", seed(1)),
		r.Keep(keyring.Seal, "a1", seed(2))); err != nil {
		t.Fatal(err)
	}
	if err := r.Keep(keyring.Card, "a1", seed(3)); err == nil {
		t.Error("a kept key was overwritten")
	}
	for purpose, want := range map[string][]byte{keyring.Card: seed(1), keyring.Seal: seed(2)} {
		if got, err := open(t, dir, "").Seed(purpose, "a1"); err != nil || !bytes.Equal(got, want) {
			t.Errorf("%s: %x, %v", purpose, got, err)
		}
	}
	for path, want := range map[string]os.FileMode{dir: 0o700, filepath.Join(dir, "card.a1.key"): 0o600} {
		if info, err := os.Stat(path); err != nil || info.Mode().Perm() != want {
			t.Errorf("%s: %v, %v", path, info.Mode(), err)
		}
	}
	files, err := os.ReadDir(dir)
	if err != nil || len(files) != 2 {
		t.Errorf("%d files in the folder (%v), want 2", len(files), err)
	}
}

func TestExposedAndDamagedKeysAreRefused(t *testing.T) {
	t.Parallel()
	dir := filepath.Join(t.TempDir(), "keys")
	r := open(t, dir, "")
	path := filepath.Join(dir, "card.a1.key")
	if err := r.Keep(keyring.Card, "a1", seed(1)); err != nil {
		t.Fatal(err)
	}
	whole, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	for _, mode := range []os.FileMode{0o640, 0o604, 0o620} {
		if err := os.Chmod(path, mode); err != nil {
			t.Fatal(err)
		}
		_, err := r.Seed(keyring.Card, "a1")
		if !errors.Is(err, keyring.ErrExposed) || !strings.Contains(err.Error(), "chmod 600 "+path) {
			t.Errorf("mode %v: %v", mode, err)
		}
	}
	if err := os.Chmod(path, 0o600); err != nil {
		t.Fatal(err)
	}
	for n := range len(whole) - 1 { // the last byte is the end of the line
		if err := os.WriteFile(path, whole[:n], 0o600); err != nil {
			t.Fatal(err)
		}
		if _, err := r.Seed(keyring.Card, "a1"); !errors.Is(err, keyring.ErrDamaged) {
			t.Fatalf("cut to %d of %d bytes: %v", n, len(whole), err)
		}
		if err := r.Keep(keyring.Card, "a1", seed(1)); err == nil {
			t.Fatalf("cut to %d bytes, and taken for kept", n)
		}
	}
	if err := os.WriteFile(path, bytes.Replace(whole, []byte("id a1"), []byte("id b2"), 1), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := r.Seed(keyring.Card, "a1"); !errors.Is(err, keyring.ErrDamaged) {
		t.Errorf("another key's file: %v", err)
	}
	if err := os.Chmod(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	if _, err := keyring.Open(dir, ""); !errors.Is(err, keyring.ErrExposed) {
		t.Errorf("a folder that others may look into: %v", err)
	}
}

func TestGivenKeys(t *testing.T) {
	t.Parallel()
	b64 := base64.StdEncoding.EncodeToString
	dir := filepath.Join(t.TempDir(), "keys")
	r := open(t, dir, "card/a1:"+b64(seed(1))+",seal/s:"+b64(seed(9))+"\ncard/b2:"+b64(seed(2)))
	if key, got, err := r.Newest(keyring.Card); err != nil || key.ID != "b2" || !key.Given || !bytes.Equal(got, seed(2)) {
		t.Errorf("newest %+v %x %v", key, got, err)
	}
	if got, err := r.Seed(keyring.Card, "a1"); err != nil || !bytes.Equal(got, seed(1)) {
		t.Errorf("the older one: %x %v", got, err)
	}
	if !r.Given(keyring.Seal) || r.Given(keyring.SecondFactor) {
		t.Error("what is given is not told")
	}
	if _, err := os.Stat(dir); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("a folder was made for keys that are given: %v", err)
	}
	secret := b64(seed(7))
	for _, text := range []string{"card:" + secret, "card/a1", "card/a1:" + secret[:20], "card/../a:" + secret, "card/a1:" +
		secret + ",card/a1:" + secret, "card/a1:!" + secret} {
		if _, err := keyring.Open(dir, text); err == nil || strings.Contains(err.Error(), secret[:20]) {
			t.Errorf("%.12s…: %v", text, err)
		}
	}
}

func TestNewestOfTheFolder(t *testing.T) {
	t.Parallel()
	dir := filepath.Join(t.TempDir(), "keys")
	r := open(t, dir, "")
	if _, _, err := r.Newest(keyring.Seal); !errors.Is(err, keyring.ErrMissing) {
		t.Errorf("of none: %v", err)
	}
	if err := errors.Join(r.Keep(keyring.Seal, "z", seed(1)), r.Keep(keyring.Seal, "a", seed(2))); err != nil {
		t.Fatal(err)
	}
	// The file's own date decides, not the disk's, which a restored copy changes.
	path := filepath.Join(dir, "seal.a.key")
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	lines := strings.Split(string(text), "\n")
	lines[3] = "made 2020-01-01T00:00:00Z"
	if err := os.WriteFile(path, []byte(strings.Join(lines, "\n")), 0o600); err != nil {
		t.Fatal(err)
	}
	if key, _, err := r.Newest(keyring.Seal); err != nil || key.ID != "z" {
		t.Errorf("newest %+v %v", key, err)
	}
	if list, err := r.List(keyring.Seal); err != nil || len(list) != 2 || list[0].ID != "a" {
		t.Errorf("list %+v %v", list, err)
	}
}

// Copies of the program that start at once over one folder must not each have a secret of its own.
func TestOneSecretForAll(t *testing.T) {
	t.Parallel()
	dir := filepath.Join(t.TempDir(), "keys")
	var wg sync.WaitGroup
	got := make([][]byte, 16)
	for i := range got {
		wg.Go(func() {
			_, secret, err := open(t, dir, "").Secret(keyring.SecondFactor)
			if err != nil {
				t.Error(err)
			}
			got[i] = secret
		})
	}
	wg.Wait()
	for i := range got {
		if len(got[i]) != keyring.SeedBytes || !bytes.Equal(got[i], got[0]) {
			t.Fatalf("copy %d has %x, the first %x", i, got[i], got[0])
		}
	}
}
