package merge_test

import (
	"testing"

	"pgregory.net/rapid"

	"ledgerwheel/domain/merge"
)

func TestFieldLosesNothing(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		few := rapid.IntRange(0, 2)
		base, theirs, mine := few.Draw(t, "base"), few.Draw(t, "theirs"), few.Draw(t, "mine")
		got, how := merge.Field(base, theirs, mine)
		_, other := merge.Field(base, mine, theirs)
		switch {
		case theirs == mine:
			if how != merge.Alike || got != mine {
				t.Fatalf("the same twice is %d, %v", how, got)
			}
		case theirs != base && mine != base:
			if how != merge.Clash || other != merge.Clash || got != mine {
				t.Fatalf("two different changes are %d and %d, kept as %d", how, other, got)
			}
		case theirs != base:
			if how != merge.Theirs || got != theirs || other != merge.Mine {
				t.Fatalf("theirs alone is %d, %d", how, got)
			}
		default:
			if how != merge.Mine || got != mine || other != merge.Theirs {
				t.Fatalf("mine alone is %d, %d", how, got)
			}
		}
	})
}
