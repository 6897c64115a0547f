package store_test

import (
	"errors"
	"strings"
	"testing"
	"time"

	"ledgerwheel/domain"
	"ledgerwheel/domain/chronometer"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/timing"
	"ledgerwheel/domain/trial"
	"ledgerwheel/store"
)

// trialPlan is a trial by instrument whose first day lies so many days before the bench's clock.
func (b *bench) trialPlan(back int) trial.Plan {
	return trial.Plan{Category: chronometer.Category1, Method: trial.ByInstrument,
		FirstDay:      b.at.Truncate(24*time.Hour).AddDate(0, 0, -back),
		ReadingMinute: 9 * 60, Instrument: "Bench 2", ClockPPM: 0.5}
}

// dayOf is a day as the programme asks for it, with its rate.
func dayOf(p trial.Plan, day int, rate float64) trial.Entry {
	want, _ := chronometer.DayOf(day)
	t := want.TemperatureC
	return trial.Entry{Day: day, Rate: &timing.Figure{Value: rate, Step: 0.1}, Position: want.Position, TemperatureC: &t,
		ReadAt: p.DueAt(day, time.UTC)}
}

func (b *bench) begins(t *testing.T, p trial.Plan) int64 {
	t.Helper()
	id, err := b.BeginTrial(t.Context(), b.next(), p)
	if err != nil {
		t.Fatal(err)
	}
	return id
}

func (b *bench) notes(t *testing.T, id int64, n store.TrialNote) {
	t.Helper()
	if err := b.NoteTrialDay(t.Context(), b.next(), id, n); err != nil {
		t.Fatal(err)
	}
}

func (b *bench) trials(t *testing.T) store.TrialSheet {
	t.Helper()
	sheet, err := b.TrialSheet(t.Context(), b.n, 0)
	if err != nil {
		t.Fatal(err)
	}
	return sheet
}

func TestTrialFromFirstToLastDay(t *testing.T) {
	t.Parallel()
	b := regulating(t)
	begun := len(b.kinds(t, b.n))
	p := b.trialPlan(16)
	id := b.begins(t, p)
	if _, err := b.BeginTrial(t.Context(), b.next(), p); !strings.Contains(problemsOf(t, err)[""], "running already") {
		t.Errorf("a second trial: %v", err)
	}
	for day := 1; day <= chronometer.Days; day++ {
		b.notes(t, id, store.TrialNote{Entry: dayOf(p, day, 2)})
	}
	if _, err := b.EndTrial(t.Context(), b.next(), id+1000); !errors.Is(err, domain.ErrNotFound) {
		t.Errorf("a trial that is not there: %v", err)
	}
	verdict, err := b.EndTrial(t.Context(), b.next(), id)
	if err != nil || verdict != metrology.Pass {
		t.Fatalf("ended with %v, %v", verdict, err)
	}
	sheet := b.trials(t)
	if got := sheet.Shown; got == nil || got.State != trial.Ended || got.Verdict != metrology.Pass ||
		len(got.Entries()) != 15 || got.EndedBy != "Emrys Vale" ||
		!got.Plan.FirstDay.Equal(p.FirstDay) || got.Plan.ClockPPM != 0.5 {
		t.Errorf("kept as %+v", sheet.Shown)
	}
	if err := b.NoteTrialDay(t.Context(), b.next(), id, store.TrialNote{Entry: dayOf(p, 3, 4), Version: 1,
		Why: "late thought"}); !strings.Contains(problemsOf(t, err)[""], "over") {
		t.Errorf("a day of an ended trial changed: %v", err)
	}
	kinds := b.kinds(t, b.n)[begun:]
	if kinds[0] != docket.TrialBegun || kinds[1] != docket.TrialDayRead || kinds[len(kinds)-1] != docket.TrialEnded ||
		len(kinds) != 17 {
		t.Errorf("journal: %v", kinds)
	}
}

func TestTrialDayIsCorrectedInVersions(t *testing.T) {
	t.Parallel()
	b := regulating(t)
	p := b.trialPlan(5)
	id := b.begins(t, p)
	b.notes(t, id, store.TrialNote{Entry: dayOf(p, 1, 2.3)})
	again := dayOf(p, 1, 3.2)
	if err := b.NoteTrialDay(t.Context(), b.next(), id, store.TrialNote{Entry: again}); !errors.Is(err,
		domain.ErrChanged) {
		t.Errorf("noted twice: %v", err)
	}
	if err := b.NoteTrialDay(t.Context(), b.next(), id, store.TrialNote{Entry: again, Version: 1}); problemsOf(t,
		err)["why"] == "" {
		t.Errorf("corrected without a reason: %v", err)
	}
	b.notes(t, id, store.TrialNote{Entry: again, Version: 1, Why: "Digits changed places."})
	shown := b.trials(t).Shown
	if len(shown.Days) != 2 || shown.Days[0].Rate.Value != 3.2 || shown.Days[0].Version != 2 ||
		shown.Days[1].Rate.Value != 2.3 {
		t.Errorf("versions kept: %+v", shown.Days)
	}
	version := b.head(t).Docket.Version
	entries, err := b.ChangesSince(t.Context(), b.n, version-1)
	if err != nil || len(entries) != 1 || entries[0].Kind != docket.TrialDayCorrected ||
		entries[0].Why != "Digits changed places." ||
		!strings.Contains(entries[0].Summary, "+2.3 s/d → +3.2 s/d") || !strings.Contains(string(entries[0].Facts),
		`"+2.3"`) {
		t.Errorf("journal: %+v, %v", entries, err)
	}
	b.notes(t, id, store.TrialNote{Entry: again, Version: 2, Why: "nothing new"})
	if after := b.head(t).Docket.Version; after != version {
		t.Error("a correction that changes nothing is journalled")
	}
}

// No trial is set up whose readings fall on a time that the clocks skip or show twice.
func TestTrialAtATimeThatDoesNotExist(t *testing.T) {
	t.Parallel()
	b := regulating(t)
	if _, err := b.Pool().Exec(t.Context(), `UPDATE shop SET time_zone = 'Europe/Zurich'`); err != nil {
		t.Fatal(err)
	}
	b.at = time.Date(2027, 3, 20, 12, 0, 0, 0, time.UTC)
	p := b.trialPlan(1)
	p.ReadingMinute = 150
	if _, err := b.BeginTrial(t.Context(), b.next(), p); !strings.Contains(problemsOf(t, err)["reading_time"],
		"28 March 2027 this time is skipped") {
		t.Errorf("begun: %v", err)
	}
	p.ReadingMinute = 180
	b.begins(t, p)
}

// A spoilt criterion is written as such into the journal, and the trial has no verdict.
func TestSpoiltTrialHasNoVerdict(t *testing.T) {
	t.Parallel()
	b := regulating(t)
	p := b.trialPlan(16)
	id := b.begins(t, p)
	for day := 1; day <= chronometer.Days; day++ {
		e := dayOf(p, day, 2)
		if day == 13 {
			*e.TemperatureC = 30
		}
		b.notes(t, id, store.TrialNote{Entry: e})
	}
	verdict, err := b.EndTrial(t.Context(), b.next(), id)
	if err != nil || verdict != metrology.NotMeasured {
		t.Errorf("ended with %v, %v", verdict, err)
	}
}

func TestTrialRefusals(t *testing.T) {
	t.Parallel()
	b := regulating(t)
	p := b.trialPlan(3)
	wrong := p
	wrong.Category, wrong.ReadingMinute = 3, 1440
	if _, err := b.BeginTrial(t.Context(), b.next(), wrong); problemsOf(t, err)["category"] == "" ||
		problemsOf(t, err)["reading_time"] == "" {
		t.Errorf("a wrong plan: %v", err)
	}
	id := b.begins(t, p)
	ahead := dayOf(p, 9, 1)
	if err := b.NoteTrialDay(t.Context(), b.next(), id, store.TrialNote{Entry: ahead}); !strings.Contains(problemsOf(t,
		err)["read_time"], "future") {
		t.Errorf("a day to come: %v", err)
	}
	if _, err := b.EndTrial(t.Context(), b.next(), id); !strings.Contains(problemsOf(t, err)[""], "open") {
		t.Errorf("ended too early: %v", err)
	}
	if err := b.AbandonTrial(t.Context(), b.next(), id, ""); problemsOf(t, err)["reason"] == "" {
		t.Errorf("abandoned without a reason: %v", err)
	}
	if err := b.AbandonTrial(t.Context(), b.next(), id, "The chamber failed."); err != nil {
		t.Fatal(err)
	}
	if got := b.trials(t).Shown; got.State != trial.Abandoned || got.Reason != "The chamber failed." {
		t.Errorf("kept as %+v", got)
	}
	b.begins(t, p)
	today, err := b.Today(t.Context())
	open := today.Open
	if err != nil || len(open) != 1 || open[0].Trial == nil || open[0].Trial.Plan.Category != 1 {
		t.Errorf("today: %+v, %v", open, err)
	}
	b.stage(t, docket.StageIntake)
	if _, err := b.BeginTrial(t.Context(), b.next(), p); !strings.Contains(problemsOf(t, err)[""], "stages") {
		t.Errorf("begun in intake: %v", err)
	}
}

// Two comparisons 24 h apart of a watch that gained 4.5 s make 4.5 s/d.
func TestTrialByComparison(t *testing.T) {
	t.Parallel()
	b := regulating(t)
	p := b.trialPlan(3)
	p.Method, p.Instrument, p.ClockPPM = trial.ByComparison, "", 0
	id := b.begins(t, p)
	compared := func(day int, off float64) trial.Entry {
		e := dayOf(p, max(day, 1), 0)
		e.Day, e.Rate, e.ReadAt = day, nil, p.DueAt(day, time.UTC)
		e.Compared = &trial.Compared{Reference: e.ReadAt, Watch: e.ReadAt.Add(time.Duration(off * float64(time.Second))),
			WithinS: 0.2}
		return e
	}
	b.notes(t, id, store.TrialNote{Entry: compared(0, 12)})
	b.notes(t, id, store.TrialNote{Entry: compared(1, 16.5)})
	if err := b.NoteTrialDay(t.Context(), b.next(), id,
		store.TrialNote{Entry: compared(2, 7200)}); !strings.Contains(problemsOf(t, err)["watch_time"], "half an hour") {
		t.Errorf("hands that were set: %v", err)
	}
	shown := b.trials(t).Shown
	rates, err := trial.Record(shown.Plan, shown.Entries(), time.UTC).Rates()
	if err != nil {
		t.Fatal(err)
	}
	got, known := rates.Rate(1)
	// u of the difference of two readings within ±0.2 s, rectangular: √2 · 0.2/√3.
	if !known || got.Value != 4.5 || got.StdUncertainty < 0.1632 || got.StdUncertainty > 0.1634 {
		t.Errorf("rate of day 1: %+v", got)
	}
}
