package promise

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"
	"time"
)

// halfWatches is after how many further watches one counts half: a shop changes, and what it did lately says more.
const halfWatches = 50

// How much a watch of another kind of work, or one that is a comeback where this is none, counts of a like one.
const (
	otherKind     = 0.2
	otherComeback = 0.3
)

// completions is in how many ways an unfinished watch is completed.
const completions = 6

// Forecast is by when a watch will be ready, as a distribution.
type Forecast struct {
	cal     *Calendar
	from    float64 // the place it was made at
	stretch float64 // the correction by what came of earlier promises, a factor on the days
	spans   []span  // days from then until ready, ascending
	total   float64 // of the weights
	// Watches is how many finished watches of the shop's own it was drawn from; StartShare is how much of it is the stated
	// start, from 0 to 1.
	Watches    int
	StartShare float64
}

type span struct{ days, weight float64 }

// subject is the watch asked about: at a place, in a stage for so long by that stage's clock.
type subject struct {
	at       float64
	id       int64
	kind     string
	comeback bool
	fresh    bool // taken in just now
	stage    int
	own      bool
	stood    float64
	load     float64
	partsDue float64 // place; 0 for none
}

// like is how much w counts for a watch of that kind.
func (q subject) like(w *past) float64 {
	weight := 1.0
	if w.Kind != q.kind {
		weight *= otherKind
	}
	if w.Comeback != q.comeback {
		weight *= otherComeback
	}
	return weight
}

// donor is a past watch that says how a watch may go on.
type donor struct {
	*past
	age    float64 // weight by how lately it came
	piece  int
	weight float64 // cumulative
}

// forecast is drawn by weighted resampling of whole past watches, laid from q's moment onto the calendar: watches that were
// finished by then as they went, and the unfinished ones, which would be missing just because they are slow, each completed
// by draws from watches that got at least as far (conditional resampling: the weight of what is censored goes to the right,
// as in B. Efron, "The two sample problem with censored data", 1967; cited from memory). The distribution is that of the
// draws in the limit: each past watch counts with its weight, so that chance comes in by the completions alone. Nothing
// that was known only after q's moment is used.
func (s *Shop) forecast(q subject, stretch float64) Forecast {
	f := Forecast{cal: s.cal, from: q.at, stretch: stretch}
	chance := rand.New(rand.NewPCG(uint64(q.id), 17))
	known := s.knownAt(q.at)
	power := s.queuePower(known, q.at)
	pace := s.pace(known, q.at, power)
	var own float64
	for k := range known {
		d := &known[k]
		weight := d.age * q.like(d.past)
		switch {
		case d.ID == q.id && !q.fresh:
		case d.ready <= q.at:
			if days, ok := s.goesOn(q, d.path, d.past.load, power, pace); ok {
				f.add(days, weight)
				own += weight
				f.Watches++
			}
		case q.fresh && d.gone > q.at:
			for _, days := range s.completed(q, d.past, known, power, pace, chance) {
				f.add(days, weight/completions)
				own += weight / completions
			}
		}
	}
	for _, made := range s.made {
		if days, ok := s.goesOn(q, made, -1, 0, 1); ok {
			f.add(days, s.start.Weight/startPaths)
		}
	}
	if f.total == 0 {
		s.beyond(q, &f)
	}
	f.StartShare = 1 - own/f.total
	slices.SortFunc(f.spans, func(a, b span) int { return cmp.Compare(a.days, b.days) })
	return f
}

func (f *Forecast) add(days, weight float64) {
	f.spans = append(f.spans, span{days, weight})
	f.total += weight
}

// beyond is for a watch that has stood longer than any other: it is taken to stand as long again, give or take.
func (s *Shop) beyond(q subject, f *Forecast) {
	for _, made := range s.made {
		rest := path{{own: q.own, length: q.stood * made[0].length}}
		for _, p := range made {
			if p.stage > q.stage {
				rest = append(rest, p)
			}
		}
		f.add(s.run(q.at, rest, 0, 1)-q.at, s.start.Weight/startPaths)
	}
}

// knownAt are the watches that had come before x, those that came lately weighing more.
func (s *Shop) knownAt(x float64) []donor {
	n := 0
	for n < len(s.watches) && s.watches[n].received < x {
		n++
	}
	known := make([]donor, n)
	weight, half := 1.0, math.Exp2(-1.0/halfWatches)
	for i := n - 1; i >= 0; i-- {
		known[i] = donor{past: &s.watches[i], age: weight}
		weight *= half
	}
	return known
}

// queuePower is with what power of the queue the shop's own work grows: the slope of the logarithms over the finished watches,
// drawn to nothing where they are few, and never outside 0 and 1.
func (s *Shop) queuePower(known []donor, x float64) float64 {
	var n, sx, sy, sxx, sxy float64
	for _, d := range known {
		if d.ready > x {
			continue
		}
		lx, ly := math.Log(d.past.load+1), math.Log(d.total+0.5)
		n += d.age
		sx += d.age * lx
		sy += d.age * ly
		sxx += d.age * lx * lx
		sxy += d.age * lx * ly
	}
	if n < 3 {
		return 0
	}
	spread := sxx - sx*sx/n
	return math.Max(0, math.Min(1, (sxy-sx*sy/n)/(spread+1)))
}

// goesOn is in how many days q's watch is ready if it goes on as a past one did: its whole way for a watch taken in just now,
// else the rest of the way after as long a stay in the same stage; ok is false where that one left the stage sooner. load is
// what stood in the shop when the past one came, below 0 for unknown.
func (s *Shop) goesOn(q subject, p path, load, power, pace float64) (days float64, ok bool) {
	first, stood := 0, 0.0
	if !q.fresh {
		if first = p.find(q.stage); first < 0 || p[first].length <= q.stood {
			return 0, false
		}
		stood = q.stood
		if load >= 0 {
			load = p[first].load
		}
	}
	slower := 1.0
	if load >= 0 && power > 0 {
		slower = math.Max(1.0/3, math.Min(3, math.Pow((q.load+1)/(load+1), power)))
	}
	end := s.run(q.at, p[first:], stood, slower*pace)
	return math.Max(end, q.partsDue) - q.at, true
}

// find is the index of the first piece in a stage; -1 for none.
func (p path) find(stage int) int {
	for i := range p {
		if p[i].stage == stage {
			return i
		}
	}
	return -1
}

// run lays pieces from a place on, the first without what it has stood already, the shop's own work slower by a factor.
func (s *Shop) run(at float64, pieces path, stood, slower float64) float64 {
	for i := 0; i < len(pieces); {
		if !pieces[i].own {
			at += pieces[i].length - stood
			stood = 0
			i++
			continue
		}
		var work float64
		for ; i < len(pieces) && pieces[i].own; i++ {
			work += pieces[i].length - stood
			stood = 0
		}
		at = math.Max(at, s.cal.reached(s.cal.open(at)+work*slower))
	}
	return at
}

// completed is in how many days a watch goes through its whole way if it begins as an unfinished one did and goes on as
// others did that got as far.
func (s *Shop) completed(q subject, w *past, known []donor, power, pace float64, chance *rand.Rand) (days [completions]float64) {
	now, stood, ok := s.stateAt(w, q.at)
	if !ok {
		return days
	}
	var fit []donor
	var total float64
	like := subject{kind: w.Kind, comeback: w.Comeback}
	for k := range known {
		d := known[k]
		if d.ready > q.at {
			continue
		}
		if i := d.path.find(now.stage); i >= 0 && d.path[i].length > stood {
			total += d.age * like.like(d.past)
			d.piece, d.weight = i, total
			fit = append(fit, d)
		}
	}
	slower := 1.0
	if power > 0 {
		slower = math.Max(1.0/3, math.Min(3, math.Pow((q.load+1)/(w.load+1), power)))
	}
	for k := range days {
		var rest path
		draw := chance.Float64() * (total + s.start.Weight/4)
		if i, _ := slices.BinarySearchFunc(fit, draw, func(d donor, want float64) int {
			if d.weight <= want {
				return -1
			}
			return 1
		}); i < len(fit) {
			rest = fit[i].path[fit[i].piece:]
		} else {
			rest = s.lastsOn(now, stood, chance)
		}
		whole := make(path, 0, 12)
		for _, p := range w.path {
			if p.since < now.since {
				whole = append(whole, p)
			}
		}
		begun := len(whole)
		whole = append(whole, rest...)
		for j := begun; j < len(whole); j++ {
			if whole[j].own {
				whole[j].length *= pace
			}
		}
		days[k] = s.run(q.at, whole, 0, slower) - q.at
	}
	return days
}

// lastsOn is how a stay of the start goes on that has stood so long.
func (s *Shop) lastsOn(now piece, stood float64, chance *rand.Rand) path {
	for range 4 {
		made := s.made[chance.IntN(len(s.made))]
		if i := made.find(now.stage); i >= 0 && made[i].length > stood {
			return made[i:]
		}
	}
	made := s.made[chance.IntN(len(s.made))]
	rest := path{{stage: now.stage, own: now.own, length: stood * (1 + chance.ExpFloat64())}}
	for _, p := range made {
		if p.stage > now.stage {
			rest = append(rest, p)
		}
	}
	return rest
}

// end is the last day, on the calendar, on which a watch would be ready after days: an opening day.
func (f Forecast) end(days float64) int { return f.cal.nextOpen(int(f.from + days*f.stretch)) }

// Day is the first opening day by which the watch is ready with at least that chance, from 0 to 1.
func (f Forecast) Day(chance float64) time.Time {
	return f.cal.day(float64(f.end(f.quantile(chance))))
}

func (f Forecast) quantile(chance float64) float64 {
	var weight float64
	for _, s := range f.spans {
		if weight += s.weight; weight >= chance*f.total {
			return s.days
		}
	}
	return f.spans[len(f.spans)-1].days
}

// Chance is the chance, from 0 to 1, that the watch is ready on a civil day or before.
func (f Forecast) Chance(day time.Time) float64 {
	last, weight := int(f.cal.place(day)), 0.0
	for _, s := range f.spans {
		if f.end(s.days) <= last {
			weight += s.weight
		}
	}
	return weight / f.total
}
