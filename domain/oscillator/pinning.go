package oscillator

import (
	"math"
)

// Pinning is how a hairspring leaves its collet, the balance at rest.
type Pinning struct {
	// Collet is where the spring leaves the collet, as an hour of the dial seen from the dial side.
	Collet Hour
	// Clockwise is how the spring winds from the collet outwards, seen from the dial side.
	Clockwise bool
}

// PinningFromBalanceSide takes the hour and the sense as they are seen from the balance side, the watch standing with
// its 12 up.
func PinningFromBalanceSide(hour Hour, clockwise bool) Pinning {
	return Pinning{Collet: hours(-float64(hour)), Clockwise: !clockwise}
}

func hours(h float64) Hour { return Hour(turn(h*degreesPerHour) / degreesPerHour) }

func (p Pinning) sense() float64 {
	if p.Clockwise {
		return 1
	}
	return -1
}

// FastHour returns the hour of the dial that, uppermost, gives the fastest of the vertical rates: the direction in
// which the spring leaves the collet. Where it leaves upward the rate is fast against the opposite position, and the
// two positions at right angles compare closely (Kleinlein, 1920, sections 32 and 33). That holds for a poised balance
// with a flat spring at full amplitude; how many seconds it makes depends on the spring, and the rule does not say.
func (p Pinning) FastHour() Hour { return hours(float64(p.Collet) + 3*p.sense()) }

// SlowHour returns the hour that, uppermost, gives the slowest rate: opposite to FastHour.
func (p Pinning) SlowHour() Hour { return hours(float64(p.FastHour()) + 6) }

// PinningMove is how much of the spring to take away or to let out so that the fast position becomes the wanted one.
// The stud stays; the collet is turned on its staff until the watch is in beat again.
type PinningMove struct {
	TakeCoils float64 // of a coil, at either end; the effect on the positions is the same (Kleinlein, section 30)
	LetCoils  float64 // the other way round: let out, where there is spring to let out
	// What it costs in rate when taken at the collet or at the outer end, or let out at the collet, s/d, to be made up
	// with the balance's weights; nil when the spiral is not known.
	TakeAtCollet, TakeOutside, LetAtCollet *PinningCost
}

// PinningCost is a piece of spring and what its loss or gain does to the mean rate.
type PinningCost struct {
	LengthMm    float64
	RateSPerDay float64
}

// Towards returns the move that makes the wanted hour the fast one. Taking spring away moves the pinning point
// outwards along the spring. s is nil when it is not known.
func (p Pinning) Towards(wanted Hour, s *Spiral) PinningMove {
	deg := turn(p.sense() * (float64(wanted) - float64(p.FastHour())) * degreesPerHour)
	if deg > 359.5 || deg < 0.5 { // there already
		deg = 0
	}
	out := PinningMove{TakeCoils: deg / 360}
	if deg > 0 {
		out.LetCoils = 1 - out.TakeCoils
	}
	if s == nil || deg == 0 {
		return out
	}
	whole, pitch := s.LengthMm(), s.PitchMm()
	cost := func(from, coils, sign float64) *PinningCost {
		if from <= 0 || coils >= s.Coils {
			return nil
		}
		l := Spiral{InnerRadiusMm: from, OuterRadiusMm: from + coils*pitch, Coils: coils}.LengthMm()
		return &PinningCost{LengthMm: l, RateSPerDay: Change{Length: sign * l / whole}.RateSPerDay()}
	}
	out.TakeAtCollet = cost(s.InnerRadiusMm, out.TakeCoils, -1)
	out.TakeOutside = cost(s.OuterRadiusMm-out.TakeCoils*pitch, out.TakeCoils, -1)
	out.LetAtCollet = cost(s.InnerRadiusMm-out.LetCoils*pitch, out.LetCoils, 1)
	return out
}

// RoundQuarters returns coils rounded to quarters, and whether they lie within a sixteenth of one: the trade's rule
// moves the pinning by quarter turns.
func RoundQuarters(coils float64) (quarters int, near bool) {
	q := math.Round(4 * coils)
	return int(q), math.Abs(4*coils-q) <= 0.25
}

// Problems says, by form field, what cannot be right: "collet_hour".
func (p Pinning) Problems() map[string]string {
	if !(p.Collet >= 0 && p.Collet <= 12) {
		return map[string]string{"collet_hour": "Give the hour at which the spring leaves the collet, 0 to 12."}
	}
	return map[string]string{}
}
