package watch_test

import (
	"slices"
	"testing"

	"pgregory.net/rapid"

	"ledgerwheel/domain/watch"
)

// drawCondition makes a condition in which each part is clear, or bears up to two of few marks, or is not spoken of.
func drawCondition(t *rapid.T, label string) watch.Condition {
	var c watch.Condition
	for _, p := range watch.Parts {
		c = withDrawnPart(t, label, c, p)
	}
	return c
}

func withDrawnPart(t *rapid.T, label string, c watch.Condition, p watch.Part) watch.Condition {
	n := rapid.IntRange(-1, 2).Draw(t, label+" "+string(p))
	if n == 0 {
		c.NoMarksSeen = append(c.NoMarksSeen, p)
	}
	for range n {
		c.Marks = append(c.Marks, watch.ConditionMark{Part: p,
			Kind:   rapid.SampledFrom([]watch.MarkKind{watch.MarkScratch, watch.MarkDent}).Draw(t, "kind"),
			Placed: true, X: rapid.SampledFrom([]float64{0.25, 0.5}).Draw(t, "x"), Y: 0.5})
	}
	return c
}

// only is what c says of p, as a condition of its own.
func only(c watch.Condition, p watch.Part) watch.Condition {
	var one watch.Condition
	if slices.Contains(c.NoMarksSeen, p) {
		one.NoMarksSeen = []watch.Part{p}
	}
	for _, m := range c.Marks {
		if m.Part == p {
			one.Marks = append(one.Marks, m)
		}
	}
	return one
}

func samePart(a, b watch.Condition, p watch.Part) bool { return only(a, p).Same(only(b, p)) }

func TestMergeConditionsLosesNoChange(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		base, theirs, mine := drawCondition(t, "base"), drawCondition(t, "theirs"), drawCondition(t, "mine")
		m := watch.MergeConditions(base, theirs, mine)
		for _, p := range watch.Parts {
			clash, taken := slices.Contains(m.Clashes, p), slices.Contains(m.Taken, p)
			changedTheirs, changedMine := !samePart(base, theirs, p), !samePart(base, mine, p)
			if changedTheirs && !samePart(m.Merged, theirs, p) && !clash {
				t.Fatalf("the first person's change of the %s is lost unasked", p)
			}
			if changedMine && !samePart(m.Merged, mine, p) {
				t.Fatalf("what the second person typed of the %s is lost", p)
			}
			if !changedTheirs && !changedMine && !samePart(m.Merged, base, p) {
				t.Fatalf("the %s changed by itself", p)
			}
			if differ := changedTheirs && changedMine && !samePart(theirs, mine, p); clash != differ {
				t.Fatalf("the %s clashes: %t, and should: %t", p, clash, differ)
			}
			if alone := changedTheirs && !changedMine; taken != alone {
				t.Fatalf("the %s is taken over: %t, and should: %t", p, taken, alone)
			}
		}
		if again := watch.MergeConditions(base, mine, theirs); !slices.Equal(again.Clashes, m.Clashes) {
			t.Fatalf("who comes second decides what clashes: %v, %v", m.Clashes, again.Clashes)
		}
	})
}

func TestMergeConditionsOfDifferentParts(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		base := drawCondition(t, "base")
		var theirs, mine, both watch.Condition
		for _, p := range watch.Parts {
			part := only(base, p)
			theirsOf, mineOf := part, part
			if rapid.Bool().Draw(t, "whose") {
				theirsOf = withDrawnPart(t, "theirs", watch.Condition{}, p)
				part = theirsOf
			} else {
				mineOf = withDrawnPart(t, "mine", watch.Condition{}, p)
				part = mineOf
			}
			theirs, mine, both = together(theirs, theirsOf), together(mine, mineOf), together(both, part)
		}
		m := watch.MergeConditions(base, theirs, mine)
		if len(m.Clashes) > 0 || !m.Merged.Same(both) {
			t.Fatalf("changes of different parts: clashes %v, %+v instead of %+v", m.Clashes, m.Merged, both)
		}
		twice := watch.MergeConditions(base, theirs, theirs)
		if len(twice.Clashes) > 0 || !twice.Merged.Same(theirs) {
			t.Fatalf("the same change twice: clashes %v, %+v", twice.Clashes, twice.Merged)
		}
	})
}

func together(a, b watch.Condition) watch.Condition {
	return watch.Condition{Marks: append(a.Marks, b.Marks...), NoMarksSeen: append(a.NoMarksSeen, b.NoMarksSeen...)}
}

func TestMarksAreComparedAsAFormPostsThem(t *testing.T) {
	t.Parallel()
	kept := watch.Condition{Marks: []watch.ConditionMark{{ID: 7, Part: watch.PartDial, Kind: watch.MarkDent, Placed: true,
		X: 0.38012, Y: 0.41}}}
	posted := watch.Condition{Marks: []watch.ConditionMark{{Part: watch.PartDial, Kind: watch.MarkDent, Placed: true,
		X: 0.380, Y: 0.41}}}
	if !kept.Same(posted) {
		t.Error("a mark that came back from the form counts as changed")
	}
	posted.Marks[0].Note = "deep"
	if kept.Same(posted) {
		t.Error("another note is no change")
	}
}

func TestAnswered(t *testing.T) {
	t.Parallel()
	scratch := watch.ConditionMark{Part: watch.PartCrown, Kind: watch.MarkScratch}
	dent := watch.ConditionMark{Part: watch.PartCrown, Kind: watch.MarkDent}
	theirs := watch.Condition{Marks: []watch.ConditionMark{scratch}}
	mine := watch.Condition{Marks: []watch.ConditionMark{scratch, dent}}
	for answer, want := range map[watch.Answer]watch.Condition{
		watch.KeepMine: mine, watch.KeepTheirs: theirs, watch.KeepBoth: mine, watch.NoAnswer: mine, "else": mine,
	} {
		got, open := mine.Answered(theirs, map[watch.Part]watch.Answer{watch.PartCrown: answer})
		known := answer == watch.KeepMine || answer == watch.KeepTheirs || answer == watch.KeepBoth
		if !got.Same(want) || (len(open) == 0) != known {
			t.Errorf("%q gives %+v, open %v", answer, got, open)
		}
	}
	got, open := mine.Answered(theirs, nil)
	if !got.Same(mine) || len(open) != 0 {
		t.Errorf("without a question: %+v, %v", got, open)
	}
}

func TestLastChange(t *testing.T) {
	t.Parallel()
	none, clear := watch.Condition{}, watch.Condition{NoMarksSeen: watch.Parts}
	marked := watch.Condition{NoMarksSeen: watch.Parts[1:],
		Marks: []watch.ConditionMark{{Part: watch.PartDial, Kind: watch.MarkStain}}}
	states := []watch.Condition{none, clear, marked, marked}
	if d, c := watch.LastChange(states, watch.PartDial), watch.LastChange(states, watch.PartCase); d != 2 || c != 1 {
		t.Errorf("the dial changed last at %d, the case at %d", d, c)
	}
	if got := watch.LastChange(states[2:], watch.PartDial); got != -1 {
		t.Errorf("unchanged gives %d", got)
	}
}

// The words are those of one who looks at the watch with 12 up; the dial lies in the middle of the outline.
func TestPlaceWords(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		x, y float64
		want string
	}{
		{0.5, 0.5, "in the middle"},
		{0.5, 0.42, "towards 12 o'clock"},
		{0.74, 0.5, "at 3 o'clock"},
		{0.5, 0.68, "at 6 o'clock"},
		{0.26, 0.5, "at 9 o'clock"},
		{0.38, 0.345, "at 11 o'clock"},
		{0.5, 0.05, "beyond 12 o'clock"},
		{0.86, 0.5, "beyond 3 o'clock"},
	} {
		if got := (watch.ConditionMark{Placed: true, X: c.x, Y: c.y}).PlaceWords(); got != c.want {
			t.Errorf("%.2f, %.2f: %q, want %q", c.x, c.y, got, c.want)
		}
	}
	if got := (watch.ConditionMark{X: 0.3, Y: 0.3}).PlaceWords(); got != "" {
		t.Errorf("no place gives %q", got)
	}
	m := watch.ConditionMark{Part: watch.PartCrown, Kind: watch.MarkScratch, Note: "deep", Placed: true, X: 0.86, Y: 0.5}
	if got := m.PlacedWords(); got != "scratch, deep, beyond 3 o'clock" {
		t.Errorf("says %q", got)
	}
}
