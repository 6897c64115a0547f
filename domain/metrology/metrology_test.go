package metrology_test

import (
	"encoding/json"
	"errors"
	"math"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"ledgerwheel/domain/metrology"
)

func TestDecide(t *testing.T) {
	t.Parallel()
	v := func(y, u float64) metrology.Value { return metrology.Value{Value: y, StdUncertainty: u} }
	limits := metrology.Between(-4, 6)
	for _, tc := range []struct {
		name  string
		y     metrology.Value
		l     metrology.Limits
		r     metrology.Rule
		want  metrology.Verdict
		wantP float64 // to three places, by tables of the normal distribution
	}{
		{"well inside", v(1, 1), limits, metrology.Guarded, metrology.Pass, 1},
		{"interval touches both limits", v(1, 2.5), limits, metrology.Guarded, metrology.Pass, 0.954},
		{"interval crosses upper", v(5, 1), limits, metrology.Guarded, metrology.Undecided, 0.841},
		{"interval crosses lower from outside", v(-5, 1), limits, metrology.Guarded, metrology.Undecided, 0.159},
		{"interval ends on upper from outside", v(8, 1), limits, metrology.Guarded, metrology.Undecided, 0.023},
		{"outside above", v(8.1, 1), limits, metrology.Guarded, metrology.Fail, 0.018},
		{"outside below", v(-7, 1), limits, metrology.Guarded, metrology.Fail, 0.001},
		{"interval wider than limits", v(1, 10), limits, metrology.Guarded, metrology.Undecided, 0.383},
		{"simple at the limit", v(6, 1), limits, metrology.Simple, metrology.Pass, 0.5},
		{"simple beyond", v(6.1, 1), limits, metrology.Simple, metrology.Fail, 0.460},
		{"simple below", v(-4.1, 1), limits, metrology.Simple, metrology.Fail, 0.460},
		{"upper only, far below", v(-1000, 1), metrology.AtMost(6), metrology.Guarded, metrology.Pass, 1},
		{"lower only, undecided", v(271, 1), metrology.AtLeast(270), metrology.Guarded, metrology.Undecided, 0.841},
		{"lower only, pass", v(272, 1), metrology.AtLeast(270), metrology.Guarded, metrology.Pass, 0.977},
		{"lower only, fail", v(267.9, 1), metrology.AtLeast(270), metrology.Guarded, metrology.Fail, 0.018},
		{"half guard band", v(5, 1), limits, metrology.Rule{GuardFactor: 0.5}, metrology.Pass, 0.841},
		{"exact, inside", v(6, 0), limits, metrology.Guarded, metrology.Pass, 1},
		{"exact, outside", v(6.001, 0), limits, metrology.Guarded, metrology.Fail, 0},
		{"binary rounding of 0.1+0.2", v(0.1+0.2, 0), metrology.AtMost(0.3), metrology.Simple, metrology.Pass, 1},
	} {
		t.Run(tc.name, func(t *testing.T) {
			t.Parallel()
			got, p := metrology.Decide(tc.y, tc.l, tc.r)
			if got != tc.want {
				t.Errorf("verdict: got %v, want %v", got, tc.want)
			}
			near(t, "probability", p, tc.wantP, 0.0006)
		})
	}
}

func TestDecideRefusesWhatIsNoFigure(t *testing.T) {
	t.Parallel()
	nan, inf, ok := math.NaN(), math.Inf(1), metrology.Between(0, 1)
	for name, tc := range map[string]struct {
		y metrology.Value
		l metrology.Limits
		r metrology.Rule
	}{
		"NaN figure":           {metrology.Value{Value: nan}, ok, metrology.Guarded},
		"infinite figure":      {metrology.Value{Value: inf}, ok, metrology.Guarded},
		"NaN uncertainty":      {metrology.Value{StdUncertainty: nan}, ok, metrology.Guarded},
		"infinite uncertainty": {metrology.Value{StdUncertainty: inf}, ok, metrology.Guarded},
		"negative uncertainty": {metrology.Value{StdUncertainty: -1}, ok, metrology.Guarded},
		"no limit":             {metrology.Value{}, metrology.Limits{}, metrology.Guarded},
		"NaN limit":            {metrology.Value{}, metrology.AtLeast(nan), metrology.Guarded},
		"infinite limit":       {metrology.Value{}, metrology.AtMost(inf), metrology.Guarded},
		"crossed limits":       {metrology.Value{}, metrology.Between(1, 0), metrology.Guarded},
		"negative guard":       {metrology.Value{}, ok, metrology.Rule{GuardFactor: -1}},
		"NaN guard":            {metrology.Value{}, ok, metrology.Rule{GuardFactor: nan}},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			mustPanic(t, func() { metrology.Decide(tc.y, tc.l, tc.r) })
		})
	}
}

func TestCombinationsRefuseWhatIsNoFigure(t *testing.T) {
	t.Parallel()
	for _, bad := range []float64{math.NaN(), math.Inf(1), math.Inf(-1), -1} {
		mustPanic(t, func() { metrology.Quadrature(1, bad) })
		mustPanic(t, func() { metrology.FromHalfWidth(bad) })
		mustPanic(t, func() { metrology.FromResolution(bad) })
		mustPanic(t, func() { metrology.Linear("", metrology.Term{StdUncertainty: bad}) })
		mustPanic(t, func() { metrology.Linear("", metrology.Term{SharedStdUncertainty: bad}) })
	}
	mustPanic(t, func() { metrology.Linear("", metrology.Term{Coefficient: 1, Value: math.NaN()}) })
	mustPanic(t, func() { metrology.Value{Value: math.NaN()}.Print(false) })
	if _, err := metrology.FromObservations([]float64{1}, ""); !errors.Is(err, metrology.ErrTooFew) {
		t.Errorf("one observation: got %v, want ErrTooFew", err)
	}
	if _, err := metrology.FromObservations([]float64{1, math.NaN()}, ""); err == nil {
		t.Error("a NaN observation was accepted")
	}
}

func mustPanic(t *testing.T, f func()) {
	t.Helper()
	defer func() {
		if recover() == nil {
			t.Error("no panic")
		}
	}()
	f()
}

// JCGM 100, 7.2.6, gives 10.47 mΩ as a figure to be stated with two digits; 7.2.4 states
// m = (100.021 47 ± 0.000 79) g (from memory). Here U = k·u with k = 2, so u is half of what stands after ±.
// One digit of the uncertainty in a list, the figure to the same place. The cases are worked by hand; 10.47 and 28.05
// are those of JCGM 100:2008, 7.2.6, which rounds the first up and the second down.
func TestBrief(t *testing.T) {
	t.Parallel()
	for _, tc := range []struct {
		y, expanded      float64
		value, uncertain string
	}{
		{21.4, 0.082, "21.40", "0.08"},
		{4.52, 0.20, "4.5", "0.2"},
		{4.52, 0.13, "4.5", "0.2"}, // 0.1 would leave out a quarter
		{255.36, 0.85, "255.4", "0.9"},
		{33.57, 0.58, "33.6", "0.6"},
		{288, 0.41, "288.0", "0.4"}, // 0.4 leaves out a fortieth
		{288, 0.44, "288.0", "0.5"},
		{7, 0.96, "7", "1"},
		{7, 0.94, "7.0", "0.9"},
		{1234, 10.47, "1230", "10"},
		{1234, 28.05, "1230", "30"},
		{5, 9.6, "10", "10"},
		{2.5, 0, "2.5", ""},
	} {
		got := metrology.Value{Value: tc.y, StdUncertainty: tc.expanded / 2}.Brief(false)
		if got.Value != tc.value || got.Uncertainty != tc.uncertain {
			t.Errorf("%v with U %v: %s ± %s, want %s ± %s", tc.y, tc.expanded, got.Value, got.Uncertainty, tc.value, tc.uncertain)
		}
	}
}

// Whatever the figure: one digit, not understated by more than a twentieth, not made more than twice as large.
func TestBriefIsOneDigitAndHonest(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		u := math.Pow(10, rapid.Float64Range(-5, 5).Draw(t, "power of U"))
		y := rapid.Float64Range(-1e5, 1e5).Draw(t, "y")
		p := metrology.Value{Value: y, StdUncertainty: u / 2}.Brief(true)
		printed, err := strconv.ParseFloat(p.Uncertainty, 64)
		if err != nil {
			t.Fatal(err)
		}
		if digits := strings.Trim(strings.ReplaceAll(p.Uncertainty, ".", ""), "0"); len(digits) != 1 {
			t.Errorf("U %v is printed %s", u, p.Uncertainty)
		}
		if printed < 0.95*u*(1-1e-9) || printed > 2*u {
			t.Errorf("U %v is printed %s", u, p.Uncertainty)
		}
		_, decimals, _ := strings.Cut(p.Value, ".")
		_, places, _ := strings.Cut(p.Uncertainty, ".")
		if len(decimals) != len(places) {
			t.Errorf("%s ± %s end at different places", p.Value, p.Uncertainty)
		}
	})
}

func TestFormat(t *testing.T) {
	t.Parallel()
	for _, tc := range []struct {
		y, expanded  float64
		unit         string
		want, signed string
	}{
		{100.02147, 0.00079, "g", "100.02147 ± 0.00079 g", "+100.02147 ± 0.00079 g"},
		{1234.56, 10.47, "mΩ", "1235 ± 10 mΩ", "+1235 ± 10 mΩ"},
		{3.4123, 0.1234, "s/d", "3.41 ± 0.12 s/d", "+3.41 ± 0.12 s/d"},
		{-3.4163, 0.1234, "s/d", "−3.42 ± 0.12 s/d", "−3.42 ± 0.12 s/d"},
		{-0.001, 0.12, "s/d", "0.00 ± 0.12 s/d", "0.00 ± 0.12 s/d"},
		{0, 0.58, "s/d", "0.00 ± 0.58 s/d", "0.00 ± 0.58 s/d"},
		{5, 0.0996, "s/d", "5.00 ± 0.10 s/d", "+5.00 ± 0.10 s/d"},
		{5, 0.994, "s/d", "5.00 ± 0.99 s/d", "+5.00 ± 0.99 s/d"},
		{5, 0.996, "s/d", "5.0 ± 1.0 s/d", "+5.0 ± 1.0 s/d"},
		{5678, 1234, "", "5700 ± 1200", "+5700 ± 1200"},
		{270, 0, "°", "270°", "+270°"},
		{270.3, 1.2, "°", "270.3° ± 1.2°", "+270.3° ± 1.2°"},
		{0.3333333333, 0, "ms", "0.333333 ms", "+0.333333 ms"},
		{28800123, 0, "", "28800123", "+28800123"},
	} {
		v := metrology.Value{Value: tc.y, StdUncertainty: tc.expanded / metrology.CoverageFactor, Unit: tc.unit}
		if got := v.Format(); got != tc.want {
			t.Errorf("Format(%v, U %v): got %q, want %q", tc.y, tc.expanded, got, tc.want)
		}
		if got := v.FormatSigned(); got != tc.signed {
			t.Errorf("FormatSigned(%v, U %v): got %q, want %q", tc.y, tc.expanded, got, tc.signed)
		}
	}
}

func TestVerdictWords(t *testing.T) {
	t.Parallel()
	for want, v := range map[string]metrology.Verdict{
		"not measured": metrology.NotMeasured, "pass": metrology.Pass, "fail": metrology.Fail,
		"undecided": metrology.Undecided,
	} {
		text, err := json.Marshal(v)
		if err != nil || string(text) != `"`+want+`"` {
			t.Errorf("%s: marshalled as %s, %v", want, text, err)
		}
		var back metrology.Verdict
		if err := json.Unmarshal(text, &back); err != nil || back != v {
			t.Errorf("%s: came back as %v, %v", want, back, err)
		}
	}
	if _, err := metrology.ParseVerdict("perhaps"); err == nil {
		t.Error("an unknown word was accepted")
	}
	if _, err := metrology.Verdict(9).MarshalText(); err == nil {
		t.Error("an unknown verdict was marshalled")
	}
}

func TestRuleIsStated(t *testing.T) {
	t.Parallel()
	if g, s := metrology.Guarded.String(), metrology.Simple.String(); g == s || g == "" || s == "" {
		t.Errorf("rules are not told apart: %q, %q", g, s)
	}
}

// A cause shared by all terms cancels in a difference and stays whole in a mean; what is a term's own does neither.
func TestLinearSharedCause(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 8).Draw(t, "n")
		own := rapid.Float64Range(0, 10).Draw(t, "own")
		clock := rapid.Float64Range(0, 10).Draw(t, "clock")
		mean := make([]metrology.Term, n)
		for i := range mean {
			mean[i] = metrology.Term{Coefficient: 1 / float64(n), Value: float64(i), StdUncertainty: own,
				Source: "clock", SharedStdUncertainty: clock}
		}
		want := math.Hypot(own/math.Sqrt(float64(n)), clock)
		if got := metrology.Linear("s/d", mean...).StdUncertainty; math.Abs(got-want) > 1e-9*(1+want) {
			t.Fatalf("mean of %d: u %v, want %v", n, got, want)
		}
		a := metrology.Term{Coefficient: 1, StdUncertainty: own, Source: "clock", SharedStdUncertainty: clock}
		b := a
		b.Coefficient = -1
		if got := metrology.Linear("s/d", a, b).StdUncertainty; math.Abs(got-own*math.Sqrt2) > 1e-9*(1+own) {
			t.Fatalf("difference: u %v, want %v", got, own*math.Sqrt2)
		}
		b.Source = "another clock"
		want = math.Hypot(own*math.Sqrt2, clock*math.Sqrt2)
		if got := metrology.Linear("s/d", a, b).StdUncertainty; math.Abs(got-want) > 1e-9*(1+want) {
			t.Fatalf("difference over two clocks: u %v, want %v", got, want)
		}
		a.Source, b.Source = "", ""
		if got := metrology.Linear("s/d", a, b).StdUncertainty; math.Abs(got-want) > 1e-9*(1+want) {
			t.Fatalf("difference without a named cause: u %v, want %v", got, want)
		}
	})
}

// A wider guard band never turns a failure or an open case into a pass, and simple acceptance always decides.
func TestDecideIsMonotoneInGuard(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		y := metrology.Value{
			Value:          rapid.Float64Range(-50, 50).Draw(t, "y"),
			StdUncertainty: rapid.Float64Range(1e-3, 20).Draw(t, "u"), // far above the room given to a limit
		}
		lower := rapid.Float64Range(-50, 50).Draw(t, "lower")
		l := metrology.Between(lower, lower+rapid.Float64Range(0, 50).Draw(t, "width"))
		simple, p := metrology.Decide(y, l, metrology.Simple)
		guarded, q := metrology.Decide(y, l, metrology.Guarded)
		if p != q || p < 0 || p > 1 {
			t.Fatalf("probabilities %v and %v", p, q)
		}
		if simple != metrology.Pass && simple != metrology.Fail {
			t.Fatalf("simple acceptance gave %v", simple)
		}
		if guarded != metrology.Undecided && guarded != simple {
			t.Fatalf("guarded %v against simple %v", guarded, simple)
		}
		if guarded == metrology.Pass && p < 0.954 { // both ends at 2u leave 95.45 %
			t.Fatalf("passed with probability %v", p)
		}
		if guarded == metrology.Fail && p > 0.0228 { // beyond one end by 2u leaves at most Φ(-2)
			t.Fatalf("failed with probability %v", p)
		}
	})
}
