package train

import (
	"fmt"
	"math/big"
	"slices"
)

// beatsPerTooth is what an escapement of lever kind, pin pallets included, gives for each tooth of its escape wheel: a
// beat for each pallet.
const beatsPerTooth = 2

// fourth is the arbor that carries the seconds hand of the usual train.
const fourth = 4

// Arbor is one arbor of a going train.
type Arbor struct {
	Number       int      // 2 is the second
	Name         string   // centre, third, fourth, ..., escape
	Wheel        int      // teeth of the wheel it carries
	Pinion       int      // leaves of its pinion in the train; 0 for the second arbor, whose pinion belongs to the barrel
	TurnsPerHour *big.Rat // exact
	Clockwise    bool     // seen from the dial side
}

// PeriodS is the time of one turn, seconds.
func (a Arbor) PeriodS() *big.Rat { return period(a.TurnsPerHour) }

// Hand is a hand that the train turns.
type Hand struct {
	TurnsPerHour *big.Rat
	Clockwise    bool   // seen from the dial side, as it should be
	On           string // what carries it
}

// PeriodS is the time of one turn, seconds.
func (h Hand) PeriodS() *big.Rat { return period(h.TurnsPerHour) }

func period(turnsPerHour *big.Rat) *big.Rat {
	return new(big.Rat).Quo(big.NewRat(3600, 1), turnsPerHour)
}

// Arbors returns the arbors from the second to the escape wheel's. The minute hand turns once an hour; that fixes
// the rest. Seen from the dial side the minute hand goes clockwise, and each mesh turns the direction round. The counts
// must be above 0, as Parse sees to.
func (t Train) Arbors() []Arbor {
	turns, clockwise := t.second()
	arbors := make([]Arbor, 0, len(t.Stages)+1)
	pinion := 0
	for i := range len(t.Stages) + 1 {
		a := Arbor{Number: i + 2, Name: t.arborName(i + 2), Wheel: t.EscapeTeeth, Pinion: pinion, TurnsPerHour: turns,
			Clockwise: clockwise}
		if i < len(t.Stages) {
			s := t.Stages[i]
			a.Wheel, pinion = s.Wheel, s.Pinion
			turns = new(big.Rat).Mul(turns, s.ratio())
		}
		clockwise = !clockwise
		arbors = append(arbors, a)
	}
	return arbors
}

func (s Stage) ratio() *big.Rat { return big.NewRat(int64(s.Wheel), int64(s.Pinion)) }

// second returns the turns per hour and the direction of the second arbor.
func (t Train) second() (turnsPerHour *big.Rat, clockwise bool) {
	turns := big.NewRat(1, 1)
	if t.Minute == nil {
		return turns, true
	}
	turns.SetFrac64(int64(t.Minute.Pinion), int64(t.Minute.Wheel)) // of the arbor that drives the cannon pinion
	for _, s := range t.Stages[:min(t.Minute.Arbor-2, len(t.Stages))] {
		turns.Quo(turns, s.ratio())
	}
	meshes := t.Minute.meshes() + t.Minute.Arbor - 2
	return turns, meshes%2 == 0
}

// meshes is the number of meshes from the arbor to the hand's pinion.
func (d HandDrive) meshes() int {
	if d.Idler != 0 {
		return 2
	}
	return 1
}

// arborName is the trade's name of arbor n of t.
func (t Train) arborName(n int) string {
	switch {
	case n == len(t.Stages)+2:
		return "escape"
	case n == 2 && t.Minute == nil:
		return "centre"
	}
	return ordinal(n)
}

// Escape returns the escape wheel's arbor.
func (t Train) Escape() Arbor {
	arbors := t.Arbors()
	return arbors[len(arbors)-1]
}

// Beats is the number of beats per hour, two to a full oscillation:
//
//	beats = 2 · escape teeth · (product of wheels / product of pinions) · turns per hour of the second wheel
//
// Source: the train formula of the trade's handbooks; the last factor is 1 where the centre wheel carries the minute
// hand.
func (t Train) Beats() *big.Rat {
	return new(big.Rat).Mul(t.Escape().TurnsPerHour, big.NewRat(int64(beatsPerTooth*t.EscapeTeeth), 1))
}

// Hertz is the frequency of the balance: full oscillations per second.
func (t Train) Hertz() *big.Rat { return new(big.Rat).Quo(t.Beats(), big.NewRat(7200, 1)) }

// BeatsPerTurn is the number of beats in one turn of an arbor (2 is the second); false where t has no such arbor. It
// doesn't depend on what turns once an hour.
func (t Train) BeatsPerTurn(arbor int) (*big.Rat, bool) {
	arbors := t.Arbors()
	i := arbor - 2
	if i < 0 || i >= len(arbors) {
		return nil, false
	}
	return new(big.Rat).Quo(t.Beats(), arbors[i].TurnsPerHour), true
}

// MinuteHand is the minute hand, which turns once an hour.
func (t Train) MinuteHand() Hand {
	h := Hand{TurnsPerHour: big.NewRat(1, 1), Clockwise: true, On: "cannon pinion on the centre arbor"}
	if t.Minute != nil {
		h.On = fmt.Sprintf("cannon pinion of %d, driven from the %s arbor", t.Minute.Pinion, t.arborName(t.Minute.Arbor))
	}
	return h
}

// SecondsHand returns the seconds hand; false where the train carries none.
func (t Train) SecondsHand() (Hand, bool) {
	arbors := t.Arbors()
	switch t.Seconds.Layout {
	case CentreIndirect:
		d := t.Seconds.Drive
		if d.Arbor-2 < 0 || d.Arbor-2 >= len(arbors) {
			return Hand{}, false
		}
		a := arbors[d.Arbor-2]
		turns := new(big.Rat).Mul(a.TurnsPerHour, big.NewRat(int64(d.Wheel), int64(d.Pinion)))
		return Hand{turns, a.Clockwise == (d.meshes()%2 == 0), fmt.Sprintf("seconds pinion of %d, driven from the %s arbor",
			d.Pinion, a.Name)}, true
	case SubSeconds, CentreDirect:
		if !t.hasFourth() {
			return Hand{}, false
		}
		a := arbors[fourth-2]
		return Hand{a.TurnsPerHour, a.Clockwise, a.Name + " arbor"}, true
	}
	return Hand{}, false
}

// hasFourth reports whether t has a fourth wheel before its escape wheel.
func (t Train) hasFourth() bool { return len(t.Stages) > fourth-2 }

// TicksPerGraduation is the number of beats in which the seconds hand passes one of so many graduations of its track;
// false where there is no hand or no graduation.
func (t Train) TicksPerGraduation(graduations int) (*big.Rat, bool) {
	hand, ok := t.SecondsHand()
	if !ok || graduations < 1 {
		return nil, false
	}
	perTurn := new(big.Rat).Quo(t.Beats(), hand.TurnsPerHour)
	return perTurn.Quo(perTurn, big.NewRat(int64(graduations), 1)), true
}

// String says where the seconds hand is.
func (l SecondsLayout) String() string {
	return [...]string{"sub-seconds", "centre-seconds, direct", "centre-seconds, indirect", "no seconds hand"}[l]
}

// UsualBeats are the beats per hour that watches are usually made for (common practice).
func UsualBeats() []int { return []int{14400, 16200, 18000, 19800, 21600, 25200, 28800, 36000} }

// IsUsualBeat reports whether r is one of UsualBeats.
func IsUsualBeat(r *big.Rat) bool {
	return r.IsInt() && r.Num().IsInt64() && slices.Contains(UsualBeats(), int(r.Num().Int64()))
}
