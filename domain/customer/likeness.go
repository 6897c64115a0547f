package customer

import (
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/cases"
	"golang.org/x/text/unicode/norm"
)

// MatchKeys are the values by which two records of one person are found. Each
// is empty when the record says nothing of the kind; empty keys match nothing.
type MatchKeys struct {
	PhoneE164 string // ITU-T E.164
	Email     string // case folded
	Name      string // by FoldName
}

// MatchKeys returns the keys of c, which must be Tidied.
func (c Customer) MatchKeys() MatchKeys {
	return MatchKeys{PhoneE164: c.PhoneE164, Email: FoldEmail(c.Email), Name: FoldName(c.Name)}
}

// Reason is one ground for thinking that two records are of one person.
type Reason string

// The grounds, strongest first.
const (
	SamePhone Reason = "same telephone number"
	SameEmail Reason = "same e-mail address"
	SameName  Reason = "same name"
	NearName  Reason = "nearly the same name"
)

// Reasons are the grounds found, strongest first; none means unlike.
type Reasons []Reason

// Words joins the reasons for a sentence.
func (r Reasons) Words() string {
	words := make([]string, len(r))
	for i, reason := range r {
		words[i] = string(reason)
	}
	return strings.Join(words, ", ")
}

// Likeness says on what grounds a and b, both Tidied, may be one person.
func Likeness(a, b Customer) Reasons {
	ka, kb := a.MatchKeys(), b.MatchKeys()
	var found Reasons
	if ka.PhoneE164 != "" && ka.PhoneE164 == kb.PhoneE164 {
		found = append(found, SamePhone)
	}
	if ka.Email != "" && ka.Email == kb.Email {
		found = append(found, SameEmail)
	}
	switch {
	case ka.Name == "" || kb.Name == "":
	case ka.Name == kb.Name:
		found = append(found, SameName)
	case nearName(ka.Name, kb.Name):
		found = append(found, NearName)
	}
	return found
}

// FoldEmail returns an e-mail address as a match key. RFC 5321 lets the part
// before the @ depend on case; no mailbox in use is known to, so a clerk is
// offered the match.
func FoldEmail(email string) string {
	return foldCase(norm.NFKC.String(strings.TrimSpace(email)))
}

// foldCase folds case. Unicode folds Cherokee to capitals and the library
// turns those back again, so lower case settles it.
func foldCase(s string) string {
	return strings.ToLower(cases.Fold().String(s))
}

// undivided are Latin letters that Unicode does not decompose into a letter
// and a mark, with what people without the letter type instead.
var undivided = strings.NewReplacer(
	"ł", "l", "ø", "o", "đ", "d", "ħ", "h", "ŧ", "t", "ı", "i",
	"æ", "ae", "œ", "oe", "ð", "d", "þ", "th",
)

// FoldName returns a name as a match key: Unicode compatibility form, case
// folded, diacritics and apostrophes removed, other punctuation and runs of
// space made one space. Marks that are letters in their script, such as the
// vowel signs of Indic scripts and the Japanese voicing marks, are kept.
func FoldName(name string) string {
	s := norm.NFKD.String(foldCase(norm.NFKC.String(name)))
	s = strings.Map(func(r rune) rune {
		switch {
		case isDiacritic(r):
			return -1
		case strings.ContainsRune("'’‘ʼʻ`´", r), unicode.Is(unicode.Cf, r):
			return -1
		case unicode.IsPunct(r):
			return ' '
		}
		return r
	}, s)
	s = undivided.Replace(norm.NFKC.String(s))
	return strings.Join(strings.Fields(s), " ")
}

// isDiacritic reports whether r is a mark that may be left off in writing.
func isDiacritic(r rune) bool {
	if !unicode.Is(unicode.Mn, r) || r == 0x3099 || r == 0x309A {
		return false
	}
	return unicode.In(r, unicode.Inherited, unicode.Hebrew, unicode.Arabic)
}

// nearName reports whether two folded names are the same words in another
// order, or differ by a slip of the pen: one edit in names of five letters or
// more, two in names of twelve or more.
func nearName(a, b string) bool {
	wa, wb := strings.Fields(a), strings.Fields(b)
	slices.Sort(wa)
	slices.Sort(wb)
	if slices.Equal(wa, wb) {
		return true
	}
	shorter := min(utf8.RuneCountInString(a), utf8.RuneCountInString(b))
	switch {
	case shorter >= 12:
		return edits(a, b) <= 2
	case shorter >= 5:
		return edits(a, b) <= 1
	}
	return false
}

// edits returns the optimal string alignment distance of a and b: the fewest
// letters put in, left out, changed or swapped with their neighbour.
func edits(a, b string) int {
	ra, rb := []rune(a), []rune(b)
	if d := len(ra) - len(rb); d > 2 || d < -2 {
		return max(d, -d) // no fewer, and callers ask only about two or less
	}
	before, last, now := make([]int, len(rb)+1), make([]int, len(rb)+1), make([]int, len(rb)+1)
	for j := range last {
		last[j] = j
	}
	for i := 1; i <= len(ra); i++ {
		now[0] = i
		for j := 1; j <= len(rb); j++ {
			change := last[j-1]
			if ra[i-1] != rb[j-1] {
				change++
			}
			now[j] = min(change, last[j]+1, now[j-1]+1)
			if i > 1 && j > 1 && ra[i-1] == rb[j-2] && ra[i-2] == rb[j-1] {
				now[j] = min(now[j], before[j-2]+1)
			}
		}
		before, last, now = last, now, before
	}
	return last[len(rb)]
}
