package train

import (
	"cmp"
	"fmt"
	"math/big"
	"slices"
)

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
	Usual        float64     // plausibility by itself: the product of its factors, below leastUsual hardly ever cut
	Standing     string      // both in words
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
	// Doubts are counts that, were they other by one or two, would let whole answers be, or far more usual ones: what to
	// count again. Only where there is no answer, or none that is Usual.
	Doubts []Doubt
}

// Unusual reports that there are answers, none of which a wheel maker would be likely to cut.
func (f Found) Unusual() bool { return len(f.Answers) > 0 && f.Answers[0].Hardly() }

// Hardly reports that a wheel maker would hardly cut what a asks for.
func (a Answer) Hardly() bool { return a.Usual < leastUsual }

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
// The beat of a train is exactly 2 · escape teeth · wheels / pinions · turns of the second wheel, the seconds hand's
// turns and a motion work's ratio are such quotients too; so with one missing count given, the other follows by
// division and is an answer if it is whole.
func (q Missing) Find() Found {
	if bad := q.Problems(); len(bad) > 0 {
		panic(fmt.Sprintf("train: Find of a question with problems: %v", bad))
	}
	q.LengthUM = cmp.Or(q.LengthUM, defaultLengthUMm)
	f := Found{Sought: q.Sought()}
	f.Answers = q.answers(f.Sought)
	if len(f.Answers) > 0 {
		best := f.Answers[0].Usual
		for i := range f.Answers {
			f.Answers[i].Weight = f.Answers[i].Usual / best
			f.Answers[i].Standing = standing(i, f.Answers[i].Weight, f.Answers[i].Usual)
		}
		if f.Unusual() {
			f.Doubts = q.doubts(f.Sought, leastUsual)
		}
		return f
	}
	f.Exact = q.exact(f.Sought)
	f.Doubts = q.doubts(f.Sought, 0)
	return f
}

// twiceMiscounted is how much less often a count is off by two than by one (judgement).
const twiceMiscounted = 0.5

// doubts are the given counts that, other by one or two, would let answers be that are usual at least so far; the most
// usual first.
func (q *Missing) doubts(sought []Sought, least float64) []Doubt {
	var list []Doubt
	weight := map[string]float64{}
	for _, p := range q.places() {
		given := *p.count(q)
		if given == 0 {
			continue
		}
		for _, other := range []int{given - 1, given + 1, given - 2, given + 2} {
			changed := q.clone()
			*p.count(&changed) = other
			if len(changed.Problems()) > 0 {
				continue
			}
			if answers := changed.answers(sought); len(answers) > 0 && answers[0].Usual >= least {
				answers[0].Weight = 1
				list = append(list, Doubt{p.Name, given, other, answers[0]})
				f := q.countFactor(p, other)
				if off := other - given; off*off > 1 {
					f *= twiceMiscounted
				}
				weight[fmt.Sprint(p.Name, other)] = f * answers[0].Usual
			}
		}
	}
	slices.SortStableFunc(list, func(a, b Doubt) int {
		return cmp.Compare(weight[fmt.Sprint(b.Name, b.Instead)], weight[fmt.Sprint(a.Name, a.Instead)])
	})
	return list
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

// answers returns the answers to q, the most usual first; their weights are not yet set against the best one's.
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
		a.Usual, a.Reasons = h.filled.weigh(q, sought, a)
		list = append(list, a)
	}
	slices.SortStableFunc(list, func(a, b Answer) int {
		return cmp.Or(cmp.Compare(b.Usual, a.Usual), slices.Compare(a.Counts, b.Counts), a.BeatsPerHour-b.BeatsPerHour)
	})
	return list
}
