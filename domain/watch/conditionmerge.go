package watch

import (
	"math"
	"slices"

	"ledgerwheel/domain/merge"
)

// ConditionMerge is the condition of two people who noted it at once, put together part by part.
type ConditionMerge struct {
	Merged  Condition // of a part that clashes, as the second person left it
	Taken   []Part    // changed by the first person alone, and taken over
	Clashes []Part    // changed by both, differently
}

// MergeConditions puts together the condition as it stands (theirs) and as the second person leaves it (mine), who
// had seen base. What one of the two changed holds; what both changed alike holds once; what both changed
// differently clashes.
func MergeConditions(base, theirs, mine Condition) ConditionMerge {
	var m ConditionMerge
	for _, p := range Parts {
		b, t, own := base.of(p), theirs.of(p), mine.of(p)
		switch merge.Of(b, t, own, samePart) {
		case merge.Alike:
			own = t
		case merge.Theirs:
			own = t
			m.Taken = append(m.Taken, p)
		case merge.Clash:
			m.Clashes = append(m.Clashes, p)
		}
		m.Merged = m.Merged.with(p, own)
	}
	return m
}

// Same reports whether c and o say the same of every part.
func (c Condition) Same(o Condition) bool {
	return !slices.ContainsFunc(Parts, func(p Part) bool { return !samePart(c.of(p), o.of(p)) })
}

// LastChange returns the index of the newest state that says something else of p than the state before it, or -1.
func LastChange(states []Condition, p Part) int {
	return merge.LastChange(states, func(a, b Condition) bool { return samePart(a.of(p), b.of(p)) })
}

// Answer says what holds of a part that clashed.
type Answer string

// The answers. NoAnswer is the zero value: somebody was asked and did not say.
const (
	NoAnswer   Answer = ""
	KeepMine   Answer = "mine"
	KeepTheirs Answer = "theirs"
	KeepBoth   Answer = "both" // the marks of both
)

// Answered returns c with what the answers give of each part: c's own, what stood as the question was asked (theirs),
// or the marks of both. A part without an answer is left as c has it and named in open.
func (c Condition) Answered(theirs Condition, answers map[Part]Answer) (settled Condition, open []Part) {
	for _, p := range Parts {
		own, other := c.of(p), theirs.of(p)
		if given, asked := answers[p]; asked {
			switch given {
			case KeepMine:
			case KeepTheirs:
				own = other
			case KeepBoth:
				own.marks = joined(other.marks, own.marks)
			default:
				open = append(open, p)
			}
		}
		settled = settled.with(p, own)
	}
	return settled, open
}

// joined are the marks of both, those that both noted once.
func joined(theirs, mine []ConditionMark) []ConditionMark {
	all := slices.Clone(theirs)
	left := slices.Clone(theirs)
	for _, m := range mine {
		if i := slices.IndexFunc(left, m.same); i >= 0 {
			left = slices.Delete(left, i, i+1)
			continue
		}
		all = append(all, m)
	}
	return all
}

// partCondition is what a condition says of one part.
type partCondition struct {
	clear bool
	marks []ConditionMark
}

func (c Condition) of(p Part) partCondition {
	said := partCondition{clear: slices.Contains(c.NoMarksSeen, p)}
	for _, m := range c.Marks {
		if m.Part == p {
			said.marks = append(said.marks, m)
		}
	}
	return said
}

func (c Condition) with(p Part, said partCondition) Condition {
	if said.clear {
		c.NoMarksSeen = append(c.NoMarksSeen, p)
	}
	c.Marks = append(c.Marks, said.marks...)
	return c
}

// samePart compares what is said, whatever the order of the marks.
func samePart(a, b partCondition) bool {
	if a.clear != b.clear || len(a.marks) != len(b.marks) {
		return false
	}
	left := slices.Clone(b.marks)
	for _, m := range a.marks {
		i := slices.IndexFunc(left, m.same)
		if i < 0 {
			return false
		}
		left = slices.Delete(left, i, i+1)
	}
	return true
}

// same compares two marks as a form tells them apart: a place has three decimals there.
func (m ConditionMark) same(o ConditionMark) bool {
	return m.Part == o.Part && m.Kind == o.Kind && m.Note == o.Note && m.Placed == o.Placed &&
		(!m.Placed || sameCoordinate(m.X, o.X) && sameCoordinate(m.Y, o.Y))
}

func sameCoordinate(a, b float64) bool { return math.Round(1000*a) == math.Round(1000*b) }

// SaidOf tells in words what c says of p: each mark with its place, that it was seen without marks, or that nothing
// is said.
func (c Condition) SaidOf(p Part) []string {
	said := c.of(p)
	var words []string
	for _, m := range said.marks {
		words = append(words, m.PlacedWords())
	}
	switch {
	case len(words) > 0:
		return words
	case said.clear:
		return []string{"seen, no marks"}
	}
	return []string{"nothing noted"}
}

// MarksOf counts the marks on p.
func (c Condition) MarksOf(p Part) int { return len(c.of(p).marks) }
