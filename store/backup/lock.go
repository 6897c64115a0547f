package backup

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"strings"

	"filippo.io/age"
)

// Lock is what a backup is encrypted with. The zero Lock leaves it readable, and the private keys out.
type Lock struct {
	recipients []age.Recipient
	witness    age.Identity // opens what was just written, for proving it; nobody keeps it
}

// Key opens an encrypted backup.
type Key struct{ identities []age.Identity }

// shortestPassphrase, in bytes, is what a file that anyone may try at leisure can do with: common practice.
const shortestPassphrase = 12

// Encrypts reports whether there is anything to encrypt with.
func (l Lock) Encrypts() bool { return len(l.recipients) > 0 }

// Witness opens what was encrypted with the Lock, as long as the Lock is in memory.
func (l Lock) Witness() Key {
	if l.witness == nil {
		return Key{}
	}
	return Key{[]age.Identity{l.witness}}
}

// PassphraseLock encrypts with a passphrase.
func PassphraseLock(passphrase string) (Lock, error) {
	if len(passphrase) < shortestPassphrase {
		return Lock{}, fmt.Errorf("the passphrase is too short: it needs at least %d characters, four or five words do", shortestPassphrase)
	}
	r, err := age.NewScryptRecipient(passphrase)
	if err != nil {
		return Lock{}, err
	}
	key, err := PassphraseKey(passphrase)
	if err != nil {
		return Lock{}, err
	}
	return Lock{recipients: []age.Recipient{r}, witness: key.identities[0]}, nil
}

// PassphraseKey opens what a passphrase has encrypted.
func PassphraseKey(passphrase string) (Key, error) {
	id, err := age.NewScryptIdentity(passphrase)
	if err != nil {
		return Key{}, errors.New("the passphrase is empty")
	}
	return Key{[]age.Identity{id}}, nil
}

// RecipientLock encrypts to public keys (age1...), each of whose private keys opens it.
func RecipientLock(public []string) (Lock, error) {
	list, err := age.ParseRecipients(strings.NewReader(strings.Join(public, "\n")))
	if err != nil {
		return Lock{}, errors.New("a recipient is a public key that begins with age1, as ledgerwheel backup key prints it")
	}
	l := Lock{recipients: list}
	// A post-quantum recipient stands beside others of its kind only.
	if _, hybrid := list[0].(*age.HybridRecipient); hybrid {
		id, err := age.GenerateHybridIdentity()
		if err != nil {
			return Lock{}, err
		}
		l.witness, l.recipients = id, append(l.recipients, id.Recipient())
		return l, nil
	}
	id, err := age.GenerateX25519Identity()
	if err != nil {
		return Lock{}, err
	}
	l.witness, l.recipients = id, append(l.recipients, id.Recipient())
	return l, nil
}

// IdentityKey reads private keys (AGE-SECRET-KEY-1...) from a file's text.
func IdentityKey(text io.Reader) (Key, error) {
	list, err := age.ParseIdentities(text)
	if err != nil {
		return Key{}, errors.New("the file holds no private key (AGE-SECRET-KEY-1...)")
	}
	return Key{list}, nil
}

// NewIdentity makes a pair of keys: the text of the file that opens backups, and the public key that encrypts them.
func NewIdentity() (file []byte, public string, err error) {
	id, err := age.GenerateX25519Identity()
	if err != nil {
		return nil, "", err
	}
	return []byte("# opens backups of Ledgerwheel that were encrypted to\n# " + id.Recipient().String() + "\n" + id.String() + "\n"),
		id.Recipient().String(), nil
}

// Locked is how a backup is encrypted.
type Locked int

// The ways.
const (
	Open           Locked = iota // not at all
	ByPassphrase                 // with a passphrase
	ToPublicKeys                 // to public keys
	ageIntro       = "age-encryption.org/v1\n"
	zstdMagic      = "\x28\xb5\x2f\xfd"
	longestPreface = 4096
)

// lockedBy tells by the first bytes of a file. The error wraps [ErrNotBackup].
func lockedBy(name string, first []byte) (Locked, error) {
	switch {
	case bytes.HasPrefix(first, []byte(zstdMagic)):
		return Open, nil
	case bytes.HasPrefix(first, []byte(ageIntro+"-> scrypt ")):
		return ByPassphrase, nil
	case bytes.HasPrefix(first, []byte(ageIntro)):
		return ToPublicKeys, nil
	}
	return 0, say(ErrNotBackup, nil, "%s is no backup of this program", name)
}
