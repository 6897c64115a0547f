package timing

import (
	"math"

	"ledgerwheel/domain/metrology"
)

// Averaged returns the run with repeated readings of one cell drawn together, which is what limits are held against: the
// mean of each figure with the uncertainty that the readings themselves show. Every figure of a quantity carries its
// Repeatability, a mean of n divided by √n, where that is more than was stated. A run that was read once is returned as
// it is. TestMeansOfRepeatsCoverage counts how often twice the uncertainty holds.
func (r Run) Averaged() Run {
	if len(r.Again()) == 0 {
		return r
	}
	repeats := map[Quantity]float64{}
	for _, q := range Quantities() {
		if s, free := r.Repeatability(q); free > 0 {
			repeats[q] = s * metrology.WidenedForFew(free)
		}
	}
	out := r
	out.Readings = nil
	for _, first := range r.Readings {
		if _, had := out.Reading(first.Position, first.HoursAfterWinding); had {
			continue
		}
		mean := first
		mean.Repeat = 0
		for _, q := range Quantities() {
			mean.SetFigure(q, r.meanFigure(first, q, repeats[q]))
		}
		out.Readings = append(out.Readings, mean)
	}
	return out
}

// Repeatability returns how one figure of q differs from the next of the same cell, in the unit of q: the standard
// deviation about the means of the cells, pooled over all that were read more than once (JCGM 100, 4.2.2 and 4.2.4), with
// its degrees of freedom: how many figures were read beyond the first of their cells. With none it says nothing.
func (r Run) Repeatability(q Quantity) (std float64, freedom int) {
	squares := 0.0
	for _, first := range r.Readings {
		if first.Repeat != 0 {
			continue
		}
		list := r.inCell(first, q)
		mean := meanOf(list)
		for _, f := range list {
			squares += (f.Value - mean) * (f.Value - mean)
		}
		freedom += max(0, len(list)-1)
	}
	if freedom == 0 {
		return 0, 0
	}
	return math.Sqrt(squares / float64(freedom)), freedom
}

// inCell are the figures of q of all readings in the cell of one.
func (r Run) inCell(like Reading, q Quantity) []Figure {
	var out []Figure
	for _, x := range r.Readings {
		if f := x.Figure(q); f != nil && x.Position == like.Position && sameHours(x.HoursAfterWinding, like.HoursAfterWinding) {
			out = append(out, *f)
		}
	}
	return out
}

// meanOf is the mean of the figures, 0 of none.
func meanOf(list []Figure) float64 {
	mean := 0.0
	for _, f := range list {
		mean += f.Value / float64(len(list))
	}
	return mean
}

// meanFigure is the mean of one figure over the repeats of a reading, nil where none has it; repeat is the standard
// uncertainty of one by its repeatability. The mean of n is printed as if its step were 1/√n of a reading's, but keeps
// the uncertainty of a whole one: readings that agree may all have been rounded alike.
func (r Run) meanFigure(like Reading, q Quantity, repeat float64) *Figure {
	list := r.inCell(like, q)
	if len(list) == 0 {
		return nil
	}
	n := float64(len(list))
	out, step, squares := list[0], 0.0, 0.0
	for _, f := range list {
		step, squares = math.Max(step, f.Step), squares+f.StdUncertainty*f.StdUncertainty
	}
	out.Value, out.Step = meanOf(list), step/math.Sqrt(n)
	roundedAlike := metrology.FromResolution(step) * math.Sqrt(1-1/n)
	out.StdUncertainty = metrology.Quadrature(math.Max(math.Sqrt(squares)/n, repeat/math.Sqrt(n)), roundedAlike)
	return &out
}
