package warranty

import (
	"encoding/base32"
	"errors"
	"fmt"
	"io"
	"strings"
)

// Code names a card: sixteen characters of RFC 4648 base32, carrying 80 random bits, so that nobody can
// guess a card's address. It is short enough for a small QR code, and its capitals and digits suit the
// QR code's denser alphanumeric mode.
type Code string

const (
	codeBytes = 10
	codeChars = 16
)

// codeText is how a code's bytes are written.
var codeText = base32.StdEncoding

// ErrCodeShape reports text that does not have the shape of a card's code.
var ErrCodeShape = errors.New("not a card's code: it has sixteen letters and digits, in four groups of four")

// NewCode makes a code from the randomness of r, which must be a cryptographic source.
func NewCode(r io.Reader) (Code, error) {
	var raw [codeBytes]byte
	if _, err := io.ReadFull(r, raw[:]); err != nil {
		return "", fmt.Errorf("new card code: %w", err)
	}
	return Code(codeText.EncodeToString(raw[:])), nil
}

// ParseCode reads a code as people type it: spaces and dashes are ignored, letters may be lower case, and
// 0, 1 and 8, which base32 does not use, count as O, I and B. Otherwise it returns [ErrCodeShape].
func ParseCode(s string) (Code, error) {
	text := strings.Map(func(r rune) rune {
		switch r {
		case ' ', '-', '\t', '\r', '\n', '\u00a0', '\u2010', '\u2011', '\u2013':
			return -1
		case '0':
			return 'O'
		case '1':
			return 'I'
		case '8':
			return 'B'
		}
		return r
	}, s)
	text = strings.ToUpper(text)
	if raw, err := codeText.DecodeString(text); err != nil || len(raw) != codeBytes || len(text) != codeChars {
		return "", ErrCodeShape
	}
	return Code(text), nil
}

// Grouped is the code in four groups of four, for reading aloud and typing.
func (c Code) Grouped() string {
	if len(c) != codeChars {
		return string(c)
	}
	return string(c[0:4] + "-" + c[4:8] + "-" + c[8:12] + "-" + c[12:16])
}
