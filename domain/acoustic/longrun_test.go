package acoustic_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"ledgerwheel/domain/acoustic"
	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/published"
)

// runDown makes the stretches of a watch that lets down from 290° by 2° an hour, with a rate that falls by 0.05 s/d a
// degree, seen with the stated uncertainties.
func runDown(r *rand.Rand, hours float64, rateStd, amplitudeStd float64) []acoustic.Stretch {
	const stretchS = 300
	var out []acoustic.Stretch
	for at := 0.0; at < hours*3600; at += stretchS {
		h := (at + stretchS/2) / 3600
		amplitude := 290 - 2*h
		out = append(out, acoustic.Stretch{StartS: at, EndS: at + stretchS, Beats: 2400,
			Rate: metrology.Value{Value: 5 + 0.05*(amplitude-290) + rateStd*r.NormFloat64(), StdUncertainty: rateStd,
				Unit: "s/d"},
			Amplitude: &metrology.Value{Value: amplitude + amplitudeStd*r.NormFloat64(), StdUncertainty: amplitudeStd,
				Unit: "°"},
			BeatError: &metrology.Value{Value: 0.2 + 0.01*h + 0.01*r.NormFloat64(), StdUncertainty: 0.01, Unit: "ms"}})
	}
	return out
}

// misses reports by how many standard uncertainties v misses the truth.
func misses(v metrology.Value, truth float64) float64 {
	return math.Abs(v.Value-truth) / v.StdUncertainty
}

func TestLongRunFindsWhatWasPutIn(t *testing.T) {
	t.Parallel()
	stretches := runDown(rand.New(rand.NewPCG(1, 2)), 24, 0.1, 0.5)
	run := acoustic.LongRun(stretches, acoustic.Result{StartS: 2, EndS: 86398, Seconds: 86400})
	for name, tt := range map[string]struct {
		line *acoustic.Line
		want float64
	}{
		"rate": {run.RateTrend, -0.1}, "amplitude": {run.AmplitudeTrend, -2}, "beat error": {run.BeatErrorTrend, 0.01},
		"rate on amplitude": {run.RateOnAmplitude, 0.05},
	} {
		if tt.line == nil {
			t.Fatalf("%s: no line", name)
		}
		if m := misses(tt.line.Slope, tt.want); m > 4 {
			t.Errorf("%s: slope %v, want %v", name, tt.line.Slope, tt.want)
		}
		// ±0.25 is three standard deviations for 286 degrees of freedom
		if c := tt.line.ReducedChiSquare; c < 0.75 || c > 1.25 {
			t.Errorf("%s: reduced chi-squared %v", name, c)
		}
	}
	if got := run.RateOnAmplitude.At(270); misses(got, 4) > 4 {
		t.Errorf("at 270° %v, want 4 s/d", got)
	}
	if run.Stopped || run.StopS != 0 || run.RanS != 86396 {
		t.Errorf("a watch still running: %+v", run)
	}
}

// The stated uncertainty of rate against amplitude holds the truth as often as it says, errors in both or in one, and
// errors of the amplitude do not flatten the slope.
func TestRateOnAmplitudeCoverage(t *testing.T) {
	t.Parallel()
	for name, tt := range map[string]struct{ hours, rateStd, amplitudeStd float64 }{
		"rate alone": {4, 0.1, 0}, "both": {4, 0.1, 1}, "amplitude mostly": {8, 0.02, 1.5}} {
		r := rand.New(rand.NewPCG(7, 11))
		const trials = 600
		held, sum := 0, 0.0
		for range trials {
			stretches := runDown(r, tt.hours, tt.rateStd, tt.amplitudeStd)
			line := acoustic.LongRun(stretches, acoustic.Result{}).RateOnAmplitude
			if line == nil {
				t.Fatalf("%s: no line", name)
			}
			sum += line.Slope.Value
			if misses(line.Slope, 0.05) <= 2 {
				held++
			}
		}
		t.Logf("%s: %d of %d hold the truth, mean slope %.4f of 0.05", name, held, trials, sum/trials)
		published.Share(t, name, held, trials, nominal[1], 2.5) // there are three
		if math.Abs(sum/trials-0.05) > 0.001 {
			t.Errorf("%s: the mean slope is %v, want 0.05", name, sum/trials)
		}
	}
}

func TestNoLineWhereThereIsNone(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(1, 1))
	level := runDown(r, 2, 0.1, 1)
	for i := range level {
		level[i].Amplitude.Value = 270 + r.NormFloat64()
	}
	if line := acoustic.LongRun(level, acoustic.Result{}).RateOnAmplitude; line != nil {
		t.Errorf("the amplitude only scatters, yet %+v", line)
	}
	silent := runDown(r, 1, 0.1, 1)
	for i := range silent {
		silent[i].Amplitude = nil
	}
	run := acoustic.LongRun(silent, acoustic.Result{})
	if run.AmplitudeTrend != nil || run.RateOnAmplitude != nil || run.RateTrend == nil {
		t.Errorf("without amplitudes: %+v", run)
	}
	bad := runDown(r, 1, 0.1, 1)
	bad[3].Rate.Value = math.NaN()
	bad[4].Amplitude.Value = math.Inf(1)
	bad[5].EndS = math.NaN()
	run = acoustic.LongRun(bad, acoustic.Result{})
	if run.RateTrend.Points != len(bad)-3 || run.RateTrend.Slope.Check() != nil {
		t.Errorf("figures that are none: %+v", run.RateTrend)
	}
	for _, few := range [][]acoustic.Stretch{nil, bad[:2]} {
		if run := acoustic.LongRun(few, acoustic.Result{}); run.RateTrend != nil || run.Stability != nil {
			t.Errorf("%d stretches: %+v", len(few), run)
		}
	}
}

func TestStop(t *testing.T) {
	t.Parallel()
	run := acoustic.LongRun(nil, acoustic.Result{StartS: 10, EndS: 40 * 3600, Seconds: 48 * 3600,
		Notes: []acoustic.Note{{Code: acoustic.NoteHum}, {Code: acoustic.NoteStops}}})
	if !run.Stopped || run.StopS != 40*3600 || run.RanS != 40*3600-10 {
		t.Errorf("got %+v", run)
	}
}

func TestIsochronismPairs(t *testing.T) {
	t.Parallel()
	stretches := runDown(rand.New(rand.NewPCG(4, 4)), 24, 0.1, 0.5)
	pairs := acoustic.IsochronismPairs(stretches, 12)
	if len(pairs) != 12 {
		t.Fatalf("%d pairs", len(pairs))
	}
	beats := 0
	for i, p := range pairs {
		if m := misses(p.Amplitude, 290-2*p.AtS/3600); m > 4 {
			t.Errorf("pair %d: amplitude %v", i, p.Amplitude)
		}
		if m := misses(p.Rate, 5+0.05*(p.Amplitude.Value-290)); m > 4 {
			t.Errorf("pair %d: rate %v", i, p.Rate)
		}
		if u := p.Rate.StdUncertainty; u < 0.1/math.Sqrt(24)-1e-12 || u > 0.04 { // 24 stretches of 0.1 s/d
			t.Errorf("pair %d: u(rate) = %v", i, u)
		}
		beats += p.Beats
	}
	if beats != 2400*len(stretches) {
		t.Errorf("%d beats went into the pairs", beats)
	}
	for _, most := range []int{0, -3} {
		if got := acoustic.IsochronismPairs(stretches, most); got != nil {
			t.Errorf("at most %d: %v", most, got)
		}
	}
	if got := acoustic.IsochronismPairs(stretches[:2], 12); len(got) != 2 || got[1].Rate != stretches[1].Rate {
		t.Errorf("two stretches: %v", got)
	}
}

// Beats that scatter by 20 µs are white phase noise, √3·u/τ for the mean of two beats (SP 1065, 3.2 and 5.2.4);
// their beat error, however large, is not in it. Rates that scatter independently fall with the root of the time.
func TestStabilityOfBeatsAndStretches(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(5, 6))
	result := acoustic.Result{BeatsPerHour: 28800}
	for n := range int64(28800) {
		jitter := 20e-6 * r.NormFloat64()
		result.Beats = append(result.Beats, acoustic.Beat{Number: n, Used: n%97 != 5,
			TimeS: float64(n)*0.125*(1-10.0/86400) + 0.002*float64(n&1) + jitter})
	}
	stretches := runDown(r, 24, 0.1, 0.5)
	run := acoustic.LongRun(stretches, result)
	wantShort := math.Sqrt(3) * 20e-6 / math.Sqrt2
	var stretchPoints int
	for _, p := range run.Stability {
		want, tolerance := wantShort/p.TauS, 0.05
		if p.TauS > 299 {
			stretchPoints++
			// White, and the rate's steady fall of 0.1 s/d an hour: drift·τ/√2.
			tolerance = 0.35
			want = math.Hypot(0.1/86400/math.Sqrt(p.TauS/300), 0.1/86400*p.TauS/3600/math.Sqrt2)
		}
		if math.Abs(p.Deviation/want-1) > tolerance {
			t.Errorf("at %v s: %v, want %v", p.TauS, p.Deviation, want)
		}
	}
	if first := run.Stability[0].TauS; first != 0.25 {
		t.Errorf("the curve begins at %v s", first)
	}
	if stretchPoints < 6 {
		t.Errorf("%d points of stretches", stretchPoints)
	}
	holed := append(append([]acoustic.Stretch{}, stretches[:50]...), stretches[90:]...)
	holed[len(holed)-1].EndS -= 200
	if got := acoustic.LongRun(holed, acoustic.Result{}).Stability; len(got) < 5 {
		t.Errorf("with a gap: %v", got)
	}
	far := append([]acoustic.Stretch{}, stretches[:5]...)
	far[4].StartS, far[4].EndS = 1e15, 1e15+300
	if got := acoustic.LongRun(far, acoustic.Result{}).Stability; got != nil {
		t.Errorf("mostly gaps: %v", got)
	}
}

// BenchmarkLongRun is a day of beats at 28 800 an hour, in stretches of a minute.
func BenchmarkLongRun(b *testing.B) {
	r := rand.New(rand.NewPCG(5, 6))
	stretches := runDown(r, 120, 0.1, 0.5)
	result := acoustic.Result{BeatsPerHour: 28800}
	for n := range int64(24 * 28800) {
		result.Beats = append(result.Beats, acoustic.Beat{Number: n, TimeS: float64(n)*0.125 + 20e-6*r.NormFloat64(),
			Used: true})
	}
	b.ReportAllocs()
	for b.Loop() {
		if acoustic.LongRun(stretches, result).RateOnAmplitude == nil {
			b.Fatal("no line")
		}
	}
}
