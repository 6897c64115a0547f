package staff_test

import (
	"strings"
	"testing"
	"time"

	"github.com/trustelem/zxcvbn"
	"pgregory.net/rapid"

	"ledgerwheel/domain/staff"
)

// TestScoresStandAsTried: the scores were tried out before the library was chosen; three of a kind that length alone lets
// through, and four words.
func TestScoresStandAsTried(t *testing.T) {
	t.Parallel()
	for password, score := range map[string]int{"ticketharbour": 2, "Summer2026!!!": 3, "liverpool2024": 2, "correct mussel basin rope": 4} {
		if r := zxcvbn.PasswordStrength(password, nil); r.Score != score {
			t.Errorf("%q scores %d, want %d", password, r.Score, score)
		}
		refused := staff.PasswordProblem(password, staff.Member{}, "") != ""
		if refused != (score < 4) {
			t.Errorf("%q of score %d is refused: %v", password, score, refused)
		}
	}
}

// TestWeighingIsBounded: a thousand characters would take seconds, and 128 that are all alike to the library as well.
func TestWeighingIsBounded(t *testing.T) {
	t.Parallel()
	staff.PasswordProblem("warms up the lists", staff.Member{}, "")
	for _, p := range []string{strings.Repeat("p4ssw0rd", 16), strings.Repeat("@4a", 42), strings.Repeat("12.11.1999", 12),
		strings.Repeat("correct mussel ", 8)} {
		began := time.Now()
		staff.PasswordProblem(p, staff.Member{}, "")
		if took := time.Since(began); took > 3*time.Second { // a tenth of one by itself
			t.Errorf("%q took %s", p, took)
		}
	}
}

// TestWeighingTakesAnything: no text makes it panic, and a password is never shown again by what is said of it.
func TestWeighingTakesAnything(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		password := rapid.StringN(0, 140, -1).Draw(t, "password")
		name := rapid.StringN(0, 20, -1).Draw(t, "name")
		said := staff.PasswordProblem(password, staff.Member{Name: name, Email: name + "@tern.example"}, name)
		if len(password) > 20 && strings.Contains(said, password) {
			t.Fatalf("%q is shown: %s", password, said)
		}
	})
}
