package figures

import (
	"cmp"
	"maps"
	"slices"
	"strconv"

	"ledgerwheel/domain/share"
)

// Count is a cell: of a key, so many.
type Count struct {
	Key
	N int64
}

// Counts are cells of a span of months, by one dimension.
type Counts []Count

// Of are those that hold.
func (c Counts) Of(holds func(Key) bool) Counts {
	var kept Counts
	for _, x := range c {
		if holds(x.Key) {
			kept = append(kept, x)
		}
	}
	return kept
}

// Histogram is how the values of a measure are spread over all the counts.
func (c Counts) Histogram(m Measure) share.Histogram {
	var bins []share.Bin
	for _, x := range c {
		if x.Measure == m {
			bins = append(bins, share.Bin{Value: x.Value, N: x.N})
		}
	}
	return share.HistogramOf(bins)
}

// Sum is all that a measure counts.
func (c Counts) Sum(m Measure) (sum int64) {
	for _, x := range c {
		if x.Measure == m {
			sum += x.N
		}
	}
	return sum
}

// Share is how many of a measure lie from least to most.
func (c Counts) Share(m Measure, least, most int) (s share.Share) {
	for _, x := range c {
		if x.Measure != m {
			continue
		}
		s.N += int(x.N)
		if x.Value >= least && x.Value <= most {
			s.K += int(x.N)
		}
	}
	return s
}

// Group is what counts of one month, or of one key of a dimension, come to.
type Group struct {
	Key    string // "" of a month
	Month  Month  // 0 of a key
	Counts Counts
}

// Groups tells counts apart: by every month from first to last where they are ByAll, otherwise by key, in the order of name, never by
// how they came out.
func Groups(c Counts, by Dimension, first, last Month, name func(key string) string) []Group {
	var groups []Group
	if by == ByAll {
		for m := first; m <= last; m++ {
			groups = append(groups, Group{Month: m, Counts: c.Of(func(k Key) bool { return k.Month == m })})
		}
		return groups
	}
	of := map[string]Counts{}
	for _, x := range c {
		of[x.Key.Key] = append(of[x.Key.Key], x)
	}
	for key, counts := range of {
		groups = append(groups, Group{Key: key, Counts: counts})
	}
	slices.SortFunc(groups, func(a, b Group) int { return cmp.Or(cmp.Compare(name(a.Key), name(b.Key)), cmp.Compare(a.Key, b.Key)) })
	return groups
}

// Currencies are those in which money is counted, in order.
func (c Counts) Currencies() []string {
	seen := map[string]bool{}
	for _, x := range c {
		if x.Currency != "" {
			seen[x.Currency] = true
		}
	}
	return slices.Sorted(maps.Keys(seen))
}

// KeyOf is the key of an outcome in a dimension.
func KeyOf(o Outcome, by Dimension) string {
	switch by {
	case ByBench:
		return strconv.FormatInt(o.BenchID, 10)
	case ByCalibre:
		return strconv.FormatInt(o.CalibreID, 10)
	case ByWork:
		return string(o.Work)
	}
	return ""
}
