package watch

import (
	"fmt"
	"slices"
	"strings"

	"ledgerwheel/domain/text"
)

// Part is a part of the watch that the intake outline shows.
type Part string

// The parts of the outline.
const (
	PartDial     Part = "dial"
	PartCrystal  Part = "crystal"
	PartCase     Part = "case"
	PartCrown    Part = "crown"
	PartBracelet Part = "bracelet"
)

// Parts lists every Part in the order a form shows them.
var Parts = []Part{PartDial, PartCrystal, PartCase, PartCrown, PartBracelet}

// Words says p in plain words.
func (p Part) Words() string {
	if p == PartBracelet {
		return "bracelet or strap"
	}
	return string(p)
}

// MarkKind is what kind of wear or damage a mark is.
type MarkKind string

// The kinds of mark.
const (
	MarkScratch   MarkKind = "scratch"
	MarkDent      MarkKind = "dent"
	MarkCrack     MarkKind = "crack"
	MarkChip      MarkKind = "chip"
	MarkCorrosion MarkKind = "corrosion"
	MarkMissing   MarkKind = "missing"
	MarkStain     MarkKind = "stain"
	MarkWorn      MarkKind = "worn"
	MarkOther     MarkKind = "other"
)

// MarkKinds lists every MarkKind in the order a form shows them.
var MarkKinds = []MarkKind{
	MarkScratch, MarkDent, MarkCrack, MarkChip, MarkCorrosion, MarkMissing, MarkStain, MarkWorn, MarkOther,
}

// Words says k in plain words.
func (k MarkKind) Words() string {
	if k == MarkMissing {
		return "something missing"
	}
	return string(k)
}

// ConditionMark is one mark seen on the watch when it came in.
type ConditionMark struct {
	ID     int64
	Part   Part
	Kind   MarkKind
	Placed bool    // whether X and Y say where
	X, Y   float64 // fractions of the outline's width from its left and height from its top, 0 to 1
	Note   string
}

// Words describes m in one phrase.
func (m ConditionMark) Words() string {
	s := m.Part.Words() + ": " + m.Kind.Words()
	if m.Note != "" {
		s += ", " + m.Note
	}
	return s
}

// Condition is how the watch looked when it came in: for each part either
// marks, or the statement that none were seen.
type Condition struct {
	Marks       []ConditionMark
	NoMarksSeen []Part
}

// MaxMarks is the most marks one condition may hold.
const MaxMarks = 100

// Problems says what stops c being saved. A fault in the mark at index i is
// keyed "marks.i.part", "marks.i.kind", "marks.i.place" or "marks.i.note"; a part
// left unsaid, or said both ways, is keyed "no_marks.PART".
func (c Condition) Problems() map[string]string {
	bad := map[string]string{}
	if len(c.Marks) > MaxMarks {
		bad["marks"] = "Keep to at most 100 marks: describe the rest in a note."
	}
	for i, m := range c.Marks {
		for field, why := range m.Problems() {
			bad[fmt.Sprintf("marks.%d.%s", i, field)] = why
		}
	}
	for _, part := range Parts {
		marked := slices.ContainsFunc(c.Marks, func(m ConditionMark) bool { return m.Part == part })
		clear := slices.Contains(c.NoMarksSeen, part)
		switch {
		case marked && clear:
			bad["no_marks."+string(part)] = "This part has marks noted: take them out or untick 'Seen, no marks'."
		case !marked && !clear:
			bad["no_marks."+string(part)] = "Note the marks on this part or tick 'Seen, no marks'."
		}
	}
	for _, part := range c.NoMarksSeen {
		if !slices.Contains(Parts, part) {
			bad["no_marks"] = "Choose parts from the outline."
		}
	}
	return bad
}

// Problems says, by form field, what stops m being saved.
func (m ConditionMark) Problems() map[string]string {
	bad := map[string]string{}
	if !slices.Contains(Parts, m.Part) {
		bad["part"] = "Choose the part that bears the mark."
	}
	if !slices.Contains(MarkKinds, m.Kind) {
		bad["kind"] = "Choose the kind of mark."
	}
	if m.Placed && !(m.X >= 0 && m.X <= 1 && m.Y >= 0 && m.Y <= 1) { // refuses NaN too
		bad["place"] = "Point to a place on the outline."
	}
	switch {
	case m.Kind == MarkOther && strings.TrimSpace(m.Note) == "":
		bad["note"] = "Say what the mark is."
	case text.TooLong(m.Note, MaxText):
		bad["note"] = "Keep this to at most 120 characters."
	}
	return bad
}
