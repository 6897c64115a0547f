package timing_test

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"ledgerwheel/domain/timing"
)

// watchesTyped is how many sheets of each kind are made up.
const watchesTyped = 20000

// madeUp is a plausible run of six positions at full wind, typed to a second, a degree and a tenth of a millisecond: a
// mean rate, a difference between lying and hanging, poise that moves opposite positions oppositely, and scatter. The
// sizes are those of a watch that was worked on or, as received, of one with any of the faults watches come in with:
// magnetism, knocking, want of oil, a spring that touches in one position.
func madeUp(r *rand.Rand, kind timing.Kind) timing.Sheet {
	received := kind == timing.AsReceived
	size := func(worked, wild float64) float64 {
		if received {
			return wild * r.NormFloat64()
		}
		return worked * r.NormFloat64()
	}
	mean, hanging, lying := size(6, 40), size(4, 12), size(1.5, 6)
	poise, towards := math.Abs(size(4, 25)), 2*math.Pi*r.Float64()
	scatter := 0.5 + math.Abs(size(0.7, 2.5))
	swing, drag := 285+size(10, 30), 28+math.Abs(size(8, 25))
	beat := math.Abs(size(0.3, 1.2))
	magnetic, knocking := received && r.Float64() < 0.05, received && r.Float64() < 0.02
	touching := received && r.Float64() < 0.05
	if magnetic {
		mean += 30 + 200*r.Float64()
	}
	if knocking {
		swing = 322 + 15*r.Float64()
	}
	touched := timing.Positions()[r.IntN(6)]
	s := timing.Sheet{Run: timing.Run{Kind: kind, CrownHour: 3}, States: []float64{0}}
	for _, p := range timing.Positions() {
		rate, amplitude := mean+scatter*r.NormFloat64(), swing+2*r.NormFloat64()
		if magnetic {
			rate += 12 * r.NormFloat64()
		}
		if hour, vertical := p.UppermostHour(); vertical {
			rate += hanging + poise*math.Cos(2*math.Pi*float64(hour)/12-towards)
			amplitude -= drag
		} else if p == timing.DialUp {
			rate += lying
		}
		if amplitude >= 315 {
			rate += 250 * r.Float64()
		}
		if touching && p == touched {
			rate += 25 * r.NormFloat64()
		}
		amplitude = math.Max(90, math.Min(338, amplitude))
		s.Run.Readings = append(s.Run.Readings, timing.Reading{Position: p,
			RateSPerDay:  &timing.Figure{Value: math.Round(rate), Step: 1},
			AmplitudeDeg: &timing.Figure{Value: math.Round(amplitude), Step: 1},
			BeatErrorMs:  &timing.Figure{Value: math.Abs(math.Round(10*(beat+0.1*r.NormFloat64())) / 10), Step: 0.1}})
	}
	return s
}

// Nothing plausible is slowed: fewer than one sheet in two hundred of a watch that was worked on is asked about
// anything, and fewer than one in fifty of watches as they came in.
func TestPlausibleRunsAreSeldomAsked(t *testing.T) {
	t.Parallel()
	for kind, most := range map[timing.Kind]float64{timing.Final: 1.0 / 200, timing.AsReceived: 1.0 / 50} {
		r := rand.New(rand.NewPCG(11, uint64(len(kind))))
		asked := 0
		for range watchesTyped {
			if len(madeUp(r, kind).Doubts(timing.Sheet{})) > 0 {
				asked++
			}
		}
		t.Logf("%s: %d of %d sheets are asked about", kind, asked, watchesTyped)
		if float64(asked) > most*watchesTyped {
			t.Errorf("%s: %d of %d sheets are asked about, more than %.1f %%", kind, asked, watchesTyped, 100*most)
		}
	}
}

// slips are what hands do, each with the least share that must be asked about in a run of a watch that was worked on.
// A change that stays within what watches do, such as 258 for 285 or two hanging positions exchanged, is not told from
// one, and nobody is asked.
var slips = []struct {
	name  string
	least float64
	of    timing.Quantity
	spoil func(*rand.Rand, *timing.Sheet, int)
}{
	{"a digit too many in a rate", 0.65, timing.Rate, func(r *rand.Rand, s *timing.Sheet, i int) {
		s.Run.Readings[i].RateSPerDay.Value = 10*s.Run.Readings[i].RateSPerDay.Value + float64(r.IntN(10))
	}},
	{"the decimal mark left out of a rate of two digits", 0.78, timing.Rate, func(_ *rand.Rand, s *timing.Sheet, i int) {
		for j := range s.Run.Readings {
			s.Run.Readings[j].RateSPerDay.Value += 8
		}
		s.Run.Readings[i].RateSPerDay.Value *= 10
	}},
	{"the sign of a rate near forty", 0.95, timing.Rate, func(_ *rand.Rand, s *timing.Sheet, i int) {
		for j := range s.Run.Readings {
			s.Run.Readings[j].RateSPerDay.Value += 40
		}
		s.Run.Readings[i].RateSPerDay.Value *= -1
	}},
	{"+99 in a run near 6", 0.99, timing.Rate, func(_ *rand.Rand, s *timing.Sheet, i int) {
		s.Run.Readings[i].RateSPerDay.Value = 99
	}},
	{"the amplitude in the column of rates", 0.99, timing.Rate, func(_ *rand.Rand, s *timing.Sheet, i int) {
		s.Run.Readings[i].RateSPerDay.Value = s.Run.Readings[i].AmplitudeDeg.Value
	}},
	{"a digit left out of an amplitude", 0.99, timing.Amplitude, func(_ *rand.Rand, s *timing.Sheet, i int) {
		s.Run.Readings[i].AmplitudeDeg.Value = math.Floor(s.Run.Readings[i].AmplitudeDeg.Value / 10)
	}},
	{"the first two digits of an amplitude swapped", 0.85, timing.Amplitude, func(_ *rand.Rand, s *timing.Sheet, i int) {
		a := int(s.Run.Readings[i].AmplitudeDeg.Value)
		s.Run.Readings[i].AmplitudeDeg.Value = float64(a/10%10*100 + a/100*10 + a%10)
	}},
	{"the decimal mark left out of a beat error", 0.55, timing.BeatError, func(_ *rand.Rand, s *timing.Sheet, i int) {
		s.Run.Readings[i].BeatErrorMs.Value *= 10
	}},
}

// Slips of the hand are asked about at the figure itself, as often as slips says. What no field takes, such as an
// amplitude of 825°, is refused before.
func TestSlipsAreAsked(t *testing.T) {
	t.Parallel()
	for n, slip := range slips {
		r := rand.New(rand.NewPCG(7, uint64(n)))
		asked, tried := 0, 0
		for range watchesTyped / 10 {
			s := madeUp(r, timing.Final)
			i := r.IntN(len(s.Run.Readings))
			before := s.Run.Readings[i].Figure(slip.of).Value
			slip.spoil(r, &s, i)
			at := s.Run.Readings[i]
			if at.Figure(slip.of).Value == before {
				continue
			}
			tried++
			field := timing.FieldName(slip.of, at.Position, 0)
			if s.Doubts(timing.Sheet{})[field] != "" || s.Run.Problems()[field] != "" {
				asked++
			}
		}
		share := float64(asked) / float64(tried)
		t.Logf("%s: asked about in %.1f %%", slip.name, 100*share)
		if share < slip.least {
			t.Errorf("%s: asked about in %.1f %%, want %.0f %% at least", slip.name, 100*share, 100*slip.least)
		}
	}
}

// What poise does is no slip, and what was saved or heard is not asked about again.
func TestWhatIsNotAskedAbout(t *testing.T) {
	t.Parallel()
	rates := func(kind timing.Kind, values ...float64) timing.Sheet {
		s := timing.Sheet{Run: timing.Run{Kind: kind}, States: []float64{0}}
		for i, x := range values {
			s.Run.Readings = append(s.Run.Readings, timing.Reading{Position: timing.Positions()[i],
				RateSPerDay: &timing.Figure{Value: x, Step: 1}})
		}
		return s
	}
	wild := rates(timing.Final, 5, 7, 6, 99, 4, 8)
	asked := wild.Doubts(timing.Sheet{})
	if why := asked["rate-6H-0"]; len(asked) != 1 || !strings.Contains(why, "+99 s/d") || !strings.Contains(why, "+6 s/d") {
		t.Errorf("+99 among figures near 6: %v", asked)
	}
	if asked := wild.Doubts(wild); len(asked) > 0 {
		t.Errorf("asked again about what stands there: %v", asked)
	}
	if asked := rates(timing.Final, 5, 6, 60, 5, -50, 7).Doubts(timing.Sheet{}); len(asked) > 0 {
		t.Errorf("a heavy spot is asked about: %v", asked)
	}
	if asked := rates(timing.Final, 5, 99, 6).Doubts(timing.Sheet{}); len(asked) > 0 {
		t.Errorf("two others say nothing, yet %v", asked)
	}
	if asked := rates(timing.AsReceived, 5, 7, 6, 60, 4, 8).Doubts(timing.Sheet{}); len(asked) > 0 {
		t.Errorf("a watch as it came in may be wild: %v", asked)
	}
	wild.Run.Readings[3].RateSPerDay.StdUncertainty = 0.2
	if asked := wild.Doubts(timing.Sheet{}); len(asked) > 0 {
		t.Errorf("what was heard was not typed: %v", asked)
	}
	high := timing.Sheet{Run: timing.Run{Kind: timing.AsReceived, Readings: []timing.Reading{{Position: timing.DialUp,
		AmplitudeDeg: &timing.Figure{Value: 352, Step: 1}}}}, States: []float64{0}}
	if asked := high.Doubts(timing.Sheet{}); asked["amplitude-CH-0"] == "" {
		t.Error("352° is more than a balance can swing")
	}
}
