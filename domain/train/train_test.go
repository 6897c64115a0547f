package train_test

import (
	"fmt"
	"math/big"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"ledgerwheel/domain/published"
	"ledgerwheel/domain/train"
)

func mustParse(t published.T, notation string) train.Train {
	t.Helper()
	tr, err := train.Parse(notation)
	if err != nil {
		t.Fatalf("%s: %v", notation, err)
	}
	return tr
}

func is(t published.T, what string, got *big.Rat, num, den int64) {
	t.Helper()
	if got == nil || got.Cmp(big.NewRat(num, den)) != 0 {
		t.Errorf("%s: %v, want %v", what, got, big.NewRat(num, den))
	}
}

// The train of the notation's own explanation, by hand: 80/10 · 75/10 · 80/8 = 600 turns of the escape wheel an hour.
func TestArborsOfTheUsualTrain(t *testing.T) {
	t.Parallel()
	tr := mustParse(t, "80:10,75:10,80:8,15")
	want := []train.Arbor{
		{Number: 2, Name: "centre", Wheel: 80, TurnsPerHour: big.NewRat(1, 1), Clockwise: true},
		{Number: 3, Name: "third", Wheel: 75, Pinion: 10, TurnsPerHour: big.NewRat(8, 1)},
		{Number: 4, Name: "fourth", Wheel: 80, Pinion: 10, TurnsPerHour: big.NewRat(60, 1), Clockwise: true},
		{Number: 5, Name: "escape", Wheel: 15, Pinion: 8, TurnsPerHour: big.NewRat(600, 1)},
	}
	for i, got := range tr.Arbors() {
		if fmt.Sprint(got) != fmt.Sprint(want[i]) {
			t.Errorf("got %v, want %v", got, want[i])
		}
	}
	is(t, "beats", tr.Beats(), 18000, 1)
	is(t, "hertz", tr.Hertz(), 5, 2)
	is(t, "period of the centre wheel", tr.Arbors()[0].PeriodS(), 3600, 1)
	hand, ok := tr.SecondsHand()
	if !ok || !hand.Clockwise || hand.On != "fourth arbor" {
		t.Errorf("seconds hand %+v", hand)
	}
	is(t, "period of the seconds hand", hand.PeriodS(), 60, 1)
	for graduations, ticks := range map[int]*big.Rat{60: big.NewRat(5, 1), 300: big.NewRat(1, 1), 240: big.NewRat(5, 4)} {
		got, _ := tr.TicksPerGraduation(graduations)
		is(t, fmt.Sprintf("ticks in one of %d", graduations), got, ticks.Num().Int64(), ticks.Denom().Int64())
	}
	if _, ok := tr.TicksPerGraduation(0); ok {
		t.Error("a track of no graduations")
	}
	if bad, says := tr.Problems(), tr.Remarks(); len(bad)+len(says) > 0 {
		t.Errorf("problems %v, remarks %v", bad, says)
	}
}

func TestLayouts(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		name, notation, on string
		clockwise          bool
		turns              *big.Rat // of the seconds hand an hour; nil: none
		beats, second      *big.Rat
	}{
		{"sub-seconds", "80:10,75:10,80:8,15", "fourth arbor", true, big.NewRat(60, 1), big.NewRat(18000, 1),
			big.NewRat(1, 1)},
		{"direct", "80:10,75:10,84:7,20 seconds=centre", "fourth arbor", true, big.NewRat(60, 1), big.NewRat(28800, 1),
			big.NewRat(1, 1)},
		// The wheel beside the third has its count, the seconds pinion the fourth's: the hand keeps with the fourth.
		{"indirect", "80:10,75:10,80:8,15 seconds=3/75:10", "seconds pinion of 10, driven from the third arbor", true,
			big.NewRat(60, 1), big.NewRat(18000, 1), big.NewRat(1, 1)},
		{"indirect from the fourth without an intermediate wheel", "80:10,75:10,80:8,15 seconds=4/30:30",
			"seconds pinion of 30, driven from the fourth arbor", false, big.NewRat(60, 1), big.NewRat(18000, 1),
			big.NewRat(1, 1)},
		{"indirect from the fourth with one", "80:10,75:10,80:8,15 seconds=4/30:41:30",
			"seconds pinion of 30, driven from the fourth arbor", true, big.NewRat(60, 1), big.NewRat(18000, 1),
			big.NewRat(1, 1)},
		{"none", "72:8,72:9,50:6,15 seconds=none", "", false, nil, big.NewRat(18000, 1), big.NewRat(1, 1)},
		// Off-centre: 12/60 of a turn of the third an hour, so 12/60 · 10/80 = 1/40 of the second; the rest follows.
		{"off-centre minute", "80:10,75:10,80:8,15 minute=3/60:12", "fourth arbor", true,
			big.NewRat(3, 2), big.NewRat(450, 1), big.NewRat(1, 40)},
		{"off-centre minute, second wheel once an hour", "80:10,75:10,80:8,15 seconds=centre minute=2/12:36:12",
			"fourth arbor", true,
			big.NewRat(60, 1), big.NewRat(18000, 1), big.NewRat(1, 1)},
		{"without an intermediate wheel all goes the other way", "80:10,75:10,80:8,15 minute=2/12:12", "fourth arbor", false,
			big.NewRat(60, 1), big.NewRat(18000, 1), big.NewRat(1, 1)},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			tr := mustParse(t, tt.notation)
			if got := tr.String(); got != tt.notation {
				t.Errorf("written %s, want %s", got, tt.notation)
			}
			if got := tr.Beats(); got.Cmp(tt.beats) != 0 {
				t.Errorf("beats %v, want %v", got, tt.beats)
			}
			if got := tr.Arbors()[0].TurnsPerHour; got.Cmp(tt.second) != 0 {
				t.Errorf("second arbor %v, want %v", got, tt.second)
			}
			hand, ok := tr.SecondsHand()
			if ok != (tt.turns != nil) || hand.On != tt.on || hand.Clockwise != tt.clockwise {
				t.Errorf("hand %+v, %t", hand, ok)
			}
			if ok && hand.TurnsPerHour.Cmp(tt.turns) != 0 {
				t.Errorf("turns %v, want %v", hand.TurnsPerHour, tt.turns)
			}
			if h := tr.MinuteHand(); !h.Clockwise || h.TurnsPerHour.Cmp(big.NewRat(1, 1)) != 0 || h.On == "" {
				t.Errorf("minute hand %+v", h)
			}
			backwards := strings.Contains(strings.Join(tr.Remarks(), " "), "backwards")
			if backwards != (ok && !tt.clockwise) {
				t.Errorf("remarks %v", tr.Remarks())
			}
		})
	}
}

func TestEveryEscapeWheelOfAWatch(t *testing.T) {
	t.Parallel()
	for teeth := train.UsualLeastEscapeTeeth; teeth <= train.UsualMostEscapeTeeth; teeth++ {
		tr := mustParse(t, fmt.Sprintf("80:10,75:10,80:8,%d", teeth))
		is(t, fmt.Sprint(teeth), tr.Beats(), int64(1200*teeth), 1)
		if bad := tr.Problems(); len(bad) > 0 {
			t.Errorf("%d: %v", teeth, bad)
		}
		if s := strings.Join(tr.Remarks(), " "); strings.Contains(s, "escape") {
			t.Errorf("%d: %s", teeth, s)
		}
	}
	if s := strings.Join(mustParse(t, "80:10,75:10,80:8,30").Remarks(), " "); !strings.Contains(s,
		"An escape wheel of 30 is no watch’s") {
		t.Errorf("30: %s", s)
	}
}

func TestParseRefuses(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct{ notation, field, says string }{
		{"", "train", "Write the train as"},
		{"15", "escape", "End with the teeth of the escape wheel"},
		{"80:10,75:10", "escape", "End with the teeth"},
		{"80:10,75:10,80:8,", "escape", "Give the count of the escape wheel"},
		{"80:10,75,80:8,15", "pinion_2", "Mesh 2 lacks its pinion"},
		{"80:10,0:10,80:8,15", "wheel_2", "no count of 0"},
		{"80:10,75:-10,80:8,15", "pinion_2", "not negative"},
		{"80:10,75:−10,80:8,15", "pinion_2", "not negative"},
		{"80:10,75.5:10,80:8,15", "wheel_2", "Teeth are whole, 75.5 is not"},
		{"80:10,75:ten,80:8,15", "pinion_2", `"ten" is not a number`},
		{"80:10,75:10,80:8,15.5", "escape", "Teeth are whole"},
		{"80:10,75:10,80:8,1e1", "escape", "is not a number"},
		{"80:10,75:10,80:8,99999999999999999999", "escape", "no count of teeth"},
		{"80:10,75:10,80:8,100000", "escape", "no count of teeth"},
		{"80:10,75:10,80:8,15 seconds=third", "seconds", "Write the seconds hand’s drive as"},
		{"80:10,75:10,80:8,15 seconds=x/75:10", "seconds", "not an arbor"},
		{"80:10,75:10,80:8,15 seconds=1/75:10", "seconds", "not an arbor"},
		{"80:10,75:10,80:8,15 seconds=3/0:10", "seconds", "no count of 0"},
		{"80:10,75:10,80:8,15 minute=3/60:12:x", "minute", `"x" is not a number`},
		{"80:10,75:10,80:8,15 minute=3/60:x:12", "minute", "intermediate wheel"},
		{"80:10,75:10,80:8,15 hours=3", "train", "is not known here"},
	} {
		_, err := train.Parse(tt.notation)
		bad, ok := err.(*train.NotationError)
		if !ok || bad.Field != tt.field || !strings.Contains(bad.Error(), tt.says) {
			t.Errorf("%q: %v, want %s: %s", tt.notation, err, tt.field, tt.says)
		}
	}
	if got := mustParse(t, " 80 : 10, 75:10 ,80:8, 15 ; seconds=centre").String(); got != "80:10,75:10,80:8,15 seconds=centre" {
		t.Errorf("blanks: %s", got)
	}
}

func TestProblemsByField(t *testing.T) {
	t.Parallel()
	usual := func(change func(*train.Train)) train.Train {
		tr := train.Train{Stages: []train.Stage{{Wheel: 80, Pinion: 10}, {Wheel: 75, Pinion: 10}, {Wheel: 80, Pinion: 8}},
			EscapeTeeth: 15}
		change(&tr)
		return tr
	}
	for _, tt := range []struct {
		field, says string
		change      func(*train.Train)
	}{
		{"wheel_2", "no count of 0", func(t *train.Train) { t.Stages[1].Wheel = 0 }},
		{"pinion_1", "not negative", func(t *train.Train) { t.Stages[0].Pinion = -10 }},
		{"pinion_3", "The escape pinion has 5 leaves: below 6", func(t *train.Train) { t.Stages[2].Pinion = 5 }},
		{"pinion_1", "from 6 to 24 are practical", func(t *train.Train) { t.Stages[0].Pinion = 25 }},
		{"wheel_1", "The centre wheel has 201 teeth; from 20 to 200", func(t *train.Train) { t.Stages[0].Wheel = 201 }},
		{"wheel_3", "The fourth wheel has 19 teeth", func(t *train.Train) { t.Stages[2].Wheel = 19 }},
		{"wheel_2", "must have more teeth than the fourth pinion", func(t *train.Train) {
			t.Stages[1] = train.Stage{Wheel: 20,
				Pinion: 20}
		}},
		{"escape", "The escape wheel has 41 teeth", func(t *train.Train) { t.EscapeTeeth = 41 }},
		{"escape", "not negative", func(t *train.Train) { t.EscapeTeeth = -15 }},
		{"train", "this one has 0", func(t *train.Train) { t.Stages = nil }},
		{"train", "this one has 7", func(t *train.Train) {
			for range 4 {
				t.Stages = append(t.Stages, train.Stage{Wheel: 80, Pinion: 10})
			}
		}},
		{"seconds", "no fourth wheel", func(t *train.Train) {
			t.Stages, t.Seconds.Layout = t.Stages[:2],
				train.CentreDirect
		}},
		{"seconds", "no sixth arbor", func(t *train.Train) {
			t.Seconds = train.Seconds{Layout: train.CentreIndirect, Drive: train.HandDrive{Arbor: 6, Wheel: 75, Pinion: 10}}
		}},
		{"minute", "has a count of 5", func(t *train.Train) { t.Minute = &train.HandDrive{Arbor: 3, Wheel: 60, Pinion: 5} }},
		{"minute", "intermediate wheel has a count of 5", func(t *train.Train) {
			t.Minute = &train.HandDrive{Arbor: 3,
				Wheel: 60, Idler: 5, Pinion: 12}
		}},
	} {
		bad := usual(tt.change).Problems()
		if len(bad) != 1 || !strings.Contains(bad[tt.field], tt.says) {
			t.Errorf("%v, want %s: %s", bad, tt.field, tt.says)
		}
	}
}

// anyTrain draws a train that a watch could have.
func anyTrain(rt *rapid.T) train.Train {
	var tr train.Train
	for range rapid.IntRange(1, 5).Draw(rt, "meshes") {
		tr.Stages = append(tr.Stages, train.Stage{
			Wheel: rapid.IntRange(25, train.MaxTeeth).Draw(rt, "wheel"), Pinion: rapid.IntRange(train.MinLeaves,
				train.MaxLeaves).Draw(rt, "pinion")})
	}
	tr.EscapeTeeth = rapid.IntRange(train.UsualLeastEscapeTeeth, train.UsualMostEscapeTeeth).Draw(rt, "escape")
	drive := func(name string) train.HandDrive {
		return train.HandDrive{Arbor: rapid.IntRange(2, len(tr.Stages)+2).Draw(rt, name),
			Wheel: rapid.IntRange(6, 200).Draw(rt, name),
			Idler: rapid.SampledFrom([]int{0, 36}).Draw(rt, name), Pinion: rapid.IntRange(6, 200).Draw(rt, name)}
	}
	tr.Seconds.Layout = train.SecondsLayout(rapid.IntRange(0, 3).Draw(rt, "seconds"))
	if tr.Seconds.Layout == train.CentreIndirect {
		tr.Seconds.Drive = drive("seconds drive")
	}
	if rapid.Bool().Draw(rt, "off-centre") {
		d := drive("minute drive")
		tr.Minute = &d
	}
	return tr
}

func TestNotationComesBack(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(rt *rapid.T) {
		tr := anyTrain(rt)
		back, err := train.Parse(tr.String())
		if err != nil || back.String() != tr.String() || fmt.Sprint(back.Arbors()) != fmt.Sprint(tr.Arbors()) {
			rt.Fatalf("%s came back as %s: %v", tr, back, err)
		}
	})
}

func TestScalingAMeshLeavesTheBeat(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(rt *rapid.T) {
		tr := anyTrain(rt)
		before := tr.Beats()
		i, k := rapid.IntRange(0, len(tr.Stages)-1).Draw(rt, "mesh"), rapid.IntRange(2, 9).Draw(rt, "factor")
		tr.Stages[i].Wheel *= k
		tr.Stages[i].Pinion *= k
		if after := tr.Beats(); after.Cmp(before) != 0 {
			rt.Fatalf("%v became %v", before, after)
		}
	})
}

// Read from the escape wheel back, the meshes undo what they did: the product of all meshes the other way round is the
// inverse, and the beats of one turn of the second arbor don't depend on what turns once an hour.
func TestReversing(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(rt *rapid.T) {
		tr := anyTrain(rt)
		reversed := train.Train{EscapeTeeth: tr.EscapeTeeth}
		for i := len(tr.Stages) - 1; i >= 0; i-- {
			reversed.Stages = append(reversed.Stages, train.Stage{Wheel: tr.Stages[i].Pinion, Pinion: tr.Stages[i].Wheel})
		}
		forward, _ := tr.BeatsPerTurn(2)
		back := new(big.Rat).Mul(forward, reversed.Beats())
		if back.Cmp(big.NewRat(int64(4*tr.EscapeTeeth*tr.EscapeTeeth), 1)) != 0 {
			rt.Fatalf("%s: %v", tr, back)
		}
		ends := tr.Arbors()
		if (ends[0].Clockwise == ends[len(ends)-1].Clockwise) != (len(tr.Stages)%2 == 0) {
			rt.Fatalf("%s: directions", tr)
		}
		inOrder := new(big.Rat).Quo(ends[len(ends)-1].TurnsPerHour, ends[0].TurnsPerHour)
		tr.Stages[0], tr.Stages[len(tr.Stages)-1] = tr.Stages[len(tr.Stages)-1], tr.Stages[0]
		swapped := tr.Arbors()
		if inOrder.Cmp(new(big.Rat).Quo(swapped[len(swapped)-1].TurnsPerHour, swapped[0].TurnsPerHour)) != 0 {
			rt.Fatalf("%s: the order of meshes changed the ratio", tr)
		}
	})
}

func TestWords(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		r               *big.Rat
		fraction, words string
	}{
		{big.NewRat(480, 1), "480", "480"}, {big.NewRat(15, 2), "7 1/2", "7.5"}, {big.NewRat(1, 12), "1/12", "1/12"},
		{new(big.Rat), "0", "0"}, {big.NewRat(-5, 2), "-2 1/2", "−2.5"}, {big.NewRat(-1, 3), "-1/3", "−1/3"},
		{big.NewRat(120, 7), "17 1/7", "17 1/7"}, {big.NewRat(8400, 122), "68 52/61", "68 52/61"},
		{big.NewRat(1000, 101), "9 91/101", "≈ 9.901"}, {big.NewRat(100, 1), "100", "100"},
	} {
		if f, w := train.Fraction(tt.r), train.Words(tt.r); f != tt.fraction || w != tt.words {
			t.Errorf("%v: %s and %s, want %s and %s", tt.r, f, w, tt.fraction, tt.words)
		}
	}
	for want, s := range map[string]*big.Rat{"60 s": big.NewRat(60, 1), "1 h": big.NewRat(3600, 1),
		"7 min 30 s": big.NewRat(450, 1),
		"6 s":        big.NewRat(6, 1), "40 h": big.NewRat(144000, 1), "8 min": big.NewRat(480, 1),
		"8 min 34 2/7 s": big.NewRat(3600, 7),
		"66 min 40 s":    big.NewRat(4000, 1), "2.5 h": big.NewRat(9000, 1), "0.5 s": big.NewRat(1, 2)} {
		if got := train.PeriodWords(s); got != want {
			t.Errorf("%v: %s, want %s", s, got, want)
		}
	}
}

func TestCountByCount(t *testing.T) {
	t.Parallel()
	tr, bad := train.ParseCounts([][2]string{{"80", " 10"}, {"75", "10"}, {"80", "8"}, {"", ""}}, "15")
	if len(bad) > 0 || tr.String() != "80:10,75:10,80:8,15" {
		t.Errorf("%s %v", tr, bad)
	}
	direct, err := tr.With("seconds=centre")
	back, err2 := direct.With("seconds=fourth")
	if err != nil || err2 != nil || direct.String() != tr.String()+" seconds=centre" || back.String() != tr.String() {
		t.Errorf("%s %s %v %v", direct, back, err, err2)
	}
	for _, tt := range []struct {
		meshes [][2]string
		escape string
		fields []string
	}{
		{[][2]string{{"80", "0"}, {"75,5", "10"}, {"-80", "x"}}, "", []string{"pinion_1", "wheel_2", "wheel_3", "pinion_3",
			"escape"}},
		{[][2]string{{"80", "10"}, {"", ""}, {"80", "8"}}, "15", []string{"train"}},
		{[][2]string{{"80", ""}}, "15", []string{"pinion_1"}},
		{[][2]string{{"", ""}}, "15", []string{"train"}},
	} {
		_, bad := train.ParseCounts(tt.meshes, tt.escape)
		if len(bad) != len(tt.fields) {
			t.Errorf("%v: %v", tt.meshes, bad)
		}
		for _, f := range tt.fields {
			if bad[f] == "" {
				t.Errorf("%v: nothing about %s in %v", tt.meshes, f, bad)
			}
		}
	}
}
