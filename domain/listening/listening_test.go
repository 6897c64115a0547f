package listening_test

import (
	"errors"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"ledgerwheel/domain/heard"
	"ledgerwheel/domain/listening"
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

func TestCourseThroughSixPositions(t *testing.T) {
	t.Parallel()
	plan := listening.Plan{Positions: listening.Round(timing.SixUp), Through: true, SettleS: 15, MostS: 60}
	if bad := plan.Problems(); len(bad) > 0 {
		t.Fatal(bad)
	}
	c := listening.NewCourse(plan, 100)
	now := 100.0
	var visited []timing.Position
	good := listening.Heard{Watch: true, Standing: heard.Enough, FitUSPerDay: 0.2}
	for number := 1; c.Phase() != listening.Over; number++ {
		if at, of := c.Place(); at != number || of != 6 {
			t.Fatalf("place %d of %d, want %d of 6", at, of, number)
		}
		visited = append(visited, c.Position())
		if step := c.Advance(now+14.9, good); step != listening.Stay || c.Phase() != listening.Settling {
			t.Fatalf("%s is measured while it settles: %s", c.Position(), step)
		}
		now += 15
		if step := c.Advance(now, good); step != listening.Begin {
			t.Fatalf("%s after settling: %s", c.Position(), step)
		}
		if step := c.Advance(now+listening.LeastS-0.1, good); step != listening.Stay {
			t.Fatalf("%s is done after less than the least", c.Position())
		}
		// Even positions are decided, odd ones run out of time.
		listened, h := float64(listening.LeastS), good
		if number%2 == 1 {
			listened, h = 60, listening.Heard{Watch: true, Standing: heard.KeepListening, FitUSPerDay: 3}
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
	if step := c.Advance(now+1, good); step != listening.Stay {
		t.Errorf("after the end: %s", step)
	}
}

func TestCourseOfOnePositionGoesOn(t *testing.T) {
	t.Parallel()
	c := listening.NewCourse(listening.Plan{Positions: []timing.Position{timing.DialUp}, MostS: 60}, 0)
	if c.Phase() != listening.Measuring {
		t.Fatal("nothing to settle, and it is not measured")
	}
	h := listening.Heard{Watch: true, Standing: heard.Enough, FitUSPerDay: 0.2}
	for s := 1.0; s < 600; s++ {
		if step := c.Advance(s, h); step != listening.Stay {
			t.Fatalf("after %v s: %s", s, step)
		}
		if want := s >= listening.LeastS; (c.Phase() == listening.Decided) != want {
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

// What counts as good enough follows the judgement; without limits, the uncertainty of the fit.
func TestEnough(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		h    listening.Heard
		want float64
	}{
		{listening.Heard{}, 0},
		{listening.Heard{Watch: true, Standing: heard.Enough, FitUSPerDay: 2}, 1},
		{listening.Heard{Watch: true, Standing: heard.Barred, FitUSPerDay: 2}, 1},
		{listening.Heard{Watch: true, Standing: heard.NothingToJudge, FitUSPerDay: 0.5}, 1},
		{listening.Heard{Watch: true, Standing: heard.NothingToJudge, FitUSPerDay: 1}, 0.5},
		{listening.Heard{Watch: true, Standing: heard.KeepListening, FitUSPerDay: 0.1}, 0.95},
	} {
		if got := tt.h.Settled(60); got != tt.want {
			t.Errorf("%+v is settled by %v, want %v", tt.h, got, tt.want)
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
	} {
		if bad := tt.plan.Problems(); len(bad) != 1 || bad[tt.field] == "" {
			t.Errorf("%+v: %v, want a problem of %q", tt.plan, bad, tt.field)
		}
	}
}
