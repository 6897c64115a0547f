package staff

import (
	"strings"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"
)

// The length of a password, in characters after [NormalPassword]. NIST SP 800-63B section 5.1.1.2 asks for
// at least 8 and for at least 64 to be allowed, without rules about kinds of character; 12 and 128 are this
// program's choice within that.
const (
	minPassword = 12
	maxPassword = 128
)

// NormalPassword is the form of a password that is hashed and compared: NFKC, as NIST SP 800-63B section
// 5.1.1.2 advises, so that one password typed on two keyboards is the same. Space is kept.
func NormalPassword(s string) string { return norm.NFKC.String(s) }

// PasswordProblem says why m, of the shop of this name, can't have this password, or nothing. Any characters are allowed; it
// is weighed by how many guesses it withstands ([leastGuesses]).
func PasswordProblem(password string, m Member, shopName string) string {
	if !utf8.ValidString(password) {
		return "That password holds bytes that are no text."
	}
	password = NormalPassword(password)
	n := utf8.RuneCountInString(password)
	switch {
	case n < minPassword:
		return "Use at least 12 characters; a few unrelated words do well."
	case n > maxPassword:
		return "Use at most 128 characters."
	}
	folded, own := strings.ToLower(password), ownWords(m, shopName)
	switch {
	case isCommon(folded):
		return "That password is among the first that anyone would try; choose another."
	case isPersonal(folded, own):
		return "Don't build the password from your name, your e-mail address or the shop's name."
	}
	return guessedSoon(password, own)
}

// commonPasswords are stems that lead published lists of leaked passwords (common practice, from memory).
// A password that is one of them, repeated or padded with digits and punctuation, is refused.
var commonPasswords = []string{
	"password", "passw0rd", "p@ssword", "p@ssw0rd", "qwerty", "qwertyuiop", "qwertz", "azerty", "asdfgh",
	"asdfghjkl", "zxcvbn", "zxcvbnm", "1q2w3e4r", "1q2w3e4r5t", "1qaz2wsx", "qazwsx", "qazwsxedc",
	"abc", "abcdef", "abcdefgh", "abcdefghijkl", "abcd1234", "abc123", "a1b2c3d4", "iloveyou", "letmein", "welcome",
	"admin", "administrator", "monkey", "dragon", "sunshine", "princess", "football", "baseball",
	"master", "superman", "batman", "trustno1", "changeme", "secret", "default", "login", "whatever",
	"correcthorsebatterystaple", "112233445566", "102030405060", "147258369147", "123321123321",
	"starwars", "shadow", "michael", "charlie", "watchmaker", "ledgerwheel",
}

// isCommon reports whether folded, a password in lower case, is one of the commonest, a repetition of one
// to eight characters, or counts up or down.
func isCommon(folded string) bool {
	runes := []rune(folded)
	for period := 1; period <= 8; period++ {
		if repeats(runes, period) {
			return true
		}
	}
	if runsOn(runes) {
		return true
	}
	const padding = "0123456789 !?.,;:*#$@_-+&%"
	core := strings.Trim(folded, padding)
	for _, stem := range commonPasswords {
		if stem == folded || core != "" && strings.Trim(stem, padding) == core {
			return true
		}
	}
	return false
}

func repeats(s []rune, period int) bool {
	for i := period; i < len(s); i++ {
		if s[i] != s[i-period] {
			return false
		}
	}
	return true
}

// runsOn reports whether s counts up or down by one throughout, 9 to 0 and 0 to 9 included.
func runsOn(s []rune) bool {
	for _, step := range []rune{1, -1} {
		i := 1
		for ; i < len(s); i++ {
			wraps := s[i-1] == '9' && s[i] == '0' && step == 1 || s[i-1] == '0' && s[i] == '9' && step == -1
			if s[i]-s[i-1] != step && !wraps {
				break
			}
		}
		if i == len(s) {
			return true
		}
	}
	return false
}

// isPersonal reports whether little is left of folded without the words by which others know the member.
func isPersonal(folded string, own []string) bool {
	const minLeft = 8 // characters that must be the member's own invention
	rest := folded
	for _, w := range own {
		rest = strings.ReplaceAll(rest, w, "")
	}
	return rest != folded && utf8.RuneCountInString(rest) < minLeft
}
