package staff

import (
	"crypto/sha256"
	"crypto/subtle"
	"encoding/base32"
	"errors"
	"fmt"
	"net/url"
	"strings"
	"time"
	"unicode"

	"github.com/pquerna/otp"
	"github.com/pquerna/otp/hotp"
)

// Codes of an app follow RFC 6238 with the parameters that every app takes: HMAC-SHA-1, six digits, steps of thirty
// seconds since 1970, and a secret as long as the hash (RFC 4226, section 4, R6).
const (
	stepSeconds = 30
	codeDigits  = otp.DigitsSix
	// AppSecretBytes is the length of an app's secret.
	AppSecretBytes = 20
	// stepsAside is by how many steps the app's clock may be off either way: RFC 6238, section 5.2, advises one.
	stepsAside = 1
)

// CodesWrongMost is how many wrong codes are answered in an hour; after that no code of an app is taken for that hour.
// At ten an hour, three steps being right at a time, guessing takes 33,000 hours on average. RFC 4226, section 7.3, asks
// for a bound and leaves it open.
const CodesWrongMost = 10

// Whom the shop asks for a second factor.
const (
	SecondOfNobody = "nobody"
	SecondOfOwners = "owners"
	SecondOfAll    = "all"
)

// SecondProblem says why that is no choice of whom to ask for a second factor, or nothing.
func SecondProblem(whom string) string {
	if whom != SecondOfNobody && whom != SecondOfOwners && whom != SecondOfAll {
		return "Choose one of those offered."
	}
	return ""
}

// SecondAsked reports whether the shop asks somebody of that role for a second factor.
func SecondAsked(whom string, role Role) bool {
	return whom == SecondOfAll || whom == SecondOfOwners && role == Owner
}

// ErrLastFactor reports the removal of the last second factor of somebody who must have one.
var ErrLastFactor = errors.New("the shop asks for a second factor: add another before you remove this one")

// StepOf is the step of a moment: whole thirty seconds since 1970.
func StepOf(t time.Time) int64 { return t.Unix() / stepSeconds }

// LooksLikeCode reports whether what was typed can be a code of an app, not a recovery code.
func LooksLikeCode(typed string) bool {
	typed = withoutSpace(typed)
	return len(typed) == codeDigits.Length() && strings.Trim(typed, "0123456789") == ""
}

// MatchCode finds the step for which a code of an app was made, at that time and after the step last of which a code
// was taken before: no code is taken twice (RFC 6238, section 5.2). Spaces in it count for nothing.
func MatchCode(secret []byte, typed string, at time.Time, last int64) (step int64, ok bool) {
	typed = withoutSpace(typed)
	now := StepOf(at)
	for s := now - stepsAside; s <= now+stepsAside; s++ {
		want, err := codeOf(secret, s)
		if err == nil && s > last && subtle.ConstantTimeCompare([]byte(typed), []byte(want)) == 1 {
			step, ok = s, true
		}
	}
	return step, ok
}

func codeOf(secret []byte, step int64) (string, error) {
	return hotp.GenerateCodeCustom(secretText(secret), uint64(step), hotp.ValidateOpts{Digits: codeDigits, Algorithm: otp.AlgorithmSHA1})
}

func secretText(secret []byte) string {
	return base32.StdEncoding.WithPadding(base32.NoPadding).EncodeToString(secret)
}

// AppSecretText is an app's secret for typing: base32 (RFC 4648) in groups of four.
func AppSecretText(secret []byte) string { return grouped(secretText(secret)) }

// AppURI is what an app reads from a QR code. Its form is common practice among apps: no standard has it.
func AppURI(secret []byte, shopName, email string) string {
	shopName = strings.ReplaceAll(shopName, ":", " ") // parts the two names
	q := fmt.Sprintf("secret=%s&issuer=%s&algorithm=SHA1&digits=%d&period=%d", secretText(secret),
		escaped(shopName), codeDigits.Length(), stepSeconds)
	return "otpauth://totp/" + escaped(shopName) + ":" + escaped(email) + "?" + q
}

const (
	// RecoveryCodes is how many are made at a time, and RecoveryBytes of how much chance each: a code that is kept under one
	// fast hash without salt needs 112 bits at least (NIST SP 800-63B, section 5.1.2.2, and OWASP ASVS 5.0.0, 6.5.2);
	// seventeen bytes fill seven groups of four letters.
	RecoveryCodes = 10
	RecoveryBytes = 17
)

// Recovery codes are written in an alphabet without letters that are taken for digits: that of base32 as Douglas
// Crockford describes it, in small letters.
var recoveryLetters = base32.NewEncoding("0123456789abcdefghjkmnpqrstvwxyz").WithPadding(base32.NoPadding)

// RecoveryCode writes bytes of chance as a code for people, in groups such as 3m8k-70qx-w2ce-v5tn.
func RecoveryCode(chance []byte) string {
	return strings.ReplaceAll(grouped(recoveryLetters.EncodeToString(chance)), " ", "-")
}

// RecoveryHash is the form in which a recovery code is kept. One fast hash is enough for so much chance. Spaces,
// hyphens and capitals make no difference, and o, i and l are read as the digits they are taken for.
func RecoveryHash(staffID int64, typed string) [32]byte {
	typed = strings.NewReplacer("-", "", "o", "0", "i", "1", "l", "1").Replace(strings.ToLower(withoutSpace(typed)))
	return sha256.Sum256(fmt.Appendf(nil, "recovery code of %d: %s", staffID, typed))
}

// escaped writes a blank as %20 everywhere: not every app reads + as one.
func escaped(s string) string { return strings.ReplaceAll(url.QueryEscape(s), "+", "%20") }

func withoutSpace(s string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsSpace(r) {
			return -1
		}
		return r
	}, s)
}

// grouped sets a blank after each four letters.
func grouped(s string) string {
	var b strings.Builder
	for i, r := range s {
		if i > 0 && i%4 == 0 {
			b.WriteByte(' ')
		}
		b.WriteRune(r)
	}
	return b.String()
}

const maxPasskeyName = 60 // characters

// PasskeyNameProblem says why a passkey can't be called that, or nothing.
func PasskeyNameProblem(name string) string {
	switch n := len([]rune(name)); {
	case n == 0:
		return "Give it a name by which you know it, such as the device it is on."
	case n > maxPasskeyName:
		return fmt.Sprintf("Use at most %d characters.", maxPasskeyName)
	}
	return ""
}
