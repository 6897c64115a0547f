package train

import (
	"cmp"
	"fmt"
	"maps"
	"math/big"
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
	LengthUM float64 // standard uncertainty of a measured length, mm; 0 is read as DefaultLengthUMm
}

// DefaultLengthUMm is the standard uncertainty of a measured length, mm, where nothing else is said: what a good slide
// gauge gives in practised hands (common practice).
const DefaultLengthUMm = 0.01

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

// Problems says, by field, what stops q being answered: the fields of Train or MotionWork, beats_per_hour, dial_hours, and
// first_ and second_ with centres, wheel_outside, pinion_outside for what was measured; train or motion for the whole.
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

// equation asks that the product of the missing counts, each to its exponent, be num/den.
type equation struct {
	exponent [2]int
	num, den int64
}

// holds reports whether the counts satisfy e.
func (e equation) holds(counts [2]int64) bool {
	num, den := e.num, e.den
	for i, n := range counts {
		switch e.exponent[i] {
		case 1:
			den *= n
		case -1:
			num *= n
		}
	}
	return num == den
}

// last returns the second count that satisfies e beside the first; false where there is no whole one.
func (e equation) last(first int64) (int64, bool) {
	num, den := e.num, e.den
	switch e.exponent[0] {
	case 1:
		den *= first
	case -1:
		num *= first
	}
	if e.exponent[1] < 0 {
		num, den = den, num
	}
	return num / den, num%den == 0
}

// beats lists the beats per hour to look for.
func (q *Missing) beats() []int {
	if q.BeatsPerHour != 0 || q.Motion != nil {
		return []int{q.BeatsPerHour}
	}
	return UsualBeats()
}

// ones returns q with every missing count set to 1.
func (q *Missing) ones(sought []Sought) Missing {
	filled := q.clone()
	for _, s := range sought {
		*s.count(&filled) = 1
	}
	return filled
}

// demands returns what must hold, exactly, of q with all counts in place: each is a figure and what it must be.
func (q *Missing) demands(beats int) [][2]*big.Rat {
	if q.Motion != nil {
		ratio, _ := q.Motion.Ratio()
		return [][2]*big.Rat{{ratio, big.NewRat(int64(cmp.Or(q.DialHours, 12)), 1)}}
	}
	list := [][2]*big.Rat{{q.Train.Beats(), big.NewRat(int64(beats), 1)}}
	if q.SecondsOnceAMinute {
		if hand, ok := q.Train.SecondsHand(); ok {
			list = append(list, [2]*big.Rat{hand.TurnsPerHour, big.NewRat(60, 1)})
		}
	}
	return list
}

// equations puts the demands into terms of the missing counts. A count's exponent is seen from what doubling it does.
// A quotient too large for any two counts is left as one that none satisfies.
func (q *Missing) equations(beats int) []equation {
	sought := q.Sought()
	base := q.ones(sought)
	var list []equation
	for i, d := range base.demands(beats) {
		var e equation
		for j, s := range sought[:min(2, len(sought))] {
			twice := base.clone()
			*s.count(&twice) = 2
			e.exponent[j] = twice.demands(beats)[i][0].Cmp(d[0])
		}
		want := new(big.Rat).Quo(d[1], d[0])
		if most := big.NewInt(MaxTeeth * MaxTeeth); want.Num().Cmp(most) > 0 || want.Denom().Cmp(most) > 0 {
			e.num, e.den = MaxTeeth*MaxTeeth*MaxTeeth+1, 1 // whatever the counts, it doesn’t hold
		} else {
			e.num, e.den = want.Num().Int64(), want.Denom().Int64()
		}
		list = append(list, e)
	}
	return list
}

// solve calls found with every pair of whole counts within the limits that satisfies q at these beats; the second is
// 1 where one count is missing.
func (q *Missing) solve(sought []Sought, beats int, found func(counts [2]int64)) {
	equations := q.equations(beats)
	try := func(counts [2]int64) {
		for _, e := range equations {
			if !e.holds(counts) {
				return
			}
		}
		found(counts)
	}
	least, most := sought[0].Kind.limits()
	if len(sought) == 1 {
		for n := least; n <= most; n++ {
			try([2]int64{int64(n), 1})
		}
		return
	}
	// Some equation has the second count, else Problems has refused q.
	by := equations[max(0, slices.IndexFunc(equations, func(e equation) bool { return e.exponent[1] != 0 }))]
	least2, most2 := sought[1].Kind.limits()
	for n := least; n <= most; n++ {
		if n2, whole := by.last(int64(n)); whole && n2 >= int64(least2) && n2 <= int64(most2) {
			try([2]int64{int64(n), n2})
		}
	}
}

// Answer is one way to fill what is missing.
type Answer struct {
	Train        Train       // filled; of a going train
	Motion       *MotionWork // filled; of a motion work
	Counts       []int       // of the missing, in the order of Sought
	BeatsPerHour int         // 0 for motion work
	Meshes       []MeshFound // those that have a missing count, each once
	Weight       float64     // plausibility against the best answer’s, which has 1: a judgement, no probability
	Standing     string      // Weight in words
	Reasons      []string    // what speaks for it and against it, as sentences
}

// MeshFound is a mesh of an answer.
type MeshFound struct {
	Of     int    // place of its first missing count in Sought
	Name   string // centre wheel and third pinion
	Mesh   Mesh
	Module Module // Ways is 0 where nothing was measured
	Size   Size   // at Module; without it only what stands in modules counts
}

// Found is what a search found.
type Found struct {
	Sought  []Sought
	Answers []Answer // the most plausible first
	// Exact is, where one count is missing and no whole one fits, what it would have to be at each beat sought.
	Exact []ExactCount
	// Doubts are counts that, were they other by one or two, would let whole answers be: what to count again. Only
	// where there is no answer.
	Doubts []Doubt
}

// ExactCount is a count that need not be whole.
type ExactCount struct {
	BeatsPerHour int // 0 for motion work
	Count        *big.Rat
}

// Doubt is a count given that may have been miscounted.
type Doubt struct {
	Name           string
	Given, Instead int
	Then           Answer // the most plausible answer with Instead
}

// Find returns every whole-number answer to q within the practical limits of counts (MinTeeth, MinLeaves and their
// neighbours), the most plausible first. It panics where q has Problems.
//
// The beat of a train is exactly 2 · escape teeth · wheels / pinions · turns of the second wheel, the seconds hand's turns
// and a motion work's ratio are such quotients too; so with one missing count given, the other follows by division and
// is an answer if it is whole.
func (q Missing) Find() Found {
	if bad := q.Problems(); len(bad) > 0 {
		panic(fmt.Sprintf("train: Find of a question with problems: %v", bad))
	}
	q.LengthUM = cmp.Or(q.LengthUM, DefaultLengthUMm)
	f := Found{Sought: q.Sought()}
	f.Answers = q.answers(f.Sought)
	if len(f.Answers) > 0 {
		best := f.Answers[0].Weight
		for i := range f.Answers {
			f.Answers[i].Weight /= best
			f.Answers[i].Standing = standing(i, f.Answers[i].Weight)
		}
		return f
	}
	f.Exact = q.exact(f.Sought)
	for _, p := range q.places() {
		given := *p.count(&q)
		if given == 0 {
			continue
		}
		for _, other := range []int{given - 1, given + 1, given - 2, given + 2} {
			changed := q.clone()
			*p.count(&changed) = other
			if len(changed.Problems()) > 0 {
				continue
			}
			if answers := changed.answers(f.Sought); len(answers) > 0 {
				f.Doubts = append(f.Doubts, Doubt{p.Name, given, other, answers[0]})
			}
		}
	}
	slices.SortStableFunc(f.Doubts, func(a, b Doubt) int { return cmp.Compare(b.Then.Weight, a.Then.Weight) })
	for i := range f.Doubts {
		f.Doubts[i].Then.Weight = 1
	}
	return f
}

// exact returns what a single missing count would have to be.
func (q *Missing) exact(sought []Sought) []ExactCount {
	if len(sought) != 1 {
		return nil
	}
	base := q.ones(sought)
	var list []ExactCount
	for _, beats := range q.beats() {
		for i, d := range base.demands(beats) {
			twice := base.clone()
			*sought[0].count(&twice) = 2
			want := new(big.Rat).Quo(d[1], d[0])
			switch twice.demands(beats)[i][0].Cmp(d[0]) {
			case 0:
				continue
			case -1:
				want.Inv(want)
			}
			list = append(list, ExactCount{beats, want})
			break
		}
	}
	return list
}

// answers returns the answers to q, the heaviest first; their weights are not yet set against the best one's.
func (q *Missing) answers(sought []Sought) []Answer {
	type hit struct {
		filled Missing
		beats  int
		counts [2]int64
	}
	var hits []hit
	for _, beats := range q.beats() {
		q.solve(sought, beats, func(counts [2]int64) {
			filled := q.clone()
			for i, s := range sought {
				*s.count(&filled) = int(counts[i])
			}
			for _, s := range sought {
				if m := s.mesh; m >= 0 {
					if mesh := filled.meshAt(m); mesh.Wheel <= mesh.Pinion {
						return
					}
				}
			}
			hits = append(hits, hit{filled, beats, counts})
		})
	}
	list := make([]Answer, 0, len(hits))
	for _, h := range hits {
		a := Answer{BeatsPerHour: h.beats, Train: h.filled.Train, Motion: h.filled.Motion, Meshes: h.filled.found(sought)}
		for i := range sought {
			a.Counts = append(a.Counts, int(h.counts[i]))
		}
		a.Weight, a.Reasons = h.filled.weigh(q, sought, a)
		list = append(list, a)
	}
	slices.SortStableFunc(list, func(a, b Answer) int {
		return cmp.Or(cmp.Compare(b.Weight, a.Weight), slices.Compare(a.Counts, b.Counts), a.BeatsPerHour-b.BeatsPerHour)
	})
	return list
}
