package fit_test

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"ledgerwheel/domain/fit"
)

// A drop half to two thirds of a 1.2 mm jewel across in a gap of 0.025 mm is π/4·0.6²·0.025 to π/4·0.8²·0.025 mm³.
func TestCappedAmount(t *testing.T) {
	t.Parallel()
	a := fit.CappedAmount(1.2, 0.025)
	for _, c := range [][2]float64{{a.LowMm, 0.6}, {a.HighMm, 0.8}, {a.LowNl, 7.0686}, {a.HighNl, 12.5664}} {
		if math.Abs(c[0]-c[1]) > 1e-4 { // the wanted figures are rounded there
			t.Errorf("got %v, want %v", c[0], c[1])
		}
	}
}

// Of a hemisphere of radius 1 mm, filled to a third, known from its cubic: h²(3 − h)/3·π = (2π/3)/3.
func TestSinkAmountOfHemisphere(t *testing.T) {
	t.Parallel()
	a := fit.SinkAmount(2, 1)
	if want := 2 * math.Pi / 9 * 1000; math.Abs(a.LowNl-want) > 1e-6*want {
		t.Errorf("a third holds %v nl, want %v", a.LowNl, want)
	}
	h := 1 - math.Sqrt(1-a.LowMm*a.LowMm/4) // height of the pool by its width
	if got, want := h*h*(3-h)/3, 2./9; math.Abs(got-want) > 1e-9 {
		t.Errorf("the pool has %v π mm³, want %v", got, want)
	}
}

// The volume of a cap by its surface is known from solid geometry; here against slices added up.
func TestSinkAmountAgainstSlices(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		across := rapid.Float64Range(0.1, 5).Draw(t, "across")
		depth := rapid.Float64Range(0.02, 0.5).Draw(t, "depth of the width") * across
		a := fit.SinkAmount(across, depth)
		sphere := (across*across/4 + depth*depth) / (2 * depth)
		height := sphere - math.Sqrt(sphere*sphere-a.HighMm*a.HighMm/4)
		const slices = 4000
		volume := 0.0
		for i := range slices {
			y := (float64(i) + 0.5) * height / slices
			volume += math.Pi * y * (2*sphere - y) * height / slices
		}
		if volume *= 1000; math.Abs(volume-a.HighNl) > 1e-4*a.HighNl { // the error of so many slices
			t.Fatalf("a pool %v mm across holds %v nl by slices, %v as told", a.HighMm, volume, a.HighNl)
		}
		if !(a.LowMm < a.HighMm && a.HighMm < across) {
			t.Fatalf("%v mm across: %+v", across, a)
		}
	})
}

// Common practice, from memory: thin oil on the fastest pivots, heavier towards the barrel, none on fork and teeth.
func TestOilPlaces(t *testing.T) {
	t.Parallel()
	want := map[string]fit.Oil{"balance": fit.ThinOil, "escape": fit.ThinOil, "train": fit.MediumOil,
		"centre":        fit.HeavyOil,
		"pallet-stones": fit.PalletGrease, "pallet-arbor": fit.Dry, "fork": fit.Dry, "teeth": fit.Dry, "keyless": fit.Grease,
		"barrel-wall": fit.BrakeGrease}
	var keys []string
	for _, p := range fit.OilPlaces() {
		if p.Key == "" || p.Place == "" || p.Oil == "" || p.Amount == "" || p.Why == "" || slices.Contains(keys, p.Key) {
			t.Errorf("not whole, or twice: %+v", p)
		}
		keys = append(keys, p.Key)
		if w, asked := want[p.Key]; asked && p.Oil != w {
			t.Errorf("%s gets %s, want %s", p.Key, p.Oil, w)
		}
		delete(want, p.Key)
		if got, found := fit.OilPlaceOf(p.Key); !found || got != p {
			t.Errorf("%s is not found again", p.Key)
		}
	}
	if len(want) > 0 {
		t.Errorf("missing: %v", want)
	}
	if _, found := fit.OilPlaceOf("dial"); found {
		t.Error("a place for the dial")
	}
}

func TestSizeProblems(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		shape         fit.Shape
		across, depth float64
		field         string
	}{
		{fit.Capped, 1.2, 0.025, ""}, {fit.Sink, 1.2, 0.2, ""}, {fit.Unmeasured, 1, 0, ""},
		{fit.Capped, 0, 0.02, "across"}, {fit.Capped, 1.2, 0.3, "depth"}, {fit.Capped, 1.2, 0, "depth"},
		{fit.Sink, 1.2, 0.7, "depth"}, {fit.Sink, math.NaN(), 0.1, "across"}, {fit.Sink, 1.2, math.NaN(), "depth"},
	} {
		bad := fit.SizeProblems(c.shape, c.across, c.depth)
		if c.field == "" && len(bad) > 0 || c.field != "" && bad[c.field] == "" {
			t.Errorf("%+v: %v", c, bad)
		}
	}
}
