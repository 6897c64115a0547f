package madeup

import (
	"math/cmplx"
	"math/rand/v2"
	"sync"

	"ledgerwheel/domain/timing"
)

// sound draws a watch with nothing out of the ordinary but what a plain calibre in order has: no poise error and no
// error of the spring.
func sound(rng *rand.Rand) Watch {
	w := Watch{
		CrownHour:             timing.CrownAtThree,
		BaseSPerDay:           between(rng, -15, 20),
		HangingLessSPerDay:    3 * rng.NormFloat64(),
		DialUpLessDownSPerDay: 1.5 * rng.NormFloat64(),
		IsochronismSPerDay:    between(rng, -6, 6),
		QuarticShare:          rng.Float64(),
		LyingDeg:              between(rng, 275, 310),
		LossDeg:               between(rng, 15, 45),
		BeatErrorMs:           between(rng, 0, 0.4),
	}
	w.HangingDeg = w.LyingDeg - between(rng, 15, 40)
	w.offsets(rng, 4)
	return w
}

// offsets draws how the positions' amplitudes differ. Dial up and down, the side of the shorter swing gains (common
// practice: some 20° for 4 to 5 s/d).
func (w *Watch) offsets(rng *rand.Rand, sdDeg float64) {
	w.OffsetDeg = map[timing.Position]float64{}
	for _, p := range timing.Positions() {
		w.OffsetDeg[p] = sdDeg * rng.NormFloat64()
	}
	shorter := min(max(2.2*w.DialUpLessDownSPerDay, -30), 30)
	w.OffsetDeg[timing.DialUp] = sdDeg*rng.NormFloat64()/2 - max(shorter, 0)
	w.OffsetDeg[timing.DialDown] = sdDeg*rng.NormFloat64()/2 + min(shorter, 0)
}

// hanging sets the hanging amplitude, with the lying one 20 to 40° above it.
func (w Watch) hanging(rng *rand.Rand, lowDeg, highDeg float64) Watch {
	w.HangingDeg = between(rng, lowDeg, highDeg)
	w.LyingDeg = min(w.HangingDeg+between(rng, 20, 40), 318)
	return w
}

// heavy gives the balance a heavy spot anywhere.
func (w Watch) heavy(rng *rand.Rand, leastPPM, greatestPPM float64) Watch {
	w.Poise = Poise{SizePPM: logBetween(rng, leastPPM, greatestPPM), HeavyAtDeg: between(rng, 0, 360)}
	return w
}

// sprung gives the spring an error of its own, of one of the two kinds that stay with the spring.
func (w Watch) sprung(rng *rand.Rand, peakToPeakSPerDay float64) Watch {
	w.Spring = Spring{Kind: EvenSpring, PeakToPeakSPerDay: peakToPeakSPerDay, GainsWithUpDeg: between(rng, 0, 360),
		Spiral: drawSpiral(rng)}
	if rng.IntN(2) == 0 {
		w.Spring.Kind = ElasticCoils
	}
	return w
}

// drawSpiral draws a hairspring by how great an error its coils' weight makes at 220°: one that makes little seldom
// has the error that is asked for.
func drawSpiral(rng *rand.Rand) int {
	for {
		i := rng.IntN(Spirals())
		if cmplx.Abs(ElasticCoils.firstAt220(i)) > rng.Float64()*greatestAt220() {
			return i
		}
	}
}

var greatestAt220 = sync.OnceValue(func() (greatest float64) {
	for i := range spirals {
		greatest = max(greatest, cmplx.Abs(ElasticCoils.firstAt220(i)))
	}
	return greatest
})

// adjusted draws a watch that keeps a grade's limits with room: delta at most 5 s/d.
func adjusted(rng *rand.Rand, grade string) Watch {
	for {
		w := sound(rng)
		w.HangingLessSPerDay, w.DialUpLessDownSPerDay = 0.8*rng.NormFloat64(), 0.6*rng.NormFloat64()
		w.IsochronismSPerDay = between(rng, -1.5, 1.5)
		w.LyingDeg, w.LossDeg = between(rng, 285, 302), between(rng, 10, 25)
		w.HangingDeg = w.LyingDeg - between(rng, 15, 28)
		w.BeatErrorMs = between(rng, 0, 0.12)
		w.offsets(rng, 2)
		w = w.heavy(rng, 20, 200).sprung(rng, between(rng, 0, 1.5))
		w.BaseSPerDay += Middle(grade) + between(rng, -1.5, 1.5) - w.MeanSPerDay()
		if w.DeltaSPerDay() <= 5 {
			return w
		}
	}
}

// magnetised makes a sound watch erratic: dial up and down tens of seconds apart, positions off by 10 to 60 s/d that
// have nothing to do with the amplitude, jumps between states of wind, and in two of five minutes either way.
func magnetised(rng *rand.Rand) Watch {
	w := sound(rng).heavy(rng, 50, 600)
	m := Magnetism{PositionSPerDay: map[timing.Position]float64{}, jumps: map[jump]float64{}}
	for _, p := range timing.Positions() {
		m.PositionSPerDay[p] = either(rng) * between(rng, 10, 60)
	}
	apart := either(rng) * between(rng, 20, 80)
	m.PositionSPerDay[timing.DialDown] = m.PositionSPerDay[timing.DialUp] - apart
	if rng.IntN(5) < 2 {
		m.MeanSPerDay = either(rng) * between(rng, 60, 420)
	}
	m.JumpSPerDay, m.ScatterSPerDay = between(rng, 4, 25), between(rng, 1, 8)
	for _, p := range timing.Positions() {
		for _, s := range twoWinds {
			m.jumps[jump{p, s.HoursAfterWinding}] = m.JumpSPerDay * rng.NormFloat64()
		}
	}
	w.Magnetism = m
	return w
}

// weak draws a dry or tired watch: 150 to 190° hanging at full wind, with a poise error that shows.
func weak(rng *rand.Rand) Watch {
	w := sound(rng).hanging(rng, 150, 190).heavy(rng, 200, 1500)
	w.LossDeg = between(rng, 10, 25)
	w.IsochronismSPerDay = between(rng, -10, 10)
	return w
}

// knocking draws a watch that swings past 330° lying and gains there by tens to hundreds of seconds.
func knocking(rng *rand.Rand) Watch {
	w := sound(rng).heavy(rng, 50, 300)
	w.DialUpLessDownSPerDay = rng.NormFloat64()
	w.LyingDeg = between(rng, 337, 350)
	w.HangingDeg = w.LyingDeg - between(rng, 30, 45)
	w.offsets(rng, 2)
	w.KnocksSPerDay = logBetween(rng, 25, 300)
	return w
}

// The states of wind that made-up watches are read at.
var (
	oneWind  = []State{{}}
	twoWinds = []State{{}, {HoursAfterWinding: 24}}
)

// letDown is full wind and the mainspring let down until the watch hangs at an amplitude.
func letDown(hangingDeg float64) []State {
	return []State{{}, {HoursAfterWinding: 36, HangingDeg: hangingDeg}}
}
