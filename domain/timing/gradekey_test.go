package timing_test

import (
	"strings"
	"testing"

	"ledgerwheel/domain/timing"
)

func TestGradeKey(t *testing.T) {
	t.Parallel()
	taken := []string{"modern", "modern-2", "grade"}
	for name, want := range map[string]string{"Pocket watches, open face": "pocket-watches-open-face", "Modern": "modern-3",
		" Früh / 1900 ": "frh-1900", "懐中時計": "grade-2", "New": "new-2", strings.Repeat("a", 90): strings.Repeat("a", 35)} {
		got := timing.GradeKey(name, taken)
		l := timing.RateLimits{Grade: got}
		if got != want || l.Problems()["grade"] != "" {
			t.Errorf("%q: %q, want %q", name, got, want)
		}
	}
}
