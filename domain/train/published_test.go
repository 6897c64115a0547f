package train_test

import (
	"math"
	"math/big"
	"strings"
	"testing"

	"ledgerwheel/domain/published"
	"ledgerwheel/domain/train"
)

// TestPublishedRows holds the package to the check values of wheel trains and motion work. What their sources say is in
// the rows' notes: TR-PUB-5's prints 3600 where its own product gives 7200, which is what the row expects.
func TestPublishedRows(t *testing.T) {
	t.Parallel()
	published.Hold(t, "testdata/check-trains.json", map[string]published.Check{
		"TR-PUB-[1235]": checkTrain, "TR-D-*": checkTrain, "TR-PUB-6": checkTimeOfTeeth, "TR-MISS-[13]": checkMissing,
		"TR-MISS-4": checkNoWholeCount, "MW-*": checkMotionWork,
	}, nil)
}

func checkTrain(t published.T, row published.Row) {
	var in struct {
		W3     []int `json:"wheels_centre_third_fourth"`
		W2     []int `json:"wheels_centre_third"`
		W      []int `json:"wheels"`
		P3     []int `json:"pinions_third_fourth_escape"`
		P2     []int `json:"pinions_third_escape"`
		P      []int `json:"pinions"`
		Escape int   `json:"escape_teeth"`
	}
	var want struct {
		VPH       float64 `json:"vph"`
		Beats     float64 `json:"beats_per_hour"`
		PerSecond float64 `json:"per_second"`
		Hz        float64
		Fourth    float64 `json:"fourth_wheel_rev_per_h"`
	}
	row.Read(t, &in, &want)
	wheels, pinions := append(append(in.W3, in.W2...), in.W...), append(append(in.P3, in.P2...), in.P...)
	tr := train.Train{EscapeTeeth: in.Escape}
	for i := range wheels {
		tr.Stages = append(tr.Stages, train.Stage{Wheel: wheels[i], Pinion: pinions[i]})
	}
	if bad := tr.Problems(); len(bad) > 0 {
		t.Errorf("%v", bad)
	}
	exactly := func(what string, got *big.Rat, want float64) {
		if want != 0 && got.Cmp(new(big.Rat).SetFloat64(want)) != 0 { // halves and quarters: floats hold them exactly
			t.Errorf("%s %v, want %v", what, got, want)
		}
	}
	exactly("beats", tr.Beats(), want.VPH+want.Beats)
	exactly("hertz", tr.Hertz(), want.Hz)
	exactly("beats per second", new(big.Rat).Quo(tr.Beats(), big.NewRat(3600, 1)), want.PerSecond)
	if want.Fourth != 0 {
		exactly("fourth", tr.Arbors()[2].TurnsPerHour, want.Fourth)
		warned := strings.Contains(strings.Join(tr.Remarks(), " "), "can’t carry a seconds hand")
		if warned != (want.Fourth != 60) {
			t.Errorf("remarks %v", tr.Remarks())
		}
	}
}

// The note of TR-PUB-2: read with wheel and pinion of one arbor as if they meshed, the counts of the answer give
// nonsense, and the remarks say so.
func TestMispairedCountsAreRemarkedOn(t *testing.T) {
	t.Parallel()
	says := strings.Join(mustParse(t, "80:12,60:10,60:8,15").Remarks(), " ")
	if !strings.Contains(says, "9000 beats per hour is none of the usual") ||
		!strings.Contains(says, "turns 40 times an hour") {
		t.Error(says)
	}
}

func checkTimeOfTeeth(t published.T, row published.Row) {
	var in struct {
		Centre int `json:"centre_teeth"`
		Teeth  int `json:"tooth_count"`
	}
	var want struct{ Minutes float64 }
	row.Read(t, &in, &want)
	tr := train.Train{Stages: []train.Stage{{Wheel: in.Centre, Pinion: 7}}, EscapeTeeth: 15}
	minutes, ok := tr.MinutesOfTeeth(2, in.Teeth)
	if got, _ := minutes.Float64(); !ok || math.Abs(got-want.Minutes) > 0.000001 { // the row prints six places
		t.Errorf("%v, want %v", got, want.Minutes)
	}
}

// missingCount: the beat is in proportion to each wheel, so that a count of 1 in its place gives the exact answer. (The
// search among practical counts is tested with the search.)
func missingCount(t published.T, notation string, vph int64) *big.Rat {
	return new(big.Rat).Quo(big.NewRat(vph, 1), mustParse(t, notation).Beats())
}

func checkMissing(t published.T, row published.Row) {
	var want int64
	row.Read(t, nil, &want)
	got := map[string]*big.Rat{
		"TR-MISS-1": missingCount(t, "64:8,60:8,1:6,15", 18000), "TR-MISS-3": missingCount(t, "80:10,75:10,84:7,1", 28800),
	}[row.ID]
	is(t, "count", got, want, 1)
}

func checkNoWholeCount(t published.T, row published.Row) {
	var want struct {
		Value   float64
		Integer bool
	}
	row.Read(t, nil, &want)
	got := missingCount(t, "64:8,61:8,1:7,15", 18000)
	if f, _ := got.Float64(); math.Abs(f-want.Value) > 0.0001 || got.IsInt() != want.Integer { // the row's tolerance
		t.Errorf("%v, want %+v", got, want)
	}
}

// checkMotionWork: MW-BAD's source asks with 42 teeth and works with 48; the row expects the answer for 42.
func checkMotionWork(t published.T, row published.Row) {
	of := map[string]struct {
		notation string
		field    string // missing; "" none
	}{
		"MW-1": {"?:48,12:36", "cannon"}, "MW-3": {"12:36,10:40", ""}, "MW-4": {"10:30,8:32", ""}, "MW-6": {"11:33,9:36", ""},
		"MW-BAD": {"16:42,?:64", "minute_pinion"},
	}[row.ID]
	m := parseMotion(t, of.notation)
	want := map[string]float64{"ratio": 12}
	row.Read(t, nil, &want)
	if of.field != "" {
		field, exact, ok := m.Missing(12)
		if !ok || field != of.field || !exact.IsInt() {
			t.Fatalf("%s %v %t", field, exact, ok)
		}
		is(t, "missing", exact, int64(want[of.field]), 1)
		m = m.With(field, int(exact.Num().Int64()))
	}
	ratio, ok := m.Ratio()
	if !ok || m.DialHours() != 12 {
		t.Errorf("%v", ratio)
	}
	is(t, "ratio", ratio, int64(want["ratio"]), 1)
}

// The working of MW-BAD's source, with 48 teeth.
func TestMotionWorkAsItsSourceWorksIt(t *testing.T) {
	t.Parallel()
	_, exact, _ := parseMotion(t, "16:48,?:64").Missing(12)
	is(t, "MW-BAD as worked", exact, 16, 1)
}
