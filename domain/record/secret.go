package record

import (
	"crypto/hmac"
	"crypto/sha256"
	"errors"
)

// Secret shows that an entry was written by a program that holds it: whoever has only the database's password can write
// entries that hang together, but none with its mark.
type Secret struct {
	id   [4]byte
	seed []byte
}

// NewSecret makes a secret of 32 random bytes.
func NewSecret(seed []byte) (Secret, error) {
	if len(seed) != 32 {
		return Secret{}, errors.New("the secret of the journal must have 32 bytes")
	}
	id := sha256.Sum256(append([]byte("ledgerwheel/journal/secret/"), seed...))
	return Secret{[4]byte(id[:4]), seed}, nil
}

// Mark is the HMAC-SHA256 (RFC 2104) of an entry's hash, behind four bytes that tell which secret made it.
func (s Secret) Mark(hash [32]byte) []byte {
	mac := hmac.New(sha256.New, s.seed)
	mac.Write([]byte("ledgerwheel/journal/mark/1"))
	mac.Write(hash[:])
	return mac.Sum(s.id[:])
}

// Standing says what a mark shows.
type Standing int

// What a mark can show.
const (
	Genuine  Standing = iota // made by a secret that is known
	Unmarked                 // there is none
	Foreign                  // made by a secret that is not known here
	Forged                   // names a known secret, and was not made by it
)

// Secrets are those known, the present one and those before it.
type Secrets []Secret

// Check says what the mark of an entry with the given hash shows.
func (s Secrets) Check(hash [32]byte, mark []byte) Standing {
	if len(mark) == 0 {
		return Unmarked
	}
	for _, one := range s {
		if len(mark) == 36 && [4]byte(mark[:4]) == one.id {
			if hmac.Equal(mark, one.Mark(hash)) {
				return Genuine
			}
			return Forged
		}
	}
	return Foreign
}
