package train

import (
	"errors"
	"fmt"
	"math"
	"math/big"
)

// Counted is what was counted in a timed count.
type Counted uint8

// What can be counted: beats by ear, whole turns of a wheel by a mark on it, or teeth of a wheel as they pass.
const (
	CountTicks Counted = iota
	CountTurns
	CountTeeth
)

// Count is a timed count. Figures are exact as typed: counts and times often decide between beats by a hair.
type Count struct {
	Of          Counted
	Arbor       int      // of CountTurns and CountTeeth; 2 is the second
	Number      *big.Rat // counted, above 0
	Within      *big.Rat // the count may be off by this much either way, in what was counted
	Seconds     *big.Rat // it took, above 0
	WithinS     *big.Rat // the time may be off by this much either way, s
	RateSPerDay *big.Rat // how far off rate the watch may be, either way; a usual beat that near is allowed
}

// Counting is what a timed count says.
type Counting struct {
	BeatsPerHour *big.Rat // best estimate
	Low, High    *big.Rat // the least and greatest beats per hour that the count allows
	// StandardBeatsPerHour is the standard uncertainty of BeatsPerHour: both limits taken as rectangular, combined in
	// quadrature (JCGM 100, 4.3.7 and 5.1.2).
	StandardBeatsPerHour float64
	Allowed              []int // of the usual beats, those that fit
}

// ErrNoArbor reports a count on an arbor that the train doesn't have.
var ErrNoArbor = errors.New("the train has no such arbor")

const secondsPerDay = 86400

// Problems says, by field, what stands against c: number, within, seconds, within_s, rate.
func (c Count) Problems() map[string]string {
	bad := map[string]string{}
	positive := func(field string, r *big.Rat, sentence string) {
		if r == nil || r.Sign() <= 0 {
			bad[field] = sentence
		}
	}
	positive("number", c.Number, "Give the number counted, above 0.")
	positive("seconds", c.Seconds, "Give the time that it took, above 0 s.")
	notNegative := func(field string, r *big.Rat, sentence string) {
		if r == nil || r.Sign() < 0 {
			bad[field] = sentence
		}
	}
	notNegative("within", c.Within, "Give how far the count may be off, 0 or more.")
	notNegative("within_s", c.WithinS, "Give how far the time may be off, 0 s or more.")
	notNegative("rate", c.RateSPerDay, "Give how far off rate the watch may be, 0 s/d or more.")
	if bad["number"] == "" && bad["within"] == "" && c.Within.Cmp(c.Number) >= 0 {
		bad["within"] = "The count can’t be off by as much as was counted: count longer."
	}
	if bad["seconds"] == "" && bad["within_s"] == "" && c.WithinS.Cmp(c.Seconds) >= 0 {
		bad["within_s"] = "The time can’t be off by as much as it took: count longer."
	}
	if bad["rate"] == "" && c.RateSPerDay.Cmp(big.NewRat(secondsPerDay, 10)) > 0 {
		bad["rate"] = "A watch more than 8640 s/d off rate has another beat than its own: give less."
	}
	return bad
}

// Solve returns the beat that c counts. t is needed for CountTurns and CountTeeth and may be the zero Train for
// CountTicks. c has no Problems; the error is ErrNoArbor.
func (c Count) Solve(t Train) (Counting, error) {
	beatsPer := big.NewRat(1, 1) // of what was counted
	if c.Of != CountTicks {
		perTurn, ok := t.BeatsPerTurn(c.Arbor)
		if !ok {
			return Counting{}, fmt.Errorf("%w: %d", ErrNoArbor, c.Arbor)
		}
		beatsPer = perTurn
		if c.Of == CountTeeth {
			beatsPer.Quo(beatsPer, big.NewRat(int64(t.Arbors()[c.Arbor-2].Wheel), 1))
		}
	}
	perHour := func(number, seconds *big.Rat) *big.Rat {
		r := new(big.Rat).Mul(number, beatsPer)
		return r.Quo(r.Mul(r, big.NewRat(3600, 1)), seconds)
	}
	add, sub := func(a, b *big.Rat) *big.Rat { return new(big.Rat).Add(a, b) }, func(a, b *big.Rat) *big.Rat {
		return new(big.Rat).Sub(a, b)
	}
	found := Counting{
		BeatsPerHour: perHour(c.Number, c.Seconds),
		Low:          perHour(sub(c.Number, c.Within), add(c.Seconds, c.WithinS)),
		High:         perHour(add(c.Number, c.Within), sub(c.Seconds, c.WithinS)),
	}
	best, _ := found.BeatsPerHour.Float64()
	found.StandardBeatsPerHour = best / math.Sqrt(3) * math.Hypot(quotient(c.Within, c.Number),
		quotient(c.WithinS, c.Seconds))
	off := new(big.Rat).Quo(c.RateSPerDay, big.NewRat(secondsPerDay, 1))
	one := big.NewRat(1, 1)
	for _, usual := range UsualBeats() {
		beat := big.NewRat(int64(usual), 1)
		slowest, fastest := new(big.Rat).Mul(beat, sub(one, off)), new(big.Rat).Mul(beat, add(one, off))
		if slowest.Cmp(found.High) <= 0 && fastest.Cmp(found.Low) >= 0 {
			found.Allowed = append(found.Allowed, usual)
		}
	}
	return found, nil
}

func quotient(a, b *big.Rat) float64 {
	q, _ := new(big.Rat).Quo(a, b).Float64()
	return q
}

// MinutesOfTeeth is the time in which so many teeth of an arbor's wheel pass a fixed point, minutes; false where t has
// no such arbor.
func (t Train) MinutesOfTeeth(arbor, teeth int) (*big.Rat, bool) {
	arbors := t.Arbors()
	i := arbor - 2
	if i < 0 || i >= len(arbors) || arbors[i].Wheel == 0 {
		return nil, false
	}
	minutes := new(big.Rat).Mul(big.NewRat(int64(teeth), int64(arbors[i].Wheel)), big.NewRat(60, 1))
	return minutes.Quo(minutes, arbors[i].TurnsPerHour), true
}
