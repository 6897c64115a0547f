package timing_test

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/timing"
)

// typedAgain is a run of full wind typed into the grid, its first two positions read twice.
func typedAgain() map[string]string {
	typed := map[string]string{"kind": "final", "clock_ppm": "0", "states": "0", "columns": "0",
		"again1-rate-CH-0": "+7", "again1-amplitude-CH-0": "280", "again1-rate-FH-0": "+2"}
	for i, p := range timing.Positions() {
		typed[timing.FieldName(timing.Rate, p, 0)] = []string{"+3", "+4", "+1", "+2", "+6", "+3"}[i]
		typed[timing.FieldName(timing.Amplitude, p, 0)] = "270"
	}
	return typed
}

func sheetOf(t *testing.T, typed map[string]string) (timing.Sheet, map[string]string) {
	t.Helper()
	return timing.ParseSheet(func(f string) string { return typed[f] }, 3)
}

// TestReadAgain: readings taken again are read, shown again and told apart; limits are held against their means, whose
// uncertainty is what the readings differ by.
func TestReadAgain(t *testing.T) {
	t.Parallel()
	s, bad := sheetOf(t, typedAgain())
	if len(bad) > 0 || len(s.Run.Readings) != 8 || len(s.Run.Again()) != 2 {
		t.Fatalf("%d readings, problems %v", len(s.Run.Readings), bad)
	}
	for field, want := range typedAgain() {
		if got := s.Typed()[field]; got != want {
			t.Errorf("%s is shown as %q, want %q", field, got, want)
		}
	}
	mean := s.Run.Averaged()
	ch, _ := mean.Reading(timing.DialUp, 0)
	near(t, "mean rate of CH", ch.RateSPerDay.Value, 5, 1e-12)
	near(t, "mean amplitude of CH", ch.AmplitudeDeg.Value, 275, 1e-12)
	// Pooled (JCGM 100, 4.2.4): squares about the means 2·2² of CH and 2·1² of FH, over two degrees of freedom; widened by
	// half of t = 4.5266 (Table G.2 has 4.53).
	s2, free := s.Run.Repeatability(timing.Rate)
	near(t, "repeatability", s2, math.Sqrt((2*4+2*1)/2.0), 1e-12)
	one, widened := metrology.FromResolution(1), s2*4.5266/2
	near(t, "a mean of two", ch.RateSPerDay.Independent(), math.Hypot(widened/math.Sqrt2, one), 1e-3)
	once, _ := mean.Reading(timing.SixUp, 0)
	near(t, "a position read once", once.RateSPerDay.Independent(), math.Hypot(widened, one), 1e-3)
	if got := ch.RateSPerDay.Text(timing.Rate); got != "+5.0" || free != 2 {
		t.Errorf("the mean is written %s, %d degrees of freedom", got, free)
	}
	if len(mean.Averaged().Readings) != 6 || mean.Averaged().Readings[0].RateSPerDay.Value != 5 {
		t.Error("means are averaged once more")
	}
	lower, upper := 3.0, 4.0
	limits := timing.RateLimits{Limits: []timing.Limit{{Key: timing.MeanRate, Limits: metrology.Limits{Lower: &lower, Upper: &upper}}}}
	verdict := func(r timing.Run) metrology.Verdict {
		return timing.Judge(r, limits, metrology.Guarded, timing.Instruments{}).Verdict
	}
	steady, _ := sheetOf(t, map[string]string{"kind": "final", "clock_ppm": "0", "states": "0", "rate-CH-0": "3.5", "rate-FH-0": "3.5",
		"rate-3H-0": "3.5", "rate-6H-0": "3.5", "rate-9H-0": "3.5", "rate-12H-0": "3.5"})
	if got := verdict(steady.Run); got != metrology.Pass {
		t.Errorf("read once: %s", got)
	}
	for i, rate := range []float64{1, 6} { // the mean stays 3.5
		steady.Run.Readings = append(steady.Run.Readings, timing.Reading{Position: timing.DialUp, Repeat: 1 + i,
			RateSPerDay: &timing.Figure{Value: rate, Step: 0.1}})
	}
	if got := verdict(steady.Run); got != metrology.Undecided {
		t.Errorf("readings that differ by 5 s/d: %s", got)
	}
}

func TestReadAgainRefusals(t *testing.T) {
	t.Parallel()
	for field, c := range map[string]struct{ value, problem, words string }{
		"again1-rate-CH-0": {"fast", "again1-rate-CH-0", "fast"},
		"again2-rate-CH-0": {"9e9", "again2-rate-CH-0", ""},
		"rate-CH-0":        {"", "", ""}, // with its amplitude the first reading is still there
	} {
		typed := typedAgain()
		typed[field] = c.value
		_, bad := sheetOf(t, typed)
		if c.problem == "" && len(bad) > 0 || c.problem != "" && (bad[c.problem] == "" || !strings.Contains(bad[c.problem], c.words)) {
			t.Errorf("%s %q: %v", field, c.value, bad)
		}
	}
	typed := typedAgain()
	delete(typed, "rate-FH-0")
	delete(typed, "amplitude-FH-0")
	if _, bad := sheetOf(t, typed); !strings.Contains(bad["again1-rate-FH-0"], "first reading") {
		t.Errorf("another reading without a first: %v", bad)
	}
}

// TestReadAgainIsEdited: what becomes of a reading taken again is told apart from the first.
func TestReadAgainIsEdited(t *testing.T) {
	t.Parallel()
	before, _ := sheetOf(t, typedAgain())
	typed := typedAgain()
	typed["again1-rate-CH-0"] = "+5"
	after, _ := sheetOf(t, typed)
	edits := timing.Edits(before, after)
	if len(edits) != 1 || edits[0].Words() != "rate, CH, full wind, reading 2: +7 s/d → +5 s/d" ||
		edits[0].Field != "again1-rate-CH-0" {
		t.Errorf("%+v", edits)
	}
}

// TestStatedIsMore: what an instrument states of a reading stands where the readings happen to agree better.
func TestStatedIsMore(t *testing.T) {
	t.Parallel()
	var r timing.Run
	for n := range 2 {
		r.Readings = append(r.Readings, timing.Reading{Position: timing.DialUp, Repeat: n,
			RateSPerDay: &timing.Figure{Value: 4, StdUncertainty: 0.6}})
	}
	mean, _ := r.Averaged().Reading(timing.DialUp, 0)
	near(t, "stated", mean.RateSPerDay.Independent(), 0.6/math.Sqrt2, 1e-12)
}

// TestDoubtsOfReadingAgain: a slip in a reading taken again is asked about by its own field, also where the first reading
// of the hanging position is in balance with the others.
func TestDoubtsOfReadingAgain(t *testing.T) {
	t.Parallel()
	typed := typedAgain()
	typed["again1-rate-6H-0"] = "+60"
	s, _ := sheetOf(t, typed)
	if asked := s.Doubts(timing.Sheet{}); len(asked) != 1 || asked["again1-rate-6H-0"] == "" {
		t.Errorf("asked: %v", asked)
	}
}

// TestMeansOfRepeatsCoverage counts how often the true rate lies within twice the standard uncertainty of a mean, where
// nothing is stated but what the readings show: about 95 of 100 from two degrees of freedom on, 86 from one. A display
// whose step is 2.7 times the scatter hides some of it: 91 of 100 of positions read once.
func TestMeansOfRepeatsCoverage(t *testing.T) {
	t.Parallel()
	const watches = 3000
	random := rand.New(rand.NewPCG(4, 2))
	for _, c := range []struct {
		cells       int // that are read again
		repeats     int
		step        float64
		least, most float64
	}{{1, 1, 0, 0.84, 0.88}, {1, 2, 0, 0.94, 0.97}, {2, 1, 0, 0.94, 0.97}, {3, 1, 0, 0.94, 0.97}, {6, 1, 0, 0.94, 0.97},
		{6, 2, 0, 0.94, 0.97}, {6, 1, 1, 0.94, 0.99}, {2, 1, 4, 0.90, 0.98}} {
		again, once, mean := 0, 0, 0
		for range watches {
			truly, read := repeatedRun(random, c.cells, c.repeats, c.step)
			got := read.Averaged()
			holds := func(p timing.Position) int {
				is, _ := truly.Reading(p, 0)
				r, _ := got.Reading(p, 0)
				v, _ := timing.Instruments{}.Value(r, timing.Rate)
				return within(v, is.RateSPerDay.Value)
			}
			again, once = again+holds(timing.DialUp), once+holds(timing.TwelveUp)
			is, of := timing.StatisticsOf(truly, timing.Options{}), timing.StatisticsOf(read, timing.Options{})
			mean += within(of.States[0].Mean.Value, is.States[0].Mean.Value.Value)
		}
		for what, n := range map[string]int{"a position read again": again, "another position": once, "the mean of six": mean} {
			share := float64(n) / watches
			t.Logf("%d cells read %d times, step %g: %s within U in %.1f %%", c.cells, 1+c.repeats, c.step, what, 100*share)
			if share < c.least || share > c.most {
				t.Errorf("%d cells read %d times, step %g: %s within U in %.1f %%", c.cells, 1+c.repeats, c.step, what, 100*share)
			}
		}
	}
}

func within(v metrology.Value, truly float64) int {
	if math.Abs(v.Value-truly) <= v.Expanded() {
		return 1
	}
	return 0
}

// repeatedRun is a run of a watch of chance as it truly is and as it is read, each reading 1.5 s/d off (standard
// deviation), the first cells more than once.
func repeatedRun(random *rand.Rand, cells, repeats int, step float64) (truly, read timing.Run) {
	for i, p := range timing.Positions() {
		rate := 6 * random.NormFloat64()
		truly.Readings = append(truly.Readings, timing.Reading{Position: p, RateSPerDay: &timing.Figure{Value: rate}})
		for n := range 1 + repeats {
			if n > 0 && i >= cells {
				break
			}
			got := rate + 1.5*random.NormFloat64()
			if step > 0 {
				got = step * math.Round(got/step)
			}
			read.Readings = append(read.Readings, timing.Reading{Position: p, Repeat: n,
				RateSPerDay: &timing.Figure{Value: got, Step: step}})
		}
	}
	return truly, read
}
