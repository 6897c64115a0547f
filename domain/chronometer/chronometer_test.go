package chronometer_test

import (
	"errors"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"ledgerwheel/domain/chronometer"
	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/timing"
)

// anyRates draws fifteen rates of one decimal.
func anyRates(t *rapid.T) []float64 {
	return rapid.SliceOfN(rapid.Map(rapid.IntRange(-200, 200), func(n int) float64 { return float64(n) / 10 }), 15,
		15).Draw(t, "rates")
}

// Decimals whose binary sums miss the limit by a last digit decide as they stand on paper.
func TestDecimalsAtTheLimitPass(t *testing.T) {
	t.Parallel()
	at := []float64{5.9, 6.1, 5.7, 6.3, 6.2, 5.8, 6.1, 5.9, 5.7, 6.3} // sum 60 on paper
	sum := 0.0
	for _, x := range at {
		sum += x
	}
	if j := chronometer.Judge(1, typed(t, at...)); !j.Result(chronometer.MeanDailyRate).WithinLimits() {
		t.Errorf("mean of 6.0 exactly did not pass (binary sum %v)", sum)
	}
	at[0] = 5.900001
	if j := chronometer.Judge(1, typed(t, at...)); j.Result(chronometer.MeanDailyRate).WithinLimits() {
		t.Error("mean of 6.0000001 passed")
	}
	// C = (9.1 - -8.9)/30 = 0.6, and R = 0.3 - (-4.6 + -4.8)/2 = 5.
	rates := []float64{-4.6, -4.8, 0, 0, 0, 0, 0, 0, 0, 0, -8.9, 0, 9.1, 0, 0.3}
	j := chronometer.Judge(1, typed(t, rates...))
	for _, c := range []chronometer.Criterion{chronometer.ThermalVariation, chronometer.RateResumption} {
		if r := j.Result(c); !r.WithinLimits() || r.Room != 0 {
			t.Errorf("%s: %v, room %v", c, r.Standing, r.Room)
		}
	}
}

// A shift of all rates moves M and nothing else; a change of sign turns M, D, C and R and leaves V, Vmax and P.
func TestCriteriaUnderShiftAndSign(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		rates := anyRates(t)
		shift := float64(rapid.IntRange(-100, 100).Draw(t, "shift"))
		moved, turned := slices.Clone(rates), slices.Clone(rates)
		for i := range rates {
			moved[i] = math.Round((rates[i]+shift)*10) / 10
			turned[i] = -rates[i]
		}
		a, b, c := chronometer.Judge(1, typed(t, rates...)), chronometer.Judge(1, typed(t, moved...)),
			chronometer.Judge(1, typed(t, turned...))
		for i, r := range a.Results {
			want := r.Value.Value
			if r.Criterion == chronometer.MeanDailyRate {
				want += shift
			}
			if math.Abs(b.Results[i].Value.Value-want) > rounding {
				t.Fatalf("%s moved by %v: %v to %v", r.Criterion, shift, r.Value.Value, b.Results[i].Value.Value)
			}
			want = r.Value.Value
			if r.Criterion.Signed() {
				want = -want
			}
			if math.Abs(c.Results[i].Value.Value-want) > rounding {
				t.Fatalf("%s turned: %v to %v", r.Criterion, r.Value.Value, c.Results[i].Value.Value)
			}
		}
	})
}

// What is said of an unfinished trial holds at its end: a criterion called failed fails, the least possible is not
// undercut, and a criterion that is known doesn't change.
func TestUnfinishedTrialIsNeverWrong(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		rates := typed(t, anyRates(t)...)
		end := chronometer.Judge(1, rates)
		for day := range chronometer.Days {
			j := chronometer.Judge(1, rates.Until(day))
			for i, r := range j.Results {
				last := end.Results[i]
				if r.Standing == chronometer.Fail && last.Standing != chronometer.Fail {
					t.Fatalf("day %d: %s was called failed and passed", day, r.Criterion)
				}
				if r.AtLeast != nil && *r.AtLeast > last.Value.Value+rounding {
					t.Fatalf("day %d: %s was to be at least %v and came out at %v", day, r.Criterion, *r.AtLeast, last.Value.Value)
				}
				if r.Known != (day >= r.Criterion.KnownFrom()) || r.Known && r.Value != last.Value {
					t.Fatalf("day %d: %s known %v as %v, at the end %v", day, r.Criterion, r.Known, r.Value, last.Value)
				}
			}
		}
	})
}

// The least deviation still possible is reached by a search over what the missing days may bring.
func TestLeastDeviationIsReached(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		known := rapid.IntRange(1, 9).Draw(t, "known")
		first := anyRates(t)[:known]
		bound := *chronometer.Judge(1, typed(t, first...)).Result(chronometer.LargestDeviation).AtLeast
		best := math.Inf(1)
		for y := -100.0; y <= 100; y += 0.02 { // equal missing days are best; the finest step of y moves P by less
			ten := slices.Clone(first)
			sum, p := 0.0, 0.0
			for len(ten) < 10 {
				ten = append(ten, y)
			}
			for _, x := range ten {
				sum += x
			}
			for _, x := range ten {
				p = max(p, math.Abs(x-sum/10))
			}
			best = min(best, p)
		}
		if best < bound-rounding || best > bound+0.02 {
			t.Fatalf("after %v: bound %v, best found %v", first, bound, best)
		}
	})
}

func TestAlreadyFailed(t *testing.T) {
	t.Parallel()
	j := chronometer.Judge(1, typed(t, 0, 5.1))
	r := j.Result(chronometer.GreatestVariation)
	if r.Standing != chronometer.Fail || r.Known || j.Standing != chronometer.Fail {
		t.Errorf("Vmax of 5.1 on day 2: %+v", r)
	}
	near(t, "room", r.Room, -0.1, rounding)
	if got, want := r.Text(), "at least 5.1 s/d; known from day 10: needs days 3, 4, 5, 6, 7, 8, 9, 10"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	if r := chronometer.Judge(1, typed(t, 0, 0,
		20.2)).Result(chronometer.LargestDeviation); r.Standing != chronometer.Fail {
		t.Errorf("rates 20.2 apart: P %+v", r)
	}
	fourteen := chronometer.Judge(1, typed(t, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0))
	if got, want := fourteen.Result(chronometer.RateResumption).Text(), "known from day 15"; got != want ||
		fourteen.Standing != chronometer.Open {
		t.Errorf("got %q, %s", got, fourteen.Standing)
	}
}

// u of typed tenths, by hand: u(Mi)² = 0.1²/12.
func TestUncertaintyOfTypedRates(t *testing.T) {
	t.Parallel()
	rates := typed(t, 1.2, 1.8, -0.6, 0.4, -1.8, -0.9, 3.1, 3.6, 2.4, 2.9, 0.5, 2.6, 5.6, 1.4, 2.1)
	u := 0.1 / math.Sqrt(12)
	want := map[chronometer.Criterion]float64{
		chronometer.MeanDailyRate:                u / math.Sqrt(10),
		chronometer.MeanVariation:                u * math.Sqrt(10) / 5,
		chronometer.GreatestVariation:            u * math.Sqrt2,
		chronometer.HorizontalVerticalDifference: u,
		chronometer.LargestDeviation:             u * math.Sqrt(0.9),
		chronometer.ThermalVariation:             u * math.Sqrt2 / 30,
		chronometer.RateResumption:               u * math.Sqrt(1.5),
	}
	j := chronometer.Judge(1, rates)
	for _, r := range j.Results {
		near(t, string(r.Criterion), r.Value.StdUncertainty, want[r.Criterion], rounding)
	}
	// The clock stays whole in the mean and cancels in all differences.
	if err := rates.ShareClock(0.3); err != nil {
		t.Fatal(err)
	}
	want[chronometer.MeanDailyRate] = math.Hypot(want[chronometer.MeanDailyRate], 0.3)
	for _, r := range chronometer.Judge(1, rates).Results {
		near(t, "with clock "+string(r.Criterion), r.Value.StdUncertainty, want[r.Criterion], rounding)
	}
}

func TestGuardBand(t *testing.T) {
	t.Parallel()
	whole := typed(t, 6, 6, 6, 6, 6, 6, 6, 6, 6, 6, 6, 6, 6, 6, 6)
	j := chronometer.Judge(1, whole)
	if j.Standing != chronometer.Pass || j.Guarded != metrology.Undecided {
		t.Errorf("at the limit: %s, guarded %s", j.Standing, j.Guarded)
	}
	near(t, "probability at the limit", j.Result(chronometer.MeanDailyRate).Probability, 0.5, 1e-6)
	near(t, "probability of all seven, from", j.ProbabilityFrom, 0.5, 1e-6) // the other six are certain
	near(t, "probability of all seven, to", j.ProbabilityTo, 0.5, 1e-6)
	if open := chronometer.Judge(1, whole.Until(14)); open.ProbabilityTo != 0 || open.Guarded != metrology.NotMeasured {
		t.Errorf("before day 15: %v, %s", open.ProbabilityTo, open.Guarded)
	}
	if got := chronometer.Judge(1, typed(t, 2, 2, 2, 2, 2, 2, 2, 2, 2, 2, 2, 2, 2, 2, 2)).Guarded; got != metrology.Pass {
		t.Errorf("well inside: %s", got)
	}
	if got := chronometer.Judge(1, typed(t, 9, 9, 9, 9, 9, 9, 9, 9, 9, 9)).Guarded; got != metrology.Fail {
		t.Errorf("well outside: %s", got)
	}
}

var noon = time.Date(2024, 2, 28, 12, 0, 0, 0, time.UTC)

func compare(day int, off time.Duration, stateS, stdS float64) chronometer.Comparison {
	at := noon.Add(time.Duration(day)*24*time.Hour + off)
	return chronometer.Comparison{Day: day, Reference: at, Watch: at.Add(time.Duration(math.Round(stateS * 1e9))),
		StdS: stdS}
}

func TestRateFromTwoComparisons(t *testing.T) {
	t.Parallel()
	r, err := chronometer.FromComparisons([]chronometer.Comparison{compare(0, 0, -3, 0.3), compare(1, 0, 1.5, 0.4)})
	if err != nil {
		t.Fatal(err)
	}
	got, _ := r.Rate(1)
	near(t, "rate", got.Value, 4.5, rounding)
	near(t, "u", got.StdUncertainty, 0.5, rounding)
	// 5 s in 25 h are 4.8 s/d.
	r, err = chronometer.FromComparisons([]chronometer.Comparison{compare(0, 0, 0, 0), compare(1, time.Hour, 5, 0.5)})
	if err != nil {
		t.Fatal(err)
	}
	got, _ = r.Rate(1)
	near(t, "scaled rate", got.Value, 4.8, rounding)
	near(t, "scaled u", got.StdUncertainty, 0.48, rounding)
}

// The readings between telescope in the mean: M has the uncertainty of the first and the last alone.
func TestMeanOfComparisonsTelescopes(t *testing.T) {
	t.Parallel()
	var list []chronometer.Comparison
	for day := 0; day <= 15; day++ {
		list = append(list, compare(day, 0, float64(day)*1.5, 0.5))
	}
	r, err := chronometer.FromComparisons(list)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "covariance of neighbours", r.Covariance(3, 4), -0.25, rounding)
	near(t, "covariance of others", r.Covariance(3, 5), 0, 0)
	j := chronometer.Judge(1, r)
	near(t, "u(M)", j.Result(chronometer.MeanDailyRate).Value.StdUncertainty, 0.5*math.Sqrt2/10, rounding)
	// M1 - M2 = -E0 + 2·E1 - E2: u² = 6 u².
	near(t, "u(Vmax)", j.Result(chronometer.GreatestVariation).Value.StdUncertainty, 0.5*math.Sqrt(6), rounding)
	// D = (E2 - E0)/2 - (E10 - E8)/2.
	near(t, "u(D)", j.Result(chronometer.HorizontalVerticalDifference).Value.StdUncertainty, 0.5, rounding)
	// R = E15 - E14 - (E2 - E0)/2.
	near(t, "u(R)", j.Result(chronometer.RateResumption).Value.StdUncertainty, 0.5*math.Sqrt(2.5), rounding)
}

func TestComparisonsRefused(t *testing.T) {
	t.Parallel()
	for _, tc := range []struct {
		name string
		list []chronometer.Comparison
		day  int
		want string
	}{
		{"more than 12 h off", []chronometer.Comparison{compare(0, 0, 12*3600+1, 0.5)}, 0, "more than 12 hours"},
		{"twice", []chronometer.Comparison{compare(2, 0, 0, 0.5), compare(2, 0, 1, 0.5)}, 2, "two comparisons"},
		{"backwards", []chronometer.Comparison{compare(0, 0, 0, 0), compare(1, -25*time.Hour, 0, 0)}, 1, "not after"},
		{"two days", []chronometer.Comparison{compare(0, 0, 0, 0), compare(1, 24*time.Hour, 0, 0)}, 1, "12 to 36 hours"},
		{"hands set", []chronometer.Comparison{compare(0, 0, 0, 0), compare(1, 0, 3600, 0)}, 1, "hands set"},
		{"negative uncertainty", []chronometer.Comparison{compare(0, 0, 0, -1)}, 0, "uncertainty"},
		{"NaN uncertainty", []chronometer.Comparison{compare(0, 0, 0, math.NaN())}, 0, "uncertainty"},
		{"no time", []chronometer.Comparison{{Day: 4}}, 4, "Give the reference time"},
		{"day 16", []chronometer.Comparison{compare(16, 0, 0, 0)}, 16, "none of the fifteen"},
	} {
		_, err := chronometer.FromComparisons(tc.list)
		var wrong *chronometer.ComparisonError
		if !errors.As(err, &wrong) || wrong.Day != tc.day || !strings.Contains(wrong.Why, tc.want) {
			t.Errorf("%s: got %v", tc.name, err)
		}
	}
	if _, err := chronometer.FromComparisons([]chronometer.Comparison{compare(0, 0, 12*3600, 0.5)}); err != nil {
		t.Errorf("12 h off exactly: %v", err)
	}
}

// The dial reads the nearest instant, over midnight and the end of a month.
func TestWatchInstantWrapsAtMidnight(t *testing.T) {
	t.Parallel()
	at := time.Date(2024, 2, 29, 0, 0, 1, 0, time.UTC)
	for _, tc := range []struct {
		reference time.Time
		seconds   float64
		dial      int
		offS      float64
	}{
		{at, 86398, chronometer.TwentyFourHourTime, -3},
		{at.Add(-4 * time.Second), 2.5, chronometer.TwentyFourHourTime, 5.5},
		{noon, 43200.25, chronometer.TwentyFourHourTime, 0.25},
		{noon, 3, chronometer.TwelveHourDial, 3},
		{at, 43198, chronometer.TwelveHourDial, -3},
		{noon, 82800, chronometer.TwentyFourHourTime, 11 * 3600},
		{at, 43201, chronometer.TwentyFourHourTime, 12 * 3600}, // half a turn is left on the side it is read on
		{noon, 0, chronometer.TwentyFourHourTime, -12 * 3600},
		{noon, 64800, chronometer.TwelveHourDial, 6 * 3600},
	} {
		got, err := chronometer.WatchInstant(tc.reference, tc.seconds, tc.dial)
		if err != nil {
			t.Error(err)
		}
		near(t, tc.reference.String(), got.Sub(tc.reference).Seconds(), tc.offS, rounding)
	}
	for _, bad := range []float64{-1, 86400, math.NaN(), math.Inf(1)} {
		if _, err := chronometer.WatchInstant(noon, bad, 24); err == nil {
			t.Errorf("%v was accepted", bad)
		}
	}
}

func follow(rates ...float64) chronometer.Trial {
	trial := chronometer.Trial{Category: chronometer.Category1}
	for i, x := range rates {
		trial.Days = append(trial.Days, chronometer.DayRecord{Day: i + 1, Rate: &timing.Figure{Value: x, Step: 0.1}})
	}
	return trial
}

func steady() chronometer.Trial { return follow(2, 2, 2, 2, 2, 2, 2, 2, 2, 2, 2, 2, 2, 2, 2) }

// A failure is certain whatever else was spoilt; what is at a limit may still pass; and a probability is none below
// nought.
func TestStandingAtTheEdges(t *testing.T) {
	t.Parallel()
	warm := 30.0
	trial := follow(7, 7, 7, 7, 7, 7, 7, 7, 7, 7, 7, 7, 7, 7, 7)
	trial.Days[10].TemperatureC = &warm
	if j, err := trial.Judge(); err != nil || j.Standing != chronometer.Fail ||
		j.Result(chronometer.ThermalVariation).Standing != chronometer.Spoilt {
		t.Errorf("mean beyond its limit and day 11 spoilt: %s, %v", j.Standing, err)
	} else if c := j.Result(chronometer.ThermalVariation); c.Guarded != metrology.NotMeasured || c.Probability != 0 ||
		c.GuardedWords() != "spoilt" || !c.Known || j.ProbabilityTo != 0 {
		t.Errorf("spoilt, and yet with a guard band it is %q, %v likely", c.Guarded, c.Probability)
	}
	for rate, want := range map[float64]chronometer.Standing{5: chronometer.Open, 5.1: chronometer.Fail} {
		r := chronometer.Judge(1, typed(t, 0, rate)).Result(chronometer.GreatestVariation)
		if r.Standing != want || r.AtLeast == nil || *r.AtLeast != rate {
			t.Errorf("a first pair %v s/d apart: %s, at least %v", rate, r.Standing, r.AtLeast)
		}
	}
	// C and R both fail, so that 1 - Σ (1 - p) is about -1.
	j := chronometer.Judge(1, typed(t, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, -12, 0, 12, 0, -7))
	if j.ProbabilityFrom != 0 || j.ProbabilityTo > 0.01 {
		t.Errorf("from %v to %v", j.ProbabilityFrom, j.ProbabilityTo)
	}
}

// Twelve and thirty-six hours are still about a day.
func TestLengthOfADay(t *testing.T) {
	t.Parallel()
	for hours, good := range map[float64]bool{11.99: false, 12: true, 36: true, 36.01: false} {
		between := time.Duration(hours * float64(time.Hour))
		r, err := chronometer.FromComparisons([]chronometer.Comparison{{Day: 0, Reference: noon, Watch: noon},
			{Day: 1, Reference: noon.Add(between), Watch: noon.Add(between + time.Second)}})
		if (err == nil) != good {
			t.Errorf("%v h: %v", hours, err)
		}
		if rate, _ := r.Rate(1); good {
			near(t, "rate", rate.Value, 24/hours, rounding)
		}
	}
}

func TestDeparturesSpoil(t *testing.T) {
	t.Parallel()
	number := func(x float64) *float64 { return &x }
	no := false
	for _, tc := range []struct {
		name   string
		change func(*chronometer.Trial)
		text   string // "" for no warning
		spoils string
	}{
		{"as asked", func(*chronometer.Trial) {}, "", ""},
		{"missed", func(t *chronometer.Trial) { t.Days[10].Rate, t.Days[10].Missed = nil, true }, "Day 11 was missed.", "C"},
		{"no rate", func(t *chronometer.Trial) { t.Days[2].Rate = nil }, "Day 3 has no rate", "M V Vmax P"},
		{"position", func(t *chronometer.Trial) { t.Days[8].Position = timing.SixUp }, "Day 9 was spent in 6H instead of CH.",
			"M V Vmax D P"},
		{"temperature at the tolerance", func(t *chronometer.Trial) { t.Days[12].TemperatureC = number(39) }, "", ""},
		{"temperature", func(t *chronometer.Trial) { t.Days[12].TemperatureC = number(36.9) },
			"Day 13 was at 36.9 °C instead of 38 °C ± 1 °C.", "C"},
		{"day 12", func(t *chronometer.Trial) { t.Days[11].TemperatureC = number(30) }, "no longer follows the programme",
			""},
		{"functions", func(t *chronometer.Trial) { t.Days[9].FunctionsEngaged = &no }, "without the functions",
			"M V Vmax D P"},
		{"settling short", func(t *chronometer.Trial) { t.Settling = &chronometer.Settling{Hours: 8, TemperatureC: 23} },
			"settled for 8 h", "M V Vmax D P R"},
		{"settling just long enough", func(t *chronometer.Trial) {
			t.Settling = &chronometer.Settling{Hours: 12, TemperatureC: 23}
		}, "", ""},
		{"settling cold", func(t *chronometer.Trial) { t.Settling = &chronometer.Settling{Hours: 14, TemperatureC: 18} },
			"settled at 18 °C", "M V Vmax D P R"},
		{"late", func(t *chronometer.Trial) {
			t.Days[13].ReadAt, t.Days[14].ReadAt = noon, noon.Add(25*time.Hour+90*time.Second)
		}, "Day 15 was read 62 minutes too late.", "R"},
		{"early", func(t *chronometer.Trial) {
			t.Start, t.Days[0].ReadAt = noon, noon.Add(20*time.Hour)
		}, "Day 1 was read 240 minutes too early.", "M V Vmax D P R"},
		{"within the hour", func(t *chronometer.Trial) { t.Start, t.Days[0].ReadAt = noon, noon.Add(25*time.Hour) }, "", ""},
	} {
		trial := steady()
		tc.change(&trial)
		if bad := trial.Problems(); len(bad) > 0 {
			t.Fatalf("%s: %v", tc.name, bad)
		}
		warnings := trial.Warnings()
		j, err := trial.Judge()
		if err != nil {
			t.Fatalf("%s: %v", tc.name, err)
		}
		if tc.text == "" {
			if len(warnings) > 0 || j.Standing != chronometer.Pass {
				t.Errorf("%s: %v, %s", tc.name, warnings, j.Standing)
			}
			continue
		}
		if len(warnings) != 1 || !strings.Contains(warnings[0].Text, tc.text) {
			t.Errorf("%s: got %v", tc.name, warnings)
			continue
		}
		var spoilt []string
		for _, r := range j.Results {
			if r.Standing == chronometer.Spoilt {
				spoilt = append(spoilt, r.Criterion.Symbol())
			}
		}
		if got := strings.Join(spoilt, " "); got != tc.spoils || warnings[0].Programme != (tc.spoils == "") {
			t.Errorf("%s: spoilt %q, want %q", tc.name, got, tc.spoils)
		}
		if tc.spoils == "" {
			continue
		}
		if _, err := trial.Forecast(chronometer.DefaultAssumptions(), 100, 1); !errors.Is(err, chronometer.ErrSpoilt) ||
			j.Standing != chronometer.Spoilt {
			t.Errorf("%s: forecast %v, standing %s", tc.name, err, j.Standing)
		}
	}
}

// TestNoOutlookBeforeTwoDays: of a watch that was not read nothing is foretold, whatever watches in general do.
func TestNoOutlookBeforeTwoDays(t *testing.T) {
	t.Parallel()
	for days, want := range []error{chronometer.ErrTooEarly, chronometer.ErrTooEarly, nil, nil} {
		rates := make([]float64, days)
		_, err := follow(rates...).Forecast(chronometer.DefaultAssumptions(), 100, 1)
		if !errors.Is(err, want) {
			t.Errorf("after %d days: %v, want %v", days, err, want)
		}
	}
}

func TestTrialProblemsByField(t *testing.T) {
	t.Parallel()
	trial := follow(1, 2)
	hot := 400.0
	trial.Category = 3
	trial.Settling = &chronometer.Settling{Hours: math.NaN(), TemperatureC: 23}
	trial.ClockStdSPerDay = -1
	trial.Days[0].Position, trial.Days[0].TemperatureC = "4H", &hot
	trial.Days[1].Rate = &timing.Figure{Value: math.Inf(1)}
	trial.Days = append(trial.Days, chronometer.DayRecord{Day: 2}, chronometer.DayRecord{Day: 16})
	trial.Comparisons = []chronometer.Comparison{compare(7, 0, 90000, 1)}
	bad := trial.Problems()
	want := []string{"category", "clock_uncertainty", "day_16", "day_1_position", "day_1_temperature", "day_2",
		"day_2_rate",
		"day_7_comparison", "settling_hours"}
	var got []string
	for field := range bad {
		got = append(got, field)
	}
	slices.Sort(got)
	if !slices.Equal(got, want) {
		t.Errorf("got %v, want %v", got, want)
	}
	if _, err := trial.Judge(); err == nil {
		t.Error("such a trial was judged")
	}
}

// Typed rates and comparisons may be mixed; a typed one goes first.
func TestMixedTrial(t *testing.T) {
	t.Parallel()
	trial := follow(2.5)
	trial.Comparisons = []chronometer.Comparison{compare(0, 0, 0, 0.5), compare(1, 0, 9, 0.5), compare(2, 0, 12, 0.5)}
	r, err := trial.Rates()
	if err != nil {
		t.Fatal(err)
	}
	one, _ := r.Rate(1)
	two, _ := r.Rate(2)
	near(t, "typed", one.Value, 2.5, 0)
	near(t, "compared", two.Value, 3, rounding)
	near(t, "covariance", r.Covariance(1, 2), 0, 0)
}
