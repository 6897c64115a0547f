package oscillator_test

import (
	"math/rand/v2"
	"testing"

	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/oscillator"
	"ledgerwheel/domain/oscillator/madeup"
	"ledgerwheel/domain/timing"
)

// aim is the mean a grade is set to: the middle of its limits.
func aim(grade string) float64 { return madeup.Middle(grade) }

// planned carries out what the advice puts first, where that is poise with metal or the regulator, and foretells each
// reading as the page does: the forecast with the reading's own uncertainty.
func planned(t *testing.T) madeup.Planner {
	return func(runs []timing.Run, grade string, _ *rand.Rand) (madeup.Correction, madeup.Foretold, bool) {
		r, err := oscillator.Advise(occasionsOf(runs), madeupOptions(grade))
		if err != nil {
			t.Error(err)
			return madeup.Correction{}, madeup.Foretold{}, false
		}
		if len(r.Advice) == 0 || r.Advice[0].Forecast == nil {
			return madeup.Correction{}, madeup.Foretold{}, false
		}
		mean, first := aim(grade), r.Advice[0]
		do := madeup.Correction{MeanSPerDay: &mean}
		switch {
		case first.RemovesMetal:
			h := r.Fit.Runs[r.Run].Poise
			do.TakenPPM, do.TakenAtDeg = h.Size.Value, h.BearingDeg.Value
		case first.Kind != oscillator.Regulate:
			return madeup.Correction{}, madeup.Foretold{}, false
		}
		step := runs[len(runs)-1].Readings[0].RateSPerDay.Step
		own := metrology.Quadrature(r.Fit.Repeatability().Value, metrology.FromResolution(step))
		// A run comes out as foretold where its pattern has a chance of a twentieth and more, as the page says it.
		foretold := madeup.Foretold{Agrees: func(after timing.Run) bool {
			return r.Fit.Compare(*first.Forecast, after).Probability >= 0.05
		}}
		for _, e := range first.Forecast.Rates {
			foretold.Readings = append(foretold.Readings, madeup.Predicted{Position: e.Position, Hours: e.Hours, RateSPerDay: e.Rate.Value,
				U95: metrology.CoverageFactor * metrology.Quadrature(e.Rate.StdUncertainty, own)})
		}
		return do, foretold, true
	}
}

// TestPredictedAgainstMeasured corrects made-up watches as advised, by a hand that takes off what it means to within 15 %
// and 4° and sets the mean to within 1 s/d, and reads them again on the same bench: nine of ten readings, and nine of ten
// runs as a whole, come out as foretold. 200 watches in every test, as many as LEDGERWHEEL_WATCHES says elsewhere.
func TestPredictedAgainstMeasured(t *testing.T) {
	t.Parallel()
	n := watchesPerClass(t, 200)
	c := madeup.CountCorrected(planned(t), n, madeup.Hand{TakenRel: 0.15, TakenDeg: 4, RegulatorSPerDay: 1},
		madeup.Options{Seed: 31})
	for _, s := range c.Shares() {
		t.Logf("%-34s %5.1f %% of %d", s.Name, 100*s.Rate(), s.Of)
		if why := s.Fails(); why != "" {
			t.Error(why)
		}
	}
	t.Logf("%d watches; of the heavy spot %.0f %% is left in the median of those that lost metal", c.Planned.Hits, 100*c.Median)
	switch {
	case c.Planned.Hits < n:
		t.Errorf("only %d of %d watches were corrected", c.Planned.Hits, n)
	case c.Lighter.Rate() < 0.95:
		t.Errorf("metal made %d of %d heavy spots greater", c.Lighter.Of-c.Lighter.Hits, c.Lighter.Of)
	case c.Median > 0.4:
		t.Errorf("%.0f %% of the heavy spot is left in the median", 100*c.Median)
	}
}
