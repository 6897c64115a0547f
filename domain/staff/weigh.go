package staff

import (
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/trustelem/zxcvbn"
	"github.com/trustelem/zxcvbn/match"
)

const (
	// leastGuesses is how many guesses a password must withstand: what Wheeler, "zxcvbn: Low-Budget Password Strength
	// Estimation" (USENIX Security 2016), and its programs call a score of 4: enough against somebody who
	// has the hashes, where those are slow on purpose, as ours are.
	leastGuesses = 1e10
	// weighedRunes bounds how much of a password is weighed: the work grows with a power of the length, and a thousand
	// characters take many seconds. Whoever's first 72 are guessed soon has not gained much by the rest.
	weighedRunes = 72
)

// guessedSoon says why a password withstands too few guesses, or nothing. Its own list of words, names and passwords that
// leaked is the one that zxcvbn brings along; own are words that stand near the person.
func guessedSoon(password string, own []string) string {
	if runes := []rune(password); len(runes) > weighedRunes {
		password = string(runes[:weighedRunes])
	}
	r := zxcvbn.PasswordStrength(password, own)
	if r.Guesses >= leastGuesses {
		return ""
	}
	var parts []string
	for _, m := range r.Sequence {
		if part := partWords(m); part != "" && !slices.Contains(parts, part) {
			parts = append(parts, part)
		}
	}
	said := "That password is guessed too soon"
	if len(parts) > 0 {
		said += ": it is made of " + listed(parts)
	}
	return said + "." // what does better is the field's hint
}

// partWords name what kind of thing a part of a password was recognised as, without showing it.
func partWords(m *match.Match) string {
	switch m.Pattern {
	case "dictionary":
		switch m.DictionaryName {
		case "user_inputs":
			return "your own or the shop's name"
		case "passwords":
			return "what many people use as a password"
		case "male_names", "female_names", "surnames":
			return "a name"
		}
		return "a common word"
	case "spatial":
		return "keys that lie side by side"
	case "repeat":
		return "a repetition"
	case "sequence":
		return "a run such as abc or 123"
	case "regex", "date":
		return "a date or year"
	}
	return ""
}

func listed(parts []string) string {
	last := len(parts) - 1
	if last == 0 {
		return parts[0]
	}
	return strings.Join(parts[:last], ", ") + " and " + parts[last]
}

// ownWords are the words by which others know m and the shop, in small letters, the longest first.
func ownWords(m Member, shopName string) []string {
	email := NormalEmail(m.Email)
	local, host, _ := strings.Cut(email, "@")
	words := []string{email, local, host}
	words = append(words, strings.FieldsFunc(email, func(r rune) bool { return !unicode.IsLetter(r) })...)
	for _, name := range []string{m.Name, shopName} {
		name = strings.ToLower(NormalPassword(name))
		words = append(words, name, strings.ReplaceAll(name, " ", ""))
		words = append(words, strings.Fields(name)...)
	}
	words = slices.DeleteFunc(words, func(w string) bool { return utf8.RuneCountInString(w) < 3 })
	slices.SortFunc(words, func(a, b string) int { return len(b) - len(a) })
	return slices.Compact(words)
}
