package demoshop

import (
	"encoding/json"
	"testing"

	"ledgerwheel/domain/docket"
)

// checkWords holds every fact that the demo's journals keep, however deep, to words of its own.
func checkWords(t *testing.T, r record) {
	seen := map[string]bool{}
	var walk func(e docket.Entry, value any)
	walk = func(e docket.Entry, value any) {
		switch v := value.(type) {
		case []any:
			for _, inner := range v {
				walk(e, inner)
			}
		case map[string]any:
			for key, inner := range v {
				if _, known := docket.TermOf(key); !known && !seen[key] {
					t.Errorf("%s: the fact %q has no words", e.Kind, key)
				}
				seen[key] = true
				walk(e, inner)
			}
		}
	}
	for _, entries := range r.entries {
		for _, e := range entries {
			var facts any
			if len(e.Facts) > 0 && json.Unmarshal(e.Facts, &facts) == nil {
				walk(e, facts)
			}
		}
	}
	if len(seen) < 80 {
		t.Errorf("the demo's journals keep only %d kinds of fact", len(seen))
	}
}
