package store_test

import (
	"encoding/json"
	"errors"
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
	return store.RunDown{RunDown: d, Recording: whole}
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

// A run-down becomes a part of the run that was taken last: no run of its own, and no reading of that run.
func TestKeepRunDown(t *testing.T) {
	t.Parallel()
	b := regulating(t)
	of, err := b.RecordRun(t.Context(), b.next(), store.RunEntry{Sheet: runSheet(timing.AfterService, 3)})
	if err != nil {
		t.Fatal(err)
	}
	before := b.regulation(t)
	in := b.runDown(t, 40)
	in.Recording.Sound = heard.SoundOf([]byte("fLaC and a day and a half of sound"))
	id, err := b.KeepRunDown(t.Context(), b.next(), in)
	if err != nil {
		t.Fatal(err)
	}
	sheet := b.regulation(t)
	if now, _ := sheet.Newest(); len(sheet.Runs) != 1 || now.ID != of || now.Version != before.Runs[0].Version ||
		len(now.Sheet.Run.Readings) != len(before.Runs[0].Sheet.Run.Readings) {
		t.Errorf("the run that it belongs to is another: %+v", sheet.Runs)
	}
	downs := sheet.RunDownsOf(of)
	if len(downs) != 1 || downs[0].ID != id {
		t.Fatalf("run-downs %+v", sheet.RunDowns)
	}
	run := downs[0]
	if timing.StatesText(run.Sheet.States) != "4, 12, 20, 28, 36" || len(run.Sheet.Run.Readings) != 5 || run.PowerReserveH != 40 ||
		run.Outcome != docket.NotYet {
		t.Fatalf("run-down %+v", run)
	}
	if now, was := sheet.Head.Facts, before.Head.Facts; now.NewestRun != was.NewestRun || now.RunAfterWork != was.RunAfterWork {
		t.Errorf("the docket's newest verdict is %q, before %q", now.NewestRun, was.NewestRun)
	}
	for i, g := range run.Sheet.Run.Readings {
		if g.Position != timing.DialUp || g.Instrument != "Bench microphone" || g.RateSPerDay == nil ||
			g.AmplitudeDeg == nil || g.BeatErrorMs == nil {
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
	if len(entries) != 1 || entries[0].Summary != "Run-down heard by Bench microphone for the run after service: 5 readings in "+
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
		"hours beyond":     {func(d *store.RunDown) { d.Readings[4].HoursAfterWinding = 1001 }, "hours_after_winding"},
		"another recorder": {func(d *store.RunDown) { d.Readings[2].Instrument = "Bench 2" }, "recorder"},
		"no recorder":      {func(d *store.RunDown) { d.Recording.Recorder = "" }, "recorder"},
		"no sound file":    {func(d *store.RunDown) { d.Recording.Sound = heard.SoundOf([]byte("GIF89a")) }, "sound"},
	} {
		in := b.runDown(t, 40)
		tc.spoil(&in)
		_, err := b.KeepRunDown(t.Context(), b.next(), in)
		if problemsOf(t, err)[tc.field] == "" {
			t.Errorf("%s: %v", name, err)
		}
	}
	if sheet := b.regulation(t); len(sheet.Runs)+len(sheet.RunDowns) != 0 {
		t.Errorf("%d runs after refusals only", len(sheet.Runs))
	}
	b.stage(t, docket.StageHandedOver)
	if _, err := b.KeepRunDown(t.Context(), b.next(), b.runDown(t, 40)); !errors.Is(err, domain.ErrClosed) {
		t.Errorf("a closed docket: %v", err)
	}
}
