package docket_test

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"ledgerwheel/domain/docket"

	"pgregory.net/rapid"
)

// Whatever single character of a number is mistyped, the number meant is among those offered, and they are few.
func TestLikelyOffersWhatWasMeant(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		meant := docket.Number{Year: rapid.IntRange(2000, 2099).Draw(t, "year"), Seq: rapid.IntRange(1, 99999).Draw(t, "seq")}
		text := []byte(meant.Compact())
		at := rapid.IntRange(0, len(text)-1).Draw(t, "at")
		letters := "0123456789"
		if at == len(text)-1 {
			letters += "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
		}
		text[at] = letters[rapid.IntRange(0, len(letters)-1).Draw(t, "letter")]
		if string(text) == meant.Compact() {
			return
		}
		_, err := docket.ParseNumber(string(text))
		var misread *docket.CheckError
		if !errors.As(err, &misread) {
			t.Fatalf("%s for %s: %v", text, meant, err)
		}
		likely := misread.Likely()
		if !slices.Contains(likely, meant) {
			t.Fatalf("%s was typed for %s, offered %v", text, meant, likely)
		}
		if len(likely) > 20 {
			t.Fatalf("%d numbers offered for %s", len(likely), text)
		}
	})
}

func TestLikelyOffersSwappedDigits(t *testing.T) {
	t.Parallel()
	meant := docket.Number{Year: 2026, Seq: 4213}
	typed := strings.Replace(meant.Compact(), "42", "24", 1)
	_, err := docket.ParseNumber(typed)
	var misread *docket.CheckError
	if !errors.As(err, &misread) {
		t.Fatalf("%s: %v", typed, err)
	}
	if likely := misread.Likely(); !slices.Contains(likely, meant) {
		t.Errorf("%s was typed for %s, offered %v", typed, meant, likely)
	}
}

// A sequence of nought is no number, so it is never offered.
func TestLikelyOffersOnlyNumbers(t *testing.T) {
	t.Parallel()
	_, err := docket.ParseNumber("26000000")
	var misread *docket.CheckError
	if !errors.As(err, &misread) {
		t.Fatalf("26-00000-0 was read as %v", err)
	}
	for _, n := range misread.Likely() {
		if n.Problem() != "" {
			t.Errorf("offered %v", n)
		}
	}
}
