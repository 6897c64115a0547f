package text_test

import (
	"slices"
	"testing"

	"pgregory.net/rapid"

	"ledgerwheel/domain/text"
)

func TestOneSlip(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		a, b string
		want bool
	}{
		{"quillmarsh", "quilmarsh", true}, {"quillmarsh", "quillmmarsh", true}, {"quillmarsh", "quillmrash", true},
		{"quillmarsh", "quellmarsh", true}, {"quillmarsh", "quillmarsh", false}, {"quillmarsh", "qullmrsh", false},
		{"skerry", "kserry", true}, {"skerry", "skerr", true}, {"skerry", "kerry", true}, {"ab", "ba", true}, {"", "a", true},
		{"", "", false}, {"abcd", "badc", false}, {"דוד", "דור", true}, {"gannet", "garnet", true}, {"gannet", "bonnet", false},
	} {
		if text.OneSlip(tt.a, tt.b) != tt.want || text.OneSlip(tt.b, tt.a) != tt.want {
			t.Errorf("%q and %q: want %t", tt.a, tt.b, tt.want)
		}
	}
}

// Two words that are one slip apart have a rest in common, which is what they are looked up by.
func TestOneSlipLeavesARestInCommon(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		word := []rune(rapid.StringMatching(`[a-dé]{1,8}`).Draw(t, "word"))
		at := rapid.IntRange(0, len(word)-1).Draw(t, "at")
		letter := []rune(rapid.StringMatching(`[a-dé]`).Draw(t, "letter"))
		slipped := slices.Clone(word)
		switch rapid.IntRange(0, 3).Draw(t, "slip") {
		case 0:
			slipped = slices.Delete(slipped, at, at+1)
		case 1:
			slipped = slices.Insert(slipped, at, letter[0])
		case 2:
			slipped[at] = letter[0]
		case 3:
			if at > 0 {
				slipped[at], slipped[at-1] = slipped[at-1], slipped[at]
			}
		}
		a, b := string(word), string(slipped)
		if a == b {
			return
		}
		if !text.OneSlip(a, b) {
			t.Fatalf("%q and %q are one slip apart", a, b)
		}
		if !slices.ContainsFunc(text.WithoutOne(a), func(r string) bool { return slices.Contains(text.WithoutOne(b), r) }) {
			t.Fatalf("%q and %q have no rest in common", a, b)
		}
	})
}
