package estimate_test

import (
	"errors"
	"math"
	"slices"
	"testing"

	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/money"

	"pgregory.net/rapid"
)

func priced(minor int64, rate int) estimate.Line {
	return estimate.Line{Kind: estimate.Part, Description: "part", QuantityMilli: 1000, UnitMinor: minor,
		TaxBasisPoints: rate}
}

// Tax held in a price is price * rate / (1 + rate). The fractions 1/6 at 20 %,
// 1/21 at 5 % and 7/47 at 17.5 % are those the British tax office publishes
// for its rates (VAT guide, Notice 700; from memory); 19/119 at 19 % and
// 7.7/107.7 at 7.7 % are the same arithmetic for German and former Swiss rates.
func TestTaxHeldInPrices(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		gross    int64
		rate     int
		net, tax int64
	}{
		{12000, 2000, 10000, 2000}, {600, 2000, 500, 100}, {2100, 500, 2000, 100}, {4700, 1750, 4000, 700},
		{11900, 1900, 10000, 1900}, {10770, 770, 10000, 770}, {10000, 0, 10000, 0},
		{999, 2000, 832, 167}, // 166.5: a half up
		{-4700, 1750, -4000, -700},
	} {
		got, err := estimate.Sum([]estimate.Line{priced(tt.gross, tt.rate)}, estimate.TaxRule{PricesIncludeTax: true})
		if err != nil || got.NetMinor != tt.net || got.TaxMinor != tt.tax || got.GrossMinor != tt.gross {
			t.Errorf("%d at %d: %+v, %v; want net %d, tax %d", tt.gross, tt.rate, got, err, tt.net, tt.tax)
		}
	}
}

// Worked by hand. Three lines of 0.33 at 20 %: line by line 3 * 0.066 -> 3 *
// 0.07 = 0.21; on the subtotal 0.99 * 0.2 = 0.198 -> 0.20.
func TestTaxOnTopOfPrices(t *testing.T) {
	t.Parallel()
	three := []estimate.Line{priced(33, 2000), priced(33, 2000), priced(33, 2000)}
	for _, tt := range []struct {
		name  string
		lines []estimate.Line
		rule  estimate.TaxRule
		want  estimate.Totals
	}{
		{"per rate", three, estimate.TaxRule{},
			estimate.Totals{NetMinor: 99, TaxMinor: 20, GrossMinor: 119, ByRate: []estimate.RateTotal{{2000, 99, 20, 119}}}},
		{"per line", three, estimate.TaxRule{PerLine: true},
			estimate.Totals{NetMinor: 99, TaxMinor: 21, GrossMinor: 120, ByRate: []estimate.RateTotal{{2000, 99, 21, 120}}}},
		{"two rates and a discount", []estimate.Line{priced(10000, 810), priced(5000, 260),
			{Kind: estimate.Discount, QuantityMilli: 1000, UnitMinor: -1000, TaxBasisPoints: 810}}, estimate.TaxRule{},
			estimate.Totals{NetMinor: 14000, TaxMinor: 859, GrossMinor: 14859,
				ByRate: []estimate.RateTotal{{260, 5000, 130, 5130}, {810, 9000, 729, 9729}}}},
		{"half up", []estimate.Line{priced(250, 1000), priced(50, 700)}, estimate.TaxRule{Rounding: estimate.HalfUp},
			estimate.Totals{NetMinor: 300, TaxMinor: 29, GrossMinor: 329, ByRate: []estimate.RateTotal{{700, 50, 4, 54},
				{1000, 250, 25, 275}}}},
		{"half to even", []estimate.Line{priced(250, 1000), priced(50, 500)}, estimate.TaxRule{Rounding: estimate.HalfEven},
			estimate.Totals{NetMinor: 300, TaxMinor: 27, GrossMinor: 327, ByRate: []estimate.RateTotal{{500, 50, 2, 52},
				{1000, 250, 25, 275}}}},
		{"nothing", nil, estimate.TaxRule{}, estimate.Totals{}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			got, err := estimate.Sum(tt.lines, tt.rule)
			if err != nil || got.NetMinor != tt.want.NetMinor || got.TaxMinor != tt.want.TaxMinor ||
				got.GrossMinor != tt.want.GrossMinor || !slices.Equal(got.ByRate, tt.want.ByRate) {
				t.Errorf("got %+v, %v; want %+v", got, err, tt.want)
			}
		})
	}
}

// One and a half hours at 75.25 are 112.875: a half cent up, or to the even.
func TestLineAmount(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		milli, unit int64
		mode        estimate.Rounding
		want        int64
	}{
		{1500, 7525, estimate.HalfUp, 11288}, {1500, 7525, estimate.HalfEven, 11288}, {500, 25, estimate.HalfUp, 13},
		{500, 25, estimate.HalfEven, 12},
		{500, -25, estimate.HalfUp, -13}, {500, -25, estimate.HalfEven, -12}, {333, 100, estimate.HalfUp, 33},
		{1000, 0, estimate.HalfUp, 0},
	} {
		got, err := estimate.Line{QuantityMilli: tt.milli, UnitMinor: tt.unit}.AmountMinor(tt.mode)
		if err != nil || got != tt.want {
			t.Errorf("%d/1000 of %d, %s: %d, %v; want %d", tt.milli, tt.unit, tt.mode, got, err, tt.want)
		}
	}
}

func TestSumsTooLarge(t *testing.T) {
	t.Parallel()
	for name, lines := range map[string][]estimate.Line{
		"price beyond any int64 product": {{QuantityMilli: math.MaxInt64, UnitMinor: math.MaxInt64}},
		"below":                          {{QuantityMilli: math.MaxInt64, UnitMinor: math.MinInt64}},
		"one over":                       {priced(money.Max+1, 0)},
		"together":                       {priced(money.Max, 0), priced(1, 0)},
		"with its tax":                   {priced(money.Max, 1)},
	} {
		if got, err := estimate.Sum(lines, estimate.TaxRule{}); !errors.Is(err, estimate.ErrTooLarge) {
			t.Errorf("%s: %+v, %v; want ErrTooLarge", name, got, err)
		}
	}
	if got, err := estimate.Sum([]estimate.Line{priced(money.Max, 0)}, estimate.TaxRule{}); err != nil ||
		got.GrossMinor != money.Max {
		t.Errorf("the greatest amount: %+v, %v", got, err)
	}
}

func drawLines(t *rapid.T) []estimate.Line {
	line := rapid.Custom(func(t *rapid.T) estimate.Line {
		return estimate.Line{
			Kind: estimate.Other, Description: "x",
			QuantityMilli:  rapid.Int64Range(1, 20000).Draw(t, "quantity"),
			UnitMinor:      rapid.Int64Range(-50000, 500000).Draw(t, "unit"),
			TaxBasisPoints: rapid.SampledFrom([]int{0, 260, 810, 1750, 2000, 10000}).Draw(t, "rate"),
		}
	})
	return rapid.SliceOfN(line, 0, 30).Draw(t, "lines")
}

func drawRule(t *rapid.T) estimate.TaxRule {
	return estimate.TaxRule{
		PricesIncludeTax: rapid.Bool().Draw(t, "including"), PerLine: rapid.Bool().Draw(t, "per line"),
		Rounding: rapid.SampledFrom(estimate.Roundings).Draw(t, "rounding"),
	}
}

func TestThePartsMakeTheWhole(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		lines, rule := drawLines(t), drawRule(t)
		got, err := estimate.Sum(lines, rule)
		if err != nil {
			t.Fatal(err)
		}
		var byRate estimate.Totals
		for _, r := range got.ByRate {
			if r.NetMinor+r.TaxMinor != r.GrossMinor {
				t.Fatalf("at %d: %d and %d are not %d", r.TaxBasisPoints, r.NetMinor, r.TaxMinor, r.GrossMinor)
			}
			byRate.NetMinor += r.NetMinor
			byRate.TaxMinor += r.TaxMinor
			byRate.GrossMinor += r.GrossMinor
		}
		if byRate.NetMinor != got.NetMinor || byRate.TaxMinor != got.TaxMinor || byRate.GrossMinor != got.GrossMinor {
			t.Fatalf("the rates make %+v, the whole is %+v", byRate, got)
		}
		var amounts int64
		for _, l := range lines {
			a, _ := l.AmountMinor(rule.Rounding)
			amounts += a
		}
		if whole := map[bool]int64{false: got.NetMinor, true: got.GrossMinor}[rule.PricesIncludeTax]; whole != amounts {
			t.Fatalf("the lines make %d, the whole is %d", amounts, whole)
		}
	})
}

// The tax of each rate lies within half a minor unit for each rounding of the
// tax worked out in real numbers.
func TestTaxIsNearTheExact(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		lines, rule := drawLines(t), drawRule(t)
		got, err := estimate.Sum(lines, rule)
		if err != nil {
			t.Fatal(err)
		}
		for _, r := range got.ByRate {
			base, divisor, roundings := float64(r.NetMinor), 10000.0, 1
			if rule.PricesIncludeTax {
				base, divisor = float64(r.GrossMinor), 10000+float64(r.TaxBasisPoints)
			}
			if rule.PerLine {
				roundings = len(lines)
			}
			exact := base * float64(r.TaxBasisPoints) / divisor
			// 1e-6 is room for the floats' own rounding of values below 1e9.
			if off := math.Abs(float64(r.TaxMinor) - exact); off > 0.5*float64(roundings)+1e-6 {
				t.Fatalf("tax %d at %d is %g off", r.TaxMinor, r.TaxBasisPoints, off)
			}
		}
	})
}

func TestOrderOfLinesDoesNotMatter(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		lines, rule := drawLines(t), drawRule(t)
		a, errA := estimate.Sum(lines, rule)
		b, errB := estimate.Sum(rapid.Permutation(lines).Draw(t, "shuffled"), rule)
		if errA != nil || errB != nil || a.GrossMinor != b.GrossMinor || !slices.Equal(a.ByRate, b.ByRate) {
			t.Fatalf("%+v, %v; shuffled %+v, %v", a, errA, b, errB)
		}
	})
}

func BenchmarkSum(b *testing.B) {
	lines := slices.Repeat([]estimate.Line{priced(1234, 810), priced(999, 260)}, 50)
	for b.Loop() {
		if _, err := estimate.Sum(lines, estimate.TaxRule{PerLine: true}); err != nil {
			b.Fatal(err)
		}
	}
}
