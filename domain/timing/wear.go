package timing

import (
	"math"
	"slices"

	"ledgerwheel/domain/metrology"
)

// Wear is what a run says of a watch that is worn: the mean of the rates in the positions that a watch on somebody takes,
// and how far they lie apart.
type Wear struct {
	Mean              metrology.Value // s/d, + gains
	Least             float64         // the least of the rates, s/d
	Greatest          float64
	Over              []Position
	HoursAfterWinding float64
}

// leastWorn is the fewest hanging positions that a word on wear is built on, beside dial up.
const leastWorn = 2

// WornPositions are those that a watch takes while it is worn: all but dial down, in which it lies on its glass. Each
// counts alike, since nobody knows the wearer. Common practice is to weigh dial up and crown down more; by how much,
// every handbook says otherwise.
func WornPositions() []Position {
	return slices.DeleteFunc(Positions(), func(p Position) bool { return p == DialDown })
}

// InWear works out Wear from the readings nearest to full wind. ok is false where the rate was not read dial up and in two
// hanging positions at least. The uncertainty is that of the mean as measured; what the wearer does to the watch is not
// in it, which is why Least and Greatest stand beside it.
func InWear(run Run, instruments Instruments) (w Wear, ok bool) {
	run = run.Averaged()
	states := run.States()
	if len(states) == 0 {
		return Wear{}, false
	}
	hours := slices.Min(states)
	w = Wear{HoursAfterWinding: hours, Least: math.Inf(1), Greatest: math.Inf(-1)}
	hanging := 0
	for _, p := range WornPositions() {
		r, taken := run.Reading(p, hours)
		if !taken || r.RateSPerDay == nil {
			continue
		}
		if p.Vertical() {
			hanging++
		}
		w.Over = append(w.Over, p)
		w.Least, w.Greatest = math.Min(w.Least, r.RateSPerDay.Value), math.Max(w.Greatest, r.RateSPerDay.Value)
	}
	if hanging < leastWorn || w.Over[0] != DialUp {
		return Wear{}, false
	}
	state, _ := StatisticsOf(run, Options{Positions: w.Over, Instruments: instruments}).At(hours)
	w.Mean = state.Mean.Value
	return w, state.Mean.Computable()
}

// Leaning says which way a worn watch goes.
type Leaning int8

// The ways. NoTelling is said where the expanded uncertainty (k = 2) reaches over zero.
const (
	Loses     Leaning = -1
	NoTelling Leaning = 0
	Gains     Leaning = 1
)

// Leaning decides by the rule of the guard band (JCGM 106, 8.3) with zero as the limit.
func (w Wear) Leaning() Leaning {
	switch u := w.Mean.Expanded(); {
	case w.Mean.Value > u:
		return Gains
	case w.Mean.Value < -u:
		return Loses
	}
	return NoTelling
}
