package timing_test

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/stat"
	"pgregory.net/rapid"

	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/timing"
)

// sixRates is a wristwatch before adjustment, in grid order: CH, FH, 3H, 6H, 9H, 12H.
var (
	sixRates      = []float64{8, 6, -3, 12, 5, -10}
	sixAmplitudes = []float64{286, 282, 251, 247, 254, 249}
	sixBeatErrors = []float64{0.2, 0.3, 0.4, 0.4, 0.5, 0.3}
)

// fullRun returns a run of six positions at each state of wind; later states lose amplitude and gain rate.
func fullRun(hours ...float64) timing.Run {
	run := timing.Run{Kind: timing.AfterService, CrownHour: timing.CrownAtThree}
	for _, h := range hours {
		for i, p := range timing.Positions() {
			run.Readings = append(run.Readings, timing.Reading{
				Position: p, HoursAfterWinding: h, Instrument: "bench 1",
				RateSPerDay:  &timing.Figure{Value: sixRates[i] + h/6, Step: 1, StdUncertainty: 0.3},
				AmplitudeDeg: &timing.Figure{Value: sixAmplitudes[i] - 2*h, Step: 1, StdUncertainty: 1},
				BeatErrorMs:  &timing.Figure{Value: sixBeatErrors[i], Step: 0.1},
			})
		}
	}
	return run
}

const clockStd = 0.5

var benchClock = timing.Instruments{ClockStdSPerDay: map[string]float64{"bench 1": clockStd}, OtherClockStdSPerDay: 3}

// The means and extremes agree with gonum, and each uncertainty with the law of propagation worked out by hand: the
// clock stays whole in a mean and leaves a difference.
func TestStateStatisticsAgreeWithGonum(t *testing.T) {
	t.Parallel()
	stats := timing.StatisticsOf(fullRun(0), timing.Options{Instruments: benchClock})
	s, ok := stats.At(0)
	if !ok || len(stats.States) != 1 {
		t.Fatalf("states: %+v", stats.States)
	}
	own := math.Sqrt(0.3*0.3 + 1.0/12)   // of one rate: stated and step
	ownAmplitude := math.Sqrt(1 + 1./12) // of one amplitude
	withClock := func(u float64) float64 { return math.Hypot(u, clockStd) }
	horizontal, vertical := stat.Mean(sixRates[:2], nil), stat.Mean(sixRates[2:], nil)
	flat, hanging := stat.Mean(sixAmplitudes[:2], nil), stat.Mean(sixAmplitudes[2:], nil)
	for _, tc := range []struct {
		got     timing.Statistic
		want, u float64
	}{
		{s.Mean, stat.Mean(sixRates, nil), withClock(own / math.Sqrt(6))},
		{s.Delta, floats.Max(sixRates) - floats.Min(sixRates), own * math.Sqrt2},
		{s.HorizontalMean, horizontal, withClock(own / math.Sqrt2)},
		{s.VerticalMean, vertical, withClock(own / 2)},
		{s.HorizontalLessVertical, horizontal - vertical, own * math.Sqrt(0.5+0.25)},
		{s.HorizontalDelta, floats.Max(sixRates[:2]) - floats.Min(sixRates[:2]), own * math.Sqrt2},
		{s.VerticalDelta, floats.Max(sixRates[2:]) - floats.Min(sixRates[2:]), own * math.Sqrt2},
		{s.HorizontalAmplitude, flat, ownAmplitude / math.Sqrt2},
		{s.VerticalAmplitude, hanging, ownAmplitude / 2},
		{s.AmplitudeLoss, flat - hanging, ownAmplitude * math.Sqrt(0.75)},
		{s.LeastHorizontalAmplitude, floats.Min(sixAmplitudes[:2]), ownAmplitude},
		{s.LeastVerticalAmplitude, floats.Min(sixAmplitudes[2:]), ownAmplitude},
		{s.GreatestAmplitude, floats.Max(sixAmplitudes), ownAmplitude},
		{s.GreatestBeatError, floats.Max(sixBeatErrors), 0.1 / math.Sqrt(12)},
	} {
		if !tc.got.Computable() {
			t.Errorf("%s: %s", tc.got.Label, tc.got.Why)
		}
		near(t, tc.got.Label, tc.got.Value.Value, tc.want, rounding)
		near(t, "u of "+tc.got.Label, tc.got.Value.StdUncertainty, tc.u, rounding)
	}
	if got, want := s.Mean.Text(), "+3.0 ± 1.1 s/d"; got != want {
		t.Errorf("mean reads %q, want %q", got, want)
	}
}

func TestStatisticsOverADay(t *testing.T) {
	t.Parallel()
	stats := timing.StatisticsOf(fullRun(0, 24), timing.Options{Instruments: benchClock})
	own, ownAmplitude := math.Sqrt(0.3*0.3+1.0/12), math.Sqrt(1+1./12)
	near(t, "isochronism", stats.Isochronism.Value.Value, 4, rounding)
	near(t, "u of isochronism", stats.Isochronism.Value.StdUncertainty, own*math.Sqrt(2./6), rounding)
	near(t, "loss of amplitude", stats.AmplitudeLoss24h.Value.Value, 48, rounding)
	near(t, "u of loss", stats.AmplitudeLoss24h.Value.StdUncertainty, ownAmplitude*math.Sqrt(2./6), rounding)
	// With three positions left after a day, those three count.
	run := fullRun(0, 24)
	run.Readings = run.Readings[:9]
	run.Readings[6].RateSPerDay.Value = 100
	iso := timing.StatisticsOf(run, timing.Options{}).Isochronism
	near(t, "isochronism of three", iso.Value.Value, (100-8+4+4)/3., rounding)
	if len(iso.Over) != 3 {
		t.Errorf("over %v, want three positions", iso.Over)
	}
}

// Readings of two instruments share no clock, so their difference carries both clocks.
func TestTwoInstrumentsShareNoClock(t *testing.T) {
	t.Parallel()
	run := fullRun(0)
	for i := range run.Readings[:2] {
		run.Readings[i].Instrument = "bench 2" // not listed: the shop's setting for other clocks
	}
	s := timing.StatisticsOf(run, timing.Options{Instruments: benchClock}).States[0]
	own := math.Sqrt(0.3*0.3 + 1.0/12)
	want := math.Sqrt(own*own*0.75 + clockStd*clockStd + 3*3)
	near(t, "u of horizontal less vertical", s.HorizontalLessVertical.Value.StdUncertainty, want, rounding)
}

// Amplitude is in proportion to the lift angle (published row: 2° of lift in 52° move 270° by 10.4°), so an error of
// the lift angle scales means and differences alike.
func TestLiftAngleScalesAmplitudes(t *testing.T) {
	t.Parallel()
	s := timing.StatisticsOf(fullRun(0), timing.Options{Instruments: timing.Instruments{LiftAngleRel: 0.02}}).States[0]
	own := math.Sqrt(1 + 1./12)
	near(t, "u of mean", s.HorizontalAmplitude.Value.StdUncertainty, math.Hypot(own/math.Sqrt2, 284*0.02), rounding)
	loss := s.AmplitudeLoss
	near(t, "u of loss", loss.Value.StdUncertainty, math.Hypot(own*math.Sqrt(0.75), loss.Value.Value*0.02), rounding)
}

func TestNotComputableSaysWhy(t *testing.T) {
	t.Parallel()
	run := fullRun(0)
	run.Readings[4].RateSPerDay = nil // 9H
	run.Readings[1].AmplitudeDeg = nil
	run.Readings[0].BeatErrorMs, run.Readings[1].BeatErrorMs = nil, nil
	stats := timing.StatisticsOf(run, timing.Options{})
	s := stats.States[0]
	for _, tc := range []struct {
		got  timing.Statistic
		want string
	}{
		{s.Mean, "needs the rate in all six positions; 9H is missing"},
		{s.Delta, "needs the rate in all six positions; 9H is missing"},
		{s.VerticalMean, "needs the rate in all four vertical positions; 9H is missing"},
		{s.HorizontalLessVertical, "needs the rate in all six positions; 9H is missing"},
		{s.AmplitudeLoss, "needs the amplitude in all six positions; FH is missing"},
		{s.HorizontalAmplitude, "needs the amplitude in both horizontal positions; FH is missing"},
		{s.GreatestBeatError, "needs the beat error in both horizontal positions; CH and FH are missing"},
		{stats.Isochronism, "needs the rate at full wind and after 24 h in at least one position"},
		{stats.AmplitudeLoss24h, "needs the amplitude at full wind and after 24 h in at least one position"},
	} {
		if tc.got.Computable() || tc.got.Text() != tc.want {
			t.Errorf("%s: got %q, want %q", tc.got.Label, tc.got.Text(), tc.want)
		}
		if tc.got.Value != (metrology.Value{}) {
			t.Errorf("%s: has the value %v", tc.got.Label, tc.got.Value)
		}
	}
	if !s.HorizontalMean.Computable() || !s.VerticalAmplitude.Computable() {
		t.Error("what was measured is not computed")
	}
	three := timing.Options{Positions: []timing.Position{timing.TwelveUp, timing.DialUp, timing.NineUp}}
	s = timing.StatisticsOf(run, three).States[0]
	for _, tc := range []struct {
		got  timing.Statistic
		want string
	}{
		{s.Mean, "needs the rate in the three positions CH, 9H and 12H; 9H is missing"},
		{s.HorizontalDelta, "needs two positions or more"},
	} {
		if tc.got.Why != tc.want {
			t.Errorf("%s: got %q, want %q", tc.got.Label, tc.got.Why, tc.want)
		}
	}
	flat := timing.StatisticsOf(run, timing.Options{Positions: []timing.Position{timing.DialUp,
		timing.DialDown}}).States[0]
	if flat.Delta.Value.Value != 2 || flat.VerticalMean.Computable() || flat.HorizontalLessVertical.Computable() {
		t.Errorf("lying only: delta %v, vertical %q, difference %q", flat.Delta.Value, flat.VerticalMean.Why,
			flat.HorizontalLessVertical.Why)
	}
	if _, ok := stats.At(24); ok {
		t.Error("a state that was not measured has statistics")
	}
}

func TestInstrumentsCheck(t *testing.T) {
	t.Parallel()
	if err := benchClock.Check(); err != nil {
		t.Error(err)
	}
	for _, bad := range []float64{-1, math.NaN(), math.Inf(1)} {
		for _, i := range []timing.Instruments{{OtherClockStdSPerDay: bad}, {LiftAngleRel: bad},
			{ClockStdSPerDay: map[string]float64{"x": bad}}} {
			if i.Check() == nil {
				t.Errorf("%+v was accepted", i)
			}
		}
	}
}

// drawRun draws a run of all six positions at full wind and after a day.
func drawRun(t *rapid.T) timing.Run {
	run := fullRun(0, 24)
	for i := range run.Readings {
		r := &run.Readings[i]
		r.RateSPerDay.Value = float64(rapid.IntRange(-500, 500).Draw(t, "tenths")) / 10
		r.AmplitudeDeg.Value = float64(rapid.IntRange(1000, 3300).Draw(t, "tenths of a degree")) / 10
		r.BeatErrorMs.Value = float64(rapid.IntRange(0, 50).Draw(t, "tenths of ms")) / 10
	}
	return run
}

// Adding c to all rates moves every mean by c and leaves every difference, its uncertainty and all amplitudes.
func TestStatisticsShift(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		run := drawRun(t)
		o := timing.Options{Instruments: benchClock}
		before := timing.StatisticsOf(run, o)
		c := float64(rapid.IntRange(-100, 100).Draw(t, "c"))
		for i := range run.Readings {
			run.Readings[i].RateSPerDay.Value += c
		}
		after := timing.StatisticsOf(run, o)
		moved := map[timing.Key]bool{timing.MeanRate: true, timing.HorizontalMeanRate: true, timing.VerticalMeanRate: true}
		check := func(b, a timing.Statistic) {
			want := b.Value.Value
			if moved[b.Key] {
				want += c
			}
			if math.Abs(a.Value.Value-want) > 1e-9 || math.Abs(a.Value.StdUncertainty-b.Value.StdUncertainty) > 1e-9 {
				t.Fatalf("%s went from %+v to %+v with all rates moved by %v", b.Label, b.Value, a.Value, c)
			}
		}
		for i := range before.States {
			list := after.States[i].List()
			for j, b := range before.States[i].List() {
				check(b, list[j])
			}
		}
		check(before.Isochronism, after.Isochronism)
		check(before.AmplitudeLoss24h, after.AmplitudeLoss24h)
	})
}

// The order of readings says nothing; a delta is never negative and bounds the difference of means; a better
// clock never makes a figure less certain.
func TestStatisticsOrderAndBounds(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		run := drawRun(t)
		o := timing.Options{Instruments: benchClock}
		first := timing.StatisticsOf(run, o)
		run.Readings = rapid.Permutation(run.Readings).Draw(t, "order")
		second := timing.StatisticsOf(run, o)
		better := timing.StatisticsOf(run, timing.Options{})
		for i := range first.States {
			s := first.States[i]
			other, best := second.States[i].List(), better.States[i].List()
			for j, a := range s.List() {
				if a.Value != other[j].Value {
					t.Fatalf("%s depends on the order: %v and %v", a.Label, a.Value, other[j].Value)
				}
				if best[j].Value.StdUncertainty > a.Value.StdUncertainty+1e-12 {
					t.Fatalf("%s is less certain with a perfect clock", a.Label)
				}
			}
			if s.Delta.Value.Value < 0 || s.Delta.Value.Value+1e-9 < math.Abs(s.HorizontalLessVertical.Value.Value) {
				t.Fatalf("delta %v against difference of means %v", s.Delta.Value, s.HorizontalLessVertical.Value)
			}
			if s.Delta.Value.Value < s.VerticalDelta.Value.Value || s.Delta.Value.Value < s.HorizontalDelta.Value.Value {
				t.Fatal("a delta within a part is greater than that of the whole")
			}
		}
	})
}
