package estimate

import "slices"

// Billed returns the revision that is charged for: the newest where that was agreed, which newestAgreed says, else
// the one in force. ok is false where there is none.
func (e Estimate) Billed(newestAgreed bool) (r Revision, ok bool) {
	if newestAgreed && len(e.Revisions) > 0 {
		return e.Revisions[len(e.Revisions)-1], true
	}
	return e.InForce()
}

// Plus adds up two totals, rate by rate.
func (t Totals) Plus(u Totals) Totals {
	sum := Totals{NetMinor: t.NetMinor + u.NetMinor, TaxMinor: t.TaxMinor + u.TaxMinor, GrossMinor: t.GrossMinor +
		u.GrossMinor,
		ByRate: slices.Clone(t.ByRate)}
	for _, r := range u.ByRate {
		at, found := slices.BinarySearchFunc(sum.ByRate, r.TaxBasisPoints, func(a RateTotal, rate int) int {
			return a.TaxBasisPoints - rate
		})
		if !found {
			sum.ByRate = slices.Insert(sum.ByRate, at, r)
			continue
		}
		s := &sum.ByRate[at]
		s.NetMinor, s.TaxMinor, s.GrossMinor = s.NetMinor+r.NetMinor, s.TaxMinor+r.TaxMinor, s.GrossMinor+r.GrossMinor
	}
	return sum
}
