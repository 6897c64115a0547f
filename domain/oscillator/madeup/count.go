package madeup

import (
	"math"
	"math/rand/v2"
	"runtime"
	"sync"
	"sync/atomic"

	"ledgerwheel/domain/timing"
)

// Adviser is what is tested: runs of one watch in, an answer out. It is called from several goroutines at once.
type Adviser func(runs []timing.Run, grade string, rng *rand.Rand) Answer

// Options say how much is counted.
type Options struct {
	PerClass    int
	Seed        uint64
	RepeatShare float64  // of watches whose positions are read twice
	Only        []string // classes by name; nil for all
}

// measure is something that is counted.
type measure int

const (
	given measure = iota
	bearingHeld
	bearingOpposite
	sizeHeld
	metal
	magnetism
	powerFirst
	stops
	knockingNamed
	beatFirst
	isochronismNamed
	regulated
	regulatorHeld
	measures
)

// names of the measures as printed, and whether the rest of the watches count at all.
var measureNames = [measures]string{"poise given", "bearing within its 95 %", "bearing more than 90° wrong",
	"size within its 95 %", "metal advised", "magnetism suspected", "power before poise", "told to stop",
	"knocking named", "beat before poise", "isochronism named", "regulator move given", "regulator move within its ±"}

// always binds every class.
var always = map[measure]bound{bearingHeld: {0.90, 0.99}, sizeHeld: {0.90, 0.99}, bearingOpposite: {0, 0.01},
	regulatorHeld: {0.90, 1}}

// Outcome is whether a measure counts for a watch, and whether it was so.
type outcome struct{ counts, hit bool }

func when(counts, hit bool) outcome { return outcome{counts, counts && hit} }

// outcomes holds an answer against the truth.
func outcomes(c Case, a Answer) (o [measures]outcome) {
	p, truth := a.Poise, c.Watch.Poise
	spot := p.Given && truth.SizePPM > 0
	apart := Apart(p.HeavyAtDeg, truth.HeavyAtDeg)
	o[given] = when(true, p.Given)
	o[bearingHeld] = when(spot, apart <= p.HeavyAtU95Deg)
	o[bearingOpposite] = when(spot, apart > 90)
	o[sizeHeld] = when(p.Given, math.Abs(p.SizePPM-truth.SizePPM) <= p.SizeU95PPM)
	o[metal] = when(true, a.Metal())
	o[magnetism] = when(true, a.Names(Magnetised))
	weak := c.Watch.HangingDeg <= 190
	o[powerFirst] = when(weak, a.Before(PowerLow, OutOfPoise))
	o[stops] = when(true, a.Stops())
	o[knockingNamed] = when(c.Watch.Knocks(State{}), a.Names(Knocking))
	o[beatFirst] = when(c.Watch.BeatErrorMs > 1, a.Before(OutOfBeat, OutOfPoise))
	o[isochronismNamed] = when(true, a.Names(Isochronic))
	o[regulated] = when(true, a.Regulate != nil)
	if a.Regulate != nil && c.Watch.Magnetism.PositionSPerDay == nil {
		off := a.Regulate.Value - (Middle(c.Grade) - c.Watch.MeanSPerDay())
		o[regulatorHeld] = when(true, math.Abs(off) <= a.Regulate.U95)
	}
	return o
}

// Count asks the adviser about every watch of every class.
func Count(ask Adviser, o Options) Report {
	report := Report{Options: o}
	var all ClassReport
	all.Name = "all"
	for at, c := range classes {
		if !o.wants(c.name) {
			continue
		}
		r := count(ask, at, o)
		for m := range measures {
			all.add(m, r.Measures[m])
		}
		report.Classes = append(report.Classes, r)
	}
	for _, m := range []measure{bearingHeld, sizeHeld, bearingOpposite, regulatorHeld} {
		all.Measures[m].AtLeast, all.Measures[m].AtMost = always[m].low, always[m].high
	}
	report.Classes = append(report.Classes, all)
	return report
}

func (o Options) wants(name string) bool {
	if o.Only == nil {
		return true
	}
	for _, n := range o.Only {
		if n == name {
			return true
		}
	}
	return false
}

// count asks about one class.
func count(ask Adviser, at int, o Options) ClassReport {
	answers := make([]Answer, o.PerClass)
	results := make([][measures]outcome, o.PerClass)
	inParallel(o.PerClass, func(i int) {
		c, rng := draw(at, i, o)
		answers[i] = ask(c.Runs, c.Grade, rng)
		results[i] = outcomes(c, answers[i])
	})
	r := ClassReport{Name: classes[at].name, N: o.PerClass, Next: map[string]int{}, Verdicts: map[string]int{}}
	for m := range measures {
		b, bound := classes[at].bounds[m]
		if !bound {
			b, bound = always[m]
		}
		if !bound {
			b.high = 1
		}
		r.Measures[m] = Share{Name: measureNames[m], AtLeast: b.low, AtMost: b.high}
	}
	for i, a := range answers {
		r.Next[a.Next.Kind]++
		r.Verdicts[a.Verdict]++
		for m, out := range results[i] {
			r.Measures[m].count(i, out)
		}
	}
	return r
}

// inParallel calls f for 0 to n-1 on all processors.
func inParallel(n int, f func(i int)) {
	var next atomic.Int64
	var wait sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		wait.Go(func() {
			for i := int(next.Add(1)) - 1; i < n; i = int(next.Add(1)) - 1 {
				f(i)
			}
		})
	}
	wait.Wait()
}
