package store_test

import (
	"bytes"
	"crypto/ed25519"
	"encoding/base64"
	"encoding/hex"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"ledgerwheel/domain/warranty"
	"ledgerwheel/store"
	"ledgerwheel/store/keyring"
	"ledgerwheel/store/storetest"
)

// rfc8032Seed and rfc8032Public are the secret and public key of RFC 8032, section 7.1, test 1.
const (
	rfc8032Seed   = "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60"
	rfc8032Public = "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a"
)

func fromHex(t *testing.T, s string) []byte {
	t.Helper()
	b, err := hex.DecodeString(s)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func ring(t *testing.T, dir, given string) *keyring.Ring {
	t.Helper()
	r, err := keyring.Open(dir, given)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// seedsLeft is how many private halves the database still holds.
func seedsLeft(t *testing.T, s *store.Store) (n int) {
	t.Helper()
	if err := s.Pool().QueryRow(t.Context(), `SELECT count(seed) FROM signing_key`).Scan(&n); err != nil {
		t.Fatal(err)
	}
	return n
}

// oldKey is a key as a release that kept it in the database left it.
func oldKey(t *testing.T, s *store.Store) warranty.SigningKey {
	t.Helper()
	key, err := warranty.KeyFromSeed(fromHex(t, rfc8032Seed))
	if err != nil || !bytes.Equal(key.Public, fromHex(t, rfc8032Public)) {
		t.Fatalf("key %x, %v", key.Public, err)
	}
	if _, err := s.Pool().Exec(t.Context(), `INSERT INTO signing_key (id, seed, public, made_at) VALUES ($1, $2, $3, now())`,
		string(key.ID), key.Seed(), []byte(key.Public)); err != nil {
		t.Fatal(err)
	}
	return key
}

func TestSeedsLeaveTheDatabase(t *testing.T) {
	t.Parallel()
	at := time.Date(2026, 12, 1, 8, 0, 0, 0, time.UTC)
	for _, tt := range []struct {
		name string
		// before does what a start that was killed may have left
		before func(t *testing.T, key warranty.SigningKey, dir string)
		fails  bool
	}{
		{"nothing done yet", func(*testing.T, warranty.SigningKey, string) {}, false},
		{"killed after the file was written", func(t *testing.T, key warranty.SigningKey, dir string) {
			if err := ring(t, dir, "").Keep(keyring.Card, string(key.ID), key.Seed()); err != nil {
				t.Fatal(err)
			}
		}, false},
		{"killed while the file was written", func(t *testing.T, _ warranty.SigningKey, dir string) {
			if err := errors.Join(os.Mkdir(dir, 0o700), os.WriteFile(filepath.Join(dir, ".new-1"), []byte("ledger"), 0o600)); err != nil {
				t.Fatal(err)
			}
		}, false},
		{"another key lies under its name", func(t *testing.T, key warranty.SigningKey, dir string) {
			if err := ring(t, dir, "").Keep(keyring.Card, string(key.ID), make([]byte, 32)); err != nil {
				t.Fatal(err)
			}
		}, true},
		{"the folder can't be made", func(t *testing.T, _ warranty.SigningKey, dir string) {
			if err := os.WriteFile(dir, nil, 0o600); err != nil {
				t.Fatal(err)
			}
		}, true},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			s := storetest.New(t)
			key := oldKey(t, s)
			dir := filepath.Join(t.TempDir(), "keys")
			r := ring(t, dir, "")
			tt.before(t, key, dir)
			s.UseKeys(r)
			moved, err := s.TakeOutSeeds(t.Context(), at)
			if tt.fails {
				if err == nil || seedsLeft(t, s) != 1 {
					t.Fatalf("%v; %d seeds left in the database, want the one", err, seedsLeft(t, s))
				}
				return
			}
			if err != nil || moved != 1 || seedsLeft(t, s) != 0 {
				t.Fatalf("moved %d, %d left, %v", moved, seedsLeft(t, s), err)
			}
			if got, err := ring(t, dir, "").Seed(keyring.Card, string(key.ID)); err != nil || !bytes.Equal(got, key.Seed()) {
				t.Errorf("the file has %x, %v", got, err)
			}
			if moved, err := s.TakeOutSeeds(t.Context(), at); moved != 0 || err != nil {
				t.Errorf("a second start moved %d, %v", moved, err)
			}
			keys, err := s.SigningKeys(t.Context())
			if err != nil || len(keys) != 1 || !keys[0].LeftAt.Equal(at) || keys[0].Away != nil ||
				!bytes.Equal(keys[0].Public, key.Public) {
				t.Errorf("keys %+v, %v", keys, err)
			}
		})
	}
}

// Of two copies over one database, one gets the key, and neither loses it.
func TestTwoCopiesTakeSeedsOut(t *testing.T) {
	t.Parallel()
	h := storetest.NewHandle(t)
	key := oldKey(t, h.Store)
	dir := filepath.Join(t.TempDir(), "keys")
	moved := make(chan int, 2)
	for range 2 {
		s, err := store.Open(t.Context(), h.URL, store.WithMaxConns(2))
		if err != nil {
			t.Fatal(err)
		}
		defer s.Close()
		s.UseKeys(ring(t, dir, ""))
		go func() {
			n, err := s.TakeOutSeeds(t.Context(), time.Now())
			if err != nil && n == 0 {
				t.Error(err)
			}
			moved <- n
		}()
	}
	if n := <-moved + <-moved; n != 1 {
		t.Errorf("moved %d times", n)
	}
	if got, err := ring(t, dir, "").Seed(keyring.Card, string(key.ID)); err != nil || !bytes.Equal(got, key.Seed()) {
		t.Errorf("the file has %x, %v", got, err)
	}
}

// A database that was restored without the folder of keys signs nothing, says so, and the owner goes on with a new key.
func TestRestoredWithoutKeys(t *testing.T) {
	t.Parallel()
	b := ready(t)
	old := b.mustIssue(t)
	b.UseKeys(ring(t, filepath.Join(t.TempDir(), "keys"), ""))
	keys, err := b.SigningKeys(t.Context())
	if err != nil || len(keys) != 1 || !errors.Is(keys[0].Away, keyring.ErrMissing) {
		t.Fatalf("keys %+v, %v", keys, err)
	}
	bad := problemsOf(t, second(b.ReissueCard(t.Context(), b.change(t, b.owner), wording(b), "lost")))
	if !strings.Contains(bad[""], string(keys[0].ID)) || !strings.Contains(bad[""], "can't be signed here") {
		t.Errorf("refused with %q", bad)
	}
	if got := b.standing(t, old).Standing; got != warranty.Genuine {
		t.Errorf("the card before is %s", got)
	}
	if _, err := b.RotateKey(t.Context(), keys[0].ID, b.owner, b.at); err != nil {
		t.Fatal(err)
	}
	if _, err := b.ReissueCard(t.Context(), b.change(t, b.owner), wording(b), "lost"); err != nil {
		t.Errorf("after a new key: %v", err)
	}
	if got := b.standing(t, old).Standing; got != warranty.Superseded {
		t.Errorf("the card before is %s", got)
	}
}

// Where keys are given from outside, none is made here, as other copies of the program would lack it.
func TestGivenKeysAreUsedInTurn(t *testing.T) {
	t.Parallel()
	b := ready(t)
	var given []string
	var ids []warranty.KeyID
	for i := range 2 {
		key, err := warranty.KeyFromSeed(bytes.Repeat([]byte{byte(i + 1)}, ed25519.SeedSize))
		if err != nil {
			t.Fatal(err)
		}
		given = append(given, "card/"+string(key.ID)+":"+base64.StdEncoding.EncodeToString(key.Seed()))
		ids = append(ids, key.ID)
	}
	dir := filepath.Join(t.TempDir(), "keys")
	b.UseKeys(ring(t, dir, given[0]))
	b.mustIssue(t)
	if card, _ := b.cards(t).Newest(); card.Signed.KeyID != ids[0] {
		t.Fatalf("signed with %s, given %s", card.Signed.KeyID, ids[0])
	}
	if _, err := b.RotateKey(t.Context(), ids[0], b.owner, b.at); !errors.Is(err, warranty.ErrNoGivenKey) {
		t.Errorf("no other key is given, and yet: %v", err)
	}
	b.UseKeys(ring(t, dir, strings.Join(given, ",")))
	if next, err := b.RotateKey(t.Context(), ids[0], b.owner, b.at); err != nil || next != ids[1] {
		t.Errorf("next key %s, %v", next, err)
	}
	if _, err := os.Stat(dir); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("keys were written here too: %v", err)
	}
	// A seed under another key's name is refused.
	b.UseKeys(ring(t, dir, "card/"+string(ids[1])+":"+base64.StdEncoding.EncodeToString(make([]byte, 32))))
	if bad := problemsOf(t, second(b.ReissueCard(t.Context(), b.change(t, b.owner), wording(b), "lost"))); bad[""] == "" {
		t.Errorf("refused with %q", bad)
	}
}
