package store_test

import (
	"encoding/json"
	"errors"
	"math"
	"strings"
	"testing"

	"ledgerwheel/domain"
	"ledgerwheel/domain/acoustic"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/heard"
	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/timing"
	"ledgerwheel/store"
)

// heardResult is what was heard of a watch that gains rate s/d.
func heardResult(rate float64) acoustic.Result {
	amplitude := metrology.Value{Value: 281.4, StdUncertainty: 0.6, Unit: timing.UnitDegree}
	return acoustic.Result{BeatsPerHour: 21600, LiftAngleDeg: 52, RateFitStdSPerDay: 0.05, BeatsUsed: 178, BeatsMissed: 2,
		SNRdB: 24.5, Seconds: 30,
		Rate: metrology.Value{Value: rate, StdUncertainty: 0.1, Unit: timing.UnitSPerDay}, Amplitude: &amplitude,
		BeatError: &metrology.Value{Value: -0.21, StdUncertainty: 0.01, Unit: timing.UnitMs},
		Notes:     []acoustic.Note{{Code: acoustic.NoteHum, Text: "A tone of 50 Hz is in the sound."}}}
}

func (b *bench) hearing(p timing.Position, rate float64) store.HeardReading {
	r := heardResult(rate)
	from := heard.Source{Recorder: "Bench microphone", Clock: acoustic.Clock{PPM: 1.5, StdPPM: 0.2}, SampleRateHz: 48000}
	return store.HeardReading{Kind: timing.Final, Facts: heard.FactsOf(r, from),
		Reading: heard.Reading(r, p, 0, from.Recorder, "Emrys Vale", b.at)}
}

func TestKeepHeardBeginsARunAndFillsIt(t *testing.T) {
	t.Parallel()
	b := regulating(t)
	first := b.hearing(timing.DialUp, 3.25)
	first.Sound = []byte("RIFF....WAVE")
	whole := heardResult(3.25)
	whole.Beats = []acoustic.Beat{{TimeS: 0.1}, {TimeS: 0.266, Number: 1, Used: true}}
	whole.Voices[0].UnlockingMs = math.NaN() // as of a faint watch
	first.Result = &whole
	runID, err := b.KeepHeard(t.Context(), b.next(), first)
	if err != nil {
		t.Fatal(err)
	}
	second := b.hearing(timing.SixUp, 1.5)
	second.RunID, second.Kind = runID, ""
	second.Reading.HoursAfterWinding = 24
	if again, err := b.KeepHeard(t.Context(), b.next(), second); err != nil || again != runID {
		t.Fatalf("run %d, %v; want %d", again, err, runID)
	}
	run, found := b.regulation(t).Run(runID)
	if !found || len(run.Sheet.Run.Readings) != 2 || timing.StatesText(run.Sheet.States) != "0, 24" || run.Version != 2 {
		t.Fatalf("run %+v", run)
	}
	g := run.Sheet.Run.Readings[0]
	if g.Instrument != "Bench microphone" || g.RateSPerDay.Value != 3.25 || g.RateSPerDay.Step != 0 ||
		g.RateSPerDay.StdUncertainty != 0.05 ||
		g.AmplitudeDeg.Value != 281.4 || g.BeatErrorMs.Value != 0.21 {
		t.Errorf("reading %+v", g)
	}
	h, err := b.HeardSheet(t.Context(), b.n, run.Heard["CH-0"])
	if err != nil {
		t.Fatal(err)
	}
	if !h.Heard.Stands || *h.Heard.Facts.BeatErrorMs != -0.21 || h.Heard.Facts.ClockPPM != 1.5 ||
		h.Heard.Facts.ClockStdPPM != 0.2 ||
		h.Heard.Facts.Sound.Format != "WAV" || h.Run.Kind != timing.Final || h.Heard.KeptBy != "Emrys Vale" {
		t.Errorf("kept %+v", h.Heard)
	}
	if r := h.Heard.Result; r == nil || len(r.Beats) != 2 || r.Beats[1] != whole.Beats[1] ||
		!math.IsNaN(r.Voices[0].UnlockingMs) {
		t.Errorf("what was heard came back as %+v", r)
	}
	if h, err := b.HeardSheet(t.Context(), b.n, run.Heard["6H-24"]); err != nil || h.Heard.Result != nil {
		t.Errorf("a reading kept without what was heard: %+v, %v", h.Heard.Result, err)
	}
	if _, err := b.KeptSound(t.Context(), run.Heard["CH-0"]); err != nil {
		t.Error(err)
	}
	if _, err := b.KeptSound(t.Context(), run.Heard["6H-24"]); !errors.Is(err, domain.ErrNotFound) {
		t.Errorf("sound of a reading kept without: %v", err)
	}
}

// What stands in the journal is enough to judge the reading without the table of recordings.
func TestKeepHeardIsJournalledWithTheFacts(t *testing.T) {
	t.Parallel()
	b := regulating(t)
	runID, err := b.KeepHeard(t.Context(), b.next(), b.hearing(timing.DialUp, 3.25))
	if err != nil {
		t.Fatal(err)
	}
	again := b.hearing(timing.DialUp, 3.75)
	again.RunID = runID
	again.Sound = []byte("fLaC and what follows")
	if _, err := b.KeepHeard(t.Context(), b.next(), again); err != nil {
		t.Fatal(err)
	}
	e := b.newestEntry(t)
	if e.Kind != docket.ReadingHeard || !strings.HasPrefix(e.Summary, "Heard by Bench microphone for the run final, "+
		"CH, full wind: +3.75 ± 0.20 s/d") {
		t.Errorf("entry %q: %s", e.Kind, e.Summary)
	}
	var facts struct {
		Replaced  string
		Recording heard.Facts
	}
	if err := json.Unmarshal(e.Facts, &facts); err != nil {
		t.Fatal(err)
	}
	if !strings.HasPrefix(facts.Replaced, "+3.25 s/d") || facts.Recording.SNRdB != 24.5 ||
		facts.Recording.Sound.SHA256 != heard.SoundOf(again.Sound).SHA256 ||
		facts.Recording.Notes[0].Code != "hum" {
		t.Errorf("facts %s", e.Facts)
	}
}

// A reading typed over what was heard is no longer heard; the recording stays on record.
func TestTypedReadingReplacesAHeardOne(t *testing.T) {
	t.Parallel()
	b := regulating(t)
	runID, err := b.KeepHeard(t.Context(), b.next(), b.hearing(timing.DialUp, 3.25))
	if err != nil {
		t.Fatal(err)
	}
	run, _ := b.regulation(t).Run(runID)
	was := run.Heard["CH-0"]
	sheet := run.Sheet
	sheet.Run.Readings[0].RateSPerDay = &timing.Figure{Value: 5, Step: 1}
	if err := b.ChangeRun(t.Context(), b.because("misread"), runID, run.Version, sheet); err != nil {
		t.Fatal(err)
	}
	run, _ = b.regulation(t).Run(runID)
	if len(run.Heard) != 0 {
		t.Errorf("still heard: %v", run.Heard)
	}
	if h, err := b.HeardSheet(t.Context(), b.n, was); err != nil || h.Heard.Stands || h.Heard.Facts.RateSPerDay != 3.25 {
		t.Errorf("recording %+v, %v", h.Heard, err)
	}
}

// A figure corrected beside a rate that was heard leaves the rate to the recorder that heard it, and so does another
// instrument named for the sheet: the clock of the rate is the recorder's.
func TestHeardRateStaysTheRecorders(t *testing.T) {
	t.Parallel()
	b := regulating(t)
	runID, err := b.KeepHeard(t.Context(), b.next(), b.hearing(timing.DialUp, 3.25))
	if err != nil {
		t.Fatal(err)
	}
	run, _ := b.regulation(t).Run(runID)
	was, heardAt := run.Heard["CH-0"], run.Sheet.Run.Readings[0].TakenAt
	sheet := run.Sheet
	sheet.Instrument, sheet.ClockPPM = "Bench 2", 0.5
	r := &sheet.Run.Readings[0]
	r.Instrument, r.TakenAt = "Bench 2", b.at
	r.AmplitudeDeg = &timing.Figure{Value: 270, Step: 1}
	sheet.Run.Readings = append(sheet.Run.Readings, timing.Reading{Position: timing.SixUp,
		RateSPerDay: &timing.Figure{Value: 2, Step: 1}})
	if err := b.ChangeRun(t.Context(), b.because("misread"), runID, run.Version, sheet); err != nil {
		t.Fatal(err)
	}
	run, _ = b.regulation(t).Run(runID)
	up, six := run.Sheet.Run.Readings[0], run.Sheet.Run.Readings[1]
	if run.Heard["CH-0"] != was || up.Instrument != "Bench microphone" || !up.TakenAt.Equal(heardAt) ||
		up.AmplitudeDeg.Value != 270 || up.RateSPerDay.StdUncertainty != 0.05 {
		t.Errorf("heard %v, reading %+v", run.Heard, up)
	}
	if run.Heard["6H-0"] != 0 || six.Instrument != "Bench 2" {
		t.Errorf("heard %v, reading %+v", run.Heard, six)
	}
	known := run.Sheet.Instruments()
	if u, _ := known.Value(up, timing.Rate); u.StdUncertainty < 50*timing.SPerDayPerPPM/2 {
		t.Errorf("a recorder of which nothing is known leaves the rate at u = %v", u.StdUncertainty)
	}
}

func TestKeepHeardRefusesWhatIsNotSound(t *testing.T) {
	t.Parallel()
	b := regulating(t)
	for name, tc := range map[string]struct {
		spoil func(*store.HeardReading)
		field string
	}{
		"no recorder":        {func(h *store.HeardReading) { h.Facts.Recorder, h.Reading.Instrument = "", "" }, "recorder"},
		"another recorder":   {func(h *store.HeardReading) { h.Reading.Instrument = "Bench 2" }, "recorder"},
		"no position":        {func(h *store.HeardReading) { h.Reading.Position = "4H" }, "position"},
		"a kind out of turn": {func(h *store.HeardReading) { h.Kind = timing.AsReceived }, "kind"},
		"no rate":            {func(h *store.HeardReading) { h.Reading.RateSPerDay = nil }, ""},
		"no sound file":      {func(h *store.HeardReading) { h.Sound = []byte("GIF89a") }, "sound"},
	} {
		in := b.hearing(timing.DialUp, 3)
		tc.spoil(&in)
		_, err := b.KeepHeard(t.Context(), b.next(), in)
		if problemsOf(t, err)[tc.field] == "" {
			t.Errorf("%s: %v", name, err)
		}
	}
	in := b.hearing(timing.DialUp, 3)
	in.RunID = 4711
	if _, err := b.KeepHeard(t.Context(), b.next(), in); !errors.Is(err, domain.ErrNotFound) {
		t.Errorf("a run that is not there: %v", err)
	}
	if sheet := b.regulation(t); len(sheet.Runs) != 0 {
		t.Errorf("%d runs after refusals only", len(sheet.Runs))
	}
}
