package oscillator

import (
	"math"
	"math/rand/v2"
	"testing"

	"ledgerwheel/domain/timing"
)

// TestStatisticsAgree holds the simulation's own short statistics to those the limits are judged by.
func TestStatisticsAgree(t *testing.T) {
	t.Parallel()
	random := rand.New(rand.NewPCG(2, 3))
	run := timing.Run{Kind: timing.Final, CrownHour: 3}
	var rates []ExpectedRate
	var y []float64
	s := sums{low: math.Inf(1), high: math.Inf(-1)}
	for _, h := range []float64{0, 24} {
		for _, p := range timing.Positions() {
			x := 10 * random.NormFloat64()
			run.Readings = append(run.Readings, timing.Reading{Position: p, HoursAfterWinding: h,
				RateSPerDay: &timing.Figure{Value: x}})
			rates, y = append(rates, ExpectedRate{Position: p, Hours: h}), append(y, x)
			if h == 0 {
				s.add(p.Horizontal(), x)
			} else {
				s.later, s.nLater = s.later+x, s.nLater+1
			}
		}
	}
	stats := timing.StatisticsOf(run, timing.Options{})
	full, _ := stats.At(0)
	all := []bool{true, true, true, true, true, true, true, true, true, true, true, true}
	for _, want := range []timing.Statistic{full.Mean, full.Delta, full.HorizontalLessVertical, stats.Isochronism} {
		v := want.Value.Value
		if got := s.of(want.Key); math.Abs(got-v) > 1e-9 { // binary rounding only
			t.Errorf("%s: %v, want %v", want.Key, got, v)
		}
		if !meetsAll(rates, all, y, []bounded{{want.Key, v - 1e-9, v + 1e-9}}) ||
			meetsAll(rates, all, y, []bounded{{want.Key, v + 1e-6, v + 1}}) {
			t.Errorf("%s is held against its limit otherwise", want.Key)
		}
	}
}
