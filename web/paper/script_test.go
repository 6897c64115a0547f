package paper

import (
	"fmt"
	"reflect"
	"slices"
	"strings"
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
			if !sans.has(form) {
				t.Errorf("the type lacks U+%04X", form)
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
		got := prepare(tt.in)
		if got != tt.want {
			t.Errorf("%s: got %+q, want %+q", tt.name, got, tt.want)
		}
		if again := prepare(got); again != got {
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
		line := prepare(tt.in)
		if got := string(visual(line, rightToLeft(line))); got != norm.NFC.String(tt.want) {
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
		rtl := rightToLeft(text)
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
		if got := string(visual(tt.in, rightToLeft(tt.in))); got != tt.want {
			t.Errorf("%s: got %+q, want %+q", tt.name, got, tt.want)
		}
	}
}

// Whatever the order, no character is lost.
func TestVisualIsAPermutation(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		line := oneLine(rapid.String().Draw(t, "line"))
		got := visual(line, rightToLeft(line))
		if want := len(drawn([]rune(line))); len(got) != want {
			t.Fatalf("%d characters of %d", len(got), want)
		}
	})
}

func TestMissing(t *testing.T) {
	t.Parallel()
	tests := []struct{ text, want string }{
		{"", ""},
		{"Tern Quay £12.50 – “fine” … ½ ° ± − μ", ""},
		{"Žluťoučký Ωρολόι Часы", ""},
		{"שָׁעוֹן ساعة", ""},
		{"line\nbreak\ttab\u200B", ""},
		{"時計が時", "時計が"},
		{"a☎b\U0001F600", "\U0001F600"}, // DejaVu has the telephone, no faces
		{"e\u0301", ""},
	}
	for _, tt := range tests {
		if got := string(Missing(tt.text)); got != tt.want {
			t.Errorf("Missing(%q) = %q, want %q", tt.text, got, tt.want)
		}
	}
}

// Text read back from the file is the text that was put in, whatever the script
// and even where no glyph was.
func TestTextIsExtractable(t *testing.T) {
	t.Parallel()
	c := sampleWarranty()
	c.WorkDone = []string{"Příliš žluťoučký kůň", "Ξεσκεπάζω την ψυχοφθόρα", "Съешь ещё этих мягких", "時計が止まる"}
	c.Watch = "שעון כיס ישן"
	c.Covers = "ضمان الساعة سنتان"
	text := readable(run(t, "pdftotext", "-layout", onDisk(t, "card", pdfOf(t, "card-all-scripts", c)), "-"))
	for _, want := range append(c.WorkDone, c.Watch, c.Covers, c.Number, "Tern Quay Watch Works",
		"24 months from 17 Dec 2026", "−0.8", "Final rates, s/d") {
		if !strings.Contains(text, want) {
			t.Errorf("%q is not in the text of the file:\n%s", want, text)
		}
	}
}

// readable drops the directional controls that pdftotext adds and folds Arabic
// forms to letters, as searching does.
func readable(text string) string {
	return norm.NFKC.String(strings.Map(func(r rune) rune {
		if embedding(r) {
			return -1
		}
		return r
	}, text))
}

// Every text of the sample papers is in the file, but for what the ticket leaves
// to the docket.
func TestEveryTextIsPrinted(t *testing.T) {
	t.Parallel()
	for name, m := range samples() {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			text := strings.Join(strings.Fields(run(t, "pdftotext", "-raw", onDisk(t, name, pdfOf(t, name, m)), "-")), "")
			for _, want := range texts(reflect.ValueOf(m), "") {
				if squeezed := strings.Join(strings.Fields(want), ""); !strings.Contains(text, squeezed) {
					t.Errorf("%q is not printed", want)
				}
			}
		})
	}
}

// texts gathers the texts of a paper that are meant to be read: not codes, and
// not the numbers an A4 alone prints.
func texts(v reflect.Value, name string) []string {
	unread := map[string]bool{"Code": true, "Lang": true, "Shop": true, "TaxNumber": true}
	if unread[name] {
		return nil
	}
	var all []string
	switch v.Kind() {
	case reflect.String:
		return []string{v.String()}
	case reflect.Struct:
		for i := range v.NumField() {
			all = append(all, texts(v.Field(i), v.Type().Field(i).Name)...)
		}
	case reflect.Slice:
		for i := range v.Len() {
			if v.Index(i).Kind() != reflect.Uint8 {
				all = append(all, texts(v.Index(i), fmt.Sprint(i))...)
			}
		}
	}
	return all
}
