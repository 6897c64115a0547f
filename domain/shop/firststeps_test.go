package shop_test

import (
	"testing"

	"ledgerwheel/domain/shop"
)

// A ruler that came out short is printed larger by as much, and one within half a millimetre is right.
func TestPrintScale(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		mm   float64
		want int
	}{{100, 100}, {99.5, 100}, {100.5, 100}, {97, 103}, {94, 106}, {104, 96}, {50, 200}, {0, 100}} {
		if got := shop.PrintScale(c.mm); got != c.want {
			t.Errorf("%g mm: %d %%, want %d %%", c.mm, got, c.want)
		}
		if c.mm >= 50 && c.mm <= 200 { // what is printed so is as long as it should be, to within half a per cent of rounding
			if long := c.mm * float64(shop.PrintScale(c.mm)) / 100; long < 99 || long > 101 {
				t.Errorf("%g mm at %d %% is %g mm", c.mm, shop.PrintScale(c.mm), long)
			}
		}
	}
	for _, mm := range []float64{0, 49, 201, -1} {
		if shop.RulerProblem(mm) == "" {
			t.Errorf("%g mm is taken", mm)
		}
	}
}

// Nothing but what the record holds ticks a step, and tax is asked: no rate is no answer.
func TestFirstSteps(t *testing.T) {
	t.Parallel()
	done := func(s shop.Shop, b shop.Begun) map[shop.StepKey]bool {
		out := map[shop.StepKey]bool{}
		for _, step := range s.FirstSteps(b) {
			out[step.Key] = step.Done
		}
		return out
	}
	fresh := done(shop.Defaults(), shop.Begun{People: 1})
	for key, is := range fresh {
		if is != (key == shop.StepPlace) {
			t.Errorf("in a new shop %s is %v", key, is)
		}
	}
	s := shop.Defaults()
	s.TaxSaid, s.RulerMM, s.Address, s.LogoNone = true, 98, "1 Quay", true
	s.Hours, _ = shop.ParseHours("Mo-Fr 09:00-17:00")
	for key, is := range done(s, shop.Begun{People: 2, Calibres: 1, Backed: true, Mailing: true, Dockets: 1, Jobs: 1}) {
		if !is {
			t.Errorf("in a shop that has all %s is not done", key)
		}
	}
	s = shop.Defaults()
	s.TaxBasisPoints = 810
	if !done(s, shop.Begun{})[shop.StepTax] {
		t.Error("a rate is an answer")
	}
}
