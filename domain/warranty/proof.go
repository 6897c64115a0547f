package warranty

import (
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/base32"
	"errors"
	"strings"
	"time"

	"ledgerwheel/domain"
	"ledgerwheel/domain/tongue"
)

// Proof is what the code on a card states by itself: its facts as far as they fit, signed, so that anyone who has the
// shop's public key proves the card without asking the shop.
type Proof struct {
	KeyID KeyID
	// Card has what the code states; figures to 0.001 s/d and 0.1°, the moment of issue to the second. What is left out
	// is empty.
	Card Card
	// Record is the start of the SHA-256 of [Card.Payload]: what is shortened or left out here is bound to the record.
	Record [recordBytes]byte
	// Short and Absent name what the code has only the beginning of, and what is on the record only.
	Short, Absent []ProofPart
}

// proofTag begins what is signed, so that a signature can't be taken for one of another purpose.
const proofTag = "ledgerwheel/warranty-card-code/1"

// MaxProofBytes is the longest code, signature included. With an address of [MaxProofAddress] bytes before it, it fills
// a QR symbol of version 18 at error correction level M: 89 modules and the quiet zone, which on 34 mm leaves 0.35 mm for
// a module, four dots of a printer of 300 dpi.
const (
	MaxProofBytes   = 416
	MaxProofAddress = 100
)

// ErrProofShape reports text that is no card's code, or one that was cut or mistyped.
var ErrProofShape = errors.New("this is no warranty card's code, or not all of it")

// proofText writes codes for QR's alphanumeric mode and for addresses: RFC 4648 base32 without padding. The denser
// base45 of RFC 9285 has characters that an address can't.
var proofText = base32.StdEncoding.WithPadding(base32.NoPadding)

// Prove returns the code of c: its bytes as [proofBody] states them, with their signature. It returns [ErrKeyRetired] or
// a [*domain.InvalidError].
func (k SigningKey) Prove(c Card) ([]byte, error) {
	if !k.RetiredAt.IsZero() {
		return nil, ErrKeyRetired
	}
	if err := domain.Invalid(c.Problems()); err != nil {
		return nil, err
	}
	body := proofBody(k.ID, c)
	return append(body, ed25519.Sign(k.Private, proofMessage(body))...), nil
}

func proofMessage(body []byte) []byte { return append([]byte(proofTag), body...) }

// ProofText is a code as it is printed.
func ProofText(proof []byte) string { return proofText.EncodeToString(proof) }

// proofBytes reads a code as it was scanned, pasted or typed: an address before it ends at its #, white space and
// dashes don't count, letters may be lower case, and 0, 1 and 8 count as O, I and B. Each code is written in one way only.
func proofBytes(s string) ([]byte, error) {
	if _, after, ok := strings.Cut(s, "#"); ok {
		s = after
	}
	s = strings.ToUpper(strings.Map(func(r rune) rune {
		switch r {
		case ' ', '-', '\t', '\r', '\n', '\u00a0':
			return -1
		case '0':
			return 'O'
		case '1':
			return 'I'
		case '8':
			return 'B'
		}
		return r
	}, s))
	raw, err := proofText.DecodeString(s)
	if err != nil || len(raw) > MaxProofBytes || ProofText(raw) != s {
		return nil, ErrProofShape
	}
	return raw, nil
}

// VerifyProof returns what the code on a card states once its signature holds. The error is [ErrProofShape],
// [ErrUnknownKey], [ErrSignature] or [ErrKeyRetired].
func (set KeySet) VerifyProof(s string) (Proof, error) {
	raw, err := proofBytes(s)
	if err != nil {
		return Proof{}, err
	}
	if len(raw) < proofFixed+ed25519.SignatureSize || raw[0] != proofVersion {
		return Proof{}, ErrProofShape
	}
	body, signature := raw[:len(raw)-ed25519.SignatureSize], raw[len(raw)-ed25519.SignatureSize:]
	key, ok := set[proofKey(body)]
	if !ok {
		return Proof{}, ErrUnknownKey
	}
	if len(key.Public) != ed25519.PublicKeySize || !ed25519.Verify(key.Public, proofMessage(body), signature) {
		return Proof{}, ErrSignature
	}
	p, err := readProof(body)
	if err != nil {
		return Proof{}, err
	}
	if !key.RetiredAt.IsZero() && p.Card.IssuedAt.After(key.RetiredAt) {
		return Proof{}, ErrKeyRetired
	}
	return p, nil
}

// IsOf reports whether the code states what the record of c does.
func (p Proof) IsOf(c Card) bool {
	sum := sha256.Sum256(c.Payload())
	return p.Card.Code == c.Code && p.Record == [recordBytes]byte(sum[:recordBytes])
}

// Words say of a proven card what its term is on the civil day today: without the shop nobody knows whether it was declared
// void or replaced.
func (p Proof) Words(in tongue.Tongue, today time.Time) string {
	switch {
	case today.After(p.Card.ExpiresOn):
		return in.Say("proof.ended")
	case today.Before(p.Card.StartsOn):
		return in.Say("proof.ahead")
	}
	return in.Say("proof.running")
}

// ProofProblem says why a code proves nothing, for who checks it.
func ProofProblem(in tongue.Tongue, err error) string {
	switch {
	case errors.Is(err, ErrProofShape):
		return in.Say("proof.shape")
	case errors.Is(err, ErrUnknownKey):
		return in.Say("proof.unknown")
	case errors.Is(err, ErrKeyRetired):
		return in.Say("proof.retired")
	}
	return in.Say("proof.signature")
}
