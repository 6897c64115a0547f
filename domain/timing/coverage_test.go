package timing_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"ledgerwheel/domain/timing"
)

// madeUpRun is a run of a watch of chance, as it truly is and as it is read: with the scatter stated, to whole units,
// by a clock that is off.
func madeUpRun(random *rand.Rand) (truly, read timing.Run) {
	truly = timing.Run{Kind: timing.Final, CrownHour: timing.CrownAtThree}
	read = truly
	level, clock := 6*random.NormFloat64(), clockStd*random.NormFloat64()
	for _, hours := range []float64{0, 24} {
		for _, p := range timing.Positions() {
			rate, amplitude := level+4*random.NormFloat64(), 270-hours+15*random.NormFloat64()
			truly.Readings = append(truly.Readings, timing.Reading{Position: p, HoursAfterWinding: hours,
				RateSPerDay: &timing.Figure{Value: rate}, AmplitudeDeg: &timing.Figure{Value: amplitude}})
			const scatter, scatterDeg = 0.3, 1.0
			read.Readings = append(read.Readings, timing.Reading{Position: p, HoursAfterWinding: hours, Instrument: "bench 1",
				RateSPerDay: &timing.Figure{Value: math.Round(rate + clock + scatter*random.NormFloat64()), Step: 1,
					StdUncertainty: scatter},
				AmplitudeDeg: &timing.Figure{Value: math.Round(amplitude + scatterDeg*random.NormFloat64()), Step: 1,
					StdUncertainty: scatterDeg}})
		}
	}
	return truly, read
}

// "About 95 %" of pages and bulletins: how often a watch's true figure lies within the stated U, k = 2, of what is
// worked out from its readings.
func TestStatisticsCoverage(t *testing.T) {
	t.Parallel()
	random := rand.New(rand.NewPCG(95, 2))
	const watches = 4000
	within, names := map[timing.Key]int{}, map[timing.Key]string{}
	for range watches {
		truly, read := madeUpRun(random)
		is := timing.StatisticsOf(truly, timing.Options{})
		got := timing.StatisticsOf(read, timing.Options{Instruments: benchClock})
		pairs := [][2]timing.Statistic{{is.Isochronism, got.Isochronism}, {is.AmplitudeLoss24h, got.AmplitudeLoss24h}}
		for i, state := range got.States {
			if state.HoursAfterWinding > 0 {
				continue
			}
			for k, s := range state.List() {
				pairs = append(pairs, [2]timing.Statistic{is.States[i].List()[k], s})
			}
		}
		for _, p := range pairs {
			if !p[1].Computable() {
				continue
			}
			names[p[1].Key] = p[1].Label
			if math.Abs(p[1].Value.Value-p[0].Value.Value) <= p[1].Value.Expanded() {
				within[p[1].Key]++
			}
		}
	}
	for key, name := range names {
		share := float64(within[key]) / watches
		t.Logf("%-40s within U in %.1f %%", name, 100*share)
		if share < 0.93 || share > 0.98 {
			t.Errorf("%s: %.1f %% within U, about 95 %% is stated", name, 100*share)
		}
	}
	if len(names) < 12 {
		t.Errorf("only %d figures were counted", len(names))
	}
}
