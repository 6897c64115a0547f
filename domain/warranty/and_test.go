package warranty_test

import (
	"slices"
	"strings"
	"testing"

	"ledgerwheel/domain/warranty"
)

// A line is added to the work where the card has room for it, and work is named at all.
func TestAndALineMore(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		work []string
		fits bool
	}{
		"room": {[]string{"Full service"}, true}, "no work": {nil, false},
		"ten lines": {strings.Split("abcdefghij", ""), false}, "full": {[]string{strings.Repeat("w", warranty.MaxCardWork)}, false},
	} {
		w := warranty.Wording{WorkDone: c.work}
		got := w.And("Tested").WorkDone
		want := c.work
		if c.fits {
			want = append(slices.Clone(c.work), "Tested")
		}
		if !slices.Equal(got, want) {
			t.Errorf("%s: %q", name, got)
		}
	}
}
