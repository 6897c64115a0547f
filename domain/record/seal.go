package record

import (
	"bytes"
	"crypto/ed25519"
	"encoding/base64"
	"encoding/hex"
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"

	"golang.org/x/mod/sumdb/note"
	"golang.org/x/mod/sumdb/tlog"
)

// The reasons why a text is no seal of this shop.
var (
	ErrNoSeal     = errors.New("this is no seal: it should begin with a line ledgerwheel/ and hold a signature")
	ErrUnknownKey = errors.New("the seal is signed with a key that this shop does not know")
	ErrForgedSeal = errors.New("the seal's signature does not hold: it was altered, or not made by this shop")
)

// Seal is a signed checkpoint of the log: at a moment, so many entries, with this root. Its text is a checkpoint of the
// C2SP specification tlog-checkpoint (origin, size, root, and the moment as an extension line) in a signed note.
type Seal struct {
	Origin string // "ledgerwheel/" and the log's own name
	Size   int64
	Root   tlog.Hash
	At     time.Time // UTC, whole seconds
	Text   []byte    // with its signature
}

// Origin names a log after the hash of its first entry, so that no two shops' logs have the same name.
func Origin(first [32]byte) string { return "ledgerwheel/" + hex.EncodeToString(first[:8]) }

const momentLine = "time "

func (s Seal) body() string {
	return fmt.Sprintf("%s\n%d\n%s\n%s%s\n", s.Origin, s.Size, base64.StdEncoding.EncodeToString(s.Root[:]), momentLine,
		s.At.UTC().Format(time.RFC3339))
}

// Sealed is s signed.
func Sealed(s Seal, by note.Signer) (Seal, error) {
	s.At = s.At.UTC().Truncate(time.Second)
	text, err := note.Sign(&note.Note{Text: s.body()}, by)
	if err != nil {
		return Seal{}, fmt.Errorf("seal: %w", err)
	}
	s.Text = text
	return s, nil
}

// OpenSeal reads a seal and holds its signature against the keys known. The error is one of those above.
func OpenSeal(text []byte, known note.Verifiers) (Seal, error) {
	text = append(bytes.TrimSpace(bytes.ReplaceAll(text, []byte("\r\n"), []byte("\n"))), '\n')
	n, err := note.Open(text, known)
	var invalid *note.InvalidSignatureError
	var unverified *note.UnverifiedNoteError
	switch {
	case errors.As(err, &invalid):
		return Seal{}, ErrForgedSeal
	case errors.As(err, &unverified):
		return Seal{}, ErrUnknownKey
	case err != nil:
		return Seal{}, ErrNoSeal
	}
	s, err := parseSeal(n.Text)
	s.Text = text
	return s, err
}

// PeekSeal reads a seal without asking who signed it, to tell whose key would be needed.
func PeekSeal(text []byte) (Seal, error) {
	text = bytes.ReplaceAll(text, []byte("\r\n"), []byte("\n"))
	body, _, found := strings.Cut(string(text), "\n\n")
	if !found {
		return Seal{}, ErrNoSeal
	}
	return parseSeal(body + "\n")
}

func parseSeal(body string) (Seal, error) {
	lines := strings.Split(body, "\n")
	if len(lines) != 5 || !strings.HasPrefix(lines[0], "ledgerwheel/") || lines[4] != "" {
		return Seal{}, ErrNoSeal
	}
	s := Seal{Origin: lines[0]}
	size, err := strconv.ParseInt(lines[1], 10, 64)
	if err != nil || size < 0 || strconv.FormatInt(size, 10) != lines[1] {
		return Seal{}, ErrNoSeal
	}
	root, err := base64.StdEncoding.DecodeString(lines[2])
	if err != nil || len(root) != len(s.Root) {
		return Seal{}, ErrNoSeal
	}
	moment, marked := strings.CutPrefix(lines[3], momentLine)
	if s.At, err = time.Parse(time.RFC3339, moment); err != nil || !marked {
		return Seal{}, ErrNoSeal
	}
	s.Size, s.Root = size, tlog.Hash(root)
	return s, nil
}

// Short is the seal's root in four groups of four digits, for papers.
func (s Seal) Short() string {
	h := hex.EncodeToString(s.Root[:8])
	return h[0:4] + " " + h[4:8] + " " + h[8:12] + " " + h[12:16]
}

// SealKey makes the signer of an origin's seals and the text of its public key, in the encoding of signed notes, from an
// Ed25519 seed of 32 bytes.
func SealKey(origin string, seed []byte) (note.Signer, string, error) {
	if len(seed) != ed25519.SeedSize {
		return nil, "", errors.New("the key of the seals must have 32 bytes")
	}
	public := ed25519.NewKeyFromSeed(seed).Public().(ed25519.PublicKey)
	verifier, err := note.NewEd25519VerifierKey(origin, public)
	if err != nil {
		return nil, "", fmt.Errorf("key of the seals: %w", err)
	}
	// A signer's text is that of its verifier, with the seed in place of the public key (package note).
	hash := strings.Split(verifier, "+")[1]
	const ed25519Alg = 1
	signer, err := note.NewSigner("PRIVATE+KEY+" + origin + "+" + hash + "+" +
		base64.StdEncoding.EncodeToString(append([]byte{ed25519Alg}, seed...)))
	if err != nil {
		return nil, "", fmt.Errorf("key of the seals: %w", err)
	}
	return signer, verifier, nil
}

// SealKeys are the public keys known, in the encoding of signed notes; what is none is left out.
func SealKeys(texts ...string) note.Verifiers {
	var list []note.Verifier
	seen := map[string]bool{}
	for _, text := range texts {
		text = strings.TrimSpace(text)
		if v, err := note.NewVerifier(text); err == nil && !seen[text] {
			seen[text], list = true, append(list, v)
		}
	}
	return note.VerifierList(list...)
}
