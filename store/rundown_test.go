package store_test

import (
	"encoding/json"
	"errors"
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

// runDown is what was heard of a watch over so many hours, dial up, until it stopped: five readings at most.
func (b *bench) runDown(t *testing.T, hours float64) store.RunDown {
	t.Helper()
	r := heardResult(3.25)
	r.Seconds, r.EndS = hours*3600+900, hours*3600
	r.Notes = append(r.Notes, acoustic.Note{Code: acoustic.NoteStops, Text: "The watch stops in the recording."})
	for at := 0.0; at+1200 <= r.EndS; at += 1200 {
		amplitude := metrology.Value{Value: 290 - at/1800, StdUncertainty: 0.5, Unit: timing.UnitDegree}
		r.Stretches = append(r.Stretches, acoustic.Stretch{StartS: at, EndS: at + 1200, Beats: 7200, Amplitude: &amplitude,
			Rate:      metrology.Value{Value: 3 + 0.04*(amplitude.Value-290), StdUncertainty: 0.1, Unit: timing.UnitSPerDay},
			BeatError: r.BeatError})
	}
	from := heard.Source{Recorder: "Bench microphone", Clock: acoustic.Clock{PPM: 1.5, StdPPM: 0.2}, SampleRateHz: 48000}
	whole := heard.FactsOf(r, from)
	d, bad := heard.RunDownOf(r, whole, heard.StartOf{Position: timing.DialUp, TakenBy: "Emrys Vale", At: b.at}, 5)
	if len(bad) != 0 {
		t.Fatal(bad)
	}
	return store.RunDown{Kind: timing.Final, RunDown: d, Recording: whole}
}

func (b *bench) entriesOf(t *testing.T, k docket.Kind) (found []docket.Entry) {
	t.Helper()
	entries, err := b.Journal(t.Context(), b.head(t).Docket.ID, 0)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		if e.Kind == k {
			found = append(found, e)
		}
	}
	return found
}

func TestKeepRunDownBeginsARun(t *testing.T) {
	t.Parallel()
	b := regulating(t)
	in := b.runDown(t, 40)
	in.Recording.Sound = heard.SoundOf([]byte("fLaC and a day and a half of sound"))
	runID, err := b.KeepRunDown(t.Context(), b.next(), in)
	if err != nil {
		t.Fatal(err)
	}
	run, found := b.regulation(t).Run(runID)
	if !found || timing.StatesText(run.Sheet.States) != "4, 12, 20, 28, 36" || len(run.Sheet.Run.Readings) != 5 ||
		run.Sheet.Run.Kind != timing.Final {
		t.Fatalf("run %+v", run)
	}
	for i, g := range run.Sheet.Run.Readings {
		if g.Position != timing.DialUp || g.Instrument != "Bench microphone" || g.RateSPerDay == nil ||
			g.AmplitudeDeg == nil || g.BeatErrorMs != nil {
			t.Errorf("reading %d: %+v", i, g)
		}
	}
	h, err := b.HeardSheet(t.Context(), b.n, run.Heard["CH-28"])
	if err != nil {
		t.Fatal(err)
	}
	if p := h.Heard.Facts.Piece; p == nil || p.AtS < 27*3600 || p.AtS > 29*3600 || !h.Heard.Stands ||
		h.Heard.Facts.Sound == nil {
		t.Errorf("kept %+v", h.Heard)
	}
	if _, err := b.KeptSound(t.Context(), run.Heard["CH-4"]); err != nil {
		t.Error(err)
	}
	entries := b.entriesOf(t, docket.ReadingHeard)
	if len(entries) != 1 || entries[0].Summary != "Run-down heard by Bench microphone for the run final: 5 readings in "+
		"CH, from 4 h to 36 h after winding. It stopped after 40.0 h." {
		t.Fatalf("entries %+v", entries)
	}
	var facts struct {
		Readings []struct{ At, Figures string }
		Reserve  float64 `json:"power_reserve_h"`
		Heard    struct {
			ClockStd float64 `json:"clock_std_ppm"`
		} `json:"recording"`
	}
	if err := json.Unmarshal(entries[0].Facts, &facts); err != nil {
		t.Fatal(err)
	}
	if len(facts.Readings) != 5 || facts.Readings[1].At != "CH, after 12 h" || facts.Reserve < 39.9 ||
		facts.Heard.ClockStd != 0.2 {
		t.Errorf("facts %s", entries[0].Facts)
	}
}

// A run-down goes beside what the run has already and replaces only its own cells; what it replaces stays in the
// journal.
func TestKeepRunDownFillsARun(t *testing.T) {
	t.Parallel()
	b := regulating(t)
	first := b.hearing(timing.DialUp, 3.25)
	runID, err := b.KeepHeard(t.Context(), b.next(), first)
	if err != nil {
		t.Fatal(err)
	}
	same := b.hearing(timing.DialUp, 1.25)
	same.RunID, same.Reading.HoursAfterWinding = runID, 20
	if _, err := b.KeepHeard(t.Context(), b.next(), same); err != nil {
		t.Fatal(err)
	}
	in := b.runDown(t, 40)
	in.RunID = runID
	for range 2 { // keeping it again changes nothing but who heard it
		if again, err := b.KeepRunDown(t.Context(), b.next(), in); err != nil || again != runID {
			t.Fatalf("run %d, %v", again, err)
		}
	}
	run, _ := b.regulation(t).Run(runID)
	if timing.StatesText(run.Sheet.States) != "0, 4, 12, 20, 28, 36" || len(run.Sheet.Run.Readings) != 6 ||
		len(run.Heard) != 6 {
		t.Fatalf("run %+v", run)
	}
	if g, _ := run.Sheet.Run.Reading(timing.DialUp, 0); g.RateSPerDay.Value != 3.25 || g.BeatErrorMs == nil {
		t.Errorf("full wind reads %+v", g)
	}
	if g, _ := run.Sheet.Run.Reading(timing.DialUp, 20); g.RateSPerDay.Value == 1.25 || g.BeatErrorMs != nil {
		t.Errorf("after 20 h stands %+v", g)
	}
	entries := b.entriesOf(t, docket.ReadingHeard)
	if !strings.Contains(string(entries[1].Facts), `"replaced":[{"at":"CH, after 20 h","figures":"+1.25 s/d`) {
		t.Errorf("facts %s", entries[1].Facts)
	}
	if n, err := b.CheckJournals(t.Context(), func(n docket.Number, err error) {
		t.Errorf("docket %s: %v", n,
			err)
	}); n == 0 || err != nil {
		t.Errorf("%d journals, %v", n, err)
	}
}

func TestKeepRunDownRefuses(t *testing.T) {
	t.Parallel()
	b := regulating(t)
	for name, tc := range map[string]struct {
		spoil func(*store.RunDown)
		field string
	}{
		"one reading":        {func(d *store.RunDown) { d.Readings, d.Facts = d.Readings[:1], d.Facts[:1] }, ""},
		"facts that are not": {func(d *store.RunDown) { d.Facts = d.Facts[1:] }, ""},
		"two positions":      {func(d *store.RunDown) { d.Readings[1].Position = timing.SixUp }, "position"},
		"the same state twice": {func(d *store.RunDown) { d.Readings[1].HoursAfterWinding = d.Readings[0].HoursAfterWinding },
			"hours_after_winding"},
		"hours beyond":       {func(d *store.RunDown) { d.Readings[4].HoursAfterWinding = 1001 }, "hours_after_winding"},
		"a kind out of turn": {func(d *store.RunDown) { d.Kind = timing.AsReceived }, "kind"},
		"another recorder":   {func(d *store.RunDown) { d.Readings[2].Instrument = "Bench 2" }, "recorder"},
		"no recorder":        {func(d *store.RunDown) { d.Recording.Recorder = "" }, "recorder"},
		"no sound file":      {func(d *store.RunDown) { d.Recording.Sound = heard.SoundOf([]byte("GIF89a")) }, "sound"},
	} {
		in := b.runDown(t, 40)
		tc.spoil(&in)
		_, err := b.KeepRunDown(t.Context(), b.next(), in)
		if problemsOf(t, err)[tc.field] == "" {
			t.Errorf("%s: %v", name, err)
		}
	}
	in := b.runDown(t, 40)
	in.RunID = 4711
	if _, err := b.KeepRunDown(t.Context(), b.next(), in); !errors.Is(err, domain.ErrNotFound) {
		t.Errorf("a run that is not there: %v", err)
	}
	if sheet := b.regulation(t); len(sheet.Runs) != 0 {
		t.Errorf("%d runs after refusals only", len(sheet.Runs))
	}
	// A sheet of two states has no room for five more.
	kept, err := b.RecordRun(t.Context(), b.next(), store.RunEntry{Sheet: runSheet(timing.Final, 3)})
	if err != nil {
		t.Fatal(err)
	}
	in.RunID = kept
	if _, err := b.KeepRunDown(t.Context(), b.next(), in); problemsOf(t, err)["states"] == "" {
		t.Errorf("seven states of wind: %v", err)
	}
	if run, _ := b.regulation(t).Run(kept); run.Version != 1 || len(run.Sheet.States) != 2 {
		t.Errorf("a refused run-down left %+v", run)
	}
	b.stage(t, docket.StageHandedOver)
	if _, err := b.KeepRunDown(t.Context(), b.next(), b.runDown(t, 40)); !errors.Is(err, domain.ErrClosed) {
		t.Errorf("a closed docket: %v", err)
	}
}
