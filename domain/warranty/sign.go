package warranty

import (
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"time"

	"ledgerwheel/domain"
)

// KeyID names a signing key: the first sixteen hexadecimal digits of the SHA-256 of its public half.
type KeyID string

// Grouped is the name as people compare it: four groups of four. It is the start of the public key's fingerprint.
func (id KeyID) Grouped() string {
	if len(id) != 16 {
		return string(id)
	}
	return string(id[0:4] + " " + id[4:8] + " " + id[8:12] + " " + id[12:16])
}

// PublicKey is the public half of a signing key.
type PublicKey struct {
	ID     KeyID
	Public ed25519.PublicKey
	// RetiredAt is when the key stopped signing, UTC; zero while it signs. Cards signed before stay
	// genuine.
	RetiredAt time.Time
}

// SigningKey is a whole key. Its private half is kept outside the database and shown on no page.
type SigningKey struct {
	PublicKey
	Private ed25519.PrivateKey
}

// NewKey makes a signing key from the randomness of r, which must be a cryptographic source.
func NewKey(r io.Reader) (SigningKey, error) {
	seed := make([]byte, ed25519.SeedSize)
	if _, err := io.ReadFull(r, seed); err != nil {
		return SigningKey{}, fmt.Errorf("new signing key: %w", err)
	}
	return KeyFromSeed(seed)
}

// KeyFromSeed restores a signing key from its 32-byte seed, the form in which it is kept.
func KeyFromSeed(seed []byte) (SigningKey, error) {
	if len(seed) != ed25519.SeedSize {
		return SigningKey{}, fmt.Errorf("signing key: a seed has %d bytes, not %d", ed25519.SeedSize, len(seed))
	}
	private := ed25519.NewKeyFromSeed(seed)
	public := private.Public().(ed25519.PublicKey)
	return SigningKey{PublicKey{ID: idOf(public), Public: public}, private}, nil
}

// Seed is the form in which the key is kept; see [KeyFromSeed].
func (k SigningKey) Seed() []byte { return k.Private.Seed() }

// Fingerprint is the SHA-256 of the public key in hexadecimal digits; the key's name is the start of it.
func (k PublicKey) Fingerprint() string {
	sum := sha256.Sum256(k.Public)
	return hex.EncodeToString(sum[:])
}

// idOf returns the name of a public key.
func idOf(public ed25519.PublicKey) KeyID {
	sum := sha256.Sum256(public)
	return KeyID(hex.EncodeToString(sum[:8]))
}

// Signed is a card with its signature, as kept.
type Signed struct {
	Payload   []byte // see [Card.Payload]
	KeyID     KeyID
	Signature []byte // Ed25519 (RFC 8032) over Payload
}

// Errors of signing and verifying.
var (
	ErrKeyRetired = errors.New("this signing key is retired")
	ErrUnknownKey = errors.New("the card names a key that the shop does not have")
	ErrSignature  = errors.New("the card's signature does not match what it states")
)

// Sign signs c. It returns [ErrKeyRetired] for a key that no longer signs and a [*domain.InvalidError] for
// a card with problems.
func (k SigningKey) Sign(c Card) (Signed, error) {
	if !k.RetiredAt.IsZero() {
		return Signed{}, ErrKeyRetired
	}
	if err := domain.Invalid(c.Problems()); err != nil {
		return Signed{}, err
	}
	payload := c.Payload()
	return Signed{Payload: payload, KeyID: k.ID, Signature: ed25519.Sign(k.Private, payload)}, nil
}

// KeySet holds every key that the shop signs or has signed with.
type KeySet map[KeyID]PublicKey

// NewKeySet makes a set. It returns an error where a key's name does not fit it.
func NewKeySet(keys ...PublicKey) (KeySet, error) {
	set := KeySet{}
	for _, k := range keys {
		if len(k.Public) != ed25519.PublicKeySize || idOf(k.Public) != k.ID {
			return nil, fmt.Errorf("signing key %q: its name does not fit it", k.ID)
		}
		set[k.ID] = k
	}
	return set, nil
}

// Verify returns the card that s carries once its signature holds. It returns [ErrUnknownKey],
// [ErrSignature], [ErrKeyRetired] for a card that states a time of issue after its key was retired, or an error
// wrapping [ErrPayload].
func (set KeySet) Verify(s Signed) (Card, error) {
	key, ok := set[s.KeyID]
	if !ok {
		return Card{}, ErrUnknownKey
	}
	if len(key.Public) != ed25519.PublicKeySize || !ed25519.Verify(key.Public, s.Payload, s.Signature) {
		return Card{}, ErrSignature
	}
	c, err := ParsePayload(s.Payload)
	if err != nil {
		return Card{}, err
	}
	if !key.RetiredAt.IsZero() && c.IssuedAt.After(key.RetiredAt) {
		return Card{}, ErrKeyRetired
	}
	return c, nil
}
