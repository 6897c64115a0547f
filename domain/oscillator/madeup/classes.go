package madeup

import (
	"fmt"
	"math/rand/v2"
	"slices"
)

// bound is what a share must keep: at least low, at most high. 0 and 1 bind nothing.
type bound struct{ low, high float64 }

// class is a kind of made-up watch, with what must hold of the answers besides what holds for all.
type class struct {
	name   string
	draw   func(rng *rand.Rand) (w Watch, states []State, grade string)
	bounds map[measure]bound
}

// some draws one of the sets of states.
func some(rng *rand.Rand, sets ...[]State) []State { return sets[rng.IntN(len(sets))] }

// flukes binds nothing of heavy spots: in classes whose balance is nearly in poise what is given is given by chance, a few
// in a thousand, and shares of those few say nothing. They count in the pool of all, as does the spring alone, where to
// give a heavy spot at all is the error that is bound.
var flukes = map[measure]bound{bearingHeld: {0, 1}, sizeHeld: {0, 1}, bearingOpposite: {0, 1}}

// classes are in the order they are printed.
var classes = func() []class {
	list := []class{
		{"good", good, map[measure]bound{metal: {0, 0.02}, stops: {0.90, 1}}},
		{"poise, one wind", func(rng *rand.Rand) (Watch, []State, string) {
			return sound(rng).hanging(rng, 180, 290).heavy(rng, 150, 3000), oneWind, Modern
		}, nil},
		{"poise, two winds", func(rng *rand.Rand) (Watch, []State, string) {
			return sound(rng).hanging(rng, 215, 290).heavy(rng, 150, 3000), twoWinds, Modern
		}, nil},
		{"strong poise, two winds", func(rng *rand.Rand) (Watch, []State, string) {
			return sound(rng).hanging(rng, 225, 290).heavy(rng, 1000, 5000), twoWinds, Modern
		}, map[measure]bound{given: {2.0 / 3, 1}}},
		{"poise, let down to 145-165°", func(rng *rand.Rand) (Watch, []State, string) {
			return sound(rng).hanging(rng, 225, 290).heavy(rng, 150, 3000), letDown(between(rng, 145, 165)), Modern
		}, nil},
		{"poise near 220°", func(rng *rand.Rand) (Watch, []State, string) {
			return sound(rng).hanging(rng, 205, 235).heavy(rng, 300, 5000), some(rng, oneWind, twoWinds), Modern
		}, nil},
	}
	for _, peakToPeak := range []float64{3, 6, 12} {
		list = append(list, class{fmt.Sprintf("the spring alone, %g s/d", peakToPeak),
			func(rng *rand.Rand) (Watch, []State, string) {
				return sound(rng).hanging(rng, 195, 290).sprung(rng, peakToPeak), some(rng, oneWind, twoWinds), Modern
			}, map[measure]bound{metal: {0, 0.05}, given: {0, 0.02}, sizeHeld: {0, 1}}})
	}
	return append(list, []class{
		{"poise and the spring, one wind", sprungPoise(oneWind), nil},
		{"poise and the spring, two winds", sprungPoise(twoWinds), nil},
		{"poise and the spring, let down", sprungPoise(letDown(150)), nil},
		{"magnetised", func(rng *rand.Rand) (Watch, []State, string) {
			return magnetised(rng), some(rng, oneWind, twoWinds), Modern
		}, map[measure]bound{metal: {0, 0.02}, magnetism: {0.85, 1}}},
		{"weak", func(rng *rand.Rand) (Watch, []State, string) {
			return weak(rng), some(rng, oneWind, twoWinds), Modern
		}, map[measure]bound{metal: {0, 0.02}, powerFirst: {0.95, 1}}},
		{"knocking", func(rng *rand.Rand) (Watch, []State, string) {
			return knocking(rng), some(rng, oneWind, twoWinds), Modern
		}, nil},
		{"out of beat", func(rng *rand.Rand) (Watch, []State, string) {
			w := sound(rng).heavy(rng, 20, 300)
			w.BeatErrorMs = between(rng, 1.5, 6)
			return w, some(rng, oneWind, twoWinds), Modern
		}, flukes},
		{"pins", func(rng *rand.Rand) (Watch, []State, string) {
			w := sound(rng).heavy(rng, 20, 300)
			w.IsochronismSPerDay = either(rng) * between(rng, 12, 40)
			w.LossDeg = between(rng, 30, 50)
			return w, some(rng, oneWind, twoWinds), Modern
		}, flukes},
		{"dial up and down apart", func(rng *rand.Rand) (Watch, []State, string) {
			w := sound(rng).heavy(rng, 20, 300)
			w.DialUpLessDownSPerDay = either(rng) * between(rng, 8, 16)
			w.offsets(rng, 3)
			return w, some(rng, oneWind, twoWinds), Modern
		}, flukes},
		{"fresh from service", func(rng *rand.Rand) (Watch, []State, string) {
			w := adjusted(rng, Modern)
			w.BaseSPerDay += either(rng) * between(rng, 20, 150)
			return w, some(rng, oneWind, twoWinds), Modern
		}, nil},
	}...)
}()

func good(rng *rand.Rand) (Watch, []State, string) {
	grade := some2(rng, Modern, Chronometer)
	return adjusted(rng, grade), some(rng, oneWind, twoWinds), grade
}

func some2(rng *rand.Rand, a, b string) string {
	if rng.IntN(2) == 0 {
		return a
	}
	return b
}

// sprungPoise has 300 to 3000 ppm and 3 to 12 s/d of the spring's own.
func sprungPoise(states []State) func(rng *rand.Rand) (Watch, []State, string) {
	return func(rng *rand.Rand) (Watch, []State, string) {
		w := sound(rng).hanging(rng, 195, 290).heavy(rng, 300, 3000)
		return w.sprung(rng, between(rng, 3, 12)), states, Modern
	}
}

// Classes returns the classes' names.
func Classes() []string {
	var names []string
	for _, c := range classes {
		names = append(names, c.name)
	}
	return names
}

// Draw makes watch i of a class as Count does with that seed, to look at one that failed.
func Draw(name string, i int, o Options) (Case, bool) {
	at := slices.IndexFunc(classes, func(c class) bool { return c.name == name })
	if at < 0 {
		return Case{}, false
	}
	c, _ := draw(at, i, o)
	return c, true
}

// draw also returns the generator as it then stands.
func draw(at, i int, o Options) (Case, *rand.Rand) {
	rng := rand.New(rand.NewPCG(o.Seed, uint64(at)<<32|uint64(i)))
	w, states, grade := classes[at].draw(rng)
	b := NewBench(rng)
	if rng.Float64() < o.RepeatShare {
		b.Repeats = 1
	}
	return readAs(classes[at].name, grade, w, states, b, rng), rng
}
