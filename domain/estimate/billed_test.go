package estimate_test

import (
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
