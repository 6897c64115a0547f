package estimate_test

import (
	"errors"
	"testing"

	"ledgerwheel/domain/estimate"
)

// TestOnlyTheTotalThatWasShownIsApproved answers by the link with every choice of lines and with totals around theirs: one
// is taken, and only where nothing else was shown. The sums are worked by hand: 100.00 and, optional, one and a half
// hours at 60.00, 20 % on both.
func TestOnlyTheTotalThatWasShownIsApproved(t *testing.T) {
	t.Parallel()
	sent := do(t, estimate.Estimate{}, 10000)
	minor := func(n int64) *int64 { return &n }
	for name, c := range map[string]struct {
		leftOut []int
		shown   *int64
		want    error
	}{
		"all":                         {nil, minor(22800), nil},
		"all but the polish":          {[]int{1}, minor(12000), nil},
		"left out, shown with it":     {[]int{1}, minor(22800), estimate.ErrOtherTotal},
		"taken, shown without":        {nil, minor(12000), estimate.ErrOtherTotal},
		"a penny less":                {nil, minor(22799), estimate.ErrOtherTotal},
		"tampered":                    {[]int{1}, minor(1), estimate.ErrOtherTotal},
		"nothing was shown":           {nil, nil, estimate.ErrOtherTotal},
		"a line that can't be left":   {[]int{0}, minor(10800), estimate.ErrNotOptional},
		"a line that is not there":    {[]int{2}, minor(22800), estimate.ErrNotOptional},
		"a line before the first one": {[]int{-1}, minor(22800), estimate.ErrNotOptional},
	} {
		a := yes(1)
		a.By, a.DeclinedLines, a.ShownMinor = estimate.ByLink, c.leftOut, c.shown
		next, err := sent.Decide(a, today)
		if !errors.Is(err, c.want) {
			t.Errorf("%s: %v", name, err)
		}
		r, _ := next.Find(1)
		if c.want != nil && (r.State != estimate.Sent || r.Answer != nil || r.Lines[1].Declined) {
			t.Errorf("%s: refused, and the revision is %s", name, r.State)
		}
		if sum, _ := r.AgreedTotals(); c.want == nil && (r.State != estimate.Approved || sum.GrossMinor != *c.shown) {
			t.Errorf("%s: %s at %d", name, r.State, sum.GrossMinor)
		}
	}
	no := yes(1)
	no.By, no.Approve = estimate.ByLink, false
	if _, err := sent.Decide(no, today); err != nil {
		t.Errorf("who declines needs no total: %v", err)
	}
}
