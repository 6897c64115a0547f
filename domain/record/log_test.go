package record_test

import (
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/base64"
	"encoding/binary"
	"encoding/hex"
	"errors"
	"strings"
	"testing"
	"time"

	"golang.org/x/mod/sumdb/tlog"
	"pgregory.net/rapid"

	"ledgerwheel/domain/record"
)

// The leaves and roots by which implementations of RFC 6962 are usually tested; the figures from memory.
var (
	vectorLeaves = []string{"", "00", "10", "2021", "3031", "40414243", "5051525354555657", "606162636465666768696a6b6c6d6e6f"}
	vectorRoots  = []string{
		"e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855", // of nothing
		"6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d",
		"fac54203e7cc696cf0dfcb42c92a1d9dbaf70ad9e621f4bd8d98662f00e3c125",
		"aeb6bcfe274b70a14fb067a5e5578264db0fa9b51af5e0ba159158f329e06e77",
		"d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
		"4e3bbb1f7b478dcfe71fb631631519a3bca12c9aefca1612bfce4c13a86264d4",
		"76e67dadbcdf1e10e1b74ddc608abd2f98dfb16fbce75277b5232a127f2087ef",
		"ddb89be403809e325750d3d263cd78929c2942b7942a34b77e122c9594a74c8c",
		"5dc9da79a70659a9ad559cb701ded9a2ab9d823aad2f4960cfe370eff4604328",
	}
)

func TestTreeAgainstVectors(t *testing.T) {
	t.Parallel()
	var tree record.Tree
	for i, want := range vectorRoots {
		if root := tree.Root(); hex.EncodeToString(root[:]) != want {
			t.Errorf("root of %d leaves is %x, want %s", i, root[:], want)
		}
		if i < len(vectorLeaves) {
			leaf, err := hex.DecodeString(vectorLeaves[i])
			if err != nil {
				t.Fatal(err)
			}
			tree.Add(tlog.RecordHash(leaf))
		}
	}
}

// TestTreeIsTheLogs: roots and inner hashes are those of an independent implementation, at any size.
func TestTreeIsTheLogs(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.Int64Range(1, 200).Draw(t, "leaves")
		var tree record.Tree
		var stored []tlog.Hash
		reader := tlog.HashReaderFunc(func(indexes []int64) (out []tlog.Hash, err error) {
			for _, i := range indexes {
				out = append(out, stored[i])
			}
			return out, nil
		})
		for i := range n {
			leaf := record.Leaf{DocketID: i / 7, Seq: i, Hash: sha256.Sum256(binary.BigEndian.AppendUint64(nil, uint64(i)))}
			hashes, err := tlog.StoredHashes(i, leaf.Bytes(), reader)
			if err != nil {
				t.Fatal(err)
			}
			stored = append(stored, hashes...)
			inner := tree.Add(leaf.RecordHash())
			if len(inner) != len(hashes)-1 {
				t.Fatalf("leaf %d completes %d subtrees, want %d", i, len(inner), len(hashes)-1)
			}
			for k, h := range inner {
				if h != hashes[k+1] {
					t.Fatalf("inner hash %d of leaf %d differs", k, i)
				}
			}
		}
		want, err := tlog.TreeHash(n, reader)
		if err != nil || tree.Root() != want {
			t.Fatalf("root of %d leaves differs (%v)", n, err)
		}
	})
}

func sealed(t *testing.T, seed byte) (record.Seal, string) {
	t.Helper()
	key := make([]byte, 32)
	key[0] = seed
	origin := record.Origin([32]byte{1, 2, 3})
	signer, verifier, err := record.SealKey(origin, key)
	if err != nil {
		t.Fatal(err)
	}
	s, err := record.Sealed(record.Seal{Origin: origin, Size: 7, Root: tlog.Hash{9}, At: time.Date(2026, 11, 30, 20, 0, 0, 5, time.UTC)}, signer)
	if err != nil {
		t.Fatal(err)
	}
	return s, verifier
}

// TestSealByTheStandardLibraryAlone reads a seal with nothing of ours: the checkpoint of the C2SP specification
// tlog-checkpoint, the signed note of its signed-note, and Ed25519.
func TestSealByTheStandardLibraryAlone(t *testing.T) {
	t.Parallel()
	s, verifier := sealed(t, 1)
	body, signatures, found := strings.Cut(string(s.Text), "\n\n")
	lines := strings.Split(body, "\n")
	if !found || len(lines) != 4 || lines[0] != "ledgerwheel/0102030000000000" || lines[1] != "7" || lines[3] != "time 2026-11-30T20:00:00Z" {
		t.Fatalf("checkpoint %q", body)
	}
	if root, err := base64.StdEncoding.DecodeString(lines[2]); err != nil || root[0] != 9 || len(root) != 32 {
		t.Errorf("root %q", lines[2])
	}
	// A verifier key is name+hash+key, the key a byte 1 and the public key; a signature line is a dash, the name, and the
	// hash and signature in base64.
	parts := strings.SplitN(verifier, "+", 3)
	key, err := base64.StdEncoding.DecodeString(parts[2])
	if err != nil || key[0] != 1 {
		t.Fatalf("key %q", verifier)
	}
	fields := strings.Fields(signatures)
	signature, err := base64.StdEncoding.DecodeString(fields[2])
	if err != nil || fields[0] != "—" || fields[1] != lines[0] {
		t.Fatalf("signature %q", signatures)
	}
	id := sha256.Sum256([]byte(parts[0] + "\n" + string(key)))
	if hex.EncodeToString(id[:4]) != parts[1] || string(signature[:4]) != string(id[:4]) {
		t.Error("the key's hash is not the first four bytes of the SHA-256 of name, line feed and key")
	}
	if !ed25519.Verify(key[1:], []byte(body+"\n"), signature[4:]) {
		t.Error("the signature does not hold")
	}
}

func TestSealsThatAreNone(t *testing.T) {
	t.Parallel()
	s, verifier := sealed(t, 1)
	_, other := sealed(t, 2)
	if got, err := record.OpenSeal(s.Text, record.SealKeys(other, verifier, verifier)); err != nil || got.Size != 7 || !got.At.Equal(s.At) {
		t.Errorf("%+v, %v", got, err)
	}
	carried := strings.ReplaceAll(string(s.Text), "\n", "\r\n") // as by mail
	if _, err := record.OpenSeal([]byte("\r\n"+carried), record.SealKeys(verifier)); err != nil {
		t.Errorf("with other line ends: %v", err)
	}
	for name, tt := range map[string]struct {
		text string
		keys []string
		want error
	}{
		"altered":     {strings.Replace(string(s.Text), "\n7\n", "\n8\n", 1), []string{verifier}, record.ErrForgedSeal},
		"unknown key": {string(s.Text), []string{other}, record.ErrUnknownKey},
		"no keys":     {string(s.Text), nil, record.ErrUnknownKey},
		"empty":       {"", []string{verifier}, record.ErrNoSeal},
		"a letter":    {"Dear shop,\n\nthank you.\n", []string{verifier}, record.ErrNoSeal},
		"cut":         {string(s.Text[:40]), []string{verifier}, record.ErrNoSeal},
	} {
		if _, err := record.OpenSeal([]byte(tt.text), record.SealKeys(tt.keys...)); !errors.Is(err, tt.want) {
			t.Errorf("%s: %v, want %v", name, err, tt.want)
		}
	}
}

func TestLines(t *testing.T) {
	t.Parallel()
	a, b, c := record.Digest{1}, record.Digest{2}, record.Digest{3}
	lines := []record.Line{{"run", "1", record.Digest{}, a}, {"reading", "1/dial-up/0/0", record.Digest{}, b}, {"run", "1", a, c},
		{"finding", "4", a, b}, {"finding", "4", b, a}, {"photo", "9", c, record.Digest{}}}
	want := []record.Line{{"run", "1", record.Digest{}, c}, {"reading", "1/dial-up/0/0", record.Digest{}, b}, {"photo", "9", c, record.Digest{}}}
	compact := record.Compact(lines)
	back, err := record.Parse(string(record.Format(compact)))
	if err != nil || len(back) != len(want) {
		t.Fatalf("%v, %v", back, err)
	}
	for i := range want {
		if back[i] != want[i] {
			t.Errorf("line %d is %v, want %v", i, back[i], want[i])
		}
	}
	for _, bad := range []string{"run 1 -\n", "run 1 - x\n", "\n", "run  1 - -\n"} {
		if got, err := record.Parse(bad); err == nil {
			t.Errorf("%q is read as %v", bad, got)
		}
	}
}

func TestTrails(t *testing.T) {
	t.Parallel()
	none, a, b, c := record.Digest{}, record.Digest{1}, record.Digest{2}, record.Digest{3}
	for _, tt := range []struct {
		name  string
		trail record.Trail
		is    record.Digest
		want  record.Fault
		at    int
	}{
		{"as written", record.Trail{{Was: none, Now: a}, {Was: a, Now: b}}, b, record.Whole, -1},
		{"deleted as said", record.Trail{{Was: none, Now: a}, {Was: a, Now: none}}, none, record.Whole, -1},
		{"nothing at all", nil, none, record.Whole, -1},
		{"in no journal", nil, a, record.Added, -1},
		{"gone", record.Trail{{Was: none, Now: a}}, none, record.Missing, 0},
		{"there again", record.Trail{{Was: none, Now: a}, {Was: a, Now: none}}, a, record.Returned, 1},
		{"changed", record.Trail{{Was: none, Now: a}, {Was: a, Now: b}}, c, record.Differs, 1},
		{"set back", record.Trail{{Was: none, Now: a}, {Was: a, Now: b}}, a, record.Differs, 1},
		{"changed between two entries", record.Trail{{Was: none, Now: a}, {Was: c, Now: b}}, b, record.Undercut, 1},
		{"there before the first", record.Trail{{Was: a, Now: b}}, b, record.Undercut, 0},
	} {
		if fault, at := tt.trail.Check(tt.is); fault != tt.want || at != tt.at {
			t.Errorf("%s: %d at %d, want %d at %d", tt.name, fault, at, tt.want, tt.at)
		}
	}
}
