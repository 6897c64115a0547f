package oscillator_test

import (
	"fmt"
	"math"
	"os"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/oscillator"
	"ledgerwheel/domain/oscillator/madeup"
	"ledgerwheel/domain/timing"
)

// spoken is a made-up watch and what its faults must be called, in the words that a wrong sign, figure or order would
// spoil. Words that begin with "!" must not be there.
type spoken struct {
	name  string
	runs  []timing.Run
	o     oscillator.Options
	order []oscillator.Kind // of the whole list
	words map[oscillator.Kind][]string
}

// with is a sound watch with a fault, read at two winds.
func with(fault func(w *faulty)) []timing.Run {
	w := sound
	w.base = 5
	fault(&w)
	return []timing.Run{quiet(w, nil, 0, 24)}
}

// beating is a sound watch whose beat error is the same all over but in one position.
func beating(usualMs, worstMs float64, worst timing.Position) []timing.Run {
	w := sound
	w.base = 5
	return []timing.Run{quiet(w, func(r *timing.Reading) {
		r.BeatErrorMs.Value = usualMs
		if r.Position == worst && r.HoursAfterWinding == 0 {
			r.BeatErrorMs.Value = worstMs
		}
	}, 0, 24)}
}

// allowing is options with a greatest beat error of the shop's.
func allowing(ms float64) oscillator.Options {
	o := options()
	o.Limits.Limits = slices.Clone(o.Limits.Limits)
	o.Limits.Limits = slices.DeleteFunc(o.Limits.Limits, func(l timing.Limit) bool { return l.Key == timing.GreatestBeatError })
	o.Limits.Limits = append(o.Limits.Limits, timing.Limit{Key: timing.GreatestBeatError, Limits: metrology.Limits{Upper: &ms}})
	return o
}

// screwed is options with a balance of which everything is known.
func screwed() oscillator.Options {
	o := options()
	jewel := oscillator.Hour(9)
	o.Balance = oscillator.Balance{BeatsPerHour: 18000, InertiaMgCm2: 30, RimRadiusMm: 7, ImpulseJewel: &jewel, RegulatorStep: 20}
	for i, label := range []string{"a", "b", "c", "d", "e", "f"} {
		o.Balance.Screws = append(o.Balance.Screws, oscillator.Screw{Label: label, FromJewelDeg: 60 * float64(i), RadiusMm: 7,
			MassMicrogram: 900, TravelMmAtTurn: 0.2})
	}
	return o
}

func spokenWatches() []spoken {
	k := func(list ...oscillator.Kind) []oscillator.Kind { return list }
	everything := with(func(w *faulty) {
		w.base, w.horizontal, w.side, w.slope, w.s, w.hour, w.amplitude = -60, 25, 22, 40, 0.004, 4, 235
	})
	for i := range everything[0].Readings {
		everything[0].Readings[i].BeatErrorMs.Value = 2.5
	}
	return []spoken{
		{"nothing to correct", with(func(*faulty) {}), options(), nil, nil},
		{"lying gains", with(func(w *faulty) { w.horizontal = 25 }), options(), k(oscillator.Isochronism, oscillator.Regulate),
			map[oscillator.Kind][]string{oscillator.Isochronism: {"The watch gains lying against hanging", "open pins",
				"closing them evenly lets hanging gain", "Horizontal less vertical: +", "!loses lying"}}},
		{"lying loses", with(func(w *faulty) { w.horizontal = -25 }), options(), k(oscillator.Isochronism, oscillator.Regulate),
			map[oscillator.Kind][]string{oscillator.Isochronism: {"The watch loses lying against hanging", "pins too close",
				"opening them evenly a little lets hanging lose", "Horizontal less vertical: −", "!gains lying"}}},
		{"short arcs lose", with(func(w *faulty) { w.slope = 50 }), options(), k(oscillator.Isochronism),
			map[oscillator.Kind][]string{oscillator.Isochronism: {"Short arcs lose", "Open regulator pins", "is closed a little",
				"moved nearer the staff", "changes by +", "!Close regulator pins"}}},
		{"short arcs gain", with(func(w *faulty) { w.slope = -50 }), options(), k(oscillator.Isochronism, oscillator.Regulate),
			map[oscillator.Kind][]string{oscillator.Isochronism: {"Short arcs gain", "Close regulator pins", "is opened a little",
				"moved outward", "changes by −", "!Open regulator pins"}}},
		{"dial up gains", with(func(w *faulty) { w.side = 22 }), options(), k(oscillator.EndShake),
			map[oscillator.Kind][]string{oscillator.EndShake: {"Dial up less dial down is +2"}}},
		{"dial down gains", with(func(w *faulty) { w.side = -22 }), options(), k(oscillator.EndShake),
			map[oscillator.Kind][]string{oscillator.EndShake: {"Dial up less dial down is −2"}}},
		{"poise", with(func(w *faulty) { w.s, w.hour = 0.004, 7 }), screwed(), k(oscillator.OutOfPoise),
			map[oscillator.Kind][]string{oscillator.OutOfPoise: {"towards 7 o'clock seen from the dial side",
				"(5 o'clock seen from the balance side", "stands at 7 o'clock", "half the figure first", "eighths of a turn"}}},
		{"slow", with(func(w *faulty) { w.base = -40 }), screwed(), k(oscillator.Regulate),
			map[oscillator.Kind][]string{oscillator.Regulate: {"set faster by about", "divisions", "!slower"}}},
		{"fast", with(func(w *faulty) { w.base = 60 }), screwed(), k(oscillator.Regulate),
			map[oscillator.Kind][]string{oscillator.Regulate: {"set slower by about", "!faster"}}},
		{"out of beat in one position", beating(0.7, 2.1, timing.SixUp), options(), k(oscillator.OutOfBeat),
			map[oscillator.Kind][]string{oscillator.OutOfBeat: {"The beat error is 2.1", "in 6H, full wind", "The angle is about 6.",
				"A movable stud is turned away from that side", "collet is turned towards it"}}},
		{"the shop allows 3 ms", beating(0.7, 2.1, timing.SixUp), allowing(3), nil, nil},
		{"the shop allows 0.3 ms", beating(0.2, 0.45, timing.NineUp), allowing(0.3), k(oscillator.OutOfBeat),
			map[oscillator.Kind][]string{oscillator.OutOfBeat: {"at most 0.3 ms", "in 9H"}}},
		{"everything at once", everything, options(), k(oscillator.PowerLow, oscillator.OutOfBeat, oscillator.EndShake,
			oscillator.Isochronism, oscillator.Isochronism, oscillator.OutOfPoise, oscillator.Regulate), nil},
		{"weak", with(func(w *faulty) { w.amplitude = 220 }), options(), k(oscillator.PowerLow), nil},
		{"loses amplitude hanging", with(func(w *faulty) { w.loss = 75 }), options(), k(oscillator.PowerLow),
			map[oscillator.Kind][]string{oscillator.PowerLow: {"From lying to hanging the amplitude falls by 75"}}},
		{"minutes off", with(func(w *faulty) { w.base = -600 }), options(), k(oscillator.CheckSpring),
			map[oscillator.Kind][]string{oscillator.CheckSpring: {"All positions agree on about −600 s/d"}}},
		{"magnetised", madeup.MagnetisedPlainly().Runs, options(), k(oscillator.Magnetised),
			map[oscillator.Kind][]string{oscillator.Magnetised: {"Dial up and dial down lie 40 s/d apart.",
				"Which way the rate goes says nothing"}}},
		{"knocking", madeup.KnocksLying().Runs, options(), k(oscillator.Knocking),
			map[oscillator.Kind][]string{oscillator.Knocking: {"The amplitude reaches 336", "CH full wind swings 336° and gains"}}},
		{"the spring, let down", madeup.SpringAlone(madeup.EvenSpring, madeup.LetDown(150)...).Runs, madeupOptions(madeup.Chronometer),
			k(oscillator.SpringInPositions),
			map[oscillator.Kind][]string{oscillator.SpringInPositions: {"fastest with 12 o'clock up", "keeps its sign on both sides",
				"No metal is taken off"}}},
		{"poise or spring", madeup.SpringAlone(madeup.EvenSpring, madeup.OneWind()...).Runs, tight(), nil, nil},
	}
}

// tight is options whose spread of rates is too narrow for a watch with 13 s/d between two positions.
func tight() oscillator.Options {
	o := madeupOptions(madeup.Modern)
	ten := 8.0
	o.Limits.Limits = []timing.Limit{{Key: timing.DeltaRate, Limits: metrology.Limits{Upper: &ten}}}
	return o
}

// TestWords holds each sentence, figure and order of the advice on one table of made-up watches: what the faults must be
// called, as said above, and the whole text as it stands in testdata/words.txt, read and found right when it was written.
// Where LEDGERWHEEL_WRITE_WORDS is set the file is written anew.
func TestWords(t *testing.T) {
	t.Parallel()
	var all strings.Builder
	for _, c := range spokenWatches() {
		r := advise(t, c.runs, c.o)
		if got := kinds(r.Advice); !slices.Equal(got, c.order) {
			t.Errorf("%s: the order is %v, want %v", c.name, got, c.order)
		}
		for kind, words := range c.words {
			if slices.Contains(kinds(r.Advice), kind) {
				says(t, c.name, adviceOf(t, r, kind), words...)
			}
		}
		writeSpoken(&all, c.name, r)
	}
	const file = "testdata/words.txt"
	if os.Getenv("LEDGERWHEEL_WRITE_WORDS") != "" {
		if err := os.WriteFile(file, []byte(all.String()), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	kept, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	want, got := strings.Split(string(kept), "\n"), strings.Split(all.String(), "\n")
	for i := range max(len(want), len(got)) {
		if i >= len(want) || i >= len(got) || want[i] != got[i] {
			t.Fatalf("line %d of %s differs:\n%s", i+1, file, strings.Join(got[max(0, i-3):min(len(got), i+3)], "\n"))
		}
	}
}

func writeSpoken(b *strings.Builder, name string, r oscillator.Report) {
	fmt.Fprintf(b, "== %s\nnext: %s: %s\n", name, r.Next.Kind, r.Next.Text)
	if r.PoiseWithheld != "" {
		fmt.Fprintf(b, "no metal: %s\n", r.PoiseWithheld)
	}
	for i, a := range r.Advice {
		certainty := "found"
		if a.Suspicion {
			certainty = "suspected"
		}
		fmt.Fprintf(b, "%d. %s, %s, %s", i+1, a.Kind, a.Row, certainty)
		if a.RemovesMetal {
			b.WriteString(", metal")
		}
		if a.After != "" {
			fmt.Fprintf(b, ", after %s", a.After)
		}
		fmt.Fprintf(b, "\n   %s.\n   %s\n", a.Title, a.Seen)
		for _, e := range a.Evidence {
			fmt.Fprintf(b, "   evidence: %s\n", e)
		}
		fmt.Fprintf(b, "   cause: %s\n   to do: %s\n", a.Cause, a.Correction)
		for _, c := range a.Cautions {
			fmt.Fprintf(b, "   caution: %s\n", c)
		}
		for _, f := range a.Figures {
			text := f.Value.Format()
			if f.Signed {
				text = f.Value.FormatSigned()
			}
			fmt.Fprintf(b, "   figure: %s %s\n", f.Label, text)
		}
		if a.Forecast != nil && len(a.Forecast.Rates) > 0 {
			e := a.Forecast.Rates[0]
			fmt.Fprintf(b, "   expect: %s %s, now %s; %s\n", e.Position, e.Rate.FormatSigned(), e.Now.FormatSigned(),
				a.Forecast.PassText)
		}
	}
}

// TestSwingSaid: by how much a heavy spot parts opposite positions is the whole difference, by Bessel's integral of the
// made-up watch, and is said of the state of wind where it is greatest.
func TestSwingSaid(t *testing.T) {
	t.Parallel()
	w := sound
	w.s, w.hour = 0.004, 7
	a := adviceOf(t, advise(t, []timing.Run{quiet(w, nil, 0, 24)}, options()), oscillator.OutOfPoise)
	found := regexp.MustCompile(`parts opposite hanging positions by up to (\d+) s/d \((.*), amplitude (\d+)°\)`).
		FindStringSubmatch(strings.Join(a.Evidence, " "))
	if found == nil {
		t.Fatal(a.Evidence)
	}
	said, _ := strconv.ParseFloat(found[1], 64)
	full, later := (w.amplitude-w.loss)*math.Pi/180, (w.amplitude-w.loss-w.fall)*math.Pi/180
	apart := func(amp float64) float64 { return math.Abs(2 * 86400 * w.s * besselJ1(amp) / amp) }
	want, where := apart(full), "full wind"
	if apart(later) > want {
		want, where = apart(later), "after 24 h"
	}
	// What is taken of watches beforehand draws the size in a little.
	if math.Abs(said-want) > 0.15*want || found[2] != where {
		t.Errorf("said %v s/d %s, true %.0f s/d %s", said, found[2], want, where)
	}
}

// TestColletAngleSaid: the angle of collet or stud is said, and is A·sin(π·F·e) of the position with the worst beat error.
func TestColletAngleSaid(t *testing.T) {
	t.Parallel()
	a := adviceOf(t, advise(t, beating(0.7, 2.1, timing.SixUp), options()), oscillator.OutOfBeat)
	found := regexp.MustCompile(`The angle is about ([\d.]+)`).FindStringSubmatch(a.Correction)
	if found == nil {
		t.Fatal(a.Correction)
	}
	said, _ := strconv.ParseFloat(found[1], 64)
	near(t, "angle", said, (sound.amplitude-sound.loss)*math.Sin(math.Pi*4*2.1e-3), 0.06) // 28800 an hour: 4 Hz
}

// TestPartingReadingSaid: where poise and spring can't be told apart, both directions are said, the reading that would
// tell them, and no more of the spring's error than integration bears out.
func TestPartingReadingSaid(t *testing.T) {
	t.Parallel()
	next := advise(t, madeup.SpringAlone(madeup.EvenSpring, madeup.OneWind()...).Runs, tight()).Next
	if next.Kind != oscillator.MeasureMore {
		t.Fatal(next)
	}
	for _, want := range []string{"a heavy spot towards 12 o'clock", "fastest with 12 o'clock up", "about 160° hanging",
		"half of it or more may stay", "No metal is touched"} {
		if !strings.Contains(next.Text, want) {
			t.Errorf("%q is not in %s", want, next.Text)
		}
	}
	if strings.Contains(next.Text, "least") || strings.Contains(next.Text, "gone") {
		t.Errorf("the spring's error is said to go: %s", next.Text)
	}
}
