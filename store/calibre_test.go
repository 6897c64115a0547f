package store_test

import (
	"errors"
	"reflect"
	"strings"
	"testing"
	"time"

	"ledgerwheel/domain"
	"ledgerwheel/domain/photo"
	"ledgerwheel/domain/timing"
	"ledgerwheel/domain/watch"
	"ledgerwheel/store"
)

// wholeCalibre has every field.
func wholeCalibre() watch.Calibre {
	return watch.Calibre{Name: "TQ-21", Maker: "Tern Quay", BeatsPerHour: 18000, LiftAngleDeg: 50, LiftAngleU95Deg: 0.6,
		LiftAngleHow: "Amplitude seen 180° ± 5°", PowerReserveHours: 38,
		GradeKey:   "vintage",
		DiameterMm: 26, Jewels: 17, JewelPlaces: "balance 5", Train: "80:10,75:10,80:8,15", MotionWork: "12:36,10:40",
		DialHours:   12,
		BarrelTeeth: 72, CentrePinionLeaves: 12, BarrelInsideDiameterMm: 11.2, ArborDiameterMm: 3.6,
		MainspringWidthMm: 1.5, MainspringThicknessMm: 0.13, MainspringLengthMm: 340,
		Balance: watch.Balance{InertiaMgCm2: 20.8, MassMg: 118, GyrationRadiusMm: 4.2, DiameterMm: 9.2, ImpulseJewelHour: 4.5,
			StudRadiusMm:         3.3,
			RegulatorStepSPerDay: 20, ScrewCount: 4, ScrewFirstDeg: 45, ScrewRadiusMm: 4.8, ScrewMassMicrogram: 2500,
			ScrewTravelMm: 0.18},
		HairspringStiffnessNmPerRad: 0.513e-6, HairspringWidthMm: 0.14, HairspringThicknessMm: 0.032, HairspringLengthMm: 153,
		Lubrication: []watch.OilPlace{{Place: "Balance", Oil: "thin oil", Note: "little; \"half\""},
			{Place: "Train", Oil: "thicker oil"}}, Notes: "Seen often.\nTwice."}
}

func (c *counter) by(why string) store.CalibreChange {
	return store.CalibreChange{By: c.clerk, At: c.at, Why: why}
}

func TestCalibreRecordIsKeptWhole(t *testing.T) {
	t.Parallel()
	c := newCounter(t)
	k := wholeCalibre()
	for i := range watch.CalibreFields() {
		if f := watch.CalibreFields()[i]; f.Typed(k) == "" {
			t.Errorf("the whole calibre says nothing of %s", f.Name)
		}
	}
	id, err := c.AddCalibre(t.Context(), c.by("from the sheet"), k)
	if err != nil {
		t.Fatal(err)
	}
	k.ID = id
	record, err := c.CalibreRecord(t.Context(), id)
	if err != nil || !reflect.DeepEqual(record.Calibre, k) {
		t.Fatalf("kept %+v, want %+v, %v", record.Calibre, k, err)
	}
	if h := record.History; len(h) != 1 || h[0].By != c.clerk.Name || h[0].Why != "from the sheet" ||
		!h[0].At.Equal(c.at) || len(h[0].Changes) != len(watch.CalibreFields()) {
		t.Errorf("history %+v", h)
	}
	// Nothing of it is known any more.
	bare := watch.Calibre{ID: id, Name: k.Name, BeatsPerHour: 18000, GradeKey: "vintage"}
	if err := c.SaveCalibre(t.Context(), c.by(""), bare, record.Version); err != nil {
		t.Fatal(err)
	}
	if got, version, err := c.Calibre(t.Context(), id); err != nil || version != 2 || !reflect.DeepEqual(got, bare) {
		t.Errorf("kept %+v at version %d, %v", got, version, err)
	}
}

func TestCalibreCorrections(t *testing.T) {
	t.Parallel()
	c := newCounter(t)
	id, err := c.AddCalibre(t.Context(), c.by(""), wholeCalibre())
	if err != nil {
		t.Fatal(err)
	}
	changed, err := c.CorrectCalibre(t.Context(), c.by("measured"), id, map[string]string{"mainspring_length": "350",
		"jewels": "17"})
	if want := []watch.CalibreDifference{{Field: "mainspring_length", Was: "340", Now: "350"}}; err != nil ||
		!reflect.DeepEqual(changed, want) {
		t.Errorf("changed %v, %v", changed, err)
	}
	for _, fields := range []map[string]string{{"mainspring_length": "long"}, {"colour": "blue"}} {
		for name := range fields {
			if _, err := c.CorrectCalibre(t.Context(), c.by(""), id, fields); problemsOf(t, err)[name] == "" {
				t.Errorf("%v was taken: %v", fields, err)
			}
		}
	}
	if changed, err := c.CorrectCalibre(t.Context(), c.by(""), id, map[string]string{"jewels": "17"}); err != nil ||
		len(changed) != 0 {
		t.Errorf("a correction that changes nothing: %v, %v", changed, err)
	}
	if _, err := c.CorrectCalibre(t.Context(), c.by(""), 4711, nil); !errors.Is(err, domain.ErrNotFound) {
		t.Errorf("no such calibre gives %v", err)
	}
	record, err := c.CalibreRecord(t.Context(), id)
	if err != nil || record.Version != 2 || len(record.History) != 2 || record.History[0].Why != "measured" ||
		record.History[0].Changes[0].Now != "350" {
		t.Errorf("record %+v, %v", record, err)
	}
	if _, err := c.Pool().Exec(t.Context(), `DELETE FROM calibre_change`); err == nil {
		t.Error("the history was deleted")
	}
	if _, err := c.CalibreRecord(t.Context(), 4711); !errors.Is(err, domain.ErrNotFound) {
		t.Errorf("no such record gives %v", err)
	}
}

func TestImportIsAllOrNothing(t *testing.T) {
	t.Parallel()
	c := newCounter(t)
	first := wholeCalibre()
	id, err := c.AddCalibre(t.Context(), c.by(""), first)
	if err != nil {
		t.Fatal(err)
	}
	refusal := errors.New("no")
	if _, _, err := c.ImportCalibres(t.Context(), c.by(""), func([]watch.Calibre) ([]watch.Calibre, error) {
		return nil,
			refusal
	}); !errors.Is(err, refusal) {
		t.Errorf("got %v", err)
	}
	corrected := func(known []watch.Calibre) watch.Calibre { k := known[0]; k.Jewels = 19; return k }
	_, _, err = c.ImportCalibres(t.Context(), c.by(""), func(known []watch.Calibre) ([]watch.Calibre, error) {
		return []watch.Calibre{corrected(known), {Name: "tq 21", BeatsPerHour: 18000, GradeKey: "vintage"}}, nil
	})
	if problemsOf(t, err)["name"] == "" {
		t.Errorf("the same name twice gives %v", err)
	}
	if k, _, err := c.Calibre(t.Context(), id); err != nil || k.Jewels != 17 {
		t.Errorf("half was kept: %d jewels, %v", k.Jewels, err)
	}
	added, changed, err := c.ImportCalibres(t.Context(), c.by("file"), func(known []watch.Calibre) ([]watch.Calibre,
		error) {
		return []watch.Calibre{corrected(known), {Name: "TQ 22", BeatsPerHour: 18000, GradeKey: "vintage"}}, nil
	})
	if err != nil || added != 1 || changed != 1 {
		t.Errorf("%d added, %d changed, %v", added, changed, err)
	}
}

func TestCalibreDrawings(t *testing.T) {
	t.Parallel()
	c := newCounter(t)
	id, err := c.AddCalibre(t.Context(), c.by(""), wholeCalibre())
	if err != nil {
		t.Fatal(err)
	}
	at := c.at.Add(time.Hour)
	pictures := []photo.Picture{{SHA256: "00112233445566778899aabbccddeeff00112233445566778899aabbccddeeff", WidthPx: 640,
		HeightPx: 480, Full: []byte("x")}}
	if err := c.AddCalibreDrawings(t.Context(), c.clerk, at, id, " ", pictures); problemsOf(t, err)["caption"] == "" {
		t.Errorf("no caption gives %v", err)
	}
	if err := c.AddCalibreDrawings(t.Context(), c.clerk, at, id, "Barrel",
		make([]photo.Picture, store.MaxCalibreDrawings+1)); problemsOf(t, err)["photos"] == "" {
		t.Errorf("too many give %v", err)
	}
	if err := c.AddCalibreDrawings(t.Context(), c.clerk, at, 4711, "Barrel", pictures); !errors.Is(err,
		domain.ErrNotFound) {
		t.Errorf("no calibre gives %v", err)
	}
	if err := c.AddCalibreDrawings(t.Context(), c.clerk, at, id, "Barrel", pictures); err != nil {
		t.Fatal(err)
	}
	record, err := c.CalibreRecord(t.Context(), id)
	if err != nil || len(record.Drawings) != 1 || record.Drawings[0].Caption != "Barrel" ||
		!record.Drawings[0].AddedAt.Equal(at) {
		t.Fatalf("drawings %+v, %v", record.Drawings, err)
	}
	drawing := record.Drawings[0].ID
	if err := c.StrikeCalibreDrawing(t.Context(), c.clerk, at, id+1, drawing); !errors.Is(err, domain.ErrNotFound) {
		t.Errorf("another's drawing was struck: %v", err)
	}
	if err := c.StrikeCalibreDrawing(t.Context(), c.clerk, at, id, drawing); err != nil {
		t.Fatal(err)
	}
	if _, err := c.CalibreDrawing(t.Context(), drawing); !errors.Is(err, domain.ErrNotFound) {
		t.Errorf("a struck drawing gives %v", err)
	}
}

// Once a run rests on a calibre its correction asks for the reason; before that nobody is slowed.
func TestCalibreInUseAsksWhy(t *testing.T) {
	t.Parallel()
	b := regulating(t)
	var id int64
	if err := b.Pool().QueryRow(t.Context(), `SELECT calibre_id FROM watch WHERE calibre_id IS NOT NULL`).Scan(&id); err != nil {
		t.Fatal(err)
	}
	correct := func(why, lift string) error {
		_, err := b.CorrectCalibre(t.Context(), store.CalibreChange{By: b.owner, At: b.at, Why: why}, id,
			map[string]string{"lift_angle_deg": lift})
		return err
	}
	if err := correct("", "51"); err != nil {
		t.Errorf("before any run: %v", err)
	}
	b.mustRecord(t, store.RunEntry{Sheet: runSheet(timing.Final, 3)})
	if bad := problemsOf(t, correct(" ", "52")); !strings.Contains(bad["why"], "Runs were taken with this calibre") {
		t.Errorf("without a reason: %v", bad)
	}
	if err := correct("", "51"); err != nil {
		t.Errorf("what says so already: %v", err)
	}
	if err := correct("measured on the bench", "52"); err != nil {
		t.Fatal(err)
	}
	record, err := b.CalibreRecord(t.Context(), id)
	if err != nil || record.History[0].Why != "measured on the bench" {
		t.Errorf("history %+v, %v", record.History, err)
	}
}
