package script

import (
	"slices"
	"testing"

	"golang.org/x/text/unicode/bidi"
	"golang.org/x/text/unicode/norm"
	"pgregory.net/rapid"
)

// Every presentation form must decompose, in the Unicode character database that
// golang.org/x/text carries, to the letter it stands for.
func TestArabicFormsAgainstUnicode(t *testing.T) {
	t.Parallel()
	for letter, forms := range arabicLetters {
		last := forms.isolated + 1
		if forms.both {
			last = forms.isolated + 3
		}
		for form := forms.isolated; form <= last; form++ {
			if got := norm.NFKC.String(string(form)); got != string(letter) {
				t.Errorf("U+%04X stands for %q, listed as a form of %q", form, got, letter)
			}
			if got := Plain(string(form)); got != string(letter) {
				t.Errorf("U+%04X goes back to %q", form, got)
			}
		}
	}
	for alef, ligature := range lamAlef {
		for _, form := range []rune{ligature, ligature + 1} {
			if got := norm.NFKC.String(string(form)); got != string(lam)+string(alef) {
				t.Errorf("U+%04X stands for %q", form, got)
			}
		}
	}
}

// Joined forms of words whose shapes any primer of Arabic shows; code points are
// of the Unicode chart Arabic Presentation Forms B.
func TestJoinArabic(t *testing.T) {
	t.Parallel()
	tests := []struct{ name, in, want string }{
		{"muhammad: initial, medial, medial, final", "محمد", "\uFEE3\uFEA4\uFEE4\uFEAA"},
		{"alef breaks the join after it", "باب", "\uFE91\uFE8E\uFE8F"},
		{"letters that never join on", "دار", "\uFEA9\uFE8D\uFEAD"},
		{"lam with alef, isolated", "لا", "\uFEFB"},
		{"lam with alef, joined", "بلا", "\uFE91\uFEFC"},
		{"a space parts words", "ب ب", "\uFE8F \uFE8F"},
		{"vowel signs do not part letters", "بَب", "\uFE91\u064E\uFE90"},
		{"lengthening stroke", "بـب", "\uFE91\u0640\uFE90"},
		{"Persian gaf and yeh", "گی", "\uFB94\uFBFD"},
		{"hamza stands alone", "ماء", "\uFEE3\uFE8E\u0621"},
		{"other scripts stay", "Saltby 12", "Saltby 12"},
	}
	for _, tt := range tests {
		got := Prepare(tt.in)
		if got != tt.want {
			t.Errorf("%s: got %+q, want %+q", tt.name, got, tt.want)
		}
		if again := Prepare(got); again != got {
			t.Errorf("%s: preparing twice gives %+q", tt.name, again)
		}
		if back, want := norm.NFKC.String(got), norm.NFKC.String(tt.in); back != want {
			t.Errorf("%s: readers fold it to %q, want %q", tt.name, back, want)
		}
	}
}

// Unicode Standard Annex 9, section 3.4, gives such examples with capitals for
// right-to-left letters; here they are Hebrew. The orders follow its rules.
func TestVisualOrder(t *testing.T) {
	t.Parallel()
	tests := []struct{ name, in, want string }{
		{"plain", "car means", "car means"},
		{"word in English", "car means אבג.", "car means גבא."},
		{"English in Hebrew", "אבג means דהו.", ".והד means גבא"},
		{"number in Hebrew", "אב 12 גד", "דג 12 בא"},
		{"date keeps its separators", "אב 24.11.2026 גד", "דג 24.11.2026 בא"},
		{"brackets mirror", "אב (גד) הו", "וה (דג) בא"},
		{"price", "אב 1,450.00 €", "€ 1,450.00 בא"},
		{"number after an English word", "no. 5 אב 6", "no. 5 6 בא"},
		{"marks stay after their letter", "שׁ ב", "ב שׁ"},
		{"mark in Arabic", "بَب", "\uFE90\uFE91\u064E"},
	}
	for _, tt := range tests {
		line := Prepare(tt.in)
		if got := string(Visual(line, RightToLeft(line))); got != norm.NFC.String(tt.want) {
			t.Errorf("%s: got %+q, want %+q", tt.name, got, tt.want)
		}
	}
}

// The reference implementation in golang.org/x/text keeps its levels to itself
// but tells the direction of each run, which is their parity. It pairs no brackets
// (it compares an opening bracket with the closing one as they are), so brackets
// are left to TestBrackets.
func TestBidiParityAgainstReference(t *testing.T) {
	t.Parallel()
	alphabet := []rune("abאבגاب١٢12 .,:+-$€\"'!\u0301\u05B0\u200D\u200F\u200E\u00A0\t«»<")
	rapid.Check(t, func(t *rapid.T) {
		runes := rapid.SliceOfN(rapid.SampledFrom(alphabet), 1, 30).Draw(t, "runes")
		text := string(runes)
		rtl := RightToLeft(text)
		got := make([]bool, len(runes))
		for i, level := range bidiLevels(runes, rtl) {
			got[i] = level%2 == 1
		}
		var p bidi.Paragraph
		if _, err := p.SetString(text); err != nil {
			t.Fatal(err)
		}
		order, err := p.Order()
		if err != nil {
			t.Fatal(err)
		}
		want := make([]bool, 0, len(runes))
		for i := range order.NumRuns() {
			run := order.Run(i)
			for range []rune(run.String()) {
				want = append(want, run.Direction() == bidi.RightToLeft)
			}
		}
		if !slices.Equal(got, want) {
			t.Fatalf("%+q, right to left %v:\n got %v\nwant %v", text, rtl, got, want)
		}
	})
}

// Rule N0 of Unicode Standard Annex 9. The first two are its own examples (from
// memory), Hebrew standing for its capitals; the others are worked from the rule.
func TestBrackets(t *testing.T) {
	t.Parallel()
	tests := []struct{ name, in, want string }{
		{"holds the line's direction", "smith (fabrikam אבג) דהו", "smith (fabrikam גבא) והד"},
		{"holds the other, in its context", "אבג (book) דהו", "והד (book) גבא"},
		{"holds the other, out of its context", "a(א)ב", "a(א)ב"},
		{"nested", "אב (x [ג] y) ד", "ד (y [ג] x) בא"},
		{"unpaired", "אב ( גד", "דג ) בא"},
		{"closing before opening", "a )א( ב", "a )ב )א"},
	}
	for _, tt := range tests {
		if got := string(Visual(tt.in, RightToLeft(tt.in))); got != tt.want {
			t.Errorf("%s: got %+q, want %+q", tt.name, got, tt.want)
		}
	}
}

// Whatever the order, no character is lost.
func TestVisualIsAPermutation(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		line := OneLine(rapid.String().Draw(t, "line"))
		got := Visual(line, RightToLeft(line))
		if want := len(drawn([]rune(line))); len(got) != want {
			t.Fatalf("%d characters of %d", len(got), want)
		}
	})
}
