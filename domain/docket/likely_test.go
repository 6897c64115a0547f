package docket_test

import (
	"errors"
	"math/rand/v2"
	"slices"
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

// Of two neighbouring digits that changed places, the check character among them where it is a digit, the number meant
// is offered whenever the slip is caught.
func TestLikelyOffersSwappedDigits(t *testing.T) {
	t.Parallel()
	random := rand.New(rand.NewPCG(42, 24))
	caught, ofCheck := 0, 0
	for range 1500 {
		meant := docket.Number{Year: 2000 + random.IntN(100), Seq: 1 + random.IntN(9_999_999)}
		text := meant.Compact()
		for i := 1; i < len(text); i++ {
			typed := text[:i-1] + text[i:i+1] + text[i-1:i] + text[i+1:]
			_, err := docket.ParseNumber(typed)
			var misread *docket.CheckError
			if typed == text || text[i] > '9' || !errors.As(err, &misread) { // a letter among the digits is no slip of digits
				continue
			}
			caught++
			if i == len(text)-1 {
				ofCheck++
			}
			if likely := misread.Likely(); !slices.Contains(likely, meant) {
				t.Fatalf("%s was typed for %s, offered %v", typed, meant, likely)
			}
		}
	}
	if caught < 5000 || ofCheck < 100 {
		t.Errorf("only %d swaps were caught, %d with the check character", caught, ofCheck)
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
