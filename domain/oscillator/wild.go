package oscillator

import (
	"cmp"
	"fmt"
	"maps"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"

	"ledgerwheel/domain/metrology"
)

// wildChance is the chance of calling any reading of a sound set wild.
const wildChance = 0.01

// scatterChance is the chance of looking for a wild reading in a sound set.
const scatterChance = 0.01

// tameWild finds readings that all others contradict (leave-one-out, externally studentised residual against a
// Bonferroni limit) and adds the square of the contradiction to their variance: the further off, the less it pulls.
func (f *Fit) tameWild() (map[int]float64, error) {
	extra := map[int]float64{}
	for range max(1, len(f.obs)/6) {
		found := f.wildest(extra)
		if len(found) == 0 {
			break
		}
		for _, at := range slices.Sorted(maps.Keys(found)) {
			w := found[at]
			extra[at] = w.deviation * w.deviation
			w.Weight = f.variance(f.obs[at]) / (f.variance(f.obs[at]) + extra[at])
			if len(found) > 1 {
				w.Text += " It may also be another reading of this list that is off: these cannot be told apart."
			}
			f.Wild = append(f.Wild, w)
		}
		clear(f.theta) // a wild start would weigh the amplitudes wrongly
		if err := f.solveWith(extra); err != nil {
			return nil, err
		}
	}
	return extra, nil
}

// freedom returns how many parameters the readings determine: the trace of the hat matrix.
func (f *Fit) freedom(extra map[int]float64) (chi2 float64, dof float64) {
	for i, ob := range f.obs {
		v := f.variance(ob) + extra[i]
		row := f.rowOf(ob)
		r := ob.rate - dot(row, f.theta)
		chi2 += r * r / v
		dof += 1 - f.rowVariance(row)/v
	}
	return chi2, dof
}

func (f *Fit) fitQuality(extra map[int]float64) (float64, int) {
	chi2, dof := f.freedom(extra)
	return chi2, max(0, int(math.Round(dof))-len(extra))
}

// suspects is how many readings are tried as the wild one: those that fit worst, since the wild one need not be the
// worst while it still pulls.
const suspects = 6

// wildest returns, by index, the reading whose absence mends the fit most, if it is beyond the limit, with those that
// cannot be told from it. The solution is left as it was.
func (f *Fit) wildest(extra map[int]float64) map[int]Wild {
	chi2, free := f.freedom(extra)
	dof := free - float64(len(extra))
	if dof < 1.5 || chi2 <= (distuv.ChiSquared{K: dof}).Quantile(1-scatterChance) && !f.anyBeyond(extra) {
		return nil
	}
	kept, cov := slices.Clone(f.theta), f.cov
	defer func() { f.theta, f.cov = kept, cov }()
	type suspect struct {
		at   int
		rest float64
		wild Wild
	}
	var found []suspect
	least := math.Inf(1)
	for _, at := range f.worstFitting(extra) {
		without := maps.Clone(extra)
		without[at] = absentVariance
		clear(f.theta)
		if f.solveWith(without) != nil {
			continue
		}
		rest, _ := f.freedom(without)
		least = math.Min(least, rest)
		if w, beyond := f.contradicted(at, rest, dof-1); beyond {
			found = append(found, suspect{at, rest, w})
		}
	}
	out := map[int]Wild{}
	for _, s := range found {
		if s.rest < least+alike {
			out[s.at] = s.wild
		}
	}
	return out
}

// alike is the difference of χ² below which two readings are equally likely to be the wild one (χ² with one degree of
// freedom, about 1 %). Both are then named.
const alike = 6.6

// absentVariance, (s/d)², leaves a reading no say.
const absentVariance = 1e12

// anyBeyond reports whether a reading stands beyond the limit in the present solution.
func (f *Fit) anyBeyond(extra map[int]float64) bool {
	limit := distuv.UnitNormal.Quantile(1 - wildChance/float64(2*len(f.obs)))
	return slices.ContainsFunc(f.worstFitting(extra), func(i int) bool { return f.studentised(i) > limit })
}

// studentised returns the residual of a reading over its standard deviation, 0 where nothing else speaks of it.
func (f *Fit) studentised(i int) float64 {
	ob := f.obs[i]
	v, row := f.variance(ob), f.rowOf(ob)
	room := 1 - f.rowVariance(row)/v
	if room < 1e-3 {
		return 0
	}
	return math.Abs(ob.rate-dot(row, f.theta)) / math.Sqrt(v*room)
}

func (f *Fit) worstFitting(extra map[int]float64) []int {
	t := make([]float64, len(f.obs))
	var at []int
	for i := range f.obs {
		if t[i] = f.studentised(i); t[i] > 0 && extra[i] == 0 {
			at = append(at, i)
		}
	}
	slices.SortFunc(at, func(a, b int) int { return cmp.Compare(t[b], t[a]) })
	return at[:min(len(at), suspects)]
}

// contradicted holds a reading against the present solution, which was found without it and left rest as χ².
func (f *Fit) contradicted(at int, rest, dof float64) (Wild, bool) {
	ob := f.obs[at]
	v, row := f.variance(ob), f.rowOf(ob)
	expected, spread := dot(row, f.theta), f.rowVariance(row)
	scale := math.Max(1, rest/dof)
	d := ob.rate - expected
	tail := wildChance / float64(2*len(f.obs))
	limit := distuv.UnitNormal.Quantile(1 - tail)
	if rest > (distuv.ChiSquared{K: dof}).Quantile(1-0.05) {
		limit = distuv.StudentsT{Mu: 0, Sigma: 1, Nu: dof}.Quantile(1 - tail)
	}
	if math.Abs(d) < limit*math.Sqrt((v+spread)*scale) {
		return Wild{}, false
	}
	others := metrology.Value{Value: expected, StdUncertainty: math.Sqrt(spread * scale), Unit: "s/d"}
	read := metrology.Value{Value: ob.rate, StdUncertainty: math.Hypot(ob.rateStd, f.repeat), Unit: "s/d"}
	return Wild{Run: ob.run, Position: ob.reading.Position, Hours: ob.reading.HoursAfterWinding,
		Rate: read, Others: others, deviation: d,
		Text: fmt.Sprintf("%s reads %s where all other readings lead to expect %s. It is kept, with little weight; "+
			"measuring it again would settle it.", ob.cell(), read.FormatSigned(), others.FormatSigned())}, true
}
