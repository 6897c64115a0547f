package store_test

import (
	"errors"
	"fmt"
	"testing"
	"time"

	"ledgerwheel/domain"
	"ledgerwheel/domain/heard"
	"ledgerwheel/domain/timing"
	"ledgerwheel/store"
)

// sent is a recording that was sent in, for the docket or for none.
func (b *bench) sent(t *testing.T, sound []byte, tied bool) int64 {
	t.Helper()
	in := store.NewRecording{By: b.watchmaker, At: b.at, FileName: "a.wav", Sound: *heard.SoundOf(sound),
		Asked: heard.Asked{Recorder: heard.UnlistedRecorder, LiftAngleDeg: 52, Position: timing.SixUp, Hours: 24,
			SampleRateHz: 48000}}
	if tied {
		in.Number = &b.n
	}
	id, err := b.AddRecording(t.Context(), in)
	if err != nil {
		t.Fatal(err)
	}
	return id
}

func TestRecordingIsKeptUntilItExpires(t *testing.T) {
	t.Parallel()
	b := regulating(t)
	ctx := t.Context()
	id := b.sent(t, []byte("RIFF one"), false)
	if r, err := b.Recording(ctx, id); err != nil || r.State != store.RecordingListening ||
		r.Asked.Position != timing.SixUp || r.By != "Emrys Vale" {
		t.Fatalf("%+v, %v", r, err)
	}
	result := heardResult(3.25)
	if err := b.RecordingHeardAs(ctx, id, result, heard.FactsOf(result, heard.Source{Recorder: "m"})); err != nil {
		t.Fatal(err)
	}
	if err := b.RecordingRefusedFor(ctx, id, "too late"); err != nil {
		t.Fatal(err)
	}
	r, err := b.Recording(ctx, id)
	if err != nil || r.State != store.RecordingHeard || r.Result.Rate.Value != 3.25 || r.Facts.Recorder != "m" ||
		r.Sound.Sum() != heard.SoundOf([]byte("RIFF one")).Sum() {
		t.Fatalf("%+v, %v", r, err)
	}
	if list, err := b.RecordingsOf(ctx, b.watchmaker.StaffID, b.at); err != nil || len(list) != 1 ||
		list[0].Facts.RateSPerDay != 3.25 {
		t.Errorf("%+v, %v", list, err)
	}
	if unnamed, err := b.ExpireRecordings(ctx, b.at.Add(store.RecordingsKept-time.Second)); err != nil ||
		len(unnamed) != 0 {
		t.Errorf("cleared away early: %v, %v", unnamed, err)
	}
	if unnamed, err := b.ExpireRecordings(ctx, b.at.Add(store.RecordingsKept)); err != nil || len(unnamed) != 1 ||
		unnamed[0] != r.Sound.Sum() {
		t.Errorf("cleared away: %v, %v", unnamed, err)
	}
	if _, err := b.Recording(ctx, id); !errors.Is(err, domain.ErrNotFound) {
		t.Errorf("after it: %v", err)
	}
}

// A sound stays as long as anything names it: another recording, or a reading that was kept.
func TestNamedSoundsStay(t *testing.T) {
	t.Parallel()
	b := regulating(t)
	ctx := t.Context()
	sound := []byte("RIFF shared")
	first, second := b.sent(t, sound, true), b.sent(t, sound, false)
	if unnamed, err := b.DiscardRecording(ctx, second); err != nil || len(unnamed) != 0 {
		t.Errorf("another recording names it: %v, %v", unnamed, err)
	}
	in := b.hearing(timing.SixUp, 3)
	in.RecordingID, in.Facts.Sound = first, heard.SoundOf(sound)
	if _, err := b.KeepHeard(ctx, b.next(), in); err != nil {
		t.Fatal(err)
	}
	if sheet, err := b.RecordingSheet(ctx, b.n, first); err != nil || sheet.Recording.KeptRunID == 0 ||
		len(sheet.Runs) != 1 {
		t.Errorf("%+v, %v", sheet.Recording, err)
	}
	if unnamed, err := b.DiscardRecording(ctx, first); err != nil || len(unnamed) != 0 {
		t.Errorf("a reading names it: %v, %v", unnamed, err)
	}
	if named, err := b.SoundNamed(ctx, heard.SoundOf(sound).Sum()); err != nil || !named {
		t.Errorf("%v, %v", named, err)
	}
	// What was thrown away meanwhile cannot be kept any more, and nothing half is.
	if _, err := b.KeepHeard(ctx, b.next(), in); !errors.Is(err, domain.ErrNotFound) {
		t.Errorf("kept from a recording that is gone: %v", err)
	}
	if runs := b.regulation(t).Runs; len(runs) != 1 {
		t.Errorf("%d runs", len(runs))
	}
}

func TestRecordingsOfOnePersonAreBounded(t *testing.T) {
	t.Parallel()
	b := regulating(t)
	for i := range store.MaxRecordings {
		b.sent(t, fmt.Appendf(nil, "RIFF %d", i), false)
	}
	_, err := b.AddRecording(t.Context(), store.NewRecording{By: b.watchmaker, At: b.at, FileName: "a",
		Sound: *heard.SoundOf([]byte("RIFF more"))})
	if problemsOf(t, err)["sound"] == "" {
		t.Errorf("one more: %v", err)
	}
}

func TestTakeRecording(t *testing.T) {
	t.Parallel()
	b := regulating(t)
	id := b.sent(t, []byte("RIFF one"), false)
	if _, err := b.RecordingSheet(t.Context(), b.n, id); !errors.Is(err, domain.ErrNotFound) {
		t.Errorf("before: %v", err)
	}
	if err := b.TakeRecording(t.Context(), id, b.n); err != nil {
		t.Fatal(err)
	}
	if sheet, err := b.RecordingSheet(t.Context(), b.n, id); err != nil || sheet.Recording.ID != id {
		t.Errorf("after: %v", err)
	}
	if err := b.TakeRecording(t.Context(), id, b.n); !errors.Is(err, domain.ErrNotFound) {
		t.Errorf("a second time: %v", err)
	}
}
