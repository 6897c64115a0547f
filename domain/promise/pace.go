package promise

import (
	"cmp"
	"math"
	"slices"
	"sort"
)

// recentStays is after how many further stays one counts half for the pace, and paceStays how many are looked at.
const (
	recentStays = 15
	paceStays   = 75
)

// ended is a finished stay of the shop's own work, for the pace.
type ended struct {
	at    float64
	stage int
	log   float64 // of its length in open days
	load  float64 // of what stood in the shop when it began
}

// leastLength, in open days, is added before the logarithm is taken, so that a stay of minutes weighs no more than it says.
const leastLength = 0.1

// endedStays are the finished stays of the shop's own work in the order in which they ended.
func (s *Shop) endedStays() (list []ended) {
	for i := range s.watches {
		for _, p := range s.watches[i].path {
			if p.own && !math.IsInf(p.until, 1) {
				list = append(list, ended{p.until, p.stage, p.log, p.logLoad})
			}
		}
	}
	slices.SortStableFunc(list, func(a, b ended) int { return cmp.Compare(a.at, b.at) })
	return list
}

// pace is how many times as long the shop's own work takes lately as it took the watches that a forecast draws from, what
// stood in the shop taken into account: a shop that slows down shows it in single stays long before whole watches are
// finished. It is drawn to 1 by as much as chance alone would move it (W. James and C. Stein, "Estimation with quadratic
// loss", 1961; cited from memory).
func (s *Shop) pace(known []donor, x, power float64) float64 {
	var n, sum [stages]float64
	for _, d := range known {
		if d.ready > x {
			continue
		}
		for _, p := range d.path {
			if p.own {
				n[p.stage] += d.age
				sum[p.stage] += d.age * (p.log - power*p.logLoad)
			}
		}
	}
	end := sort.Search(len(s.ended), func(i int) bool { return s.ended[i].at > x })
	weight, less := 1.0, math.Exp2(-1.0/recentStays)
	var all, squares, mean, spread float64
	for i := end - 1; i >= 0 && i >= end-paceStays; i-- {
		if e := s.ended[i]; n[e.stage] > 3 {
			off := e.log - power*e.load - sum[e.stage]/n[e.stage]
			all += weight
			squares += weight * weight
			mean += weight * off
			spread += weight * off * off
		}
		weight *= less
	}
	if all < 5 {
		return 1
	}
	mean /= all
	variance := (spread/all - mean*mean) * squares / (all * all)
	if mean*mean <= variance {
		return 1
	}
	return math.Exp(math.Max(-1, math.Min(1, mean*(1-variance/(mean*mean)))))
}
