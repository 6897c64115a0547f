package train_test

import (
	"errors"
	"fmt"
	"math"
	"math/big"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"ledgerwheel/domain/train"
)

func counted(of train.Counted, arbor int, number, within, seconds, withinS, rate int64) train.Count {
	r := func(n int64) *big.Rat { return big.NewRat(n, 1) }
	return train.Count{Of: of, Arbor: arbor, Number: r(number), Within: r(within), Seconds: r(seconds),
		WithinS: r(withinS), RateSPerDay: r(rate)}
}

// Worked by hand: 300 ticks in 60 s are 18000 an hour; the limits follow from 299 in 61 s and 301 in 59 s.
func TestCountOfTicks(t *testing.T) {
	t.Parallel()
	found, err := counted(train.CountTicks, 0, 300, 1, 60, 1, 0).Solve(train.Train{})
	if err != nil {
		t.Fatal(err)
	}
	is(t, "beats", found.BeatsPerHour, 18000, 1)
	is(t, "low", found.Low, 299*3600, 61)
	is(t, "high", found.High, 301*3600, 59)
	// u = 18000/√3 · √((1/300)² + (1/60)²)
	if want := 18000 / math.Sqrt(3) * math.Sqrt(1/90000.0+1/3600.0); math.Abs(found.StandardBeatsPerHour-want) > 1e-9 {
		t.Errorf("u %v, want %v", found.StandardBeatsPerHour, want)
	}
	if !slices.Equal(found.Allowed, []int{18000}) {
		t.Errorf("allowed %v", found.Allowed)
	}
}

func TestWhatACountAllows(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		name string
		c    train.Count
		want []int
	}{
		{"ten seconds by ear", counted(train.CountTicks, 0, 50, 2, 10, 1, 300), []int{16200, 18000, 19800}},
		{"a minute", counted(train.CountTicks, 0, 330, 2, 60, 1, 300), []int{19800}},
		{"no usual beat", counted(train.CountTicks, 0, 1700, 1, 360, 0, 0), nil},
		{"exactly at its edge", counted(train.CountTicks, 0, 299, 1, 60, 0, 0), []int{18000}},
		{"off rate, not allowed for", counted(train.CountTicks, 0, 18200, 1, 3600, 0, 0), nil},
		{"off rate, allowed for", counted(train.CountTicks, 0, 18200, 1, 3600, 0, 1000), []int{18000}},
	} {
		found, err := tt.c.Solve(train.Train{})
		if err != nil || !slices.Equal(found.Allowed, tt.want) {
			t.Errorf("%s: %v, want %v (%v)", tt.name, found.Allowed, tt.want, err)
		}
	}
}

// A wheel's turns and the teeth that pass give the beat of their own train, whatever it is and wherever they are
// counted.
func TestCountingAnyWheelGivesTheTrainsBeat(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(rt *rapid.T) {
		tr := anyTrain(rt)
		arbors := tr.Arbors()
		a := arbors[rapid.IntRange(0, len(arbors)-1).Draw(rt, "arbor")]
		hours := rapid.Int64Range(1, 48).Draw(rt, "hours")
		c := counted(train.CountTurns, a.Number, 1, 0, 3600*hours, 0, 0)
		c.Number = new(big.Rat).Mul(a.TurnsPerHour, big.NewRat(hours, 1))
		turns, err := c.Solve(tr)
		if err != nil || turns.BeatsPerHour.Cmp(tr.Beats()) != 0 {
			rt.Fatalf("turns of %s: %v %v", a.Name, turns.BeatsPerHour, err)
		}
		c.Of, c.Number = train.CountTeeth, new(big.Rat).Mul(c.Number, big.NewRat(int64(a.Wheel), 1))
		teeth, err := c.Solve(tr)
		if err != nil || teeth.BeatsPerHour.Cmp(tr.Beats()) != 0 {
			rt.Fatalf("teeth of %s: %v %v", a.Name, teeth.BeatsPerHour, err)
		}
	})
}

func TestCountRefuses(t *testing.T) {
	t.Parallel()
	usual := counted(train.CountTurns, 9, 10, 1, 60, 1, 0)
	if _, err := usual.Solve(mustParse(t, "80:10,75:10,80:8,15")); !errors.Is(err, train.ErrNoArbor) {
		t.Errorf("ninth arbor: %v", err)
	}
	if bad := usual.Problems(); len(bad) > 0 {
		t.Errorf("%v", bad)
	}
	for i, tt := range []struct {
		c     train.Count
		field string
	}{
		{counted(train.CountTicks, 0, 0, 0, 60, 0, 0), "number"},
		{counted(train.CountTicks, 0, 10, 10, 60, 0, 0), "within"},
		{counted(train.CountTicks, 0, 10, -1, 60, 0, 0), "within"},
		{counted(train.CountTicks, 0, 10, 1, -60, 0, 0), "seconds"},
		{counted(train.CountTicks, 0, 10, 1, 60, 60, 0), "within_s"},
		{counted(train.CountTicks, 0, 10, 1, 60, -1, 0), "within_s"},
		{counted(train.CountTicks, 0, 10, 1, 60, 1, -1), "rate"},
		{counted(train.CountTicks, 0, 10, 1, 60, 1, 8641), "rate"},
	} {
		if bad := tt.c.Problems(); len(bad) != 1 || bad[tt.field] == "" {
			t.Errorf("%d: %v, want %s", i, bad, tt.field)
		}
	}
	if bad := (train.Count{}).Problems(); len(bad) != 5 {
		t.Errorf("nothing given: %v", bad)
	}
	if _, ok := mustParse(t, "80:10,15").MinutesOfTeeth(9, 1); ok {
		t.Error("teeth of a ninth arbor")
	}
	if got := fmt.Sprint(train.SubSeconds, train.CentreIndirect); got != "sub-seconds centre-seconds, indirect" {
		t.Error(got)
	}
}
