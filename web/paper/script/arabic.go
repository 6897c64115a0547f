package script

import "strings"

// arabicForms names, for a letter, its isolated presentation form; the final,
// initial and medial forms follow it in that order. Right-joining letters have
// only the first two. Source: Unicode code charts, Arabic Presentation Forms A
// (U+FB50) and B (U+FE70); a test checks each form against its compatibility
// decomposition in the Unicode character database.
type arabicForms struct {
	isolated rune
	both     bool // joins on both sides
}

var arabicLetters = map[rune]arabicForms{
	'\u0622': {'\uFE81', false}, // alef with madda
	'\u0623': {'\uFE83', false}, // alef with hamza above
	'\u0624': {'\uFE85', false}, // waw with hamza
	'\u0625': {'\uFE87', false}, // alef with hamza below
	'\u0626': {'\uFE89', true},  // yeh with hamza
	'\u0627': {'\uFE8D', false}, // alef
	'\u0628': {'\uFE8F', true},  // beh
	'\u0629': {'\uFE93', false}, // teh marbuta
	'\u062A': {'\uFE95', true},  // teh
	'\u062B': {'\uFE99', true},  // theh
	'\u062C': {'\uFE9D', true},  // jeem
	'\u062D': {'\uFEA1', true},  // hah
	'\u062E': {'\uFEA5', true},  // khah
	'\u062F': {'\uFEA9', false}, // dal
	'\u0630': {'\uFEAB', false}, // thal
	'\u0631': {'\uFEAD', false}, // reh
	'\u0632': {'\uFEAF', false}, // zain
	'\u0633': {'\uFEB1', true},  // seen
	'\u0634': {'\uFEB5', true},  // sheen
	'\u0635': {'\uFEB9', true},  // sad
	'\u0636': {'\uFEBD', true},  // dad
	'\u0637': {'\uFEC1', true},  // tah
	'\u0638': {'\uFEC5', true},  // zah
	'\u0639': {'\uFEC9', true},  // ain
	'\u063A': {'\uFECD', true},  // ghain
	'\u0641': {'\uFED1', true},  // feh
	'\u0642': {'\uFED5', true},  // qaf
	'\u0643': {'\uFED9', true},  // kaf
	'\u0644': {'\uFEDD', true},  // lam
	'\u0645': {'\uFEE1', true},  // meem
	'\u0646': {'\uFEE5', true},  // noon
	'\u0647': {'\uFEE9', true},  // heh
	'\u0648': {'\uFEED', false}, // waw
	'\u0649': {'\uFEEF', false}, // alef maksura
	'\u064A': {'\uFEF1', true},  // yeh
	'\u0679': {'\uFB66', true},  // tteh
	'\u067E': {'\uFB56', true},  // peh
	'\u0686': {'\uFB7A', true},  // tcheh
	'\u0688': {'\uFB88', false}, // ddal
	'\u0691': {'\uFB8C', false}, // rreh
	'\u0698': {'\uFB8A', false}, // jeh
	'\u06A4': {'\uFB6A', true},  // veh
	'\u06A9': {'\uFB8E', true},  // keheh
	'\u06AF': {'\uFB92', true},  // gaf
	'\u06BA': {'\uFB9E', false}, // noon ghunna
	'\u06BE': {'\uFBAA', true},  // heh doachashmee
	'\u06CC': {'\uFBFC', true},  // Farsi yeh
}

// lamAlef gives the isolated ligature of lam with each alef; the final form follows it.
var lamAlef = map[rune]rune{'\u0622': '\uFEF5', '\u0623': '\uFEF7', '\u0625': '\uFEF9', '\u0627': '\uFEFB'}

const (
	lam     = '\u0644'
	tatweel = '\u0640' // lengthening stroke: joins on both sides, has one form
	joiner  = '\u200D'
)

// joinsAfter reports whether r can join to the letter that follows it.
func joinsAfter(r rune) bool { return r == tatweel || r == joiner || arabicLetters[r].both }

// joinsBefore reports whether r can join to the letter before it.
func joinsBefore(r rune) bool {
	_, ok := arabicLetters[r]
	return ok || r == tatweel || r == joiner
}

// transparent reports vowel signs and other marks, across which letters join.
func transparent(r rune) bool {
	return r >= '\u064B' && r <= '\u065F' || r == '\u0670' || r >= '\u06D6' && r <= '\u06DC' || r >= '\u0610' &&
		r <= '\u061A'
}

// joinArabic replaces Arabic letters, in logical order, by the presentation form
// that their neighbours call for. The PDF writer sets characters one by one, so
// the joined form must be in the text itself.
func joinArabic(text string) string {
	if !strings.ContainsFunc(text, func(r rune) bool { _, ok := arabicLetters[r]; return ok }) {
		return text
	}
	runes := []rune(text)
	out := make([]rune, 0, len(runes))
	for i := 0; i < len(runes); i++ {
		r := runes[i]
		forms, ok := arabicLetters[r]
		if !ok {
			out = append(out, r)
			continue
		}
		prev := neighbour(runes, i, -1)
		joinedBefore := prev >= 0 && joinsAfter(runes[prev])
		next := neighbour(runes, i, +1)
		if r == lam && next >= 0 && lamAlef[runes[next]] != 0 {
			form := lamAlef[runes[next]]
			if joinedBefore {
				form++
			}
			out = append(append(out, form), runes[i+1:next]...) // keep marks of the lam
			i = next
			continue
		}
		joinedAfter := forms.both && next >= 0 && joinsBefore(runes[next])
		out = append(out, forms.isolated+formOffset(joinedBefore, joinedAfter))
	}
	return string(out)
}

func formOffset(before, after bool) rune {
	switch {
	case before && after:
		return 3
	case after:
		return 2
	case before:
		return 1
	}
	return 0
}

// neighbour finds the nearest character in the given direction that is no mark,
// or -1.
func neighbour(runes []rune, i, step int) int {
	for k := i + step; k >= 0 && k < len(runes); k += step {
		if !transparent(runes[k]) {
			return k
		}
	}
	return -1
}
