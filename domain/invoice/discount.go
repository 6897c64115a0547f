package invoice

import (
	"math/big"
	"slices"

	"ledgerwheel/domain/estimate"
)

// Share is a part of an amount that falls to one rate of tax.
type Share struct {
	TaxBasisPoints int
	Minor          int64
}

// Spread parts an amount over the rates of tax in proportion to what each comes to, so that a discount on the whole
// lowers each rate's base by its share. No minor unit is made or lost: what the division leaves over goes to the
// greatest remainders, and of equal ones to the lower rate. weights are above zero; where they sum to nothing, so
// does the result.
func Spread(minor int64, weights []Share) []Share {
	sum := big.NewInt(0)
	for _, w := range weights {
		sum.Add(sum, big.NewInt(max(w.Minor, 0)))
	}
	if sum.Sign() == 0 || minor == 0 {
		return nil
	}
	sign := int64(1)
	if minor < 0 {
		sign, minor = -1, -minor
	}
	type part struct {
		at   int
		rest *big.Int
	}
	shares, parts, left := make([]Share, len(weights)), make([]part, len(weights)), minor
	for i, w := range weights {
		exact := new(big.Int).Mul(big.NewInt(minor), big.NewInt(max(w.Minor, 0)))
		whole, rest := new(big.Int).QuoRem(exact, sum, new(big.Int))
		shares[i] = Share{w.TaxBasisPoints, whole.Int64()}
		parts[i] = part{i, rest}
		left -= whole.Int64()
	}
	slices.SortStableFunc(parts, func(a, b part) int { return b.rest.Cmp(a.rest) })
	for i := range left {
		shares[parts[i].at].Minor++
	}
	shares = slices.DeleteFunc(shares, func(s Share) bool { return s.Minor == 0 })
	for i := range shares {
		shares[i].Minor *= sign
	}
	return shares
}

// DiscountLines are the lines by which a discount on the whole is taken off lines priced under the rule: one for each
// rate of tax. description stands on each. offMinor is above zero, and as priced: with tax where prices hold it.
// The error is estimate.ErrTooLarge.
func DiscountLines(lines []estimate.Line, rule estimate.TaxRule, offMinor int64, description string) ([]estimate.Line, error) {
	sum, err := estimate.Sum(lines, rule)
	if err != nil {
		return nil, err
	}
	var weights []Share
	for _, r := range sum.ByRate {
		priced := r.NetMinor
		if rule.PricesIncludeTax {
			priced = r.GrossMinor
		}
		weights = append(weights, Share{r.TaxBasisPoints, priced})
	}
	var off []estimate.Line
	for _, s := range Spread(offMinor, weights) {
		off = append(off, estimate.Line{Kind: estimate.Discount, Description: description, QuantityMilli: 1000,
			UnitMinor: -s.Minor, TaxBasisPoints: s.TaxBasisPoints})
	}
	return off, nil
}

// PercentOff is a discount of so many hundredths of a per cent on an amount, in minor units, a half away from zero.
func PercentOff(minor int64, basisPoints int) int64 {
	exact := new(big.Int).Mul(big.NewInt(minor), big.NewInt(int64(basisPoints)))
	half := big.NewInt(5000)
	if exact.Sign() < 0 {
		half.Neg(half)
	}
	return exact.Add(exact, half).Quo(exact, big.NewInt(10000)).Int64()
}
