package warranty_test

import (
	"errors"
	"maps"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/stat"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/timing"
	"ledgerwheel/domain/warranty"
)

var today = day(2026, 3, 31)

func goodBasis() warranty.Basis {
	c := goodCard()
	return warranty.Basis{Docket: c.Docket, Stage: docket.StageReady, Shop: c.Shop, Watch: c.Watch, Final: c.Final}
}

func goodWording() warranty.Wording {
	return warranty.Wording{WorkDone: []string{"Full service"}, Months: 12, Covers: "The work named here.",
		StartsOn: today}
}

func TestBasisProblems(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		change func(*warranty.Basis, *warranty.Wording)
		want   string
	}{
		"good":    {func(*warranty.Basis, *warranty.Wording) {}, ""},
		"no work": {func(_ *warranty.Basis, w *warranty.Wording) { w.WorkDone = nil }, "work_done"},
		"work in all": {func(_ *warranty.Basis, w *warranty.Wording) {
			w.WorkDone = []string{strings.Repeat("ж", 120), strings.Repeat("ж", 120), strings.Repeat("ж", 40)}
		}, ""},
		"work too long": {func(_ *warranty.Basis, w *warranty.Wording) {
			w.WorkDone = []string{strings.Repeat("ж", 120), strings.Repeat("ж", 120), strings.Repeat("ж", 40), "x"}
		}, "work_done"},
		"ten lines": {func(_ *warranty.Basis, w *warranty.Wording) {
			w.WorkDone = slices.Repeat([]string{"Seal"},
				10)
		}, ""},
		"eleven lines": {func(_ *warranty.Basis, w *warranty.Wording) {
			w.WorkDone = slices.Repeat([]string{"Seal"},
				11)
		}, "work_done"},
		"covers much":     {func(_ *warranty.Basis, w *warranty.Wording) { w.Covers = strings.Repeat("ж", 270) }, ""},
		"covers too much": {func(_ *warranty.Basis, w *warranty.Wording) { w.Covers = strings.Repeat("ж", 271) }, "covers"},
		"no months":       {func(_ *warranty.Basis, w *warranty.Wording) { w.Months = 0 }, "months"},
		"too many months": {func(_ *warranty.Basis, w *warranty.Wording) { w.Months = 121 }, "months"},
		"covers nothing":  {func(_ *warranty.Basis, w *warranty.Wording) { w.Covers = "" }, "covers"},
		"no day":          {func(_ *warranty.Basis, w *warranty.Wording) { w.StartsOn = time.Time{} }, "starts_on"},
		"yesterday": {func(_ *warranty.Basis, w *warranty.Wording) { w.StartsOn = today.AddDate(0, 0, -1) },
			"starts_on"},
		"in 90 days": {func(_ *warranty.Basis, w *warranty.Wording) { w.StartsOn = today.AddDate(0, 0, 90) }, ""},
		"in 91 days": {func(_ *warranty.Basis, w *warranty.Wording) { w.StartsOn = today.AddDate(0, 0, 91) },
			"starts_on"},
		"still in service": {func(b *warranty.Basis, _ *warranty.Wording) { b.Stage = docket.StageService }, ""},
		"declined":         {func(b *warranty.Basis, _ *warranty.Wording) { b.Stage = docket.StageDeclined }, ""},
		"no shop":          {func(b *warranty.Basis, _ *warranty.Wording) { b.Shop.Name = "" }, ""},
		"handed over, day unsaid": {func(b *warranty.Basis, w *warranty.Wording) {
			b.Stage, b.HandedOverOn, w.StartsOn = docket.StageHandedOver, day(2026, 3, 1), time.Time{}
		}, ""},
	} {
		b, w := goodBasis(), goodWording()
		c.change(&b, &w)
		bad := b.Problems(w.Tidied(), today)
		general := bad[""] != ""
		delete(bad, "")
		if got := strings.Join(slices.Sorted(maps.Keys(bad)), " "); got != c.want {
			t.Errorf("%s: problems %v, want %q", name, bad, c.want)
		}
		if wantGeneral := slices.Contains([]string{"still in service", "declined", "no shop"}, name); general != wantGeneral {
			t.Errorf("%s: a problem beside no field: %v", name, general)
		}
	}
}

// The term runs from the day of hand-over, not from the day somebody typed.
func TestCardTermFollowsHandOver(t *testing.T) {
	t.Parallel()
	b, w := goodBasis(), goodWording()
	if c := b.Card(w); !c.StartsOn.Equal(today) || !c.ExpiresOn.Equal(day(2027, 3, 31)) || c.Months() != 12 {
		t.Errorf("ready: %s to %s, %d months", c.StartsOn, c.ExpiresOn, c.Months())
	}
	b.Stage, b.HandedOverOn, w.Months = docket.StageHandedOver, day(2026, 8, 31), 6
	if c := b.Card(w); !c.StartsOn.Equal(day(2026, 8, 31)) || !c.ExpiresOn.Equal(day(2027, 2, 28)) || c.Months() != 6 {
		t.Errorf("handed over: %s to %s, %d months", c.StartsOn, c.ExpiresOn, c.Months())
	}
}

func TestCorrectedKeepsTheTerm(t *testing.T) {
	t.Parallel()
	old := goodCard()
	b, w := goodBasis(), goodWording()
	b.Watch.CaseSerial = "C1234576"
	w.Months, w.StartsOn = 120, day(2030, 1, 1)
	next, err := b.Corrected(old, w, "BBBBBBBBBBBBBBBB", old.IssuedAt.Add(time.Hour))
	if err != nil {
		t.Fatal(err)
	}
	if next.Supersedes != old.Code || next.Watch.CaseSerial != "C1234576" || !next.StartsOn.Equal(old.StartsOn) ||
		!next.ExpiresOn.Equal(old.ExpiresOn) {
		t.Errorf("reissued as %+v", next)
	}
	w.Covers = strings.Repeat("x", 271)
	if _, err := b.Corrected(old, w, "BBBBBBBBBBBBBBBB", old.IssuedAt); err == nil {
		t.Error("a reissue that does not fit the card")
	}
	w.WorkDone = nil
	var invalid *domain.InvalidError
	if _, err := b.Corrected(old, w, "BBBBBBBBBBBBBBBB", old.IssuedAt); !errors.As(err, &invalid) ||
		invalid.Problems["work_done"] == "" {
		t.Errorf("a reissue without work: %v", err)
	}
}

func TestMayIssue(t *testing.T) {
	t.Parallel()
	for _, st := range docket.Stages() {
		want := st == docket.StageReady || st == docket.StageHandedOver
		if warranty.MayIssue(st) != want {
			t.Errorf("%s: %v, want %v", st, !want, want)
		}
	}
}

func figure(v, step float64) *timing.Figure { return &timing.Figure{Value: v, Step: step} }

// The mean is gonum's, the delta its greatest less its least; the uncertainty follows from the step and the clock
// by hand: u = sqrt((1/sqrt(12))² + (50/sqrt(3)·0.0864)²) s/d, times 2.
func TestFinalOf(t *testing.T) {
	t.Parallel()
	rates := []float64{4, -2, 7, 1, -5, 3}
	run := timing.Run{Kind: timing.Final, CrownHour: 3}
	for i, p := range timing.Positions() {
		run.Readings = append(run.Readings, timing.Reading{Position: p, HoursAfterWinding: 24, RateSPerDay: figure(99, 1)})
		run.Readings = append(run.Readings, timing.Reading{Position: p, RateSPerDay: figure(rates[i], 1),
			AmplitudeDeg: figure(280-float64(i), 1)})
	}
	clock := timing.Instruments{OtherClockStdSPerDay: timing.ClockStdSPerDay(50)}
	f := warranty.FinalOf(run, clock, "pass")
	const tolerance = 1e-12 // rounding of the binary fractions only
	if want := stat.Mean(rates, nil); math.Abs(f.MeanSPerDay-want) > tolerance {
		t.Errorf("mean %v, want %v", f.MeanSPerDay, want)
	}
	if want := floats.Max(rates) - floats.Min(rates); math.Abs(f.DeltaSPerDay-want) > tolerance {
		t.Errorf("delta %v, want %v", f.DeltaSPerDay, want)
	}
	if want := 2 * math.Sqrt(1.0/12+math.Pow(50/math.Sqrt(3)*0.0864, 2)); math.Abs(f.USPerDay-want) > tolerance {
		t.Errorf("uncertainty %v, want %v", f.USPerDay, want)
	}
	if len(f.Rates) != 6 || f.Rates[2] != (warranty.Rate{Position: "3H", Wind: "full wind", RateSPerDay: 7,
		AmplitudeDeg: 278}) {
		t.Errorf("rates %+v", f.Rates)
	}
	if f.RateWords(f.Rates[1].RateSPerDay) != "−2.0" || f.SpreadWords() != "12.0" || f.UncertaintyWords() != "5.0" {
		t.Errorf("in words: %s, %s, %s", f.RateWords(-2), f.SpreadWords(), f.UncertaintyWords())
	}
}

// What was not measured is left out; a run without rates states none.
func TestFinalOfPartialRun(t *testing.T) {
	t.Parallel()
	run := timing.Run{Readings: []timing.Reading{
		{Position: timing.DialUp, HoursAfterWinding: 24, RateSPerDay: figure(2, 0.1)},
		{Position: timing.SixUp, HoursAfterWinding: 24, AmplitudeDeg: figure(240, 1)},
		{Position: timing.NineUp, HoursAfterWinding: 24, RateSPerDay: figure(-1, 0.1)},
	}}
	f := warranty.FinalOf(run, timing.Instruments{}, "")
	if len(f.Rates) != 2 || f.Rates[0].Wind != "after 24 h" || math.Abs(f.MeanSPerDay-0.5) > 1e-12 ||
		math.Abs(f.DeltaSPerDay-3) > 1e-12 {
		t.Errorf("partial run: %+v", f)
	}
	if f := warranty.FinalOf(timing.Run{}, timing.Instruments{}, "x"); len(f.Rates) != 0 || f.Verdict != "x" {
		t.Errorf("empty run: %+v", f)
	}
}
