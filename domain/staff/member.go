package staff

import (
	"errors"
	"net/mail"
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"

	"ledgerwheel/domain/text"
)

// Member is one of the shop's people.
type Member struct {
	ID       int64
	Name     string // as it appears in the journal
	Email    string // normalised by [NormalEmail]; what the member signs in with
	Role     Role
	Disabled bool // may not sign in; what they did stays theirs
}

// Can reports whether m may do p. A disabled member may do nothing.
func (m Member) Can(p Permission) bool { return !m.Disabled && Can(m.Role, p) }

const (
	maxName  = 100 // characters
	maxEmail = 254 // bytes; the longest address a mail system takes, RFC 5321 as corrected by erratum 1690
)

// NormalEmail is an address as the shop keeps and compares it: without surrounding space, composed (NFC),
// in lower case. RFC 5321 lets the part before the @ differ by case alone; in practice no provider does.
func NormalEmail(s string) string {
	return strings.ToLower(norm.NFC.String(strings.TrimSpace(s)))
}

// NormalName is a name on one line, without surrounding or doubled space, composed (NFC).
func NormalName(s string) string { return text.Line(s) }

// Problems says, by form field, what stops m being saved.
func (m Member) Problems() map[string]string {
	bad := map[string]string{}
	switch {
	case strings.TrimSpace(m.Name) == "":
		bad["name"] = "Give the name that the journal will show."
	case utf8.RuneCountInString(m.Name) > maxName:
		bad["name"] = "Keep the name to 100 characters."
	case !utf8.ValidString(m.Name) || strings.ContainsFunc(m.Name, unicode.IsControl):
		bad["name"] = "The name holds a character that can't be shown."
	}
	if p := emailProblem(m.Email); p != "" {
		bad["email"] = p
	}
	if !m.Role.Known() {
		bad["role"] = "Choose a role."
	}
	return bad
}

func emailProblem(email string) string {
	const shape = "Give an e-mail address, such as name@example.org."
	if strings.TrimSpace(email) == "" {
		return shape
	}
	if len(email) > maxEmail {
		return "That address is too long for any mail system."
	}
	parsed, err := mail.ParseAddress(email)
	if err != nil || parsed.Address != email {
		return shape
	}
	_, domain, _ := strings.Cut(email, "@")
	if !strings.Contains(strings.Trim(domain, "."), ".") || strings.HasSuffix(domain, ".") {
		return shape
	}
	return ""
}

// ErrLastOwner reports that a change would leave the shop without an owner who can sign in.
var ErrLastOwner = errors.New("the shop needs at least one owner who can sign in")

// CheckChange reports whether the member before may become after, where otherOwners counts the enabled
// owners besides that member. It returns [ErrLastOwner] if the last one would be disabled or demoted.
func CheckChange(before, after Member, otherOwners int) error {
	isOwner := func(m Member) bool { return m.Role == Owner && !m.Disabled }
	if isOwner(before) && !isOwner(after) && otherOwners <= 0 {
		return ErrLastOwner
	}
	return nil
}
