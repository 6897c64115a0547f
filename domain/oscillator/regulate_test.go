package oscillator_test

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"

	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/oscillator"
)

// after returns the rate left of a watch at rate once a correction of that rate of its own is made.
func after(rate, correction float64) float64 {
	return 86400 * ((1+rate/86400)*(1+correction/86400) - 1)
}

// TestCorrectionsTakeTheRateAway makes each correction on a made-up watch and works its rate out again.
func TestCorrectionsTakeTheRateAway(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		rate := float64(rapid.IntRange(-6000, 5999).Draw(t, "tenths")) / 10
		if rate >= 0 {
			rate += 0.1
		}
		v := metrology.Value{Value: rate, StdUncertainty: 1}
		length := rapid.Float64Range(60, 200).Draw(t, "L")
		index := oscillator.Index{LengthMm: length, PinRadiusMm: 2.5, StepSPerDay: 20}.For(v)
		none(t, "length", after(rate, oscillator.Change{Length: index.AlongMm.Value / length}.RateSPerDay()))
		if (rate > 0) != (index.AlongMm.Value > 0) || (rate > 0) != (index.Way == oscillator.Slower) {
			t.Fatalf("%v s/d: %+v", rate, index)
		}
		same(t, "angle is arc over radius", index.AngleDeg.Value*math.Pi/180*2.5, index.AlongMm.Value)
		same(t, "divisions", index.Divisions.Value, rate/20)

		inertia := rapid.Float64Range(10, 40).Draw(t, "I")
		none(t, "inertia", after(rate, oscillator.Change{Inertia: oscillator.InertiaChange(v).Value}.RateSPerDay()))
		screws := oscillator.TimingScrews{Count: 2 * rapid.IntRange(1, 2).Draw(t, "pairs"), MassMicrogram: 4000, RadiusMm: 4,
			TravelMm: 0.2}
		move, err := screws.For(v, exact(inertia*10))
		if err == nil {
			none(t, "screws", after(rate, screws.RateOfTurns(move.Turns.Value, inertia*10)))
			if (rate > 0) != (move.Turns.Value > 0) {
				t.Fatalf("%v s/d: %+v", rate, move)
			}
		} else if !errors.Is(err, oscillator.ErrScrewsCannot) {
			t.Fatal(err)
		}
		washers := oscillator.Washers{Count: 2, RadiusMm: 4.5}
		mass, err := washers.For(v, exact(inertia))
		if err != nil {
			t.Fatal(err)
		}
		none(t, "washers", after(rate, oscillator.Change{Inertia: math.Copysign(mass.All.Value,
			rate) * 4.5 * 4.5 / 1e5 / inertia}.RateSPerDay()))
	})
}

func none(t *rapid.T, what string, rate float64) {
	if math.Abs(rate) > 1e-6 {
		t.Fatalf("%s leaves %v s/d", what, rate)
	}
}

// TestWasherMovesItsScrew adds up the balance point by point: rim, screws further out by the washer, and washers.
func TestWasherMovesItsScrew(t *testing.T) {
	t.Parallel()
	w := oscillator.Washers{Count: 2, RadiusMm: 4.5, ScrewMassMicrogram: 5000, ThicknessMm: 0.03}
	const rim = 1500.0 // mg·mm², everything but the two screws
	was := rim + 2*5*4.5*4.5
	mass, err := w.For(metrology.Value{Value: 180, StdUncertainty: 2}, metrology.Value{Value: was / 100,
		StdUncertainty: was / 1e4})
	if err != nil {
		t.Fatal(err)
	}
	is := rim + 2*5*4.53*4.53 + mass.All.Value/1000*4.5*4.5
	near(t, "rate left", after(180, 86400*(math.Sqrt(was/is)-1)), 0, 1e-6)
	if mass.Each.Value/1000 >= 0.5*oscillator.InertiaChange(exact(180)).Value*was/20.25 {
		t.Error("the screw's own move is not counted")
	}
	// u(dI)/dI is that of the rate, 2 in 180, with the inertia's, 1 in 100; the washer's mass carries it all.
	dI := oscillator.InertiaChange(exact(180)).Value * was
	near(t, "u", mass.All.StdUncertainty/1000*20.25, dI*math.Hypot(2.0/180, 0.01), 0.002*dI)
	w.ThicknessMm = 0.9
	if _, err := w.For(exact(10), exact(was/100)); !errors.Is(err, oscillator.ErrWasherTooThick) {
		t.Errorf("a washer as thick as the rim: %v", err)
	}
}

func TestRegulatingRefusals(t *testing.T) {
	t.Parallel()
	if oscillator.RateProblem(exact(4000)) == "" || oscillator.RateProblem(exact(math.NaN())) == "" ||
		oscillator.RateProblem(exact(-300)) != "" {
		t.Error("rates")
	}
	good := oscillator.TimingScrews{Count: 2, MassMicrogram: 5000, RadiusMm: 4, TravelMm: 0.2}
	if bad := good.Problems(); len(bad) != 0 {
		t.Error(bad)
	}
	for field, change := range map[string]func(*oscillator.TimingScrews){
		"screw_count":  func(s *oscillator.TimingScrews) { s.Count = 3 },
		"screw_mass":   func(s *oscillator.TimingScrews) { s.MassMicrogram = 0 },
		"screw_radius": func(s *oscillator.TimingScrews) { s.RadiusMm = math.NaN() },
		"screw_travel": func(s *oscillator.TimingScrews) { s.TravelMm = -1 },
	} {
		s := good
		change(&s)
		if bad := s.Problems(); len(bad) != 1 || bad[field] == "" {
			t.Errorf("%s: %v", field, bad)
		}
	}
	if _, err := good.For(exact(30), exact(1)); !errors.Is(err, oscillator.ErrHeavierThanBalance) {
		t.Errorf("screws heavier than the balance: %v", err)
	}
	if _, err := good.For(exact(-3600), exact(1000)); !errors.Is(err, oscillator.ErrScrewsCannot) {
		t.Errorf("screws through the staff: %v", err)
	}
	if bad := (oscillator.Index{LengthMm: 20, PinRadiusMm: 5}).Problems(); bad["hairspring_length"] == "" {
		t.Error("a spring shorter than once round")
	}
	if bad := (oscillator.Index{LengthMm: 2, PinRadiusMm: 0.1, StepSPerDay: -1}).Problems(); len(bad) != 3 {
		t.Error(bad)
	}
	if bad := (oscillator.Washers{Count: 1, RadiusMm: 0, ScrewMassMicrogram: -1,
		ThicknessMm: 3}).Problems(); len(bad) != 4 {
		t.Error(bad)
	}
}

// TestPinningAfterKleinlein: Rules and Practice for Adjusting Watches (1920, public domain), sections 30 to 33, figures
// 9 to 12. The movement is seen from the train side with its pendant, at 12, up.
func TestPinningAfterKleinlein(t *testing.T) {
	t.Parallel()
	for name, tt := range map[string]struct {
		hour      oscillator.Hour // from the train side
		clockwise bool
		fast      oscillator.Hour
	}{
		"figure 9, right of the collet, developing upward":  {3, false, 0},
		"figure 10, left of the collet, developing upward":  {9, true, 0},
		"figure 11, right of the collet, developing down":   {3, true, 6},
		"figure 12, left of the collet, developing down":    {9, false, 6},
		"figure 13, on the vertical line: pendant sideways": {12, false, 3},
	} {
		p := oscillator.PinningFromBalanceSide(tt.hour, tt.clockwise)
		near(t, name, float64(p.FastHour()), float64(tt.fast), 1e-9)
		near(t, name+", opposite", math.Mod(float64(p.SlowHour())+6, 12), float64(tt.fast), 1e-9)
	}
}

func TestPinningMove(t *testing.T) {
	t.Parallel()
	spiral := oscillator.Spiral{InnerRadiusMm: 0.6, OuterRadiusMm: 2.6, Coils: 12}
	rapid.Check(t, func(t *rapid.T) {
		p := oscillator.Pinning{Collet: oscillator.Hour(rapid.Float64Range(0, 11.99).Draw(t, "collet")),
			Clockwise: rapid.Bool().Draw(t, "sense")}
		wanted := oscillator.Hour(rapid.IntRange(0, 11).Draw(t, "wanted"))
		m := p.Towards(wanted, &spiral)
		// Taking that much away moves the collet's end on along the spring.
		sense := 1.0
		if !p.Clockwise {
			sense = -1
		}
		q := oscillator.Pinning{Collet: oscillator.Hour(math.Mod(float64(p.Collet)+12*sense*m.TakeCoils+24, 12)),
			Clockwise: p.Clockwise}
		if off := math.Abs(math.Remainder(float64(q.FastHour()-wanted), 12)); off > 0.02 {
			t.Fatalf("%+v towards %v: %+v leaves the fast hour at %v", p, wanted, m, q.FastHour())
		}
		if m.TakeCoils > 0.01 && !(m.TakeAtCollet.RateSPerDay > 0 && m.TakeOutside.RateSPerDay > m.TakeAtCollet.RateSPerDay) {
			t.Fatalf("%+v: a shorter spring gains, and an outer piece is the longer one", m)
		}
		if m.LetAtCollet != nil && m.LetAtCollet.RateSPerDay >= 0 {
			t.Fatalf("%+v: a longer spring loses", m.LetAtCollet)
		}
	})
	if q, near := oscillator.RoundQuarters(0.26); q != 1 || !near {
		t.Error("a quarter of a coil is one")
	}
	if _, near := oscillator.RoundQuarters(0.125); near {
		t.Error("an eighth is no quarter")
	}
}

// vibration is a trial of a spring of stiffness k at 1 mm on a balance, timed and measured with errors.
func vibration(r *rand.Rand, beats1mm, at, count, uTime, uPlace, offset float64) oscillator.Vibration {
	f := beats1mm / math.Sqrt(at)
	return oscillator.Vibration{
		PinnedMm: metrology.Value{Value: at + offset + r.NormFloat64()*uPlace, StdUncertainty: uPlace},
		Beats:    exact(count),
		Seconds:  metrology.Value{Value: count*3600/f + r.NormFloat64()*uTime, StdUncertainty: uTime},
	}
}

// TestPinForCovers makes thousands of trials with known truth and counts how often the stated range holds it.
func TestPinForCovers(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(11, 7))
	const beats1mm, want, truth = 18000 * 10.488088481701515, 18000.0, 110.0 // 18000 at 110 mm
	inside, total := 0, 4000
	for range total {
		offset := 15 * r.Float64() // the mark from which it is measured does not matter
		a := vibration(r, beats1mm, 100, 300, 0.1, 0.2, offset)
		b := vibration(r, beats1mm, 122, 300, 0.1, 0.2, offset)
		got, err := oscillator.PinFor(want, a, b)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(got.AtMm.Value-truth-offset) <= got.AtMm.Expanded() {
			inside++
		}
		near(t, "zero", got.ZeroMm.Value, offset, 6*got.ZeroMm.StdUncertainty)
		near(t, "active", got.ActiveMm.Value, truth, 6*got.ActiveMm.StdUncertainty)
	}
	share := float64(inside) / float64(total)
	t.Logf("k = 2 holds the truth in %.3f of trials", share)
	near(t, "coverage", share, 0.954, 0.015)
}

func TestPinFor(t *testing.T) {
	t.Parallel()
	trial := func(mm, beats, seconds float64) oscillator.Vibration {
		return oscillator.Vibration{PinnedMm: metrology.Value{Value: mm, StdUncertainty: 0.1}, Beats: exact(beats),
			Seconds: metrology.Value{Value: seconds, StdUncertainty: 0.05}}
	}
	// f ∝ L^(−1/2): 18000 at 100 mm is 36000/√5 at 80 mm and 18000·√(100/125) at 125 mm.
	a, b := trial(80, 300, 60*math.Sqrt(0.8)), trial(125, 300, 60*math.Sqrt(1.25))
	got, err := oscillator.PinFor(18000, a, b)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "place", got.AtMm.Value, 100, 1e-9)
	near(t, "zero", got.ZeroMm.Value, 0, 1e-9)
	near(t, "active", got.ActiveMm.Value, 100, 1e-9)
	near(t, "rate", got.RateUncertaintySPerDay, 43200*got.AtMm.StdUncertainty/100, 1e-9)
	near(t, "between", got.Outside, 0, 0)
	one := oscillator.PinFromOne(18000, a)
	near(t, "from one", one.AtMm.Value, 100, 1e-9)
	swapped, err := oscillator.PinFor(18000, b, a)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "order does not matter", swapped.AtMm.StdUncertainty, got.AtMm.StdUncertainty, 1e-12)
	near(t, "order does not matter", swapped.ActiveMm.StdUncertainty, got.ActiveMm.StdUncertainty, 1e-12)
	if far, err := oscillator.PinFor(14400, a, b); err != nil || far.Outside < 0.5 {
		t.Errorf("beyond the trials: %+v %v", far, err)
	}
	for want, pair := range map[error][2]oscillator.Vibration{
		oscillator.ErrTrialsAlike:  {a, trial(80.1, 300, 53.7)},
		oscillator.ErrTrialsBackTo: {trial(125, 300, 53.7), trial(80, 300, 67.1)},
		oscillator.ErrPinNowhere:   {trial(2, 300, 56), trial(20, 300, 67.1)},
	} {
		f := 18000.0
		if want == oscillator.ErrPinNowhere {
			f = 43000
		}
		if _, err := oscillator.PinFor(f, pair[0], pair[1]); !errors.Is(err, want) {
			t.Errorf("%v: %v", want, err)
		}
	}
	near(t, "strength on a known balance", a.StiffnessOn(exact(30)).Value, oscillator.StiffnessFor(exact(30),
		exact(18000/math.Sqrt(0.8))).Value, 1e-9)
	for field, v := range map[string]oscillator.Vibration{
		"pinned_2": trial(0, 300, 60), "beats_2": trial(80, 5, 60), "seconds_2": trial(80, 300, 0),
	} {
		if bad := v.Problems("2"); bad[field] == "" {
			t.Errorf("%s: %v", field, bad)
		}
	}
	if bad := trial(80, 300, 1e4).Problems("1"); bad["beats_1"] == "" {
		t.Error("108 beats an hour were taken")
	}
	if bad := a.Problems("1"); len(bad) != 0 {
		t.Error(bad)
	}
}
