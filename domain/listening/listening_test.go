package listening_test

import (
	"errors"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"ledgerwheel/domain/acoustic"
	"ledgerwheel/domain/heard"
	"ledgerwheel/domain/listening"
	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/timing"
)

var noon = time.Date(2026, 11, 24, 12, 0, 0, 0, time.UTC)

const rateHz = 48000

// Whatever way the line breaks and samples come again, each sample is taken once, in order, or counted as lost.
func TestIntakeLosesNoCount(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		in := listening.NewIntake(rateHz, noon)
		taken, lost := int64(0), int64(0)
		for range rapid.IntRange(1, 40).Draw(t, "messages") {
			first := max(0, in.Next()+rapid.Int64Range(-9000, 9000).Draw(t, "off"))
			n := rapid.IntRange(0, 8192).Draw(t, "samples")
			before := in.Next()
			skip, gap, err := in.Take(first, n)
			if err != nil {
				t.Fatal(err)
			}
			taken, lost = taken+int64(n-skip), lost+gap
			if gap > 0 && skip > 0 || skip > n {
				t.Fatalf("at %d of %d: skip %d and gap %d", first, before, skip, gap)
			}
			if in.Next() < before || in.Next() != taken+lost || in.Lost() != lost {
				t.Fatalf("next %d after %d taken and %d lost", in.Next(), taken, lost)
			}
		}
	})
}

func TestIntakeRefuses(t *testing.T) {
	t.Parallel()
	in := listening.NewIntake(rateHz, noon)
	for _, tt := range []struct {
		first int64
		n     int
		want  error
	}{
		{listening.MostGapS*rateHz + 1, 1, listening.ErrGap},
		{1 << 60, 1, listening.ErrLong},
		{-1, 1, listening.ErrLong},
		{listening.MostSessionS*rateHz - 1, 2, listening.ErrLong},
	} {
		if _, _, err := in.Take(tt.first, tt.n); !errors.Is(err, tt.want) || in.Next() != 0 {
			t.Errorf("%d samples from %d: %v, next %d; want %v and nothing taken", tt.n, tt.first, err, in.Next(), tt.want)
		}
	}
}

// Over any length of time no more sound is taken than what may come at once and four times real time.
func TestIntakeBoundsSpeed(t *testing.T) {
	t.Parallel()
	in := listening.NewIntake(rateHz, noon)
	now, taken := noon, int64(0)
	for now.Sub(noon) < 100*time.Second {
		taken += 8192
		now = now.Add(in.Wait(8192, now))
		if wait := in.Wait(0, now); wait > time.Millisecond {
			t.Fatalf("after waiting as told there is %s more to wait", wait)
		}
	}
	most := int64(rateHz*(listening.MostCatchUpS+listening.MostSpeed*100)) + 8192
	if taken > most || taken < most*95/100 {
		t.Errorf("%d samples in 100 s, want about %d", taken, most)
	}
	if wait := in.Wait(8192, now.Add(time.Hour)); wait != 0 {
		t.Errorf("after an hour's silence there is %s to wait", wait)
	}
}

// good is a watch heard for some seconds, its figures good enough; its escape wheel turns once in six seconds.
func good(spanS float64) listening.Heard {
	return listening.Heard{Watch: true, Standing: heard.Enough, FitUSPerDay: 0.2, SpanS: spanS, TurnS: 6}
}

func TestCourseThroughSixPositions(t *testing.T) {
	t.Parallel()
	plan := listening.Plan{Positions: listening.Round(timing.SixUp), Through: true, SettleS: 15, MostS: 60}
	if bad := plan.Problems(); len(bad) > 0 {
		t.Fatal(bad)
	}
	c := listening.NewCourse(plan, 100)
	now := 100.0
	var visited []timing.Position
	for number := 1; c.Phase() != listening.Over; number++ {
		if at, of := c.Place(); at != number || of != 6 {
			t.Fatalf("place %d of %d, want %d of 6", at, of, number)
		}
		visited = append(visited, c.Position())
		if step := c.Advance(now+14.9, good(30)); step != listening.Stay || c.Phase() != listening.Settling {
			t.Fatalf("%s is measured while it settles: %s", c.Position(), step)
		}
		now += 15
		if step := c.Advance(now, good(30)); step != listening.Begin {
			t.Fatalf("%s after settling: %s", c.Position(), step)
		}
		if step := c.Advance(now+29.9, good(29.9)); step != listening.Stay {
			t.Fatalf("%s is done after less than the least", c.Position())
		}
		// Even positions are decided, odd ones run out of time.
		listened, h := 30.0, good(30)
		if number%2 == 1 {
			listened, h = 60, listening.Heard{Watch: true, Standing: heard.KeepListening, FitUSPerDay: 3, SpanS: 60}
			if step := c.Advance(now+59.9, h); step != listening.Stay {
				t.Fatalf("%s is left before its time is up", c.Position())
			}
		}
		now += listened
		want := listening.Next
		if number == 6 {
			want = listening.End
		}
		if step := c.Advance(now, h); step != want {
			t.Fatalf("%s: %q, want %q", c.Position(), step, want)
		}
	}
	if want := listening.Round(timing.SixUp); !slices.Equal(visited, want) || len(visited) != 6 {
		t.Errorf("visited %v, want %v", visited, want)
	}
	if step := c.Advance(now+1, good(60)); step != listening.Stay {
		t.Errorf("after the end: %s", step)
	}
}

func TestCourseOfOnePositionGoesOn(t *testing.T) {
	t.Parallel()
	c := listening.NewCourse(listening.Plan{Positions: []timing.Position{timing.DialUp}, MostS: 60}, 0)
	if c.Phase() != listening.Measuring {
		t.Fatal("nothing to settle, and it is not measured")
	}
	const lateS = 3 // the watch is heard from then on
	for s := 1.0; s < 600; s++ {
		if step := c.Advance(s, good(s-lateS)); step != listening.Stay {
			t.Fatalf("after %v s: %s", s, step)
		}
		if want := s-lateS >= listening.DefaultLeastS; (c.Phase() == listening.Decided) != want {
			t.Fatalf("after %v s: %s", s, c.Phase())
		}
	}
	if c.Advance(601, listening.Heard{}); c.Phase() != listening.Measuring {
		t.Error("a watch no longer heard is still decided")
	}
	if step := c.Skip(602); step != listening.End || c.Phase() != listening.Over {
		t.Errorf("left: %s, %s", step, c.Phase())
	}
}

// A position is decided by thirty seconds of the watch in whole turns of the escape wheel, never on fewer and never past
// a doubt, unless a person asks for other seconds.
func TestDecided(t *testing.T) {
	t.Parallel()
	h := func(change func(*listening.Heard)) listening.Heard {
		all := listening.Heard{Watch: true, Standing: heard.Enough, FitUSPerDay: 0.2, SpanS: 30, TurnS: 6}
		change(&all)
		return all
	}
	for _, tt := range []struct {
		name   string
		h      listening.Heard
		leastS float64
		want   bool
	}{
		{"thirty seconds", h(func(*listening.Heard) {}), 30, true},
		{"three seconds", h(func(h *listening.Heard) { h.SpanS = 3 }), 30, false},
		{"not quite the last turn", h(func(h *listening.Heard) { h.TurnS = 5.4545 }), 30, false},
		{"the last turn too", h(func(h *listening.Heard) { h.TurnS, h.SpanS = 5.4545, 32.8 }), 30, true},
		{"a turn not known", h(func(h *listening.Heard) { h.TurnS = 0 }), 30, true},
		{"in doubt", h(func(h *listening.Heard) { h.Doubt, h.SpanS = "A second watch is in the room.", 600 }), 30, false},
		{"not enough yet", h(func(h *listening.Heard) { h.Standing = heard.KeepListening }), 30, false},
		{"barred", h(func(h *listening.Heard) { h.Standing = heard.Barred }), 30, true},
		{"nothing to judge, well fitted", h(func(h *listening.Heard) { h.Standing, h.FitUSPerDay = heard.NothingToJudge, 0.5 }), 30,
			true},
		{"nothing to judge, poorly fitted", h(func(h *listening.Heard) { h.Standing, h.FitUSPerDay = heard.NothingToJudge, 0.6 }),
			30, false},
		{"no watch", h(func(h *listening.Heard) { h.Watch = false }), 30, false},
		{"a person asks for less", h(func(h *listening.Heard) { h.SpanS = 12 }), 10, true},
		{"a person asks for more", h(func(*listening.Heard) {}), 60, false},
	} {
		if got := tt.h.Decided(tt.leastS); got != tt.want {
			t.Errorf("%s: decided %v", tt.name, got)
		}
		if share := tt.h.Settled(tt.leastS); (share == 1) != tt.want || share < 0 || share > 1 {
			t.Errorf("%s: settled by %v", tt.name, share)
		}
		open := tt.h.Open(tt.leastS)
		settles := tt.h.Watch && (tt.h.Standing == heard.Enough || tt.h.Standing == heard.Barred ||
			tt.h.Standing == heard.NothingToJudge && tt.h.FitUSPerDay <= 0.5)
		if want := settles && !tt.want; (open != "") != want {
			t.Errorf("%s: %q keeps it open", tt.name, open)
		}
		if tt.h.Doubt != "" && !strings.Contains(open, tt.h.Doubt) {
			t.Errorf("%s: the doubt is not said: %q", tt.name, open)
		}
	}
}

// Every note that the listener can make either doubts the sound or does not, and which is said here once more.
func TestDoubt(t *testing.T) {
	t.Parallel()
	doubts := map[acoustic.NoteCode]bool{
		acoustic.NoteWeak: true, acoustic.NoteClipped: true, acoustic.NoteKnocks: true, acoustic.NoteSecondWatch: true,
		acoustic.NoteStops: true, acoustic.NoteMissed: true, acoustic.NoteShort: true, acoustic.NoteOddBeat: true,
		acoustic.NoteSilence: true, acoustic.NoteLoop: true, acoustic.NoteHum: false, acoustic.NoteQuartz: false, acoustic.NoteNoUnlocking: false,
		acoustic.NoteDrift: false}
	for code, want := range doubts {
		got := listening.Doubt([]acoustic.Note{{Code: acoustic.NoteHum, Text: "Hum."}, {Code: code, Text: "So."}})
		if (got == "So.") != want {
			t.Errorf("%s: %q", code, got)
		}
	}
}

// sounding is a result of some seconds of a watch of 18 000 beats, whose wheel of fifteen turns once in six seconds.
func sounding(seconds, rateU, amplitudeU, beatErrorU float64) acoustic.Result {
	amplitude := metrology.Value{Value: 270, StdUncertainty: amplitudeU / 2}
	return acoustic.Result{BeatsPerHour: 18000, StartS: 1, EndS: 1 + seconds - 0.2, RateFitStdSPerDay: rateU / 2,
		Rate: metrology.Value{Value: 3, StdUncertainty: 40}, Amplitude: &amplitude,
		BeatError: &metrology.Value{StdUncertainty: beatErrorU / 2}}
}

// No figure is shown before it means something.
func TestSays(t *testing.T) {
	t.Parallel()
	all := listening.Says{Rate: true, Amplitude: true, BeatError: true}
	deaf := sounding(30, 1, 1, 0.1)
	deaf.Amplitude = nil
	for _, tt := range []struct {
		name string
		r    acoustic.Result
		want listening.Says
	}{
		{"half a minute", sounding(30, 1, 1, 0.1), all},
		{"one turn, to the bounds", sounding(6.001, 10, 15, 0.5), all},
		{"less than a turn", sounding(5.9, 1, 1, 0.1), listening.Says{}},
		{"a beat error of 0 ± 3100 ms", sounding(7, 1, 1, 3100), listening.Says{Rate: true, Amplitude: true}},
		{"a rate that says nothing", sounding(7, 11, 1, 0.1), listening.Says{Amplitude: true, BeatError: true}},
		{"an amplitude that says nothing", sounding(7, 1, 16, 0.1), listening.Says{Rate: true, BeatError: true}},
		{"no unlocking", deaf, listening.Says{Rate: true, BeatError: true}},
		{"an uncertainty that is no number", sounding(7, math.NaN(), math.NaN(), math.NaN()), listening.Says{}},
	} {
		if got := listening.SaysOf(tt.r, 15); got != tt.want {
			t.Errorf("%s: %+v, want %+v", tt.name, got, tt.want)
		}
	}
}

func TestWheelOf(t *testing.T) {
	t.Parallel()
	pattern := &acoustic.WheelPattern{Teeth: 20}
	for _, tt := range []struct {
		calibre int
		heard   *acoustic.WheelPattern
		want    listening.Wheel
		says    string
	}{
		{15, pattern, listening.Wheel{Teeth: 15, From: listening.WheelOfCalibre}, "by the calibre"},
		{0, pattern, listening.Wheel{Teeth: 20, From: listening.WheelHeard}, "by the pattern heard"},
		{0, nil, listening.Wheel{Teeth: 15, From: listening.WheelAssumed}, "assumed"},
	} {
		got := listening.WheelOf(tt.calibre, tt.heard)
		if got != tt.want || !strings.HasSuffix(got.Text(), tt.says) {
			t.Errorf("%+v, %q", got, got.Text())
		}
	}
}

func TestPlanProblems(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		field string
		plan  listening.Plan
	}{
		{"position", listening.Plan{Positions: []timing.Position{"4H"}, MostS: 60}},
		{"position", listening.Plan{MostS: 60}},
		{"settle", listening.Plan{Positions: []timing.Position{"CH"}, SettleS: -1, MostS: 60}},
		{"settle", listening.Plan{Positions: listening.Round("CH"), Through: true, SettleS: 2, MostS: 60}},
		{"most", listening.Plan{Positions: []timing.Position{"CH"}, MostS: 9}},
		{"least", listening.Plan{Positions: []timing.Position{"CH"}, MostS: 60, LeastS: 4}},
		{"least", listening.Plan{Positions: listening.Round("CH"), Through: true, SettleS: 3, MostS: 20}},
	} {
		if bad := tt.plan.Problems(); len(bad) != 1 || bad[tt.field] == "" {
			t.Errorf("%+v: %v, want a problem of %q", tt.plan, bad, tt.field)
		}
	}
}
