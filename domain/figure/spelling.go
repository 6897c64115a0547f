package figure

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// MaxRunes is the longest text that is read as one number.
const MaxRunes = 32

// Spelling is typed text taken apart: one number, and the words that stand before and after it.
type Spelling struct {
	Before, After string // what is no part of the number, such as a currency's sign or a unit; without blanks around
	Negative      bool
	Whole         string // ASCII digits before the decimal mark, without grouping marks; may be empty
	Fraction      string // ASCII digits behind it, as many as were typed
	// Twofold is the point or comma of a number such as 1.234: by its form alone it may be the decimal mark, which is
	// how Whole and Fraction have it, or part thousands. It is 0 where the form leaves no doubt.
	Twofold byte
}

// Minus signs are what keyboards, phones, spreadsheets and word processors give for one: hyphen-minus, minus, hyphen,
// no-break hyphen, figure, en and em dash, small and full-width hyphen-minus.
const (
	minusSigns = "-\u2212\u2010\u2011\u2012\u2013\u2014\ufe63\uff0d"
	plusSigns  = "+\ufe62\uff0b"
	signs      = minusSigns + plusSigns
)

// unseen are marks without width that spreadsheets and printed amounts carry: byte order mark, word joiner, and the
// marks of writing direction.
const unseen = "\ufeff\u2060\u200e\u200f\u061c"

// numeral returns r as it stands in a number: an ASCII digit, '.', ',', ' ' for a blank within a line or '\” for an
// apostrophe and the Arabic thousands separator; 0 for anything else.
func numeral(r rune) byte {
	switch {
	case r >= '0' && r <= '9':
		return byte(r)
	case unicode.IsDigit(r):
		return '0' + digitValue(r)
	case r == '.' || r == '\uff0e' || r == '\u066b': // full width; Arabic decimal separator
		return '.'
	case r == ',' || r == '\uff0c':
		return ','
	case unicode.Is(unicode.Zs, r):
		return ' '
	case strings.ContainsRune("'\u2019\u02bc\uff07\u066c", r):
		return '\''
	}
	return 0
}

// digitValue returns the value of a decimal digit of any script. Unicode puts each script's ten digits in a run from
// nought to nine, so nought is as many steps back as there are digits in an unbroken run, modulo ten.
func digitValue(r rune) byte {
	n := rune(0)
	for unicode.IsDigit(r - n - 1) {
		n++
	}
	return byte(n % 10)
}

func isDigit(b byte) bool { return b >= '0' && b <= '9' }

// Spell takes typed text apart. A minus may stand before the number or before the word before it; blanks may stand
// between sign, word and number. It fails with an *Error.
func Spell(typed string) (Spelling, error) {
	var s Spelling
	fail := func(f Fault) (Spelling, error) { return Spelling{}, &Error{Typed: strings.TrimSpace(typed), Fault: f} }
	if !utf8.ValidString(typed) {
		return fail(NotText)
	}
	text := []rune(strings.TrimSpace(strings.Map(func(r rune) rune {
		if strings.ContainsRune(unseen, r) {
			return -1
		}
		return r
	}, typed)))
	switch {
	case len(text) == 0:
		return fail(Empty)
	case len(text) > MaxRunes:
		return fail(TooLong)
	}
	begin := numberBegins(text)
	word, negative, signed, ok := cutSign(text[:begin])
	s.Before, s.Negative = word, negative
	end := begin
	for end < len(text) && inNumber(text, end) {
		end++
	}
	s.After = strings.TrimSpace(string(text[end:]))
	switch {
	case !ok:
		return fail(NotNumber)
	case begin == len(text) && signed && word == "":
		return fail(SignOnly)
	case begin == len(text):
		return fail(NotNumber)
	}
	number := make([]byte, 0, end-begin)
	for _, r := range text[begin:end] {
		number = append(number, numeral(r))
	}
	if !s.split(string(number)) {
		return fail(Marks)
	}
	return s, nil
}

// numberBegins finds the first digit, or the decimal mark right before it.
func numberBegins(text []rune) int {
	for i, r := range text {
		b := numeral(r)
		if isDigit(b) || (b == '.' || b == ',') && i+1 < len(text) && isDigit(numeral(text[i+1])) {
			return i
		}
	}
	return len(text)
}

// inNumber reports whether the number that has begun goes on at i: blanks and apostrophes are part of it only between
// digits.
func inNumber(text []rune, i int) bool {
	switch b := numeral(text[i]); b {
	case 0:
		return false
	case ' ', '\'':
		return isDigit(numeral(text[i-1])) && i+1 < len(text) && isDigit(numeral(text[i+1]))
	}
	return true
}

// cutSign takes the one sign out of what stands before a number; ok is false where there are more.
func cutSign(before []rune) (word string, negative, signed, ok bool) {
	at := -1
	for i, r := range before {
		if strings.ContainsRune(signs, r) {
			if at >= 0 {
				return "", false, true, false
			}
			at = i
		}
	}
	if at < 0 {
		return strings.TrimSpace(string(before)), false, false, true
	}
	front, back := strings.TrimSpace(string(before[:at])), strings.TrimSpace(string(before[at+1:]))
	return front + back, strings.ContainsRune(minusSigns, before[at]), true, front == "" || back == ""
}

// split parts the number, in ASCII, at its decimal mark and drops the marks that group it rightly.
func (s *Spelling) split(number string) bool {
	last := strings.LastIndexAny(number, ".,")
	if last < 0 {
		return s.ungroup(number)
	}
	mark, others := number[last:last+1], strings.Trim(number[:last], "0123456789")
	if strings.Contains(others, mark) { // repeated, it parts thousands
		return s.ungroup(number)
	}
	s.Fraction = number[last+1:]
	if !allDigits(s.Fraction) || !s.ungroup(number[:last]) || s.Whole+s.Fraction == "" {
		return false
	}
	if others == "" && len(s.Fraction) == 3 && last >= 1 && last <= 3 && number[0] != '0' {
		s.Twofold = mark[0]
	}
	return true
}

// ungroup takes a whole number without its grouping marks, all of one kind: groups of three behind a first of one to
// three, or in the Indian manner of two before the last, parted by commas.
func (s *Spelling) ungroup(number string) bool {
	at := strings.IndexAny(number, "., '")
	if at < 0 {
		s.Whole = number
		return true
	}
	mark := number[at : at+1]
	groups := strings.Split(number, mark)
	first, between := 3, 3
	if len(groups) > 2 && mark == "," && len(groups[1]) == 2 {
		first, between = 2, 2
	}
	for i, g := range groups {
		good := len(g) == between
		switch i {
		case 0:
			good = len(g) >= 1 && len(g) <= first && g[0] != '0'
		case len(groups) - 1:
			good = len(g) == 3
		}
		if !good || !allDigits(g) {
			return false
		}
	}
	s.Whole = strings.Join(groups, "")
	return true
}

func allDigits(s string) bool { return strings.Trim(s, "0123456789") == "" }

// Text writes the number that s spells as '-', digits, '.' and digits; without the sign where it is nought.
func (s Spelling) Text() string {
	text := strings.TrimLeft(s.Whole, "0")
	if text == "" {
		text = "0"
	}
	if s.Fraction != "" {
		text += "." + s.Fraction
	}
	if s.Negative && strings.Trim(text, "0.") != "" {
		text = "-" + text
	}
	return text
}

// Grouped is the other reading of a Twofold number: its mark parts thousands.
func (s Spelling) Grouped() Spelling {
	s.Whole, s.Fraction, s.Twofold = s.Whole+s.Fraction, "", 0
	return s
}
