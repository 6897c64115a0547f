package estimate_test

import (
	"slices"
	"testing"

	"ledgerwheel/domain/estimate"
)

func TestBilled(t *testing.T) {
	t.Parallel()
	revisions := func(states ...estimate.State) estimate.Estimate {
		var e estimate.Estimate
		for i, s := range states {
			e.Revisions = append(e.Revisions, estimate.Revision{Number: i + 1, State: s})
		}
		return e
	}
	for name, c := range map[string]struct {
		e      estimate.Estimate
		agreed bool
		want   int // 0 for none
	}{
		"nothing priced":           {revisions(), false, 0},
		"sent, within the limit":   {revisions(estimate.Sent), true, 1},
		"sent, not agreed":         {revisions(estimate.Sent), false, 0},
		"approved":                 {revisions(estimate.Superseded, estimate.Approved), true, 2},
		"approved, more declined":  {revisions(estimate.Approved, estimate.Declined), false, 1},
		"approved, another begun":  {revisions(estimate.Approved, estimate.Draft), false, 1},
		"approved, more in limits": {revisions(estimate.Approved, estimate.Sent), true, 2},
	} {
		r, ok := c.e.Billed(c.agreed)
		if ok != (c.want > 0) || r.Number != c.want {
			t.Errorf("%s: revision %d %v, want %d", name, r.Number, ok, c.want)
		}
	}
}

// Two bills added up are what their lines come to together, rate by rate, and neither is changed.
func TestPlus(t *testing.T) {
	t.Parallel()
	rate := func(basisPoints int, net, tax int64) estimate.RateTotal {
		return estimate.RateTotal{TaxBasisPoints: basisPoints, NetMinor: net, TaxMinor: tax, GrossMinor: net + tax}
	}
	lines := estimate.Totals{NetMinor: 9000, TaxMinor: 1600, GrossMinor: 10600,
		ByRate: []estimate.RateTotal{rate(500, 1000, 50), rate(2000, 7000, 1400), rate(2500, 1000, 150)}}
	extra := estimate.Totals{NetMinor: -900, TaxMinor: -163, GrossMinor: -1063,
		ByRate: []estimate.RateTotal{rate(700, -100, -7), rate(2000, -800, -156)}}
	before := slices.Clone(lines.ByRate)
	sum := lines.Plus(extra)
	if sum.NetMinor != 8100 || sum.TaxMinor != 1437 || sum.GrossMinor != 9537 {
		t.Errorf("comes to %d + %d = %d", sum.NetMinor, sum.TaxMinor, sum.GrossMinor)
	}
	want := []estimate.RateTotal{rate(500, 1000, 50), rate(700, -100, -7), rate(2000, 6200, 1244), rate(2500, 1000, 150)}
	if !slices.Equal(sum.ByRate, want) {
		t.Errorf("by rate %v, want %v", sum.ByRate, want)
	}
	lines.Plus(estimate.Totals{ByRate: extra.ByRate[1:]}) // at a rate that is there already
	if !slices.Equal(lines.ByRate, before) {
		t.Errorf("the first was changed: %v", lines.ByRate)
	}
	if again := (estimate.Totals{}).Plus(lines); !slices.Equal(again.ByRate, lines.ByRate) {
		t.Errorf("nothing and a bill: %v", again.ByRate)
	}
}
