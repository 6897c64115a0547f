package warranty

import (
	"crypto/ed25519"
	"encoding/base64"
	"encoding/hex"
	"encoding/json"
	"errors"
	"strings"
	"time"
)

// PublishedKey is a public key as the shop publishes it, in JSON.
type PublishedKey struct {
	ID          KeyID  `json:"id"`
	Use         string `json:"use"`
	Algorithm   string `json:"algorithm"`
	Public      string `json:"public_hex"`
	Fingerprint string `json:"sha256"`               // of the public key; its ID is the start of it
	RetiredAt   string `json:"retired_at,omitempty"` // RFC 3339
}

// PublishedKeys is the file of keys that a shop publishes.
type PublishedKeys struct {
	Shop string         `json:"shop"`
	Keys []PublishedKey `json:"keys"`
}

// Publish is k as it is published.
func (k PublicKey) Publish() PublishedKey {
	p := PublishedKey{ID: k.ID, Use: "warranty cards", Algorithm: "Ed25519", Public: hex.EncodeToString(k.Public),
		Fingerprint: k.Fingerprint()}
	if !k.RetiredAt.IsZero() {
		p.RetiredAt = k.RetiredAt.UTC().Format(time.RFC3339Nano)
	}
	return p
}

// ErrKeys reports text that has no public keys.
var ErrKeys = errors.New("no public key: give the shop's file of keys, or one key in hexadecimal digits or base64")

// ParseKeys reads keys as a shop publishes them or, where text is no JSON, one public key in hexadecimal digits or
// base64, with its 32 bytes. The error is [ErrKeys].
func ParseKeys(text []byte) ([]PublicKey, error) {
	var file PublishedKeys
	if json.Unmarshal(text, &file) != nil {
		key, ok := parsePublic(strings.Join(strings.Fields(string(text)), ""))
		if !ok {
			return nil, ErrKeys
		}
		return []PublicKey{key}, nil
	}
	var list []PublicKey
	for _, p := range file.Keys {
		key, ok := parsePublic(p.Public)
		if !ok || key.ID != p.ID || p.Algorithm != "Ed25519" {
			return nil, ErrKeys
		}
		if p.RetiredAt != "" {
			at, err := time.Parse(time.RFC3339Nano, p.RetiredAt)
			if err != nil {
				return nil, ErrKeys
			}
			key.RetiredAt = at
		}
		list = append(list, key)
	}
	if len(list) == 0 {
		return nil, ErrKeys
	}
	return list, nil
}

func parsePublic(s string) (PublicKey, bool) {
	raw, err := hex.DecodeString(s)
	if err != nil {
		raw, err = base64.StdEncoding.DecodeString(s)
	}
	if err != nil || len(raw) != ed25519.PublicKeySize {
		return PublicKey{}, false
	}
	return PublicKey{ID: idOf(raw), Public: raw}, true
}
