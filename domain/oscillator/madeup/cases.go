package madeup

import (
	"math/rand/v2"

	"ledgerwheel/domain/timing"
)

// Case is one watch with what was read from it.
type Case struct {
	Name   string
	Grade  string
	Watch  Watch
	States []State
	Bench  Bench
	Rows   []Row
	Runs   []timing.Run
}

// exact is a bench that adds nothing but the steps of its display.
var exact = Bench{RateStepSPerDay: 0.1, AmplitudeStepDeg: 1, BeatStepMs: 0.1}

// readAs reads a watch as received.
func readAs(name, grade string, w Watch, states []State, b Bench, rng *rand.Rand) Case {
	c := Case{Name: name, Grade: grade, Watch: w, States: states, Bench: b}
	c.Rows = b.Read(w, AsReceived, states, rng)
	c.Runs = b.Runs(c.Rows, w.CrownHour)
	return c
}

// read is readAs on the exact bench, which draws nothing that shows.
func read(name string, w Watch, states ...State) Case {
	return readAs(name, Modern, w, states, exact, rand.New(rand.NewPCG(1, 1)))
}

// plain is a watch without any error.
func plain(lyingDeg, hangingDeg float64) Watch {
	return Watch{CrownHour: timing.CrownAtThree, LyingDeg: lyingDeg, HangingDeg: hangingDeg, LossDeg: 25}
}

// LiftAngleWrong has its heavy spot at 4 o'clock and hangs at 212°, which a lift angle 5 % too great shows as 223°: on
// the other side of where the sign turns.
func LiftAngleWrong() Case {
	w := plain(238, 212)
	w.Poise = Poise{SizePPM: 4000, HeavyAtDeg: 120}
	b := exact
	b.LiftAngleRel = 0.052
	return readAs("lift angle 5 % off, spot at 4 o'clock", Modern, w, oneWind, b, rand.New(rand.NewPCG(1, 1)))
}

// MagnetisedPlainly reads +43 and +3 lying, +60, +25, -5 and +37 hanging; its balance is in poise.
func MagnetisedPlainly() Case {
	w := plain(285, 255)
	w.Magnetism.PositionSPerDay = map[timing.Position]float64{timing.DialUp: 43, timing.DialDown: 3, timing.ThreeUp: 60,
		timing.SixUp: 25, timing.NineUp: -5, timing.TwelveUp: 37}
	return read("magnetised", w, oneWind...)
}

// SpringAlone is in poise; its spring makes 13 s/d between 12 up and 6 up.
func SpringAlone(kind SpringKind, states ...State) Case {
	w := plain(275, 245)
	w.Spring = Spring{Kind: kind, PeakToPeakSPerDay: 13, GainsWithUpDeg: 0, Spiral: 1}
	return read("the spring's own 13 s/d, in poise", w, states...)
}

// RepeatsBadly has 1000 ppm anywhere and is read at one wind by an instrument or a watch that repeats within sd s/d.
func RepeatsBadly(sdSPerDay float64, rng *rand.Rand) Case {
	w := sound(rng).hanging(rng, 255, 285).heavy(rng, 999, 1001)
	b := Bench{LiftAngleRel: 0.02 * rng.NormFloat64(), RepeatabilitySPerDay: sdSPerDay, RateStepSPerDay: 0.1,
		AmplitudeNoiseDeg: 2, AmplitudeStepDeg: 1, BeatNoiseMs: 0.05, BeatStepMs: 0.1}
	return readAs("poise, bad repeatability", Modern, w, oneWind, b, rng)
}

// SpringBesidePoise has 1000 ppm anywhere and a spring that adds its own peak to peak, read at one wind.
func SpringBesidePoise(peakToPeakSPerDay float64, rng *rand.Rand) Case {
	w := sound(rng).hanging(rng, 255, 285).heavy(rng, 999, 1001).sprung(rng, peakToPeakSPerDay)
	return readAs("poise and the spring", Modern, w, oneWind, NewBench(rng), rng)
}

// Misfit has 1500 ppm at 100° and four hanging rates at one wind that no heavy spot explains to within ±e s/d: 3 and
// 9 up read e more, 6 and 12 up e less. What is said must change with e without a step.
func Misfit(e float64) Case {
	w := plain(300, 275)
	w.Poise = Poise{SizePPM: 1500, HeavyAtDeg: 100}
	c := read("a misfit", w, oneWind...)
	for i, r := range c.Rows {
		c.Rows[i].RateSPerDay = w.RateSPerDay(r.Position, State{})
		switch r.Position {
		case timing.ThreeUp, timing.NineUp:
			c.Rows[i].RateSPerDay += e
		case timing.SixUp, timing.TwelveUp:
			c.Rows[i].RateSPerDay -= e
		}
	}
	c.Runs = exact.Runs(c.Rows, w.CrownHour)
	return c
}

// PassesEveryLimit is a modern watch at full wind with a delta of 5.0 s/d and everything else in order. Only the
// readings after 24 h are missing.
func PassesEveryLimit() Case {
	w := plain(295, 275)
	w.Poise.HeavyAtDeg = 80
	for w.DeltaSPerDay() < 5 {
		w.Poise.SizePPM++
	}
	w.BaseSPerDay += Middle(Modern) - w.MeanSPerDay()
	return read("passes every limit, delta 5", w, oneWind...)
}

// KnocksLying swings 336° dial up and down and gains 44 s/d there; hanging, and cured, it reads 0.
func KnocksLying() Case {
	w := plain(336, 305)
	w.KnocksSPerDay = 44 / 1.3
	return read("knocking lying", w, oneWind...)
}

// LosesTenMinutes reads -600 s/d in every position.
func LosesTenMinutes() Case {
	w := plain(280, 255)
	w.BaseSPerDay = -600
	return read("-600 s/d everywhere", w, oneWind...)
}

// WeakWithPoise hangs at 175° at full wind and has 900 ppm at 2 o'clock.
func WeakWithPoise() Case {
	w := plain(205, 175)
	w.Poise = Poise{SizePPM: 900, HeavyAtDeg: 60}
	return read("poise at 175°", w, oneWind...)
}

// Cases returns the watches above that need no chance, each with its fault.
func Cases() []Case {
	return []Case{LiftAngleWrong(), MagnetisedPlainly(), SpringAlone(EvenSpring, oneWind...),
		SpringAlone(EvenSpring, twoWinds...), SpringAlone(ElasticCoils, oneWind...),
		SpringAlone(ElasticCoils, twoWinds...), Misfit(1), PassesEveryLimit(), KnocksLying(), LosesTenMinutes(),
		WeakWithPoise()}
}

// OneWind, TwoWinds and LetDown are the states that cases are read at.
func OneWind() []State  { return oneWind }
func TwoWinds() []State { return twoWinds }

// LetDown is full wind and the mainspring let down until the watch hangs at an amplitude.
func LetDown(hangingDeg float64) []State { return letDown(hangingDeg) }
