package store_test

import (
	"errors"
	"slices"
	"testing"
	"time"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/watch"
	"ledgerwheel/store"
)

func (c *counter) mustNote(t *testing.T, change store.Change, condition watch.Condition) []watch.Part {
	t.Helper()
	taken, err := c.NoteCondition(t.Context(), change, store.ConditionTyped{Condition: condition})
	if err != nil {
		t.Fatal(err)
	}
	return taken
}

func (c *counter) condition(t *testing.T, n docket.Number) (watch.Condition, int64) {
	t.Helper()
	sheet, err := c.IntakeSheet(t.Context(), n)
	if err != nil {
		t.Fatal(err)
	}
	return sheet.Condition, sheet.Head.Docket.Version
}

// marked is no marks but those given, with their parts no longer clear.
func marked(marks ...watch.ConditionMark) watch.Condition {
	c := watch.Condition{Marks: marks}
	for _, p := range watch.Parts {
		if !slices.ContainsFunc(marks, func(m watch.ConditionMark) bool { return m.Part == p }) {
			c.NoMarksSeen = append(c.NoMarksSeen, p)
		}
	}
	return c
}

var (
	crownScratch = watch.ConditionMark{Part: watch.PartCrown, Kind: watch.MarkScratch, Note: "deep", Placed: true, X: 0.86,
		Y: 0.5}
	crownDent = watch.ConditionMark{Part: watch.PartCrown, Kind: watch.MarkDent}
	dialStain = watch.ConditionMark{Part: watch.PartDial, Kind: watch.MarkStain}
)

// twoOpen gives a docket whose condition two people have open, and what each of them sends.
func (c *counter) twoOpen(t *testing.T) (n docket.Number, first, second store.Change) {
	t.Helper()
	n, sheet := c.mustTakeIn(t, c.takingIn())
	c.mustNote(t, store.Change{Number: n, Version: sheet.Head.Docket.Version, By: c.clerk, At: c.at}, noMarks)
	_, version := c.condition(t, n)
	first = store.Change{Number: n, Version: version, By: c.clerk, At: c.at.Add(time.Minute)}
	second = first
	second.At = c.at.Add(2 * time.Minute)
	return n, first, second
}

func TestConditionOfTwoIsPutTogetherByPart(t *testing.T) {
	t.Parallel()
	c := newCounter(t)
	n, first, second := c.twoOpen(t)
	c.mustNote(t, first, marked(crownScratch))
	taken := c.mustNote(t, second, marked(dialStain))
	if !slices.Equal(taken, []watch.Part{watch.PartCrown}) {
		t.Errorf("taken over: %v", taken)
	}
	got, version := c.condition(t, n)
	if !got.Same(marked(crownScratch, dialStain)) {
		t.Errorf("noted %+v", got)
	}
	// The same once more, by somebody who saw neither: it holds once, and leaves no trace.
	c.mustNote(t, second, marked(crownScratch, dialStain))
	if _, after := c.condition(t, n); after != version {
		t.Errorf("the same again made entries %d to %d", version+1, after)
	}
}

func TestConditionThatClashesIsAsked(t *testing.T) {
	t.Parallel()
	c := newCounter(t)
	n, first, second := c.twoOpen(t)
	c.mustNote(t, first, marked(crownScratch))
	later := first
	later.Version, later.At = 0, c.at.Add(90*time.Second)
	c.mustNote(t, later, marked(crownScratch, dialStain))
	_, err := c.NoteCondition(t.Context(), second, store.ConditionTyped{Condition: marked(crownDent)})
	var clash *store.ConditionClash
	if !errors.As(err, &clash) || !errors.Is(err, domain.ErrChanged) {
		t.Fatalf("two marks on one crown: %v", err)
	}
	if !slices.Equal(clash.Clashes, []watch.Part{watch.PartCrown}) ||
		!slices.Equal(clash.Taken, []watch.Part{watch.PartDial}) || clash.Theirs.SaidOf(watch.PartCrown)[0] != "scratch, deep, beyond 3 o'clock" {
		t.Errorf("clash %+v", clash)
	}
	if by := clash.Changed[watch.PartCrown]; by.Name != "Nuala Reed" || !by.At.Equal(first.At) {
		t.Errorf("the crown was changed by %+v", by)
	}
	if got, _ := c.condition(t, n); !got.Same(marked(crownScratch, dialStain)) {
		t.Errorf("the clash saved %+v", got)
	}
	second.Version = clash.Version
	for _, answer := range []struct {
		answer watch.Answer
		want   watch.Condition
	}{{watch.KeepTheirs, marked(crownScratch, dialStain)}, {watch.KeepBoth, marked(crownScratch, crownDent, dialStain)}} {
		_, err = c.NoteCondition(t.Context(), second, store.ConditionTyped{Condition: clash.Merged,
			Answers: map[watch.Part]watch.Answer{watch.PartCrown: answer.answer}})
		if got, _ := c.condition(t, n); err != nil || !got.Same(answer.want) {
			t.Errorf("%s: %+v, %v", answer.answer, got, err)
		}
	}
	_, err = c.NoteCondition(t.Context(), second, store.ConditionTyped{Condition: clash.Merged,
		Answers: map[watch.Part]watch.Answer{watch.PartCrown: watch.NoAnswer}})
	if problemsOf(t, err)["no_marks.crown"] == "" {
		t.Error("a question without an answer was saved")
	}
}
