package warranty

import (
	"crypto/ed25519"
	"encoding/base64"
	"errors"
	"maps"
	"strings"
	"time"
)

// Statement is what the shop says of a card at a moment, signed: what the card itself can't know.
type Statement struct {
	Card       Code
	Shop       string
	Standing   Standing  // genuine, expired, superseded or void
	Since      time.Time // when it was declared void or replaced; zero for others
	ReplacedBy Code      // in the shop's own journal only: who has an old card is not told the new one's number
	AsOf       time.Time // when this was said, UTC, to the second
	KeyID      KeyID
}

// statementHead begins every statement, so that its signature can't be taken for one of another purpose.
const statementHead = "ledgerwheel warranty card standing 1"

// statementWords are the standings as a statement writes them.
var statementWords = map[Standing]string{Genuine: "stands", Expired: "stands, but the warranty has ended",
	Superseded: "replaced by another card", Void: "declared void"}

// StatementWords are the standings that are stated, as statements write them.
func StatementWords() map[Standing]string { return maps.Clone(statementWords) }

// ErrStatement reports text that is no statement of a card's standing.
var ErrStatement = errors.New("this is no signed statement of a warranty card's standing")

// State signs a statement. It is text of one fact a line:
//
//	ledgerwheel warranty card standing 1
//	card: ABCD-EFGH-IJKL-MNOP
//	shop: NAME
//	standing: stands | stands, but the warranty has ended | replaced by another card | declared void
//	since: 2006-01-02T15:04:05Z (of the last two)
//	replaced by: NUMBER (in the shop's journal only)
//	as of: 2006-01-02T15:04:05Z
//	key: 0123456789abcdef
//	signature: BASE64
//
// with a line feed after each; the signature is Ed25519 (RFC 8032) over all lines before its own. It returns
// [ErrKeyRetired], or [ErrStatement] for a standing that is not stated.
func (k SigningKey) State(s Statement) (string, error) {
	if !k.RetiredAt.IsZero() {
		return "", ErrKeyRetired
	}
	if statementWords[s.Standing] == "" {
		return "", ErrStatement
	}
	s.KeyID = k.ID
	body := s.body()
	return body + "signature: " + base64.StdEncoding.EncodeToString(ed25519.Sign(k.Private, []byte(body))) + "\n", nil
}

func (s Statement) body() string {
	lines := []string{statementHead, "card: " + s.Card.Grouped(), "shop: " + strings.Join(strings.Fields(s.Shop), " "),
		"standing: " + statementWords[s.Standing]}
	if !s.Since.IsZero() {
		lines = append(lines, "since: "+s.Since.UTC().Format(time.RFC3339))
	}
	if s.ReplacedBy != "" {
		lines = append(lines, "replaced by: "+s.ReplacedBy.Grouped())
	}
	lines = append(lines, "as of: "+s.AsOf.UTC().Format(time.RFC3339), "key: "+string(s.KeyID))
	return strings.Join(lines, "\n") + "\n"
}

// IsStatement reports whether text begins as a statement does.
func IsStatement(text string) bool { return strings.HasPrefix(strings.TrimSpace(text), statementHead) }

// VerifyStatement returns what a statement says once its signature holds. The error is [ErrStatement],
// [ErrUnknownKey], [ErrSignature] or [ErrKeyRetired]. Line ends may have become those of another system.
func (set KeySet) VerifyStatement(text string) (Statement, error) {
	text = strings.TrimSpace(strings.ReplaceAll(text, "\r\n", "\n")) + "\n"
	body, signed, ok := strings.Cut(text, "signature: ")
	s, read := readStatement(body)
	if !ok || !read {
		return Statement{}, ErrStatement
	}
	key, known := set[s.KeyID]
	if !known {
		return Statement{}, ErrUnknownKey
	}
	signature, err := base64.StdEncoding.DecodeString(strings.TrimSuffix(signed, "\n"))
	if err != nil || s.body() != body || !ed25519.Verify(key.Public, []byte(body), signature) {
		return Statement{}, ErrSignature
	}
	if !key.RetiredAt.IsZero() && s.AsOf.After(key.RetiredAt) {
		return Statement{}, ErrKeyRetired
	}
	return s, nil
}

// readStatement reads the lines before the signature.
func readStatement(body string) (s Statement, ok bool) {
	lines := strings.Split(strings.TrimSuffix(body, "\n"), "\n")
	if lines[0] != statementHead {
		return s, false
	}
	ok = true
	moment := func(value string) time.Time {
		t, err := time.Parse(time.RFC3339, value)
		ok = ok && err == nil
		return t
	}
	number := func(value string) Code {
		c, err := ParseCode(value)
		ok = ok && err == nil
		return c
	}
	for _, line := range lines[1:] {
		name, value, _ := strings.Cut(line, ": ")
		switch name {
		case "card":
			s.Card = number(value)
		case "shop":
			s.Shop = value
		case "standing":
			for standing, words := range statementWords {
				if words == value {
					s.Standing = standing
				}
			}
		case "since":
			s.Since = moment(value)
		case "replaced by":
			s.ReplacedBy = number(value)
		case "as of":
			s.AsOf = moment(value)
		case "key":
			s.KeyID = KeyID(value)
		default:
			return s, false
		}
	}
	return s, ok && s.Standing != "" && s.Card != ""
}

// StatementProblem says why a statement proves nothing, for who checks it.
func StatementProblem(err error) string {
	switch {
	case errors.Is(err, ErrStatement):
		return "This is no signed statement of a warranty card's standing, or not all of it."
	case errors.Is(err, ErrUnknownKey):
		return "Not proven: the statement names a signing key that is not among the shop's."
	case errors.Is(err, ErrKeyRetired):
		return "Not genuine: the statement claims to be signed after its key was taken out of use."
	}
	return "Not genuine: the signature does not match what the statement says."
}
