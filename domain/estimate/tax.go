package estimate

import (
	"cmp"
	"errors"
	"fmt"
	"maps"
	"math/big"
	"slices"

	"ledgerwheel/domain/money"
)

// Rounding says which way a tie goes when an amount is rounded to the minor
// unit.
type Rounding string

// The roundings. Both treat a discount as the mirror image of a charge.
const (
	HalfUp   Rounding = "half-up"   // a half goes away from zero
	HalfEven Rounding = "half-even" // a half goes to the even neighbour
)

// Roundings lists every Rounding in the order a form shows them.
var Roundings = []Rounding{HalfUp, HalfEven}

// TaxRule says how tax is worked out. It is kept with each revision, so that a
// later change of settings does not alter what was agreed.
type TaxRule struct {
	PricesIncludeTax bool     // unit prices hold the tax already
	Rounding         Rounding // HalfUp when empty
	PerLine          bool     // round the tax of each line; otherwise once per rate on its subtotal
}

// MaxTaxBasisPoints is the highest tax rate that may be saved, in hundredths
// of a per cent: 100 %.
const MaxTaxBasisPoints = 10000

// RateTotal is what the lines at one rate of tax come to, in minor units.
// GrossMinor is NetMinor + TaxMinor.
type RateTotal struct {
	TaxBasisPoints int
	NetMinor       int64
	TaxMinor       int64
	GrossMinor     int64
}

// Totals is what lines come to, in minor units: GrossMinor is NetMinor +
// TaxMinor, and each is the sum of its column in ByRate.
type Totals struct {
	NetMinor   int64
	TaxMinor   int64
	GrossMinor int64
	ByRate     []RateTotal // lowest rate first
}

// ErrTooLarge reports an amount beyond money.Max.
var ErrTooLarge = errors.New("amount beyond what may be saved")

// Sum works out what lines come to under the rule. A line comes to its
// quantity times its unit price, rounded to the minor unit; with prices
// excluding tax, a rate's tax is net * rate; with prices including it, gross *
// rate / (1 + rate). The error wraps ErrTooLarge where a line or the whole is
// beyond money.Max.
func Sum(lines []Line, rule TaxRule) (Totals, error) {
	amounts := map[int][]int64{} // by rate
	for i, l := range lines {
		amount, err := l.AmountMinor(rule.Rounding)
		if err != nil {
			return Totals{}, fmt.Errorf("line %d: %w", i+1, err)
		}
		amounts[l.TaxBasisPoints] = append(amounts[l.TaxBasisPoints], amount)
	}
	var sum Totals
	for _, rate := range slices.Sorted(maps.Keys(amounts)) {
		// Each amount is within money.Max, so no sum of them overflows.
		r := rule.rateTotal(amounts[rate], rate)
		sum.NetMinor += r.NetMinor
		sum.TaxMinor += r.TaxMinor
		sum.GrossMinor += r.GrossMinor
		sum.ByRate = append(sum.ByRate, r)
	}
	if sum.GrossMinor > money.Max || sum.GrossMinor < -money.Max {
		return Totals{}, ErrTooLarge
	}
	return sum, nil
}

// rateTotal sums line amounts at one rate, in hundredths of a per cent.
func (t TaxRule) rateTotal(amounts []int64, rate int) RateTotal {
	sum := RateTotal{TaxBasisPoints: rate}
	if !t.PerLine {
		subtotal := int64(0)
		for _, a := range amounts {
			subtotal += a
		}
		amounts = []int64{subtotal}
	}
	for _, a := range amounts {
		net, tax := t.split(a, int64(rate))
		sum.NetMinor += net
		sum.TaxMinor += tax
	}
	sum.GrossMinor = sum.NetMinor + sum.TaxMinor
	return sum
}

// split parts an amount, as priced, into net and tax.
func (t TaxRule) split(amount, rate int64) (net, tax int64) {
	if t.PricesIncludeTax {
		tax = mulDiv(amount, rate, 10000+rate, t.Rounding)
		return amount - tax, tax
	}
	return amount, mulDiv(amount, rate, 10000, t.Rounding)
}

// mulDiv returns a*b/c, c > 0, rounded. It panics where the result does not
// fit, which the limits on lines prevent.
func mulDiv(a, b, c int64, mode Rounding) int64 {
	divisor := big.NewInt(c)
	q, r := new(big.Int).QuoRem(new(big.Int).Mul(big.NewInt(a), big.NewInt(b)), divisor, new(big.Int))
	tie := new(big.Int).Abs(r)
	switch tie.Lsh(tie, 1).Cmp(divisor) {
	case 1:
		q.Add(q, big.NewInt(sign(a)*sign(b)))
	case 0:
		if mode != HalfEven || q.Bit(0) == 1 {
			q.Add(q, big.NewInt(sign(a)*sign(b)))
		}
	}
	if !q.IsInt64() {
		panic("estimate: amount beyond its limits")
	}
	return q.Int64()
}

func sign(n int64) int64 { return int64(cmp.Compare(n, 0)) }
