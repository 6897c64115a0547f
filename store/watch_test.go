package store_test

import (
	"errors"
	"slices"
	"testing"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/watch"
	"ledgerwheel/store"
)

func TestSaveWatchTellsTheOpenDocket(t *testing.T) {
	t.Parallel()
	c := newCounter(t)
	n, sheet := c.mustTakeIn(t, c.takingIn())
	page, err := c.WatchSheet(t.Context(), sheet.Head.Watch.ID, 0)
	if err != nil || len(page.Dockets) != 1 || page.Customer.Name != ada.Name {
		t.Fatalf("%+v, %v", page, err)
	}
	// Somebody has read one of the cautions: it stays, though the particulars no longer raise it.
	if _, err := c.Pool().Exec(t.Context(),
		`UPDATE hazard SET acknowledged_by = $1, acknowledged_at = now() WHERE hazard = 'mainspring-let-down'`,
		c.clerk.StaffID); err != nil {
		t.Fatal(err)
	}
	before := len(c.kinds(t, n))
	corrected := page.Watch
	corrected.Lume, corrected.Winding, corrected.WaterResistanceMarked = watch.LumeRadium, watch.WindingCell, "3 bar"
	change := store.WatchChange{Watch: corrected.Tidied(), Version: page.Version, By: c.clerk, At: c.at}
	if err := c.SaveWatch(t.Context(), change); err != nil {
		t.Fatal(err)
	}
	after, err := c.IntakeSheet(t.Context(), n)
	if err != nil {
		t.Fatal(err)
	}
	slices.Sort(after.Hazards)
	if want := []string{"coin-cell", "mainspring-let-down", "pressure-test", "radioactive-lume",
		"solvents"}; !slices.Equal(after.Hazards, want) {
		t.Errorf("hazards %v, want %v", after.Hazards, want)
	}
	want := []docket.Kind{docket.IntakeCorrected, docket.HazardFound, docket.HazardFound, docket.HazardFound}
	if got := c.kinds(t, n)[before:]; !slices.Equal(got, want) {
		t.Errorf("journal goes on with %v, want %v", got, want)
	}
	if err := c.SaveWatch(t.Context(), change); !errors.Is(err, domain.ErrChanged) {
		t.Errorf("an old version gives %v", err)
	}

	change.Version++
	change.Watch.Lume = watch.LumeNone
	if err := c.SaveWatch(t.Context(), change); err != nil {
		t.Fatal(err)
	}
	if after, _ = c.IntakeSheet(t.Context(), n); slices.Contains(after.Hazards, "radioactive-lume") {
		t.Error("a hazard nobody acknowledged outlived the particular that raised it")
	}
	if page, err = c.WatchSheet(t.Context(), sheet.Head.Watch.ID, 0); err != nil || page.Watch.OverpressureBar != 3 ||
		page.Version != 3 {
		t.Errorf("kept %+v at version %d, %v", page.Watch, page.Version, err)
	}
}

func TestSaveWatchOutOfTheShop(t *testing.T) {
	t.Parallel()
	c := newCounter(t)
	n, sheet := c.mustTakeIn(t, c.takingIn())
	c.close(t, n, docket.StageHandedOver, c.at)
	before := len(c.kinds(t, n))
	w := sheet.Head.Watch
	w.Model = "Harbourmaster II"
	if err := c.SaveWatch(t.Context(), store.WatchChange{Watch: w, Version: 1, By: c.clerk, At: c.at}); err != nil {
		t.Fatal(err)
	}
	if len(c.kinds(t, n)) != before {
		t.Error("a closed docket was written to")
	}
	w.Maker = ""
	err := c.SaveWatch(t.Context(), store.WatchChange{Watch: w, Version: 2, By: c.clerk, At: c.at})
	if problemsOf(t, err)["maker"] == "" {
		t.Error("a watch without maker was kept")
	}
	w.ID = 4711
	if err := c.SaveWatch(t.Context(), store.WatchChange{Watch: w, Version: 1}); !errors.Is(err, domain.ErrNotFound) {
		t.Errorf("no such watch gives %v", err)
	}
	if _, err := c.WatchSheet(t.Context(), 4711, 0); !errors.Is(err, domain.ErrNotFound) {
		t.Errorf("no such sheet gives %v", err)
	}
}

func TestCalibres(t *testing.T) {
	t.Parallel()
	c := newCounter(t)
	k := watch.Calibre{Name: "TQ-21", Maker: "Tern Quay", BeatsPerHour: 18000, LiftAngleDeg: 50, GradeKey: "vintage"}
	id, err := c.AddCalibre(t.Context(), store.CalibreChange{At: c.at}, k)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := c.AddCalibre(t.Context(), store.CalibreChange{At: c.at}, watch.Calibre{Name: "tq 21", BeatsPerHour: 18000,
		GradeKey: "vintage"}); problemsOf(t, err)["name"] == "" {
		t.Error("the same name was kept twice")
	}
	in := c.takingIn()
	in.Watch.CalibreName = "tq21"
	_, sheet := c.mustTakeIn(t, in)
	if sheet.Head.Calibre.ID != id || sheet.Head.Calibre.BeatsPerHour != 18000 {
		t.Errorf("a calibre typed is not linked to the list: %+v", sheet.Head.Calibre)
	}
	got, version, err := c.Calibre(t.Context(), id)
	if err != nil || got.PowerReserveHours != 0 || got.LiftAngleDeg != 50 {
		t.Errorf("kept %+v, %v", got, err)
	}
	got.PowerReserveHours = 42
	if err := c.SaveCalibre(t.Context(), store.CalibreChange{At: c.at}, got, version); err != nil {
		t.Fatal(err)
	}
	if err := c.SaveCalibre(t.Context(), store.CalibreChange{At: c.at}, got, version); !errors.Is(err, domain.ErrChanged) {
		t.Errorf("an old version gives %v", err)
	}
	if list, err := c.Calibres(t.Context()); err != nil || len(list) != 1 || list[0].PowerReserveHours != 42 {
		t.Errorf("list %+v, %v", list, err)
	}
}
