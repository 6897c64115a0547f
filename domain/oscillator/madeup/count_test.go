package madeup

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"ledgerwheel/domain/timing"
)

func TestOutcomes(t *testing.T) {
	t.Parallel()
	w := WeakWithPoise()
	var a Answer
	a.Poise = PoiseSaid{Given: true, SizePPM: 950, SizeU95PPM: 60, HeavyAtDeg: 50, HeavyAtU95Deg: 12}
	a.Advice = []Advice{{Kind: PowerLow}, {Kind: OutOfPoise, RemovesMetal: true}}
	a.Regulate = &Regulate{Value: Middle(Modern) - w.Watch.MeanSPerDay() + 1, U95: 0.9}
	o := outcomes(w, a)
	for m, want := range map[measure]outcome{given: {true, true}, bearingHeld: {true, true}, sizeHeld: {true, true},
		bearingOpposite: {true, false}, metal: {true, true}, powerFirst: {true, true}, stops: {true, false},
		knockingNamed: {false, false}, regulatorHeld: {true, false}, magnetism: {true, false}} {
		if o[m] != want {
			t.Errorf("%s: %v, want %v", measureNames[m], o[m], want)
		}
	}
	a.Poise.HeavyAtDeg, a.Poise.SizePPM = 245, 800
	a.Advice[0], a.Advice[1] = a.Advice[1], a.Advice[0]
	o = outcomes(w, a)
	if !o[bearingOpposite].hit || o[bearingHeld].hit || o[sizeHeld].hit || o[powerFirst].hit {
		t.Errorf("a wrong answer passes: %v", o)
	}
	if o := outcomes(SpringAlone(EvenSpring), a); o[bearingHeld].counts || !o[sizeHeld].counts || o[sizeHeld].hit {
		t.Error("a balance in poise has no bearing, and a size of 0")
	}
	var stop Answer
	stop.Next.Kind = Measure
	if stop.Stops() {
		t.Error("asking for more is not to stop")
	}
	stop.Advice = []Advice{{Kind: Within}}
	if !stop.Stops() {
		t.Error("within limits, with a reading missing, is to stop")
	}
	if k := outcomes(KnocksLying(), stop); !k[knockingNamed].counts || k[knockingNamed].hit {
		t.Error("the watch knocks and it is not named")
	}
}

func TestShareFails(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		hits, of  int
		low, high float64
		fails     bool
	}{{90, 100, 0.9, 0.99, false}, {80, 100, 0.9, 0.99, false}, {79, 100, 0.9, 0.99, true},
		{100, 100, 0.9, 0.99, false}, {1000, 1000, 0.9, 0.99, true}, {0, 0, 0.9, 1, false}, {0, 1, 0.9, 0.99, false},
		{0, 2, 0.9, 0.99, false}, {0, 3, 0.9, 0.99, true}, {5, 100, 0, 0.01, false}, {6, 100, 0, 0.01, true},
		{5, 100, 0, 1, false}} {
		s := Share{Name: "x", Hits: c.hits, Of: c.of, AtLeast: c.low, AtMost: c.high}
		if got := s.Fails() != ""; got != c.fails {
			t.Errorf("%+v: fails %v", c, got)
		}
	}
}

// reckless gives a bearing without looking, and takes metal there.
func reckless(_ []timing.Run, _ string, rng *rand.Rand) Answer {
	a := Answer{Verdict: "fail"}
	a.Poise = PoiseSaid{Given: true, SizePPM: 500, SizeU95PPM: 100, HeavyAtDeg: 360 * rng.Float64(), HeavyAtU95Deg: 20}
	a.Advice = []Advice{{Kind: OutOfPoise, RemovesMetal: true}}
	a.Next.Kind = OutOfPoise
	a.Regulate = &Regulate{Value: 0, U95: 0.1}
	return a
}

// timid says nothing at all.
func timid([]timing.Run, string, *rand.Rand) Answer {
	var a Answer
	a.Verdict, a.Next.Kind = "undecided", Measure
	return a
}

// TestCountFailsWhatIsWrong: every bound bites.
func TestCountFailsWhatIsWrong(t *testing.T) {
	t.Parallel()
	o := Options{PerClass: 60, Seed: 1, RepeatShare: 0.2}
	said := strings.Join(append(Count(reckless, o).Failures(), Count(timid, o).Failures()...), "\n")
	for _, want := range []string{"good: metal advised", "good: told to stop", "poise, one wind: bearing within its 95 %",
		"poise, two winds: bearing more than 90° wrong", "strong poise, two winds: size within its 95 %",
		"strong poise, two winds: poise given", "magnetised: magnetism suspected", "magnetised: metal advised",
		"weak: power before poise", "weak: metal advised", "the spring alone, 12 s/d: metal advised",
		"fresh from service: regulator move within its ±", "all: bearing more than 90° wrong"} {
		if !strings.Contains(said, want) {
			t.Errorf("not found to fail: %s", want)
		}
	}
	a, b := Count(reckless, o), Count(reckless, o)
	if a.String() != b.String() {
		t.Error("the same seed counts differently")
	}
	if got := a.Share("good", "metal advised"); got.Of != 60 || got.Hits != 60 {
		t.Errorf("%+v", got)
	}
	o.Only = []string{"weak"}
	if r := Count(timid, o); len(r.Classes) != 2 || r.Classes[0].Name != "weak" {
		t.Error("one class is asked for")
	}
}

// TestCountCorrectedFollowsTheHand: metal taken blindly makes it worse; a regulator alone is foretold well.
func TestCountCorrectedFollowsTheHand(t *testing.T) {
	t.Parallel()
	regulate := func(runs []timing.Run, _ string, _ *rand.Rand) (Correction, Foretold, bool) {
		var p []Predicted
		for _, r := range runs[0].Readings {
			p = append(p, Predicted{r.Position, r.HoursAfterWinding, r.RateSPerDay.Value + 7, 2 * math.Sqrt2 * 2.5})
		}
		return Correction{RegulatorSPerDay: 7}, Foretold{Readings: p}, true
	}
	c := CountCorrected(regulate, 120, Hand{RegulatorSPerDay: 0.2}, Options{Seed: 2})
	if c.Planned.Hits != 120 || c.Readings.Rate() < 0.95 || c.Better.Rate() < 0.99 {
		t.Errorf("regulated: %+v", c)
	}
	blind := func(runs []timing.Run, grade string, rng *rand.Rand) (Correction, Foretold, bool) {
		_, p, _ := regulate(runs, grade, rng)
		p.Agrees = func(timing.Run) bool { return false }
		return Correction{TakenPPM: 3000, TakenAtDeg: 360 * rng.Float64()}, p, true
	}
	c = CountCorrected(blind, 120, Hand{}, Options{Seed: 2})
	if c.Readings.Fails() == "" || c.Agree.Fails() == "" || c.Lighter.Rate() > 0.5 || c.Median < 1 {
		t.Errorf("blind: %+v", c)
	}
}

func BenchmarkDraw(b *testing.B) {
	for i := range b.N {
		Draw("poise and the spring, two winds", i, Options{})
	}
}
