package chart_test

import (
	"errors"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"ledgerwheel/domain/acoustic"
	"ledgerwheel/domain/metrology"
	"ledgerwheel/web/chart"
)

var nan = math.NaN()

// heardWatch is a result made up: a 28 800 watch heard for some seconds, with a tooth pattern and a few wild beats.
func heardWatch(seconds float64) acoustic.Result {
	r := rand.New(rand.NewPCG(28800, 4))
	result := acoustic.Result{BeatsPerHour: 28800, LiftAngleDeg: 52, Seconds: seconds, BeatScatterUs: 18, BeatsMissed: 3}
	for n := range int64(seconds * 8) {
		b := acoustic.Beat{Number: n, TimeS: 0.4 + float64(n)*0.125, Used: n%53 != 17,
			ResidualMs: 0.018*r.NormFloat64() + 0.012*math.Sin(2*math.Pi*float64(n)/40)}
		if !b.Used {
			b.ResidualMs = 4 * r.NormFloat64()
		}
		result.Beats = append(result.Beats, b)
	}
	result.BeatsUsed = len(result.Beats) * 52 / 53
	result.Voices = [2]acoustic.Voice{voice(r, -13.4, -7.1), voice(r, -13.1, -6.6)}
	return result
}

// voice is an averaged envelope of three sounds over noise; an instant that is NaN makes none.
func voice(r *rand.Rand, unlockingMs, impulseMs float64) acoustic.Voice {
	v := acoustic.Voice{RateHz: 16000, StartMs: -40, UnlockingMs: unlockingMs, ImpulseMs: impulseMs, Beats: 118}
	for i := range 16 * 60 {
		at := v.StartMs + float64(i)/16
		level := 0.012 * (1 + 0.3*r.NormFloat64())
		for _, sound := range []struct{ at, level, decayMs float64 }{{unlockingMs, 0.1, 1.1}, {impulseMs, 0.3, 1.6},
			{0, 1, 2.2}} {
			if at >= sound.at {
				level += sound.level * math.Exp(-(at-sound.at)/sound.decayMs)
			}
		}
		v.Envelope = append(v.Envelope, math.Min(1, level))
	}
	return v
}

func wheel() *acoustic.WheelPattern {
	p := &acoustic.WheelPattern{Teeth: 20, StdMs: 0.003}
	for i := range 40 {
		p.Ms = append(p.Ms, 0.021*math.Sin(2*math.Pi*float64(i)/40)+0.004*float64(i%3-1))
	}
	p.Ms[22] = 0.041
	return p
}

// letDown are the stretches of a run-down, with a gap of amplitude and one of everything.
func letDown(count int) []acoustic.Stretch {
	r := rand.New(rand.NewPCG(9, 9))
	var out []acoustic.Stretch
	for i := range count {
		if i > count/2 && i < count/2+count/20 {
			continue
		}
		part := float64(i) / float64(count)
		amplitude := 292 - 60*part*part - 4*math.Sin(25*part)
		s := acoustic.Stretch{StartS: float64(i) * 300, EndS: float64(i+1) * 300, Beats: 2400,
			Rate: metrology.Value{Value: 6 + 0.06*(amplitude-290) + 0.08*r.NormFloat64(), StdUncertainty: 0.08,
				Unit: "s/d"},
			BeatError: &metrology.Value{Value: 0.21 + 0.05*part + 0.01*r.NormFloat64(), StdUncertainty: 0.012, Unit: "ms"}}
		if i < count/5 || i > count/5+count/16 {
			s.Amplitude = &metrology.Value{Value: amplitude + 0.5*r.NormFloat64(), StdUncertainty: 0.5, Unit: "°"}
		}
		out = append(out, s)
	}
	return out
}

func stopped(stretches []acoustic.Stretch) acoustic.Run {
	end := stretches[len(stretches)-1].EndS + 40
	return acoustic.LongRun(stretches, acoustic.Result{StartS: 4, EndS: end, Seconds: end + 4000,
		Notes: []acoustic.Note{{Code: acoustic.NoteStops}}})
}

// stabilityOf is a curve of white phase noise down to a floor.
func stabilityOf(octaves int) []metrology.Stability {
	var points []metrology.Stability
	for i := range octaves {
		tau := 0.25 * math.Pow(2, float64(i))
		d := math.Hypot(2.4e-5/tau, 3e-7*math.Sqrt(1+tau/3000))
		edf := 40000 / tau
		points = append(points, metrology.Stability{TauS: tau, Deviation: d, Lower: d / (1 + 1.4/math.Sqrt(edf)),
			Upper: d * (1 + 1.4/math.Sqrt(edf)*1.5)})
	}
	return points
}

// listeningDrawings have golden drawings, by file name.
func listeningDrawings() map[string]interface{ SVG() (string, error) } {
	short, long := heardWatch(30), heardWatch(600)
	weak := heardWatch(12)
	weak.BeatScatterUs = 0
	r := rand.New(rand.NewPCG(1, 3))
	weak.Voices = [2]acoustic.Voice{voice(r, nan, -6.9), {}}
	day, hour := letDown(480), letDown(12)
	plain := letDown(6)
	for i := range plain {
		plain[i].Amplitude = nil
		plain[i].StartS, plain[i].EndS = float64(i)*5, float64(i+1)*5
	}
	return map[string]interface{ SVG() (string, error) }{
		"beat-round": chart.BeatRound{ID: "beats", Title: "Turn by turn", Result: short, Teeth: 20,
			TeethSaid: "20 teeth by the calibre"},
		"beat-round-long":     chart.BeatRound{ID: "beats", Title: "Turn by turn", Result: long, Teeth: 20},
		"beat-round-weak":     chart.BeatRound{ID: "beats", Title: "Turn by turn", Result: weak, Teeth: 15},
		"beat-round-minute":   chart.BeatRound{ID: "beats", Title: "Turn by turn", Result: long},
		"beat-round-empty":    chart.BeatRound{ID: "beats", Title: "Turn by turn", Teeth: 15},
		"voices":              chart.Voices{ID: "voices", Title: "Averaged sound of tick and tock", Result: short},
		"voices-weak":         chart.Voices{ID: "voices", Title: "Averaged sound of tick and tock", Result: weak},
		"voices-empty":        chart.Voices{ID: "voices", Title: "Averaged sound of tick and tock"},
		"wheel-pattern":       chart.WheelPattern{ID: "wheel", Title: "Pattern of the escape wheel", Pattern: wheel()},
		"wheel-pattern-empty": chart.WheelPattern{ID: "wheel", Title: "Pattern of the escape wheel"},
		"long-run":            chart.LongRun{ID: "run", Title: "Run-down", Stretches: day, Run: stopped(day)},
		"long-run-short":      chart.LongRun{ID: "run", Title: "Run-down", Stretches: plain, Run: acoustic.Run{RanS: 30}},
		"long-run-empty":      chart.LongRun{ID: "run", Title: "Run-down"},
		"rate-run-down": chart.RateAgainstRunDown{ID: "down", Title: "Rate as the mainspring lets down", Stretches: day,
			Run: stopped(day)},
		"rate-run-down-few": chart.RateAgainstRunDown{ID: "down", Title: "Rate as the mainspring lets down",
			Stretches: hour, Run: stopped(hour)},
		"rate-run-down-empty": chart.RateAgainstRunDown{ID: "down", Title: "Rate as the mainspring lets down",
			Stretches: plain},
		"stability":       chart.Allan{ID: "allan", Title: "Steadiness of the rate", Points: stabilityOf(17)},
		"stability-few":   chart.Allan{ID: "allan", Title: "Steadiness of the rate", Points: stabilityOf(2)},
		"stability-empty": chart.Allan{ID: "allan", Title: "Steadiness of the rate"},
	}
}

// circles and dots read the places of the marks of a class.
func circles(t fataler, root node, class string) (xs, ys []float64) {
	t.Helper()
	for _, n := range root.Nodes {
		if n.XMLName.Local == "circle" && n.attr("class") == class {
			xs, ys = append(xs, atof(t, n.attr("cx"))), append(ys, atof(t, n.attr("cy")))
		}
	}
	return xs, ys
}

func paths(t fataler, root node, class string) (xs, ys [][]float64) {
	t.Helper()
	for _, n := range root.Nodes {
		if n.XMLName.Local != "path" || n.attr("class") != class {
			continue
		}
		var x, y []float64
		c := numbers.FindAllString(n.attr("d"), -1)
		for i := 0; i+1 < len(c); i += 2 {
			x, y = append(x, atof(t, c[i])), append(y, atof(t, c[i+1]))
		}
		xs, ys = append(xs, x), append(ys, y)
	}
	return xs, ys
}

func draw(t fataler, c interface{ SVG() (string, error) }) (root node, desc string) {
	t.Helper()
	drawing, err := c.SVG()
	if err != nil {
		t.Fatalf("%v", err)
	}
	root = parse(t, drawing)
	return root, root.Nodes[1].Text
}

// linear checks that coordinates stand in proportion to figures, rising or falling as told.
func linear(t *testing.T, what string, figures, coordinates []float64, rising bool) {
	t.Helper()
	if len(figures) != len(coordinates) {
		t.Fatalf("%s: %d marks for %d figures", what, len(coordinates), len(figures))
	}
	low, high := 0, 0
	for i := range figures {
		if figures[i] < figures[low] {
			low = i
		}
		if figures[i] > figures[high] {
			high = i
		}
	}
	per := (coordinates[high] - coordinates[low]) / (figures[high] - figures[low])
	if (per > 0) != rising {
		t.Errorf("%s: %v units for each unit", what, per)
	}
	for i := range figures {
		// coordinates are to 0.01
		if want := coordinates[low] + per*(figures[i]-figures[low]); math.Abs(coordinates[i]-want) > 0.05 {
			t.Errorf("%s: figure %v stands at %v, want %v", what, figures[i], coordinates[i], want)
		}
	}
}

func TestInstantsAreMarked(t *testing.T) {
	t.Parallel()
	result := heardWatch(30)
	root, desc := draw(t, chart.Voices{ID: "x", Title: "x", Result: result})
	xs, _ := paths(t, root, "chart-instant")
	if len(xs) != 6 {
		t.Fatalf("%d instants, want three of each swing", len(xs))
	}
	var instants, at []float64
	for _, v := range result.Voices {
		instants = append(instants, v.UnlockingMs, v.DropMs, v.ImpulseMs)
	}
	for _, x := range xs {
		at = append(at, x[0])
	}
	linear(t, "instants", instants, at, true)
	var words []string
	for _, n := range root.Nodes {
		if n.XMLName.Local == "text" {
			words = append(words, n.Text)
		}
	}
	all := strings.Join(words, "|")
	for _, want := range []string{"unlocking", "impulse", "drop", "lift 13.4 ms", "lift 13.1 ms", "mean of 118 beats"} {
		if !strings.Contains(all, want) {
			t.Errorf("%q is not written: %s", want, all)
		}
	}
	for _, want := range []string{"Tick: mean of 118 beats; unlocking at −13.4 ms (−",
		"drop at 0 ms (0 dB); lift 13.4 ms"} {
		if !strings.Contains(desc, want) {
			t.Errorf("%q is not in %q", want, desc)
		}
	}
	result.Voices[0].UnlockingMs = nan
	root, desc = draw(t, chart.Voices{ID: "x", Title: "x", Result: result})
	if xs, _ := paths(t, root, "chart-instant"); len(xs) != 5 || !strings.Contains(desc, "unlocking does not stand out") {
		t.Errorf("%d instants without the unlocking: %q", len(xs), desc)
	}
}

func TestTeethStandAtTheirFigures(t *testing.T) {
	t.Parallel()
	p := wheel()
	root, desc := draw(t, chart.WheelPattern{ID: "x", Title: "x", Pattern: p})
	full, fullY := circles(t, root, "chart-point")
	hollow, hollowY := circles(t, root, "chart-ring")
	if len(full) != 21 || len(hollow) != 21 { // and the legend's
		t.Fatalf("%d ticks and %d tocks drawn", len(full), len(hollow))
	}
	var ys []float64
	for i := range p.Ms {
		ys = append(ys, [2][]float64{fullY, hollowY}[i&1][i/2])
	}
	linear(t, "teeth", p.Ms, ys, false)
	_, whiskers := paths(t, root, "chart-whisker")
	per := (ys[0] - ys[22]) / (p.Ms[22] - p.Ms[0])
	if got, want := whiskers[0][0]-whiskers[0][1], 4*p.StdMs*per; math.Abs(got-want) > 0.05 {
		t.Errorf("a whisker is %v long, want %v for ±2u", got, want)
	}
	if !strings.Contains(desc, "latest: tooth 12, tick") {
		t.Errorf("not said: %q", desc)
	}
	for name, bad := range map[string]*acoustic.WheelPattern{
		"NaN": {Teeth: 1, Ms: []float64{nan, 0}}, "u": {Teeth: 1, Ms: []float64{1, 0}, StdMs: -1},
		"infinite": {Teeth: 1, Ms: []float64{math.Inf(1), 0}},
	} {
		if _, err := (chart.WheelPattern{ID: "x", Pattern: bad}).SVG(); !errors.Is(err, chart.ErrNotFinite) {
			t.Errorf("%s: got %v, want ErrNotFinite", name, err)
		}
	}
	if _, err := (chart.WheelPattern{ID: "x", Pattern: &acoustic.WheelPattern{
		Ms: make([]float64, 500)}}).SVG(); !errors.Is(err, chart.ErrTooMany) {
		t.Errorf("500 beats: got %v, want ErrTooMany", err)
	}
}

func TestLongRunStandsAtItsFigures(t *testing.T) {
	t.Parallel()
	stretches := letDown(12)
	root, desc := draw(t, chart.LongRun{ID: "x", Title: "x", Stretches: stretches, Run: stopped(stretches)})
	var rates, times []float64
	for _, s := range stretches {
		rates, times = append(rates, s.Rate.Value), append(times, s.MiddleS())
	}
	xs, ys := paths(t, root, "chart-thread")
	if len(ys) < 4 { // rate, two or more pieces of amplitude, beat error, legend
		t.Fatalf("%d lines", len(ys))
	}
	linear(t, "rate", rates, ys[0], false)
	linear(t, "time", times, xs[0], true)
	for _, want := range []string{"from 12 stretches", "Rate: first +", "trend −", "Stopped after 1 h 1 min."} {
		if !strings.Contains(desc, want) {
			t.Errorf("%q is not in %q", want, desc)
		}
	}
	// A gap breaks the line, and nothing is drawn over it.
	gap := append(append([]acoustic.Stretch{}, stretches[:4]...), stretches[8:]...)
	root, _ = draw(t, chart.LongRun{ID: "x", Title: "x", Stretches: gap})
	if _, ys := paths(t, root, "chart-thread"); len(ys[0]) != 4 {
		t.Errorf("the first piece has %d points, want those before the gap", len(ys[0]))
	}
	bad := letDown(8)
	bad[2].Rate.Value, bad[3].Amplitude.StdUncertainty, bad[4].StartS, bad[5].BeatError.Value = nan, -1, nan, math.Inf(1)
	draw(t, chart.LongRun{ID: "x", Title: "x", Stretches: bad})
}

func TestLongRunIsBounded(t *testing.T) {
	t.Parallel()
	stretches := letDown(20000)
	stretches[7000].Rate.Value = 77
	root, desc := draw(t, chart.LongRun{ID: "x", Title: "x", Stretches: stretches})
	_, ys := paths(t, root, "chart-thread")
	points, top := 0, math.Inf(1)
	for _, y := range ys {
		points += len(y)
		for _, y := range y {
			top = math.Min(top, y)
		}
	}
	if points > 3*300+2 {
		t.Errorf("%d points drawn", points)
	}
	if top > 50 { // of the first panel, which begins at 26
		t.Errorf("the wild stretch is not drawn: the highest point stands at %v", top)
	}
	if !strings.Contains(desc, "of 19001 points drawn") || !strings.Contains(desc, "greatest +77.00 ± 0.16 s/d") {
		t.Errorf("not said: %q", desc)
	}
}

func TestRunDownStandsAtItsFigures(t *testing.T) {
	t.Parallel()
	stretches := letDown(30)
	run := stopped(stretches)
	root, desc := draw(t, chart.RateAgainstRunDown{ID: "x", Title: "x", Stretches: stretches, Run: run})
	var rates, amplitudes []float64
	for _, s := range stretches {
		if s.Amplitude != nil {
			rates, amplitudes = append(rates, s.Rate.Value), append(amplitudes, s.Amplitude.Value)
		}
	}
	xs, ys := paths(t, root, "chart-dots")
	linear(t, "amplitude", amplitudes, xs[0], true)
	linear(t, "rate", rates, ys[0], false)
	cx, cy := paths(t, root, "chart-curve")
	if len(cx) < 2 {
		t.Fatal("no fitted line")
	}
	// The line passes where the fit says: its ends lie in proportion to the dots.
	perRate := (ys[0][0] - ys[0][len(rates)-1]) / (rates[0] - rates[len(rates)-1])
	perDeg := (xs[0][0] - xs[0][len(rates)-1]) / (amplitudes[0] - amplitudes[len(rates)-1])
	for i := range cx[0] {
		a := amplitudes[0] + (cx[0][i]-xs[0][0])/perDeg
		if want := ys[0][0] + perRate*(run.RateOnAmplitude.At(a).Value-rates[0]); math.Abs(cy[0][i]-want) > 0.3 {
			t.Errorf("at %v° the line stands at %v, want %v", a, cy[0][i], want)
		}
	}
	for _, want := range []string{"First +", "Fitted curve, straight line (+0.", "for 10°"} {
		if !strings.Contains(desc, want) {
			t.Errorf("%q is not in %q", want, desc)
		}
	}
}

func TestStabilityStandsAtItsLogarithms(t *testing.T) {
	t.Parallel()
	points := stabilityOf(15)
	root, desc := draw(t, chart.Allan{ID: "x", Title: "x", Points: points})
	xs, ys := paths(t, root, "chart-thread")
	var taus, deviations []float64
	for _, p := range points {
		taus, deviations = append(taus, math.Log(p.TauS)), append(deviations, math.Log(p.Deviation))
	}
	linear(t, "averaging time", taus, xs[0], true)
	linear(t, "deviation", deviations, ys[0], false)
	for _, want := range []string{"Overlapping Allan deviation", "over 0.25 s 8.3 (", "over 4 min 16 s 0.0"} {
		if !strings.Contains(desc, want) {
			t.Errorf("%q is not in %q", want, desc)
		}
	}
	odd := append(points, metrology.Stability{TauS: 9000, Deviation: 1e-6, Upper: math.Inf(1)},
		metrology.Stability{TauS: 1, Deviation: 0},
		metrology.Stability{TauS: nan, Deviation: 1}, metrology.Stability{TauS: 1, Deviation: nan})
	root, _ = draw(t, chart.Allan{ID: "x", Title: "x", Points: odd})
	inside(t, root)
	if xs, _ := paths(t, root, "chart-thread"); len(xs[0]) != len(points)+1 {
		t.Errorf("%d points drawn", len(xs[0]))
	}
	if _, err := (chart.Allan{ID: "x", Points: make([]metrology.Stability, 65)}).SVG(); !errors.Is(err, chart.ErrTooMany) {
		t.Errorf("65 points: got %v, want ErrTooMany", err)
	}
}

// Whatever was heard, the drawing is whole: well formed, with all points inside, and no figure that is none in it.
func TestAnySoundIsDrawnInside(t *testing.T) {
	t.Parallel()
	odd := rapid.OneOf(rapid.Float64Range(-10, 10), rapid.Float64Range(-9999, 9999),
		rapid.SampledFrom([]float64{nan, math.Inf(1), math.Inf(-1), 0, 1e-300}))
	degrees := rapid.OneOf(rapid.Float64Range(1, 359), rapid.SampledFrom([]float64{nan, math.Inf(1)}))
	when := rapid.OneOf(rapid.Float64Range(0, 60), rapid.Float64Range(0, 1e6),
		rapid.SampledFrom([]float64{nan, math.Inf(1), 0}))
	instant := rapid.OneOf(rapid.Float64Range(-200, 200), rapid.SampledFrom([]float64{nan, math.Inf(1), math.Inf(-1), 0}))
	uncertainty := rapid.OneOf(rapid.Float64Range(0, 10), rapid.SampledFrom([]float64{nan, -1, 0}))
	rapid.Check(t, func(t *rapid.T) {
		value := func(unit string) metrology.Value {
			figure := odd
			if unit == "°" {
				figure = degrees
			}
			return metrology.Value{Value: figure.Draw(t, "value"), StdUncertainty: uncertainty.Draw(t, "u"), Unit: unit}
		}
		result := acoustic.Result{BeatScatterUs: odd.Draw(t, "scatter")}
		for i := range rapid.IntRange(0, 30).Draw(t, "beats") {
			result.Beats = append(result.Beats, acoustic.Beat{Number: int64(i), TimeS: when.Draw(t, "time"),
				ResidualMs: odd.Draw(t, "residual"), Used: rapid.Bool().Draw(t, "used")})
		}
		for swing := range result.Voices {
			result.Voices[swing] = acoustic.Voice{Envelope: rapid.SliceOfN(odd, 0, 50).Draw(t, "envelope"),
				RateHz:  rapid.SampledFrom([]float64{0, 1000, 48000, nan}).Draw(t, "rate"),
				StartMs: instant.Draw(t, "start"), UnlockingMs: instant.Draw(t, "unlocking"), ImpulseMs: instant.Draw(t, "impulse"),
				DropMs: instant.Draw(t, "drop")}
		}
		var stretches []acoustic.Stretch
		for range rapid.IntRange(0, 20).Draw(t, "stretches") {
			start := when.Draw(t, "start")
			s := acoustic.Stretch{StartS: start, EndS: start + rapid.Float64Range(0.1, 100).Draw(t, "length"),
				Rate: value("s/d")}
			if rapid.Bool().Draw(t, "has beat error") {
				e := value("ms")
				s.BeatError = &e
			}
			if rapid.Bool().Draw(t, "has amplitude") {
				a := value("°")
				s.Amplitude = &a
			}
			stretches = append(stretches, s)
		}
		run := acoustic.LongRun(stretches, acoustic.Result{EndS: when.Draw(t, "end"),
			Notes: []acoustic.Note{{Code: acoustic.NoteStops}}})
		var points []metrology.Stability
		for range rapid.IntRange(0, 20).Draw(t, "taus") {
			points = append(points, metrology.Stability{TauS: odd.Draw(t, "tau"), Deviation: odd.Draw(t, "deviation"),
				Lower: odd.Draw(t, "lower"), Upper: odd.Draw(t, "upper")})
		}
		for _, c := range []interface{ SVG() (string, error) }{
			chart.BeatRound{ID: "x", Title: "x", Result: result, Teeth: rapid.IntRange(0, 60).Draw(t, "teeth"),
				From: rapid.Int64Range(-999, 999).Draw(t, "from")}, chart.Voices{ID: "x", Title: "x", Result: result},
			chart.LongRun{ID: "x", Title: "x", Stretches: stretches, Run: run},
			chart.RateAgainstRunDown{ID: "x", Title: "x", Stretches: stretches, Run: run},
			chart.Allan{ID: "x", Title: "x", Points: points},
		} {
			root, desc := draw(t, c)
			inside(t, root)
			if strings.Contains(desc, "NaN") || strings.Contains(desc, "Inf") {
				t.Fatalf("the description says %q", desc)
			}
		}
	})
}

func BenchmarkListening(b *testing.B) {
	day := letDown(1440)
	for name, c := range map[string]interface{ SVG() (string, error) }{
		"BeatRound30s": chart.BeatRound{ID: "x", Title: "x", Result: heardWatch(30), Teeth: 20},
		"BeatRound1h":  chart.BeatRound{ID: "x", Title: "x", Result: heardWatch(3600), Teeth: 20},
		"Voices":       chart.Voices{ID: "x", Title: "x", Result: heardWatch(30)},
		"WheelPattern": chart.WheelPattern{ID: "x", Title: "x", Pattern: wheel()},
		"LongRun":      chart.LongRun{ID: "x", Title: "x", Stretches: day, Run: stopped(day)},
		"RunDown":      chart.RateAgainstRunDown{ID: "x", Title: "x", Stretches: day, Run: stopped(day)},
		"Allan":        chart.Allan{ID: "x", Title: "x", Points: stabilityOf(17)},
	} {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := c.SVG(); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
