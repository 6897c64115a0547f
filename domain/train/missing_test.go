package train

import (
	"encoding/json"
	"fmt"
	"math"
	"math/big"
	"os"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func mustParse(t testing.TB, notation string) Train {
	t.Helper()
	tr, err := ParseMissing(notation)
	if err != nil {
		t.Fatalf("%s: %v", notation, err)
	}
	return tr
}

func find(t testing.TB, q Missing) Found {
	t.Helper()
	if bad := q.Problems(); len(bad) > 0 {
		t.Fatalf("%s: %v", q.Train.NotationWithGaps(), bad)
	}
	return q.Find()
}

// without returns q with the counts at these places missing.
func (q Missing) without(places ...int) Missing {
	q = q.clone()
	all := q.places()
	for _, i := range places {
		*all[i].count(&q) = 0
	}
	return q
}

// has reports whether an answer of f is q as it was.
func (f Found) has(q Missing, beats int) bool {
	return slices.ContainsFunc(f.Answers, func(a Answer) bool {
		if q.Motion != nil {
			return *a.Motion == *q.Motion
		}
		return a.Train.String() == q.Train.String() && (beats == 0 || a.BeatsPerHour == beats)
	})
}

// missingRow is a published or derived check value, as far as it is read here.
type missingRow struct {
	ID     string `json:"id"`
	Inputs struct {
		Wheels       []int `json:"wheels"`
		ThreeWheels  []int `json:"wheels_centre_third_fourth"`
		TwoWheels    []int `json:"wheels_centre_third"`
		Pinions      []int `json:"pinions"`
		ThreeLeaves  []int `json:"pinions_third_fourth_escape"`
		TwoLeaves    []int `json:"pinions_third_escape"`
		Escape       any   `json:"escape_teeth"` // a count or ?
		Cannon       any   `json:"cannon"`
		MinuteWheel  int   `json:"minute_wheel"`
		MinutePinion any   `json:"minute_pinion"`
		HourWheel    int   `json:"hour_wheel"`
	} `json:"inputs"`
	Expected any `json:"expected"`
}

func missingRows(t *testing.T) map[string]missingRow {
	t.Helper()
	data, err := os.ReadFile("testdata/check-trains.json")
	if err != nil {
		t.Fatal(err)
	}
	var list []missingRow
	if err := json.Unmarshal(data, &list); err != nil {
		t.Fatal(err)
	}
	byID := map[string]missingRow{}
	for _, r := range list {
		byID[r.ID] = r
	}
	return byID
}

// TestMissingRows asks the check values of missing parts. Sources: TR-MISS rows solve the train formula (derived); MW-1
// and MW-BAD stand on a watchmaking coursework page, whose question to MW-BAD says 42 teeth and whose working uses 48:
// with 42 the answer is 14, with 48 it is 16.
func TestMissingRows(t *testing.T) {
	t.Parallel()
	all := missingRows(t)
	for _, tt := range []struct {
		id, train, motion string
		beats             int
		want              int
	}{
		{id: "TR-MISS-1", train: "64:8,60:8,?:6,15", beats: 18000, want: 60},
		{id: "TR-MISS-3", train: "80:10,75:10,84:7,?", beats: 28800, want: 20},
		{id: "MW-1", motion: "?:48,12:36", want: 12},
		{id: "MW-BAD", motion: "16:42,?:64", want: 14},
		{id: "MW-BAD", motion: "16:48,?:64", want: 16}, // as the source's working has it
	} {
		if _, ok := all[tt.id]; !ok {
			t.Fatalf("%s is not among the check values", tt.id)
		}
		q := Missing{BeatsPerHour: tt.beats}
		if tt.motion != "" {
			m, err := ParseMotionWork(tt.motion)
			if err != nil {
				t.Fatal(err)
			}
			q.Motion = &m
		} else {
			q.Train = mustParse(t, tt.train)
		}
		f := find(t, q)
		if len(f.Answers) != 1 || f.Answers[0].Counts[0] != tt.want {
			t.Errorf("%s %s%s: %+v, want only %d", tt.id, tt.train, tt.motion, f.Answers, tt.want)
		}
	}
	// TR-MISS-4: no whole number of teeth, 68.8525 to 0.0001.
	f := find(t, Missing{Train: mustParse(t, "64:8,61:8,?:7,15"), BeatsPerHour: 18000})
	if len(f.Answers) != 0 || len(f.Exact) != 1 {
		t.Fatalf("TR-MISS-4: %+v", f)
	}
	if got, _ := f.Exact[0].Count.Float64(); math.Abs(got-68.8525) > 0.0001 ||
		f.Exact[0].Count.Cmp(big.NewRat(4200, 61)) != 0 {
		t.Errorf("TR-MISS-4: %v, want 68.8525", f.Exact[0].Count)
	}
	// The row's note: the count of the third wheel must be questioned. With 60 it is the fourth wheel of 70.
	if len(f.Doubts) == 0 || f.Doubts[0].Name != "third wheel" || f.Doubts[0].Instead != 60 ||
		f.Doubts[0].Then.Counts[0] != 70 {
		t.Errorf("TR-MISS-4: doubts %+v, want first the third wheel, 60 for 61", f.Doubts)
	}
}

// TestRowsOfWholeTrains takes one and two counts out of each train and motion work of the check values: the search
// finds them again. TR-PUB-6 is left out: it is a time from a count of one wheel's teeth, no train. TR-PUB-5 and
// TR-PUB-3 are clocks of 7200 and 3600 beats.
func TestRowsOfWholeTrains(t *testing.T) {
	t.Parallel()
	tried := 0
	for id, r := range missingRows(t) {
		var q Missing
		in := r.Inputs
		wheels, leaves := slices.Concat(in.ThreeWheels, in.TwoWheels), slices.Concat(in.ThreeLeaves, in.TwoLeaves)
		if strings.HasPrefix(id, "TR-PUB-5") {
			wheels, leaves = in.Wheels, in.Pinions
		}
		switch {
		case id == "TR-PUB-6" || strings.HasPrefix(id, "TR-MISS") || id == "MW-1" || id == "MW-BAD":
			continue
		case strings.HasPrefix(id, "MW-"):
			q.Motion = &MotionWork{int(in.Cannon.(float64)), in.MinuteWheel, int(in.MinutePinion.(float64)), in.HourWheel}
		default:
			for i := range wheels {
				q.Train.Stages = append(q.Train.Stages, Stage{wheels[i], leaves[i]})
			}
			q.Train.EscapeTeeth = int(in.Escape.(float64))
			expected := r.Expected.(map[string]any)
			for _, key := range []string{"vph", "beats_per_hour"} {
				if v, ok := expected[key].(float64); ok {
					q.BeatsPerHour = int(v)
				}
			}
			if hand, ok := q.Train.SecondsHand(); ok && len(wheels) == 3 {
				q.SecondsOnceAMinute = hand.TurnsPerHour.Cmp(big.NewRat(60, 1)) == 0
			}
		}
		tried++
		n := len(q.places())
		for i := range n {
			for j := range n {
				asked := q.without(i, j)
				if f := find(t, asked); !f.has(q, q.BeatsPerHour) {
					t.Errorf("%s: without %v: not found again among %d", id, asked.Sought(), len(f.Answers))
				}
			}
		}
	}
	if want := 20; tried != want {
		t.Errorf("%d rows tried, want %d", tried, want)
	}
}

// TestPublishedMissing has the two other published cases. A wall clock that lacks the wheel on its hour arbor and the
// pinion it drives: 78:6,72:6,45 remain; found were 80 and 13, the seconds pendulum, one tooth a second, being a guess
// that the measured distance then confirmed (geartrains.com, Missing gears example). The hour arbor turns once in
// twelve hours, which is written here as driving a cannon pinion of 10 with a wheel of 120. And a coursework page's
// minute wheel of 30 between a cannon pinion of 12 and a minute pinion of 10 with an hour wheel of 48
// (tickety-boom.blogspot.com).
func TestPublishedMissing(t *testing.T) {
	t.Parallel()
	clock := Missing{Train: mustParse(t, "?:?,78:6,72:6,45 seconds=none minute=2/120:10"), BeatsPerHour: 7200}
	// The 45 teeth of its escape wheel are more than a watch has, which Problems says; the search itself doesn't mind.
	if says := clock.Problems()["escape"]; !strings.Contains(says, "45") {
		t.Errorf("an escape wheel of 45 is let pass: %q", says)
	}
	answers := clock.answers(clock.Sought())
	if !slices.ContainsFunc(answers, func(a Answer) bool { return slices.Equal(a.Counts, []int{80, 13}) }) {
		t.Errorf("80 and 13 are not among %d answers", len(answers))
	}
	m := MotionWork{Cannon: 12, MinutePinion: 10, HourWheel: 48}
	if f := find(t, Missing{Motion: &m}); len(f.Answers) != 1 || f.Answers[0].Counts[0] != 30 {
		t.Errorf("motion work: %+v, want a minute wheel of 30", f.Answers)
	}
}

// bruteForce counts, with nothing but whole-number multiplication, every way to fill the missing counts of a plain
// train: 2 · escape · wheels = beats · pinions, and for the seconds hand centre · third = 60 · their pinions.
func bruteForce(q Missing, beatsSought []int) map[string]bool {
	t := q.Train.clone()
	var gaps []*int
	var limits [][2]int
	add := func(n *int, least, most int) {
		if *n == 0 {
			gaps, limits = append(gaps, n), append(limits, [2]int{least, most})
		}
	}
	for i := range t.Stages {
		add(&t.Stages[i].Wheel, 20, 200)
		add(&t.Stages[i].Pinion, 6, 24)
	}
	add(&t.EscapeTeeth, 6, 40)
	found := map[string]bool{}
	check := func() {
		drivers, driven := 2*t.EscapeTeeth, 1
		for _, s := range t.Stages {
			if s.Wheel <= s.Pinion {
				return
			}
			drivers, driven = drivers*s.Wheel, driven*s.Pinion
		}
		if q.SecondsOnceAMinute && t.Stages[0].Wheel*t.Stages[1].Wheel != 60*t.Stages[0].Pinion*t.Stages[1].Pinion {
			return
		}
		for _, beats := range beatsSought {
			if drivers == beats*driven {
				found[fmt.Sprint(t.String(), " ", beats)] = true
			}
		}
	}
	for a := limits[0][0]; a <= limits[0][1]; a++ {
		*gaps[0] = a
		if len(gaps) == 1 {
			check()
			continue
		}
		for b := limits[1][0]; b <= limits[1][1]; b++ {
			*gaps[1] = b
			check()
		}
	}
	return found
}

// TestAgainstBruteForce: for every one and two missing counts of some trains, beat known and not, seconds asked and
// not, the search finds what trying all counts finds, no more and no less.
func TestAgainstBruteForce(t *testing.T) {
	t.Parallel()
	compared := 0
	for _, notation := range []string{"80:10,75:10,80:8,15", "64:8,60:8,66:6,15", "80:10,75:10,84:7,20",
		"75:10,64:8,98:7,15", "72:8,72:9,50:6,15", "61:7,73:8,67:6,17"} {
		whole := Missing{Train: mustParse(t, notation)}
		n := len(whole.places())
		for i := range n {
			for j := i; j < n; j++ {
				for _, beats := range []int{0, 18000} {
					for _, seconds := range []bool{false, true} {
						q := whole.without(i, j)
						q.BeatsPerHour, q.SecondsOnceAMinute = beats, seconds
						sought := UsualBeats()
						if beats != 0 {
							sought = []int{beats}
						}
						want := bruteForce(q, sought)
						got := map[string]bool{}
						for _, a := range find(t, q).Answers {
							got[fmt.Sprint(a.Train.String(), " ", a.BeatsPerHour)] = true
						}
						if len(got) != len(want) {
							t.Errorf("%s at %d, seconds %t: %d answers, trying all finds %d", q.Train.NotationWithGaps(), beats, seconds,
								len(got), len(want))
						}
						for k := range want {
							if !got[k] {
								t.Errorf("%s at %d, seconds %t: %s is missed", q.Train.NotationWithGaps(), beats, seconds, k)
							}
						}
						compared += len(want)
					}
				}
			}
		}
	}
	if compared < 1000 {
		t.Errorf("only %d answers were compared", compared)
	}
}

// TestMotionAgainstBruteForce does the same for motion work of 12 and 24 hours: minute wheel · hour wheel = hours ·
// pinions.
func TestMotionAgainstBruteForce(t *testing.T) {
	t.Parallel()
	for _, hours := range []int{12, 24} {
		whole := MotionWork{12, 36, 10, 10 * hours / 3}
		for i := range 4 {
			for j := i + 1; j < 4; j++ {
				q := Missing{Motion: &whole, DialHours: hours}.without(i, j)
				want := 0
				least, most := [4]int{6, 20, 6, 20}, [4]int{24, 200, 24, 200}
				m := whole
				c := m.counts()
				for a := least[i]; a <= most[i]; a++ {
					for b := least[j]; b <= most[j]; b++ {
						*c[i], *c[j] = a, b
						if m.MinuteWheel*m.HourWheel == hours*m.Cannon*m.MinutePinion && m.MinuteWheel > m.Cannon &&
							m.HourWheel > m.MinutePinion {
							want++
						}
					}
				}
				f := find(t, q)
				if len(f.Answers) != want {
					t.Errorf("%s of %d hours: %d answers, trying all finds %d", q.Motion, hours, len(f.Answers), want)
				}
				if !f.has(Missing{Motion: &whole}, 0) {
					t.Errorf("%s of %d hours: %s is not found again", q.Motion, hours, whole)
				}
			}
		}
	}
}

// validTrain draws a train that gives a usual beat and turns its fourth arbor once a minute.
func validTrain(t *rapid.T) (Train, int) {
	beats := rapid.SampledFrom(UsualBeats()).Draw(t, "beats")
	leaves := rapid.IntRange(6, 16)
	third, fourth, escape := leaves.Draw(t, "third pinion"), leaves.Draw(t, "fourth pinion"),
		leaves.Draw(t, "escape pinion")
	var pairs [][2]int
	for a := 40; a <= 160; a++ {
		if b := 60 * third * fourth / a; a*b == 60*third*fourth && b >= 40 && b <= 160 {
			pairs = append(pairs, [2]int{a, b})
		}
	}
	var ends [][2]int
	for e := 12; e <= 21; e++ {
		if f := beats * escape / (120 * e); f*120*e == beats*escape && f > escape && f >= 20 && f <= 200 {
			ends = append(ends, [2]int{f, e})
		}
	}
	if len(pairs) == 0 || len(ends) == 0 {
		t.Skip("no such train with these pinions")
	}
	p, e := rapid.SampledFrom(pairs).Draw(t, "centre and third"), rapid.SampledFrom(ends).Draw(t, "fourth and escape")
	return Train{Stages: []Stage{{p[0], third}, {p[1], fourth}, {e[0], escape}}, EscapeTeeth: e[1]}, beats
}

// TestFoundAgain: whichever one or two counts a valid train loses, the search finds them, with the beat known or not
// and the seconds hand asked for or not. What it finds gives the beat, by the train's own arithmetic.
func TestFoundAgain(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		whole, beats := validTrain(t)
		q := Missing{Train: whole, SecondsOnceAMinute: rapid.Bool().Draw(t, "seconds")}
		if rapid.Bool().Draw(t, "known") {
			q.BeatsPerHour = beats
		}
		n := len(q.places())
		asked := q.without(rapid.IntRange(0, n-1).Draw(t, "first"), rapid.IntRange(0, n-1).Draw(t, "second"))
		if bad := asked.Problems(); len(bad) > 0 {
			t.Fatalf("%s: %v", asked.Train.NotationWithGaps(), bad)
		}
		f := asked.Find()
		if !f.has(q, beats) {
			t.Fatalf("%s at %d: not among %d answers", asked.Train.NotationWithGaps(), beats, len(f.Answers))
		}
		for i, a := range f.Answers {
			if a.Train.Beats().Cmp(big.NewRat(int64(a.BeatsPerHour), 1)) != 0 || len(a.Train.Problems()) > 0 {
				t.Fatalf("%s is said to give %d beats", a.Train, a.BeatsPerHour)
			}
			if i > 0 && a.Weight > f.Answers[i-1].Weight || a.Weight <= 0 && i == 0 || len(a.Reasons) == 0 || a.Standing == "" {
				t.Fatalf("answer %d: weight %g after %g, %q, %v", i, a.Weight, f.Answers[max(0, i-1)].Weight, a.Standing, a.Reasons)
			}
		}
		if f.Answers[0].Weight != 1 {
			t.Fatalf("the best answer has weight %g", f.Answers[0].Weight)
		}
	})
}

// TestFoundByMeasuring: with the centre distance and the outside diameter of the part that is left, both measured to
// their uncertainty, the true counts come first among all that the beat allows, for usual counts.
func TestFoundByMeasuring(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		notation     string
		first, other int // places
	}{{"80:10,75:10,80:8,15", 0, 2}, {"64:8,60:8,60:6,15", 2, 4}, {"80:10,75:10,84:7,20", 1, 3},
		{"75:10,64:8,80:8,15", 0, 2}, {"72:8,80:12,70:7,15", 3, 4}} {
		whole := Missing{Train: mustParse(t, tt.notation)}
		q := whole.without(tt.first, tt.other)
		for i, at := range []int{tt.first, tt.other} {
			m := whole.meshAt(at / 2)
			s := m.Size(Estimate{Value: 0.11 - 0.01*float64(i)})
			q.Measured[i].CentreDistanceMm = math.Round(100*s.CentreDistanceMm.Value) / 100
			if at%2 == 0 {
				q.Measured[i].PinionOutsideMm = math.Round(100*s.PinionOutsideMm.Value) / 100
			} else {
				q.Measured[i].WheelOutsideMm = math.Round(100*s.WheelOutsideMm.Value) / 100
			}
		}
		f := find(t, q)
		at := slices.IndexFunc(f.Answers, func(a Answer) bool { return a.Train.String() == whole.Train.String() })
		if at < 0 || at > 2 {
			t.Errorf("%s from %s: place %d of %d", tt.notation, q.Train.NotationWithGaps(), at+1, len(f.Answers))
			continue
		}
		for i, m := range f.Answers[at].Meshes {
			if want := 0.11 - 0.01*float64(i); math.Abs(m.Module.Value-want) > 3*m.Module.U {
				t.Errorf("%s: module %.4f ± %.4f of %s, cut at %.2f", tt.notation, m.Module.Value, m.Module.U, m.Name, want)
			}
		}
		if _, says, misfit := f.Misfit(); misfit {
			t.Errorf("%s: %s", tt.notation, says)
		}
	}
}

// TestRanking: answers the trade would give come first.
func TestRanking(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		notation string
		beats    int
		seconds  bool
		want     string
	}{
		{"80:10,?:10,80:?,15", 18000, true, "80:10,75:10,80:8,15"},
		{"80:10,?:10,80:?,15", 0, true, "80:10,75:10,80:8,15"},
		{"64:8,60:?,?:6,15", 18000, true, "64:8,60:8,60:6,15"},
		{"80:10,75:10,?:7,?", 28800, true, "80:10,75:10,84:7,20"},
		{"80:10,75:10,?:7,?", 18000, true, "80:10,75:10,70:7,15"},
	} {
		f := find(t, Missing{Train: mustParse(t, tt.notation), BeatsPerHour: tt.beats, SecondsOnceAMinute: tt.seconds})
		if len(f.Answers) == 0 || f.Answers[0].Train.String() != tt.want {
			t.Errorf("%s: first of %d is %v, want %s", tt.notation, len(f.Answers), f.Answers, tt.want)
		}
	}
	m := MotionWork{Cannon: 10, HourWheel: 32} // check value MW-4
	if f := find(t, Missing{Motion: &m}); len(f.Answers) == 0 || *f.Answers[0].Motion != (MotionWork{10, 30, 8, 32}) {
		t.Errorf("motion work: %+v, want 10:30,8:32 first", f.Answers)
	}
}

// TestPublishedTrainsRankFirst takes each one and two counts out of trains that were printed somewhere, their beat
// known: what was printed comes first or nearly so, and stands as one that is cut. Sources: a coursework page's worked train
// (tickety-boom.blogspot.com); a watchmaker's typical pocket watch of 18000 (thehourlounge.com, 5 May 2008); the centre
// wheel of 8 turns of the third to one and the third of 7.5 of the fourth, in the usual counts 64:8 and 60:8
// (a forum's lesson on the train, omegaforums.net, horology 101; the counts are ours).
func TestPublishedTrainsRankFirst(t *testing.T) {
	t.Parallel()
	asked, first := 0, 0
	for _, notation := range []string{"80:10,75:10,70:7,15", "80:10,60:8,60:6,15", "64:8,60:8,60:6,15"} {
		whole := Missing{Train: mustParse(t, notation)}
		n := len(whole.places())
		for i := range n {
			for j := i; j < n; j++ {
				q := whole.without(i, j)
				q.BeatsPerHour, q.SecondsOnceAMinute = 18000, true
				f := find(t, q)
				at := slices.IndexFunc(f.Answers, func(a Answer) bool { return a.Train.String() == whole.Train.String() })
				asked++
				switch {
				case at == 0:
					first++
				case at < 0 || f.Answers[at].Weight < 0.5:
					t.Errorf("%s: %s is %d of %d", q.Train.NotationWithGaps(), notation, at+1, len(f.Answers))
				}
				if at >= 0 && f.Answers[at].Hardly() || f.Unusual() {
					t.Errorf("%s: %s is called one that is hardly cut", q.Train.NotationWithGaps(), notation)
				}
			}
		}
	}
	t.Logf("%d of %d come first", first, asked)
	if 4*first < 3*asked {
		t.Errorf("%d of %d come first, want three of four", first, asked)
	}
}

// TestHardlyCut: a count is not plausible because it is the only one to give the beat. An escape wheel of 16 counted for
// 15 leaves 165 teeth and 16 leaves as the only whole answer at 19800, which nobody cuts; 15 gives 66 and 6, and 77 and 7.
func TestHardlyCut(t *testing.T) {
	t.Parallel()
	f := find(t, Missing{Train: mustParse(t, "80:10,75:10,?:?,16"), BeatsPerHour: 19800})
	if len(f.Answers) != 1 || !slices.Equal(f.Answers[0].Counts, []int{165, 16}) {
		t.Fatalf("%+v, want 165 and 16 alone", f.Answers)
	}
	if a := f.Answers[0]; !f.Unusual() || a.Standing != "nearest, but hardly ever cut so" {
		t.Errorf("165 and 16 stand as %q", a.Standing)
	}
	if len(f.Doubts) == 0 || f.Doubts[0].Given != 16 || f.Doubts[0].Instead != 15 || f.Doubts[0].Then.Hardly() {
		t.Errorf("doubts %+v, want the escape wheel first", f.Doubts)
	}
	f = find(t, Missing{Train: mustParse(t, "80:10,75:10,?:?,15"), BeatsPerHour: 19800})
	if f.Unusual() || len(f.Doubts) != 0 || slices.Max(f.Answers[0].Counts) > 90 {
		t.Errorf("%+v, doubts %+v", f.Answers[0], f.Doubts)
	}
	for _, a := range f.Answers {
		if slices.Max(a.Counts) > 120 && !a.Hardly() {
			t.Errorf("%v stand as %q", a.Counts, a.Standing)
		}
	}
}

// TestHandDrives: counts of the wheels that drive a hand beside the train are found too.
func TestHandDrives(t *testing.T) {
	t.Parallel()
	for notation, want := range map[string]string{
		"80:10,75:10,80:8,15 seconds=3/?:10":                    "80:10,75:10,80:8,15 seconds=3/75:10",
		"80:10,75:10,80:8,15 seconds=3/75:?":                    "80:10,75:10,80:8,15 seconds=3/75:10",
		"80:?,75:10,80:8,15 seconds=3/?:10":                     "80:10,75:10,80:8,15 seconds=3/75:10",
		"80:10,75:10,80:8,15 seconds=3/?:?":                     "80:10,75:10,80:8,15 seconds=3/75:10",
		"50:10,80:10,75:10,80:8,15 seconds=none minute=2/?:12":  "50:10,80:10,75:10,80:8,15 seconds=none minute=2/60:12",
		"50:10,80:10,75:10,80:?,15 seconds=none minute=2/60:?":  "50:10,80:10,75:10,80:8,15 seconds=none minute=2/60:12",
		"?:10,75:10,80:8,15 seconds=centre minute=2/24:20":      "96:10,75:10,80:8,15 seconds=centre minute=2/24:20",
		"64:8,80:10,75:10,80:?,15 seconds=none minute=3/20:20":  "64:8,80:10,75:10,80:8,15 seconds=none minute=3/20:20",
		"80:10,75:10,80:8,? seconds=3/75:10 minute=2/30:40:?":   "80:10,75:10,80:8,15 seconds=3/75:10 minute=2/30:40:20",
		"120:10,75:10,80:8,? seconds=3/?:10 minute=2/30:40:20":  "120:10,75:10,80:8,15 seconds=3/75:10 minute=2/30:40:20",
		"120:10,75:10,?:8,15 seconds=3/75:? minute=2/30:40:20":  "120:10,75:10,80:8,15 seconds=3/75:10 minute=2/30:40:20",
		"120:10,75:10,80:8,15 seconds=none minute=2/?:40:?":     "120:10,75:10,80:8,15 seconds=none minute=2/30:40:20",
		"120:10,75:?,80:8,15 seconds=none minute=2/30:40:?":     "120:10,75:10,80:8,15 seconds=none minute=2/30:40:20",
		"120:10,75:10,80:8,15 seconds=centre minute=2/30:40:?":  "120:10,75:10,80:8,15 seconds=centre minute=2/30:40:20",
		"120:10,75:10,80:8,? seconds=centre minute=2/30:40:20 ": "120:10,75:10,80:8,15 seconds=centre minute=2/30:40:20",
	} {
		whole := mustParse(t, want)
		beats := whole.Beats()
		q := Missing{Train: mustParse(t, notation), BeatsPerHour: int(beats.Num().Int64())}
		hand, ok := whole.SecondsHand()
		q.SecondsOnceAMinute = ok && hand.TurnsPerHour.Cmp(big.NewRat(60, 1)) == 0
		f := find(t, q)
		if !f.has(Missing{Train: whole}, 0) {
			t.Errorf("%s: %s is not among %d", notation, want, len(f.Answers))
		}
		for _, a := range f.Answers {
			if a.Train.Beats().Cmp(beats) != 0 {
				t.Errorf("%s: %s gives %s beats", notation, a.Train, Fraction(a.Train.Beats()))
			}
		}
	}
}

// TestSharedCentres: where the fourth wheel stands in the centre both first meshes have one centre distance, so the
// distance measured at one serves the other, and unequal sums of counts speak against an answer.
func TestSharedCentres(t *testing.T) {
	t.Parallel()
	q := Missing{Train: mustParse(t, "?:10,?:10,80:8,15 seconds=centre"), BeatsPerHour: 18000, SecondsOnceAMinute: true}
	q.Measured[0].CentreDistanceMm = 4.5
	f := find(t, q)
	for _, a := range f.Answers {
		for _, m := range a.Meshes {
			if got, want := m.Module.Value*float64(m.Mesh.Wheel+m.Mesh.Pinion), 9.0; math.Abs(got-want) > 1e-9 {
				t.Errorf("%s: module · counts is %g mm, want twice the distance, %g", a.Train, got, want)
			}
		}
	}
	if best := f.Answers[0].Train.String(); best != "80:10,75:10,80:8,15 seconds=centre" &&
		best != "75:10,80:10,80:8,15 seconds=centre" {
		t.Errorf("%s first, want 80 and 75, whose sums are nearly equal", best)
	}
	m := MotionWork{Cannon: 11, HourWheel: 36} // check value MW-6, sums of 44 and 45
	if f := find(t, Missing{Motion: &m}); !strings.Contains(strings.Join(f.Answers[0].Reasons, " "),
		"share their centres") {
		t.Errorf("motion work: %q", f.Answers[0].Reasons)
	}
}

// TestMissingProblems: what can't be answered is refused with its reason beside the field.
func TestMissingProblems(t *testing.T) {
	t.Parallel()
	measured := func(d Measured) [2]Measured { return [2]Measured{d} }
	for _, tt := range []struct {
		name, train  string
		q            Missing
		field, holds string
	}{
		{"nothing missing", "80:10,75:10,80:8,15", Missing{}, "train", "Put a ?"},
		{"three missing", "?:?,?:10,80:8,15", Missing{}, "train", "at most two"},
		{"a wheel of no teeth to speak of", "8:10,?:10,80:8,15", Missing{}, "wheel_1", "8 teeth"},
		{"a pinion of three", "80:3,?:10,80:8,15", Missing{}, "pinion_1", "3 leaves"},
		{"an absurd beat", "80:10,?:10,80:8,15", Missing{BeatsPerHour: 17}, "beats_per_hour", "3600"},
		{"no seconds hand to ask for", "80:12,?:8,15", Missing{SecondsOnceAMinute: true}, "seconds",
			"carries no seconds hand"},
		{"a seconds drive that nothing asks for", "80:10,75:10,80:8,15 seconds=3/?:10", Missing{}, "seconds",
			"Nothing that is asked"},
		{"a train before the minute hand's drive", "?:10,75:10,80:8,15 minute=3/60:12", Missing{}, "wheel_1",
			"Nothing that is asked"},
		{"an escape wheel has no pinion", "80:10,75:10,80:8,?", Missing{Measured: measured(Measured{CentreDistanceMm: 5})},
			"first_centres", "pallets"},
		{"a pinion larger than its wheel", "80:10,?:10,80:8,15",
			Missing{Measured: measured(Measured{WheelOutsideMm: 3, PinionOutsideMm: 4})}, "first_pinion_outside", "not smaller"},
		{"a negative distance", "80:10,?:10,80:8,15", Missing{Measured: measured(Measured{CentreDistanceMm: -1})},
			"first_centres", "millimetres"},
		{"a figure that is none", "80:10,?:10,80:8,15", Missing{Measured: measured(Measured{CentreDistanceMm: math.NaN()})},
			"first_centres", "millimetres"},
		{"a wheel beyond the pinion's centre", "80:10,?:10,80:8,15",
			Missing{Measured: measured(Measured{CentreDistanceMm: 4, WheelOutsideMm: 9})}, "first_wheel_outside", "beyond"},
		{"a second that isn't missing", "80:10,?:10,80:8,15", Missing{Measured: [2]Measured{{}, {CentreDistanceMm: 4}}},
			"second_centres", "Only one"},
		{"two distances of one mesh", "80:10,?:?,80:8,15",
			Missing{Measured: [2]Measured{{CentreDistanceMm: 5}, {CentreDistanceMm: 4}}}, "second_centres", "one mesh"},
		{"an uncertainty of centimetres", "80:10,?:10,80:8,15", Missing{LengthUM: 10}, "length_u", "0.5 mm"},
	} {
		tt.q.Train = mustParse(t, tt.train)
		if says := tt.q.Problems()[tt.field]; !strings.Contains(says, tt.holds) {
			t.Errorf("%s: %v, want %q beside %s", tt.name, tt.q.Problems(), tt.holds, tt.field)
		}
	}
	m := MotionWork{Cannon: 12, MinuteWheel: 36, HourWheel: 40}
	if says := (Missing{Motion: &m, DialHours: 10}).Problems()["dial_hours"]; says == "" {
		t.Error("a dial of ten hours is let pass")
	}
	for _, notation := range []string{"8?:10,75:10,80:8,15", "80:10,99999:10,80:8,15", "-8:10,?:10,80:8,15",
		"0:10,?:10,80:8,15", "7.5:10,?:10,80:8,15", "?", ""} {
		if _, err := ParseMissing(notation); err == nil {
			t.Errorf("%q is let pass", notation)
		}
	}
}

// TestMisfit: a pinion finer than any wheel that the beat allows can mesh with is said to be so.
func TestMisfit(t *testing.T) {
	t.Parallel()
	q := Missing{Train: mustParse(t, "80:10,?:10,80:8,15"), BeatsPerHour: 18000}
	s := (Mesh{Wheel: 75, Pinion: 10}).Size(Estimate{Value: 0.11})
	q.Measured[0] = Measured{WheelOutsideMm: s.WheelOutsideMm.Value, PinionOutsideMm: 0.8 * s.PinionOutsideMm.Value}
	if at, says, misfit := find(t, q).Misfit(); !misfit || at != 0 ||
		!strings.Contains(says, "finer than its wheel can mesh") {
		t.Errorf("%d %q %t", at, says, misfit)
	}
}

// TestGaps: what is read with gaps is written with them.
func TestGaps(t *testing.T) {
	t.Parallel()
	for _, notation := range []string{"80:10,?:10,80:?,15", "?:?,75:10,80:8,15", "80:10,75:10,80:8,?",
		"80:10,75:10,80:8,15 seconds=3/?:10", "80:10,75:?,80:8,15 seconds=centre minute=2/?:12"} {
		if got := mustParse(t, notation).NotationWithGaps(); got != notation {
			t.Errorf("%s is written %s", notation, got)
		}
	}
}

// BenchmarkTwoMissing is the search for two counts over all practical ones: at a known beat, and the widest question, a
// wheel and another with every usual beat and no word of a seconds hand. The promise is under 50 ms.
func BenchmarkTwoMissing(b *testing.B) {
	for name, q := range map[string]Missing{
		"beat known":  {Train: mustParse(b, "80:10,?:10,80:?,15"), BeatsPerHour: 18000, SecondsOnceAMinute: true},
		"widest":      {Train: mustParse(b, "?:10,?:10,80:8,15")},
		"same mesh":   {Train: mustParse(b, "80:10,?:?,80:8,15")},
		"none, doubt": {Train: mustParse(b, "64:8,61:8,?:7,?"), BeatsPerHour: 18049},
	} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				q.Find()
			}
		})
	}
}
