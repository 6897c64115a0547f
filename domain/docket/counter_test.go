package docket_test

import (
	"testing"
	"time"

	"ledgerwheel/domain/docket"
)

func TestConditionOpenUntilDiagnosisIsDone(t *testing.T) {
	t.Parallel()
	for _, st := range docket.Stages() {
		want := st == docket.StageIntake || st == docket.StageDiagnosis
		if got := (docket.Docket{Stage: st}).ConditionOpen(); got != want {
			t.Errorf("%s: %v, want %v", st, got, want)
		}
	}
	if (docket.Docket{Stage: docket.StageIntake, HandedBackAt: time.Unix(1, 0)}).ConditionOpen() {
		t.Error("the watch has left the shop")
	}
}

func TestTakeInPlacesAreInTheShop(t *testing.T) {
	t.Parallel()
	for _, k := range docket.TakeInPlaces() {
		if p := docket.PlaceAt(k, ""); !p.InShop() || len(p.Problems()) > 0 {
			t.Errorf("%s: %v", k, p.Problems())
		}
	}
}
