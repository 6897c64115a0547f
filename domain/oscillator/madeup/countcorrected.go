package madeup

import (
	"math"
	"math/rand/v2"
	"slices"

	"ledgerwheel/domain/timing"
)

// Predicted is the rate that is foretold of one reading after a correction, with its ±.
type Predicted struct {
	Position         timing.Position
	Hours            float64
	RateSPerDay, U95 float64
}

// Foretold is what is said of a watch after its correction: each reading, and whether a new run as a whole came out so.
type Foretold struct {
	Readings []Predicted
	Agrees   func(after timing.Run) bool // nil leaves it out
}

// Planner says from a watch's runs what to correct and what it will then read; ok is false where it corrects nothing.
type Planner func(runs []timing.Run, grade string, rng *rand.Rand) (c Correction, f Foretold, ok bool)

// Corrected is what was counted of corrected watches.
type Corrected struct {
	Planned  Share   // of the watches drawn
	Readings Share   // foretold readings that lie within their ±: at least nine of ten
	Watches  Share   // of which at least nine of ten readings do
	Agree    Share   // whose new run as a whole came out as foretold: at least nine of ten
	Better   Share   // whose true delta at full wind is not greater than before
	Lighter  Share   // whose heavy spot is smaller, of those that lost metal
	Median   float64 // of the heavy spot's size after over before, of those
}

// Shares lists the counts.
func (c Corrected) Shares() []Share {
	return []Share{c.Planned, c.Readings, c.Watches, c.Agree, c.Better, c.Lighter}
}

// correctable are the classes that CountCorrected draws from in turn.
var correctable = []string{"poise, one wind", "poise, two winds", "strong poise, two winds",
	"poise, let down to 145-165°", "poise and the spring, let down", "fresh from service"}

// CountCorrected draws watches until n were corrected (or 20·n were asked), carries each correction out by a hand,
// reads the watch again on the same bench and holds what was foretold against it.
func CountCorrected(plan Planner, n int, h Hand, o Options) Corrected {
	one := Corrected{Planned: Share{Name: "corrected", AtMost: 1},
		Readings: Share{Name: "readings within the foretold ±", AtLeast: 0.90, AtMost: 1},
		Watches:  Share{Name: "watches with nine of ten such", AtMost: 1},
		Agree:    Share{Name: "runs as foretold", AtLeast: 0.90, AtMost: 1},
		Better:   Share{Name: "delta not greater", AtMost: 1}, Lighter: Share{Name: "heavy spot smaller", AtMost: 1}}
	var left []float64
	for asked := 0; one.Planned.Hits < n && asked < 20*n; asked += n {
		results := make([]correctedOne, n)
		inParallel(n, func(i int) { results[i] = correctOne(plan, asked+i, h, o) })
		for i, r := range results {
			if one.Planned.Hits < n {
				one.tally(asked+i, r)
				if r.planned && r.metal {
					left = append(left, r.left)
				}
			}
		}
	}
	one.Median = median(left)
	return one
}

// correctedOne is what came of one watch.
type correctedOne struct {
	planned, metal, better bool
	agrees                 outcome
	within, of             int
	left                   float64 // of the heavy spot, as a share
}

func correctOne(plan Planner, i int, h Hand, o Options) (r correctedOne) {
	var at int
	for k, c := range classes {
		if c.name == correctable[i%len(correctable)] {
			at = k
		}
	}
	c, rng := draw(at, i, o)
	do, foretold, ok := plan(c.Runs, c.Grade, rng)
	if !ok {
		return r
	}
	after := c.Watch.CorrectedBy(h, do, rng)
	rows := c.Bench.Read(after, AfterAdjustment(1), c.States, rng)
	if foretold.Agrees != nil {
		r.agrees = when(true, foretold.Agrees(c.Bench.Runs(rows, c.Watch.CrownHour)[0]))
	}
	for _, f := range foretold.Readings {
		for _, row := range rows {
			if row.Position == f.Position && math.Abs(row.Hours-f.Hours) < 0.005 {
				r.of++
				if math.Abs(row.RateSPerDay-f.RateSPerDay) <= f.U95 {
					r.within++
				}
				break
			}
		}
	}
	r.planned, r.metal = true, do.TakenPPM != 0
	r.better = after.DeltaSPerDay() <= c.Watch.DeltaSPerDay()+1e-6 // rounding
	r.left = after.Poise.SizePPM / c.Watch.Poise.SizePPM
	return r
}

func (c *Corrected) tally(i int, r correctedOne) {
	c.Planned.count(i, when(true, r.planned))
	if !r.planned {
		return
	}
	for k := range r.of {
		c.Readings.count(i, when(true, k < r.within))
	}
	c.Agree.count(i, r.agrees)
	c.Watches.count(i, when(r.of > 0, 10*r.within >= 9*r.of))
	c.Better.count(i, when(true, r.better))
	c.Lighter.count(i, when(r.metal, r.left < 1))
}

func median(x []float64) float64 {
	if len(x) == 0 {
		return math.NaN()
	}
	s := slices.Sorted(slices.Values(x))
	return s[len(s)/2]
}
