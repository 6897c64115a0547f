package store_test

import (
	"encoding/json"
	"errors"
	"reflect"
	"testing"
	"time"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/service"
	"ledgerwheel/store"
)

func (b *bench) service(t *testing.T) store.ServiceSheet {
	t.Helper()
	sheet, err := b.ServiceSheet(t.Context(), b.n)
	if err != nil {
		t.Fatal(err)
	}
	return sheet
}

func TestBenchWork(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	begun := len(b.kinds(t, b.n))
	work := service.Work{Steps: []service.Step{service.StepLetDown, service.StepClean}, StepMinutes: map[service.Step]int{
		service.StepClean: 25},
		Lubricants: []service.Lubricant{{Place: service.TrainPivots, Kind: "medium oil"}}, Minutes: 40, Note: "Rinsed twice."}
	id, err := b.AddWork(t.Context(), b.by(b.watchmaker), work)
	if err != nil {
		t.Fatal(err)
	}
	noted := b.at
	if _, err := b.AddWork(t.Context(), b.by(b.owner), service.Work{Minutes: 5}); err != nil {
		t.Fatal(err)
	}
	sheet := b.service(t)
	work.ID, work.By, work.ByID, work.At = id, "Emrys Vale", b.watchmaker.StaffID, noted
	if len(sheet.Works) != 2 || !reflect.DeepEqual(sheet.Works[0], work) {
		t.Fatalf("kept as %+v\nwant %+v", sheet.Works, work)
	}
	if sum := service.Summarise(sheet.Works); sum.Minutes != 70 || len(sum.Done) != 2 ||
		sheet.Head.Facts.ServiceSteps != 2 {
		t.Errorf("summary %+v, %d steps counted", sum, sheet.Head.Facts.ServiceSteps)
	}

	b.at = b.at.Add(time.Hour)
	corrected := service.Work{Steps: []service.Step{service.StepClean}, Minutes: 30}
	if err := b.CorrectWork(t.Context(), b.seen(t, b.owner), id, corrected); err != nil {
		t.Fatal(err)
	}
	sheet = b.service(t)
	got, _ := sheet.Work(id)
	if got.By != "Emrys Vale" || !got.At.Equal(noted) || got.TotalMinutes() != 30 || len(got.Lubricants) != 0 ||
		sheet.Head.Facts.ServiceSteps != 1 {
		t.Errorf("corrected to %+v", got)
	}
	var doneBy int64
	var doneAt time.Time
	step := b.Pool().QueryRow(t.Context(), `SELECT by_id, at FROM service_step WHERE work_id = $1`, id)
	if err := step.Scan(&doneBy, &doneAt); err != nil || doneBy != b.watchmaker.StaffID || !doneAt.Equal(noted) {
		t.Errorf("the step is of %d at %s, %v: who corrects it did not do it", doneBy, doneAt, err)
	}
	if err := b.CorrectWork(t.Context(), b.seen(t, b.owner), id, corrected); err != nil { // as it was
		t.Fatal(err)
	}
	b.wantKinds(t, begun, docket.ServiceStepDone, docket.ServiceStepDone, docket.ServiceChanged)
	entries, err := b.ChangesSince(t.Context(), b.n, int64(begun+2))
	if err != nil || len(entries) != 1 || !reflect.DeepEqual(factsIn(t, entries[0])["was"].(map[string]any)["steps"],
		[]any{"power let down", "cleaned and rinsed (25 min)"}) {
		t.Errorf("the journal lost what it said before: %s", entries[0].Facts)
	}
}

func TestBenchWorkRefusals(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	if _, err := b.AddWork(t.Context(), b.by(b.watchmaker), service.Work{}); problemsOf(t, err)["steps"] == "" {
		t.Error("empty work was taken")
	}
	id, err := b.AddWork(t.Context(), b.by(b.watchmaker), service.Work{Minutes: 5})
	if err != nil {
		t.Fatal(err)
	}
	stale := b.seen(t, b.watchmaker)
	if _, err := b.AddWork(t.Context(), b.by(b.watchmaker), service.Work{Minutes: 6}); err != nil {
		t.Fatal(err)
	}
	if err := b.CorrectWork(t.Context(), stale, id, service.Work{Minutes: 7}); !errors.Is(err, domain.ErrChanged) {
		t.Errorf("on an old version: %v", err)
	}
	if err := b.CorrectWork(t.Context(), b.seen(t, b.watchmaker), id+7, service.Work{Minutes: 7}); !errors.Is(err,
		domain.ErrNotFound) {
		t.Errorf("no such work: %v", err)
	}
	b.close(t, b.n, docket.StageWithdrawn, b.at)
	if _, err := b.AddWork(t.Context(), b.by(b.watchmaker), service.Work{Minutes: 5}); !errors.Is(err, domain.ErrClosed) {
		t.Errorf("after the watch left: %v", err)
	}
}

func factsIn(t *testing.T, e docket.Entry) map[string]any {
	t.Helper()
	var facts map[string]any
	if err := json.Unmarshal(e.Facts, &facts); err != nil {
		t.Fatal(err)
	}
	return facts
}
