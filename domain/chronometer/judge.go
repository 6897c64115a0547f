package chronometer

import (
	"fmt"
	"math"
	"math/big"
	"slices"
	"strings"

	"ledgerwheel/domain/metrology"
)

// Standing is where a criterion or a whole trial stands by simple acceptance of the unrounded figures, limits
// included.
type Standing string

// The four standings.
const (
	Open   Standing = "open"   // not known yet, and can still pass
	Pass   Standing = "pass"   // known, and within the limits
	Fail   Standing = "fail"   // outside, or certain to come out so whatever the days to come bring
	Spoilt Standing = "spoilt" // a day it needs did not follow the programme
)

// Result is what is known of one criterion.
type Result struct {
	Criterion Criterion
	Limits    metrology.Limits
	Missing   []int // days it needs that are not known, ascending

	Known bool // every day it needs is known
	// Value is the figure with its standard uncertainty when Known, in the unit of the criterion.
	Value metrology.Value
	// Room is the distance from the figure to its nearest limit, negative outside. Before the figure is known it is
	// the room left above the least figure still possible, where RoomKnown.
	Room      float64
	RoomKnown bool
	// AtLeast is the least figure still possible when it is not Known (V, Vmax and P only grow); nil when every
	// figure still is.
	AtLeast *float64

	Standing    Standing
	Guarded     metrology.Verdict // by a guard band of U (k = 2); NotMeasured until Known, and where it is Spoilt
	Probability float64           // that the quantity itself lies within the limits, taken as normal; 0 as Guarded
}

// WithinLimits reports simple acceptance of the known figure.
func (r Result) WithinLimits() bool { return r.Known && r.Standing == Pass }

// Text returns the figure with its expanded uncertainty, or since when it will be known.
func (r Result) Text() string {
	switch {
	case r.Known && r.Criterion.Signed():
		return r.Value.FormatSigned()
	case r.Known:
		return r.Value.Format()
	case r.AtLeast != nil && *r.AtLeast > 0:
		return "at least " + metrology.Value{Value: *r.AtLeast, Unit: r.Criterion.Unit()}.Format() + "; " + r.waits()
	}
	return r.waits()
}

// GuardedWords says where the criterion stands by its guard band; "" while that is not known.
func (r Result) GuardedWords() string {
	switch {
	case r.Standing == Spoilt:
		return string(Spoilt)
	case r.Guarded == metrology.NotMeasured:
		return ""
	}
	return r.Guarded.String()
}

// waits says which days are still needed; what is spoilt waits for none.
func (r Result) waits() string {
	if r.Standing == Spoilt {
		return string(Spoilt)
	}
	last := r.Missing[len(r.Missing)-1]
	if len(r.Missing) == 1 {
		return fmt.Sprintf("known from day %d", last)
	}
	words := make([]string, len(r.Missing))
	for i, day := range r.Missing {
		words[i] = fmt.Sprint(day)
	}
	return fmt.Sprintf("known from day %d: needs days %s", last, strings.Join(words, ", "))
}

// With returns the criteria that stand so, in the order of Criteria.
func (j Judgement) With(s Standing) []Criterion {
	var list []Criterion
	for _, r := range j.Results {
		if r.Standing == s {
			list = append(list, r.Criterion)
		}
	}
	return list
}

// Judgement is what is known of a trial.
type Judgement struct {
	Category Category
	Results  []Result // the seven in the order of Criteria
	Standing Standing
	// Guarded passes when all seven pass with their guard bands, fails when one fails so, is undecided when all are
	// known and neither holds, and NotMeasured before.
	Guarded metrology.Verdict
	// ProbabilityFrom and ProbabilityTo bound the probability that all seven quantities lie within their limits when
	// all are known, whatever the correlation of the seven (Boole's and Fréchet's inequalities):
	//
	//	1 - Σ (1 - p) ≤ P(all) ≤ least p
	//
	// Both are 0 before.
	ProbabilityFrom, ProbabilityTo float64
}

// Result returns the result of one criterion.
func (j Judgement) Result(c Criterion) Result {
	i := slices.IndexFunc(j.Results, func(r Result) bool { return r.Criterion == c })
	if i < 0 {
		panic("chronometer: no criterion " + string(c))
	}
	return j.Results[i]
}

// Judge says of each criterion what the known rates tell, in any order of days. The decision against a limit is made
// in exact arithmetic, so that decimal rates whose mean is 6 s/d pass a limit of 6 s/d. Whether a criterion has failed
// already is exact for each taken alone; that two together may have become impossible is left to the forecast. It
// panics on a category that is not Valid.
func Judge(category Category, rates Rates) Judgement {
	j := Judgement{Category: category}
	for _, f := range table {
		j.Results = append(j.Results, judge(f.criterion, category, rates))
	}
	j.settle()
	return j
}

func judge(c Criterion, category Category, rates Rates) Result {
	f := of(c)
	r := Result{Criterion: c, Limits: c.Limits(category), Missing: rates.missing(f.needs), Standing: Open}
	lower, upper := c.exactLimits(category)
	r.Known = len(r.Missing) == 0
	if !r.Known {
		if least := rates.least(c); least != nil {
			x, _ := least.Float64()
			r.AtLeast, r.Room, r.RoomKnown = &x, room(least, nil, upper), true
			if least.Cmp(upper) > 0 {
				r.Standing = Fail
			}
		}
		return r
	}
	x, sensitivity := rates.figure(c)
	r.Value = rates.uncertain(x, sensitivity, f.unit)
	r.Room, r.RoomKnown = room(x, lower, upper), true
	r.Standing = Pass
	if lower != nil && x.Cmp(lower) < 0 || upper != nil && x.Cmp(upper) > 0 {
		r.Standing = Fail
	}
	r.Guarded, r.Probability = metrology.Decide(r.Value, r.Limits, metrology.Guarded)
	if r.Standing == Fail && r.Guarded == metrology.Pass {
		r.Guarded = metrology.Fail // beyond by less than the room metrology gives to binary rounding, and certain
	}
	return r
}

// room returns the distance from x to the nearer limit, negative outside.
func room(x, lower, upper *big.Rat) float64 {
	least := math.Inf(1)
	if lower != nil {
		d, _ := new(big.Rat).Sub(x, lower).Float64()
		least = min(least, d)
	}
	if upper != nil {
		d, _ := new(big.Rat).Sub(upper, x).Float64()
		least = min(least, d)
	}
	return least
}

// std returns the standard uncertainty of a linear figure. Rounding may leave a variance a little below zero where
// readings cancel; that is zero.
func (r Rates) std(sensitivity [Days + 1]float64) float64 {
	variance := 0.0
	for i, ci := range sensitivity {
		if ci == 0 {
			continue
		}
		for k, ck := range sensitivity {
			variance += ci * ck * r.cov[i][k]
		}
	}
	return math.Sqrt(max(0, variance))
}

// settle draws the standing of the trial from its criteria: one failure fails it, then one spoilt spoils it, then one
// open leaves it open.
func (j *Judgement) settle() {
	count := map[Standing]int{}
	guarded := map[metrology.Verdict]int{}
	for _, r := range j.Results {
		count[r.Standing]++
		guarded[r.Guarded]++
	}
	j.ProbabilityFrom, j.ProbabilityTo = 0, 0
	if guarded[metrology.NotMeasured] == 0 {
		from, to := 1.0, 1.0
		for _, r := range j.Results {
			from -= 1 - r.Probability
			to = min(to, r.Probability)
		}
		j.ProbabilityFrom, j.ProbabilityTo = max(0, from), to
	}
	j.Standing = Pass
	for _, s := range []Standing{Fail, Spoilt, Open} {
		if count[s] > 0 {
			j.Standing = s
			break
		}
	}
	switch {
	case guarded[metrology.Fail] > 0:
		j.Guarded = metrology.Fail
	case guarded[metrology.NotMeasured] > 0:
		j.Guarded = metrology.NotMeasured
	case guarded[metrology.Undecided] > 0:
		j.Guarded = metrology.Undecided
	default:
		j.Guarded = metrology.Pass
	}
}
