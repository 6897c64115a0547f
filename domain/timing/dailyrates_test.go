package timing_test

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/timing"
)

var firstNoon = time.Date(2026, 5, 1, 12, 0, 0, 0, time.UTC)

func onDay(day, fastS, halfS float64) timing.Offset {
	return timing.Offset{At: firstNoon.Add(time.Duration(day * 24 * float64(time.Hour))), FastS: fastS, HalfS: halfS}
}

// Three quartz watches against radio time were 2, 4 and 7 s off after 11 days, and 9, 17 and 28 s after 44 (a message of 15
// September 2009 at NavList, fer3.com, which prints .1818, .3636 and .6363 s/d for the eleven days, truncated, and .2045,
// .3864 and .6364 for all); a rate book's 2 min 00 s and 2 min 01 s fast on following days, gaining 1 s/d (time-piece rate
// book extract); and 3 min 09.0 s to 3 min 53.5 s fast in thirty days, (233.5 − 189.0)/30 (figures from memory of a
// navigation manual, worked out).
func TestDailyRatesPublished(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		days, from, to, want, tolerance float64
	}{
		{11, 0, 2, 0.1818, 5e-5}, {11, 0, 4, 0.3636, 5e-5}, {11, 0, 7, 0.6364, 5e-5},
		{44, 0, 9, 0.2045, 5e-5}, {44, 0, 17, 0.3864, 5e-5}, {44, 0, 28, 0.6364, 5e-5},
		{1, 120, 121, 1, 1e-9}, {30, 189, 233.5, 1.4833, 5e-5},
	} {
		got, err := timing.DailyRatesOf([]timing.Offset{onDay(0, c.from, 0), onDay(c.days, c.to, 0)}, metrology.Value{})
		if err != nil || math.Abs(got.Mean.Value-c.want) > c.tolerance {
			t.Errorf("%+v: got %v, %v", c, got.Mean, err)
		}
	}
	// The first watch again, read at both: its two rates and their day-weighted mean.
	got, err := timing.DailyRatesOf([]timing.Offset{onDay(44, 9, 0), onDay(0, 0, 0), onDay(11, 2, 0)}, metrology.Value{})
	if err != nil || len(got.Intervals) != 2 || math.Abs(got.Intervals[0].Rate.Value-2./11) > 1e-12 ||
		math.Abs(got.Intervals[1].Rate.Value-7./33) > 1e-12 || math.Abs(got.Mean.Value-9./44) > 1e-12 {
		t.Errorf("out of order: %+v, %v", got, err)
	}
}

// A reference that gains makes the watch seem to lose; hands that were set part the days without spoiling them.
func TestDailyRatesReferenceAndSetting(t *testing.T) {
	t.Parallel()
	set := onDay(2, 10, 1)
	set.HandsSet = true
	list := []timing.Offset{onDay(0, 0, 1), onDay(1, 5, 1), set, onDay(3, 4, 1), onDay(4, 9, 1)}
	got, err := timing.DailyRatesOf(list, metrology.Value{Value: 0.5, StdUncertainty: 0.1})
	if err != nil || len(got.Intervals) != 3 || got.Days != 3 || math.Abs(got.Mean.Value-5.5) > 1e-12 {
		t.Fatalf("%+v, %v", got, err)
	}
	// Four readings remain in the mean: first, the one set, and both of the last day; each 1/√3 s over 3 days.
	want := math.Hypot(math.Sqrt(4./3)/3, 0.1)
	if math.Abs(got.Mean.StdUncertainty-want) > 1e-12 {
		t.Errorf("uncertainty %v, want %v", got.Mean.StdUncertainty, want)
	}
	list[2].HandsSet = false
	list[3].FastS = -4000
	var wrong *timing.OffsetError
	if _, err := timing.DailyRatesOf(list, metrology.Value{}); !errors.As(err, &wrong) || wrong.Row != 4 {
		t.Errorf("hands set unsaid: %v", err)
	}
	for _, bad := range [][]timing.Offset{nil, {onDay(0, 0, 0)}, {onDay(0, 0, 0), onDay(0.01, 0, 0)},
		{onDay(0, math.NaN(), 0), onDay(1, 0, 0)}, {onDay(0, 0, -1), onDay(1, 0, 0)}, {onDay(0, 50000, 0), onDay(1, 0, 0)},
		{onDay(0, 0, 0), onDay(500, 0, 0)}} {
		if _, err := timing.DailyRatesOf(bad, metrology.Value{}); !errors.As(err, &wrong) {
			t.Errorf("%v: let pass, %v", bad, err)
		}
	}
}

// The stated uncertainty (k = 2) of the mean holds over made-up readings: rectangular errors of reading and a reference
// that is off by what is said of it.
func TestDailyRatesCovers(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(1, 2))
	const tries = 4000
	within := 0
	for range tries {
		truth, clock := 10*r.NormFloat64(), 0.05*r.NormFloat64()
		var list []timing.Offset
		for day := range 8 {
			list = append(list, onDay(float64(day), float64(day)*(truth-clock)+r.Float64()-0.5, 0.5))
		}
		got, err := timing.DailyRatesOf(list, metrology.Value{StdUncertainty: 0.05})
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(got.Mean.Value-truth) <= got.Mean.Expanded() {
			within++
		}
	}
	t.Logf("the mean lies within U in %d of %d", within, tries)
	if share := float64(within) / tries; share < 0.93 || share > 0.985 {
		t.Errorf("within U in %.1f %%", 100*share)
	}
}
