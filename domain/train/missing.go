package train

import (
	"fmt"
	"maps"
	"slices"
	"strings"
)

// Missing asks for the counts that a train or a motion work lacks: those of 0, one or two of them.
type Missing struct {
	Train  Train       // as ParseMissing reads it; not looked at where Motion is given
	Motion *MotionWork // nil: Train is asked for

	BeatsPerHour       int  // of the train; 0: to be found among UsualBeats
	SecondsOnceAMinute bool // the train’s seconds hand turns once a minute
	DialHours          int  // of the motion work: 12 or 24; 0 is read as 12

	// Measured is what was measured at the meshes of the first and of the second missing count. Where both are in one
	// mesh, or both meshes share their centres, the figures complete each other.
	Measured [2]Measured
	LengthUM float64 // standard uncertainty of a measured length, mm; 0 is read as defaultLengthUMm
}

// defaultLengthUMm is the standard uncertainty of a measured length, mm, where nothing else is said: what a good slide
// gauge gives in practised hands (common practice).
const defaultLengthUMm = 0.01

// Sought is a count that is missing.
type Sought struct {
	Field string // as in Problems: wheel_1, pinion_1, escape, seconds, minute, cannon, ...
	Name  string // third wheel
	Kind  Kind
	mesh  int // of the meshes of the train or motion work; -1 for none
	count func(*Missing) *int
}

// Kind is what a count counts.
type Kind uint8

// The kinds of counts.
const (
	WheelTeeth Kind = iota
	PinionLeaves
	EscapeWheelTeeth
)

// Limits of each Kind within which answers are sought (see MinLeaves and its neighbours).
func (k Kind) limits() (least, most int) {
	switch k {
	case PinionLeaves:
		return MinLeaves, MaxLeaves
	case EscapeWheelTeeth:
		return LeastEscapeTeeth, MostEscapeTeeth
	}
	return MinTeeth, MaxTeeth
}

// Unit names what k counts.
func (k Kind) Unit() string {
	if k == PinionLeaves {
		return "leaves"
	}
	return "teeth"
}

// ParseMissing reads a train in the package's notation in which a ? stands for each missing count:
// 80:10,?:10,80:?,15. A missing count is 0 in the train returned. Errors are *NotationError.
func ParseMissing(notation string) (Train, error) {
	// A ? is read as a count that no wheel has, so that there is one reader of the notation.
	const hole = "99999"
	if strings.Contains(notation, hole) {
		return Train{}, &NotationError{"train", hole + " is no count of teeth."}
	}
	for i, r := range notation {
		if r == '?' && (i > 0 && isDigit(notation[i-1]) || i+1 < len(notation) && isDigit(notation[i+1])) {
			return Train{}, &NotationError{"train", "A ? stands for a whole count: write ? alone, not digits beside it."}
		}
	}
	t, err := Parse(strings.ReplaceAll(notation, "?", hole))
	if err != nil {
		return Train{}, err
	}
	for _, n := range t.allCounts() {
		if *n == maxCount {
			*n = 0
		}
	}
	return t, nil
}

func isDigit(b byte) bool { return b >= '0' && b <= '9' }

// allCounts returns every count of t in the order of the notation.
func (t *Train) allCounts() []*int {
	var counts []*int
	for i := range t.Stages {
		counts = append(counts, &t.Stages[i].Wheel, &t.Stages[i].Pinion)
	}
	counts = append(counts, &t.EscapeTeeth)
	if t.Seconds.Layout == CentreIndirect {
		counts = append(counts, &t.Seconds.Drive.Wheel, &t.Seconds.Drive.Pinion)
	}
	if t.Minute != nil {
		counts = append(counts, &t.Minute.Wheel, &t.Minute.Pinion)
	}
	return counts
}

// NotationWithGaps writes t as String does, with a ? for each count of 0.
func (t Train) NotationWithGaps() string {
	t = t.clone()
	for _, n := range t.allCounts() {
		if *n == 0 {
			*n = maxCount
		}
	}
	return strings.ReplaceAll(t.String(), "99999", "?")
}

func (t Train) clone() Train {
	t.Stages = slices.Clone(t.Stages)
	if t.Minute != nil {
		d := *t.Minute
		t.Minute = &d
	}
	return t
}

func (q Missing) clone() Missing {
	q.Train = q.Train.clone()
	if q.Motion != nil {
		m := *q.Motion
		q.Motion = &m
	}
	return q
}

// places lists every count of q, missing or not.
func (q *Missing) places() []Sought {
	if q.Motion != nil {
		places := make([]Sought, len(motionFields))
		for i, f := range motionFields {
			kind := WheelTeeth
			if f.of == "leaves" {
				kind = PinionLeaves
			}
			places[i] = Sought{f.name, f.what, kind, i / 2, func(q *Missing) *int { return q.Motion.counts()[i] }}
		}
		return places
	}
	var places []Sought
	add := func(field, name string, kind Kind, mesh int) {
		i := len(places)
		places = append(places, Sought{field, name, kind, mesh, func(q *Missing) *int { return q.Train.allCounts()[i] }})
	}
	n := len(q.Train.Stages)
	for i := range n {
		add(fmt.Sprintf("wheel_%d", i+1), q.Train.arborName(i+2)+" wheel", WheelTeeth, i)
		add(fmt.Sprintf("pinion_%d", i+1), q.Train.arborName(i+3)+" pinion", PinionLeaves, i)
	}
	add("escape", "escape wheel", EscapeWheelTeeth, -1)
	if q.Train.Seconds.Layout == CentreIndirect {
		add("seconds", "wheel that drives the seconds pinion", WheelTeeth, n)
		add("seconds", "seconds pinion", PinionLeaves, n)
	}
	if q.Train.Minute != nil {
		add("minute", "wheel that drives the cannon pinion", WheelTeeth, n+1)
		add("minute", "cannon pinion", PinionLeaves, n+1)
	}
	return places
}

// Sought lists the missing counts of q in the order of the notation.
func (q *Missing) Sought() []Sought {
	return slices.DeleteFunc(q.places(), func(s Sought) bool { return *s.count(q) != 0 })
}

// meshAt returns mesh i of q, whose counts may be 0.
func (q *Missing) meshAt(i int) Mesh {
	if q.Motion != nil {
		c := q.Motion.counts()
		return Mesh{Wheel: *c[2*i+1], Pinion: *c[2*i], PinionDrives: true}
	}
	switch n := len(q.Train.Stages); i {
	case n:
		return Mesh{Wheel: q.Train.Seconds.Drive.Wheel, Pinion: q.Train.Seconds.Drive.Pinion}
	case n + 1:
		return Mesh{Wheel: q.Train.Minute.Wheel, Pinion: q.Train.Minute.Pinion}
	}
	return Mesh{Wheel: q.Train.Stages[i].Wheel, Pinion: q.Train.Stages[i].Pinion}
}

// sharedCentres reports whether meshes 0 and 1 of q have one centre distance, since the first and the last of their
// three arbors stand on one axis: in motion work, and where the fourth wheel stands in the centre.
func (q *Missing) sharedCentres() bool {
	return q.Motion != nil || q.Train.Seconds.Layout == CentreDirect && len(q.Train.Stages) > 1
}

// Problems says, by field, what stops q being answered: the fields of Train or MotionWork, beats_per_hour, dial_hours,
// and first_ and second_ with centres, wheel_outside, pinion_outside for what was measured; train or motion for the
// whole.
func (q Missing) Problems() map[string]string {
	q = q.clone()
	whole := "train"
	if q.Motion != nil {
		whole = "motion"
	}
	sought := q.Sought()
	bad := q.problemsOfKnown(sought)
	switch {
	case len(sought) == 0:
		bad[whole] = "Put a ? for the count that is missing, as in 80:10,?:10,80:?,15."
	case len(sought) > 2:
		bad[whole] = fmt.Sprintf("%d counts are missing: at most two can be found. Count what is still there.", len(sought))
	}
	if n := q.BeatsPerHour; q.Motion == nil && n != 0 && (n < 3600 || n > 72000) {
		bad["beats_per_hour"] = "Give whole beats per hour from 3600 to 72000, or leave it to be found."
	}
	if n := q.DialHours; n != 0 && n != 12 && n != 24 {
		bad["dial_hours"] = "A dial has 12 or 24 hours."
	}
	if q.LengthUM != 0 && !(q.LengthUM >= 0.001 && q.LengthUM <= 0.5) {
		bad["length_u"] = "Give the uncertainty of a length from 0.001 to 0.5 mm, or leave it empty."
	}
	maps.Copy(bad, q.problemsOfMeasured(sought))
	if len(bad) > 0 {
		return bad
	}
	for i, s := range sought {
		if !slices.ContainsFunc(q.equations(q.beats()[0]), func(e equation) bool { return e.exponent[i] != 0 }) {
			bad[s.Field] = fmt.Sprintf("Nothing that is asked depends on the %s, so no count follows for it.", s.Name)
			if s.Field == "seconds" {
				bad[s.Field] += " Ask for a seconds hand that turns once a minute."
			}
		}
	}
	return bad
}

// problemsOfKnown says what is wrong with the counts that are there.
func (q *Missing) problemsOfKnown(sought []Sought) map[string]string {
	if q.Motion != nil {
		return q.Motion.Problems()
	}
	filled := q.clone()
	for _, s := range sought {
		if s.Field == "seconds" || s.Field == "minute" { // one field for both counts of a drive
			*s.count(&filled) = MinTeeth
		}
	}
	bad := filled.Train.Problems()
	for _, s := range sought {
		if s.Field != "seconds" && s.Field != "minute" {
			delete(bad, s.Field)
		}
	}
	if q.SecondsOnceAMinute && !q.CarriesSeconds() && bad["train"] == "" && bad["seconds"] == "" {
		bad["seconds"] = "This train carries no seconds hand that could turn once a minute."
	}
	return bad
}

// CarriesSeconds reports whether the train of q has a seconds hand, whatever its counts.
func (q Missing) CarriesSeconds() bool {
	t := q.Train.clone()
	for _, n := range t.allCounts() {
		*n = max(*n, 1)
	}
	_, ok := t.SecondsHand()
	return ok
}

func (q *Missing) problemsOfMeasured(sought []Sought) map[string]string {
	bad := map[string]string{}
	for i, prefix := range []string{"first_", "second_"} {
		d := q.Measured[i]
		if d == (Measured{}) {
			continue
		}
		switch {
		case i >= len(sought):
			bad[prefix+"centres"] = "Only one count is missing: these belong with the first."
			continue
		case sought[i].mesh < 0:
			bad[prefix+"centres"] = "The escape wheel works with the pallets and is in mesh with no pinion: leave this empty."
			continue
		}
		maps.Copy(bad, d.problems(prefix))
	}
	if len(sought) == 2 && sought[0].mesh == sought[1].mesh && len(bad) == 0 {
		for _, f := range []struct {
			field string
			a, b  float64
		}{{"centres", q.Measured[0].CentreDistanceMm, q.Measured[1].CentreDistanceMm},
			{"wheel_outside", q.Measured[0].WheelOutsideMm, q.Measured[1].WheelOutsideMm},
			{"pinion_outside", q.Measured[0].PinionOutsideMm, q.Measured[1].PinionOutsideMm}} {
			if f.a != 0 && f.b != 0 && f.a != f.b {
				bad["second_"+f.field] = "Both missing counts are in one mesh, so this is the first one’s figure again: give it once."
			}
		}
	}
	return bad
}
