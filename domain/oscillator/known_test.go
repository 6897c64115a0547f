package oscillator_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"ledgerwheel/domain/oscillator"
	"ledgerwheel/domain/oscillator/madeup"
	"ledgerwheel/domain/timing"
)

func advise(t *testing.T, runs []timing.Run, o oscillator.Options) oscillator.Report {
	t.Helper()
	r, err := oscillator.Advise(occasionsOf(runs), o)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func adviceOf(t *testing.T, r oscillator.Report, kind oscillator.Kind) oscillator.Advice {
	t.Helper()
	at := slices.IndexFunc(r.Advice, func(a oscillator.Advice) bool { return a.Kind == kind })
	if at < 0 {
		t.Fatalf("no %s in %v", kind, kinds(r.Advice))
	}
	return r.Advice[at]
}

// says fails where a piece of advice lacks words, or has words that begin with "!" and must not be there.
func says(t *testing.T, name string, a oscillator.Advice, words ...string) {
	t.Helper()
	all := strings.Join(append([]string{a.Title, a.Seen, a.Cause, a.Correction}, a.Evidence...), "\n")
	for _, w := range words {
		if not, found := strings.CutPrefix(w, "!"); found == strings.Contains(all, not) {
			t.Errorf("%s: %q in or not in\n%s", name, w, all)
		}
	}
}

// TestKnownChangesTheWords: what the docket knows changes what is suspected first, gate by gate.
func TestKnownChangesTheWords(t *testing.T) {
	t.Parallel()
	weak := []timing.Run{quiet(faulty{amplitude: 225, fall: 40, loss: 20}, nil, 0)}
	slow := madeup.LosesTenMinutes().Runs
	knocks := madeup.KnocksLying().Runs
	apart := []timing.Run{quiet(faulty{amplitude: 290, fall: 40, loss: 30, side: 22}, nil, 0)}
	for _, c := range []struct {
		name  string
		runs  []timing.Run
		known oscillator.Known
		kind  oscillator.Kind
		words []string
	}{
		{"nothing known", madeup.MagnetisedPlainly().Runs, oscillator.Known{}, oscillator.Magnetised,
			[]string{"Perhaps magnetised", "Demagnetising costs little", "!Seen at diagnosis"}},
		{"demagnetised before", madeup.MagnetisedPlainly().Runs,
			oscillator.Known{Done: []oscillator.Done{{What: oscillator.Demagnetised}}}, oscillator.Magnetised,
			[]string{"Perhaps a coil touches", "less likely", "!Perhaps magnetised", "coils are looked at first"}},
		{"demagnetised since", madeup.MagnetisedPlainly().Runs,
			oscillator.Known{Done: []oscillator.Done{{What: oscillator.Demagnetised, Before: 1}}}, oscillator.Magnetised,
			[]string{"The watch was demagnetised since these readings: a new run", "!Demagnetising costs little"}},
		{"seen magnetised", madeup.PassesEveryLimit().Runs,
			oscillator.Known{Seen: []oscillator.Seen{oscillator.SeenMagnetised}}, oscillator.Magnetised,
			[]string{"Seen at diagnosis: magnetised hairspring.", "The readings do not show it"}},
		{"weak", weak, oscillator.Known{}, oscillator.PowerLow,
			[]string{"dirt or dry oil", "tired or wrong mainspring"}},
		{"weak and cleaned", weak, oscillator.Known{Done: []oscillator.Done{{What: oscillator.Cleaned}}},
			oscillator.PowerLow, []string{"!dirt or dry oil", "too much oil", "The watch was cleaned before this run."}},
		{"weak with a new mainspring", weak,
			oscillator.Known{Done: []oscillator.Done{{What: oscillator.Cleaned}, {What: oscillator.MainspringReplaced}}},
			oscillator.PowerLow, []string{"!tired", "wrong strength",
				"The mainspring was replaced and the watch was cleaned before this run."}},
		{"weak and seen dirty", weak, oscillator.Known{Seen: []oscillator.Seen{oscillator.SeenDirt}},
			oscillator.PowerLow, []string{"Seen at diagnosis: dirt or dry oil."}},
		{"seen dirty, then cleaned", weak, oscillator.Known{Seen: []oscillator.Seen{oscillator.SeenDirt},
			Done: []oscillator.Done{{What: oscillator.Cleaned}}}, oscillator.PowerLow, []string{"!Seen at diagnosis"}},
		{"another hairspring", slow, oscillator.Known{Done: []oscillator.Done{{What: oscillator.HairspringReplaced}}},
			oscillator.CheckSpring, []string{"The hairspring was replaced before this run", "!of another watch"}},
		{"a new mainspring", knocks, oscillator.Known{Done: []oscillator.Done{{What: oscillator.MainspringReplaced}}},
			oscillator.Knocking, []string{"The mainspring replaced before this run is too strong"}},
		{"worn pivots", apart, oscillator.Known{Seen: []oscillator.Seen{oscillator.SeenPivots}}, oscillator.EndShake,
			[]string{"Seen at diagnosis: worn or bent balance pivots."}},
	} {
		o := madeupOptions(madeup.Modern)
		o.Known = c.known
		says(t, c.name, adviceOf(t, advise(t, c.runs, o), c.kind), c.words...)
	}
}

// TestWorkBetweenRunsUnties: what was measured before a cleaning holds no more, and an index after the last run does not
// reach into the fit.
func TestWorkBetweenRunsUnties(t *testing.T) {
	t.Parallel()
	before, after := quiet(faulty{amplitude: 300, fall: 60, loss: 35, s: 0.002, hour: 2}, nil, 0, 24),
		quiet(faulty{amplitude: 290, fall: 60, loss: 35, s: 0.002, hour: 8}, nil, 0, 24)
	after.Kind, after.Adjustment = timing.Adjustment, 1
	after.Touched = []timing.Touch{timing.TouchedPins}
	o := madeupOptions(madeup.Modern)
	tied := advise(t, []timing.Run{before, after}, o)
	o.Known.Done = []oscillator.Done{{What: oscillator.Cleaned, Before: 1}, {What: oscillator.Demagnetised, Before: 7}}
	untied := advise(t, []timing.Run{before, after}, o)
	alone := advise(t, []timing.Run{after}, madeupOptions(madeup.Modern))
	at := func(r oscillator.Report) float64 { return r.Fit.Runs[r.Run].Poise.BearingDeg.Value }
	near(t, "bearing after cleaning", at(untied), at(alone), 1e-9)
	if tied.Run != 1 || untied.Run != 0 {
		t.Errorf("the fit has runs to %d and %d", tied.Run, untied.Run)
	}
}

func TestFirstAfter(t *testing.T) {
	t.Parallel()
	day := func(d int) time.Time { return time.Date(2026, 3, d, 9, 0, 0, 0, time.UTC) }
	begun := []time.Time{day(2), day(5)}
	for at, want := range map[int]int{1: 0, 2: 0, 3: 1, 5: 1, 6: 2} {
		if got := oscillator.FirstAfter(day(at), begun); got != want {
			t.Errorf("day %d: %d, want %d", at, got, want)
		}
	}
}

// TestRepeatsAreAveraged: a position read twice is spoken of by its mean, not by whichever reading came first.
func TestRepeatsAreAveraged(t *testing.T) {
	t.Parallel()
	w := sound
	w.horizontal = 25
	run := quiet(w, nil, 0, 24)
	for _, r := range run.Readings[:2] { // dial up and down at full wind
		r.Repeat = 1
		r.AmplitudeDeg = &timing.Figure{Value: r.AmplitudeDeg.Value - 20, StdUncertainty: 1}
		run.Readings = append(run.Readings, r)
	}
	says(t, "read twice", adviceOf(t, advise(t, []timing.Run{run}, options()), oscillator.Isochronism),
		"Amplitude lying 280°, hanging 255°")
}
