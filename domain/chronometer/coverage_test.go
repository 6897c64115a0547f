package chronometer_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"ledgerwheel/domain/chronometer"
	"ledgerwheel/domain/timing"
)

// "About 95 %" of board and bulletin: how often a trial's true figure lies within the stated U, k = 2, of what is
// worked out from its rates, each read with a scatter that is stated and to a tenth.
func TestCriteriaCoverage(t *testing.T) {
	t.Parallel()
	random := rand.New(rand.NewPCG(31, 59))
	const trials, readStd = 4000, 0.1
	within := map[chronometer.Criterion]int{}
	for range trials {
		var truly, read chronometer.Rates
		for i, rate := range asAssumed.make(random) {
			rate += 0.1*random.Float64() - 0.05 // a watch knows no tenths
			seen := math.Round(10*(rate+readStd*random.NormFloat64())) / 10
			if err := truly.Set(i+1, timing.Figure{Value: rate}); err != nil {
				t.Fatal(err)
			}
			if err := read.Set(i+1, timing.Figure{Value: seen, Step: 0.1, StdUncertainty: readStd}); err != nil {
				t.Fatal(err)
			}
		}
		is, got := chronometer.Judge(1, truly), chronometer.Judge(1, read)
		for i, r := range got.Results {
			if math.Abs(r.Value.Value-is.Results[i].Value.Value) <= r.Value.Expanded() {
				within[r.Criterion]++
			}
		}
	}
	for _, c := range chronometer.Criteria() {
		share := float64(within[c]) / trials
		t.Logf("%-30s within U in %.1f %%", c, 100*share)
		if share < 0.93 || share > 0.98 {
			t.Errorf("%s: %.1f %% within U, about 95 %% is stated", c, 100*share)
		}
	}
}
