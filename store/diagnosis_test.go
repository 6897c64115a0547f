package store_test

import (
	"errors"
	"slices"
	"testing"
	"time"

	"ledgerwheel/domain"
	"ledgerwheel/domain/diagnosis"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/photo"
	"ledgerwheel/domain/timing"
	"ledgerwheel/store"
)

// by is a change of the bench's docket on no version.
func (b *bench) by(a store.Actor) store.Change { return store.Change{Number: b.n, By: a, At: b.at} }

// seen is the same change on the docket as it is now.
func (b *bench) seen(t *testing.T, a store.Actor) store.Change {
	t.Helper()
	c := b.by(a)
	c.Version = b.head(t).Docket.Version
	return c
}

func (b *bench) diagnosis(t *testing.T) store.DiagnosisSheet {
	t.Helper()
	sheet, err := b.DiagnosisSheet(t.Context(), b.n)
	if err != nil {
		t.Fatal(err)
	}
	return sheet
}

// since are the kinds of the docket's journal after the first skip entries.
func (b *bench) since(t *testing.T, skip int) []docket.Kind { return b.kinds(t, b.n)[skip:] }

func (b *bench) wantKinds(t *testing.T, skip int, want ...docket.Kind) {
	t.Helper()
	if got := b.since(t, skip); !slices.Equal(got, want) {
		t.Errorf("journal %q, want %q", got, want)
	}
}

var brokenSpring = diagnosis.Finding{Component: diagnosis.Mainspring, Fault: "broken", Severity: diagnosis.Require,
	Note: "At the outer end. שלום"}

func TestFindings(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	begun := len(b.kinds(t, b.n))
	id, err := b.AddFinding(t.Context(), b.by(b.watchmaker), brokenSpring)
	if err != nil {
		t.Fatal(err)
	}
	other, err := b.AddFinding(t.Context(), b.by(b.watchmaker), diagnosis.Finding{Component: diagnosis.Train,
		Fault: " dirty ", Severity: diagnosis.Observe})
	if err != nil {
		t.Fatal(err)
	}
	b.at = b.at.Add(time.Minute)
	corrected := brokenSpring
	corrected.Fault = "set"
	if err := b.CorrectFinding(t.Context(), b.seen(t, b.watchmaker), id, corrected); err != nil {
		t.Fatal(err)
	}
	if err := b.StrikeFinding(t.Context(), b.seen(t, b.watchmaker), other, "It was the lamp."); err != nil {
		t.Fatal(err)
	}
	sheet := b.diagnosis(t)
	if len(sheet.Findings) != 3 {
		t.Fatalf("%d findings kept, want three: what is struck out stays", len(sheet.Findings))
	}
	was, struck, now := sheet.Findings[0], sheet.Findings[1], sheet.Findings[2]
	if !was.Struck() || was.StruckBy != "Emrys Vale" || !was.StruckAt.Equal(b.at) || was.Fault != "broken" {
		t.Errorf("corrected finding kept as %+v", was)
	}
	if !struck.Struck() || struck.Fault != "dirty" {
		t.Errorf("struck finding kept as %+v", struck)
	}
	if now.Struck() || now.Fault != "set" || now.Corrects != id || now.Note != brokenSpring.Note ||
		now.By != "Emrys Vale" {
		t.Errorf("correction kept as %+v", now)
	}
	if standing := sheet.Standing(); len(standing) != 1 || standing[0].ID != now.ID || sheet.Head.Facts.Findings != 1 {
		t.Errorf("standing %+v, %d counted", standing, sheet.Head.Facts.Findings)
	}
	b.wantKinds(t, begun, docket.FindingAdded, docket.FindingAdded, docket.FindingChanged, docket.FindingRemoved)

	// Nothing changed, nothing written.
	if err := b.CorrectFinding(t.Context(), b.seen(t, b.watchmaker), now.ID, now.Finding); err != nil {
		t.Fatal(err)
	}
	b.wantKinds(t, begun+4)
}

func TestFindingRefusals(t *testing.T) {
	t.Parallel()
	b, elsewhere := newBench(t), newBench(t)
	id, err := b.AddFinding(t.Context(), b.by(b.watchmaker), brokenSpring)
	if err != nil {
		t.Fatal(err)
	}
	stale := b.seen(t, b.watchmaker)
	if err := b.StrikeFinding(t.Context(), b.seen(t, b.watchmaker), id, ""); err != nil {
		t.Fatal(err)
	}
	entries := len(b.kinds(t, b.n))

	_, err = b.AddFinding(t.Context(), b.by(b.watchmaker), diagnosis.Finding{Component: "elbow"})
	if bad := problemsOf(t, err); bad["component"] == "" || bad["fault"] == "" || bad["severity"] == "" {
		t.Errorf("problems %v", bad)
	}
	withPhoto := brokenSpring
	withPhoto.PhotoID = 999
	_, err = b.AddFinding(t.Context(), b.by(b.watchmaker), withPhoto)
	if bad := problemsOf(t, err); bad["photo"] == "" {
		t.Errorf("problems %v", bad)
	}
	if err := b.CorrectFinding(t.Context(), stale, id, brokenSpring); !errors.Is(err, domain.ErrChanged) {
		t.Errorf("on an old version: %v", err)
	}
	if err := b.StrikeFinding(t.Context(), b.seen(t, b.watchmaker), id, ""); err != nil {
		t.Errorf("struck twice: %v", err)
	}
	if err := b.StrikeFinding(t.Context(), b.seen(t, b.watchmaker), id+1, ""); !errors.Is(err, domain.ErrNotFound) {
		t.Errorf("no such finding: %v", err)
	}
	if _, err := b.AddFinding(t.Context(), store.Change{Number: docket.Number{Year: 2026, Seq: 77}, By: b.watchmaker,
		At: b.at}, brokenSpring); !errors.Is(err, domain.ErrNotFound) {
		t.Errorf("no such docket: %v", err)
	}
	if _, err := elsewhere.DiagnosisSheet(t.Context(), docket.Number{Year: 2026, Seq: 77}); !errors.Is(err,
		domain.ErrNotFound) {
		t.Errorf("sheet of no docket: %v", err)
	}
	b.close(t, b.n, docket.StageWithdrawn, b.at)
	if _, err := b.AddFinding(t.Context(), b.by(b.watchmaker), brokenSpring); !errors.Is(err, domain.ErrClosed) {
		t.Errorf("after the watch left: %v", err)
	}
	if got := len(b.kinds(t, b.n)); got != entries {
		t.Errorf("refusals left %d entries", got-entries)
	}
}

// TestFindingShowsPhotoOfItsOwnDocket keeps a photograph of one docket out of another.
func TestFindingShowsPhotoOfItsOwnDocket(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	pictures := []photo.Picture{{SHA256: "00112233445566778899aabbccddeeff00112233445566778899aabbccddeeff", WidthPx: 4,
		HeightPx: 3, Full: []byte{1}}}
	ids, err := b.AddPhotos(t.Context(), b.by(b.watchmaker), photo.Label{About: photo.OfDiagnosis, Caption: "the spring"}, pictures)
	if err != nil {
		t.Fatal(err)
	}
	in := b.takingIn()
	in.NewCustomer, in.Watch.Serial = true, "another"
	second, _ := b.mustTakeIn(t, in)
	f := brokenSpring
	f.PhotoID = ids[0]
	if _, err := b.AddFinding(t.Context(), store.Change{Number: second, By: b.watchmaker, At: b.at}, f); problemsOf(t,
		err)["photo"] == "" {
		t.Error("another docket's photograph was taken")
	}
	if _, err := b.AddFinding(t.Context(), b.by(b.watchmaker), f); err != nil {
		t.Fatal(err)
	}
	if sheet := b.diagnosis(t); sheet.Findings[0].PhotoID != ids[0] || len(sheet.Photos) != 1 {
		t.Errorf("kept %+v with photographs %+v", sheet.Findings[0], sheet.Photos)
	}
}

func TestHazards(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	begun := len(b.kinds(t, b.n))
	if err := b.AddHazard(t.Context(), b.by(b.watchmaker), "teeth", ""); problemsOf(t, err)["hazard"] == "" {
		t.Error("an unknown hazard was taken")
	}
	for range 2 { // the second time changes nothing
		if err := b.AddHazard(t.Context(), b.by(b.watchmaker), diagnosis.RadioactiveLume,
			"It glows under the lamp only."); err != nil {
			t.Fatal(err)
		}
	}
	if err := b.AcknowledgeHazard(t.Context(), b.by(b.watchmaker), diagnosis.CoinCell); !errors.Is(err,
		domain.ErrNotFound) {
		t.Errorf("a hazard that the docket does not have: %v", err)
	}
	for _, h := range []diagnosis.Hazard{diagnosis.RadioactiveLume, diagnosis.MainspringLetDown,
		diagnosis.RadioactiveLume} {
		if err := b.AcknowledgeHazard(t.Context(), b.by(b.watchmaker), h); err != nil {
			t.Fatal(err)
		}
	}
	sheet := b.diagnosis(t)
	var got []diagnosis.Hazard
	for _, h := range sheet.Hazards {
		got = append(got, h.Hazard)
	}
	if want := []diagnosis.Hazard{diagnosis.RadioactiveLume, diagnosis.MainspringLetDown,
		diagnosis.Solvents}; !slices.Equal(got, want) {
		t.Errorf("hazards %v, want %v", got, want)
	}
	if first, last := sheet.Hazards[0], sheet.Hazards[2]; first.AcknowledgedBy != "Emrys Vale" ||
		!first.AcknowledgedAt.Equal(b.at) || last.AcknowledgedBy != "" {
		t.Errorf("read: %+v and %+v", first, last)
	}
	if sheet.Head.Facts.HazardsOpen != 1 {
		t.Errorf("%d hazards open, want 1", sheet.Head.Facts.HazardsOpen)
	}
	b.wantKinds(t, begun, docket.HazardFound, docket.HazardAcknowledged, docket.HazardAcknowledged)
}

// TestFindingRaisesHazardsOfTheWatch makes up for a docket whose hazards were never worked out.
func TestFindingRaisesHazardsOfTheWatch(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	b.record(t, `DELETE FROM hazard WHERE docket_id = {d}`)
	begun := len(b.kinds(t, b.n))
	if _, err := b.AddFinding(t.Context(), b.by(b.watchmaker), brokenSpring); err != nil {
		t.Fatal(err)
	}
	b.wantKinds(t, begun, docket.FindingAdded, docket.HazardFound, docket.HazardFound)
	if open := b.head(t).Facts.HazardsOpen; open != 2 {
		t.Errorf("%d hazards open, want the mainspring and the solvents", open)
	}
}

func TestAsReceivedRunOnTheDiagnosis(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	if run := b.diagnosis(t).AsReceived; run.ID != 0 {
		t.Errorf("a run before any was taken: %+v", run)
	}
	rate, amplitude := func(v float64) *timing.Figure { return &timing.Figure{Value: v, Step: 1} },
		&timing.Figure{Value: 270, Step: 1}
	id, err := b.RecordRun(t.Context(), b.by(b.watchmaker), store.RunEntry{Sheet: timing.Sheet{States: []float64{0},
		ClockPPM: 50,
		Run: timing.Run{Kind: timing.AsReceived, Label: "on the stand", Readings: []timing.Reading{
			{Position: timing.DialUp, RateSPerDay: rate(12), AmplitudeDeg: amplitude},
			{Position: "6H", RateSPerDay: rate(-30)}}}}})
	if err != nil {
		t.Fatal(err)
	}
	run := b.diagnosis(t).AsReceived
	if run.ID != id || run.TakenBy != "Emrys Vale" || run.Sheet.ClockPPM != 50 || run.Sheet.Run.CrownHour != 3 ||
		run.Sheet.Run.Label != "on the stand" {
		t.Fatalf("run read as %+v", run)
	}
	ch, ok := run.Sheet.Run.Reading(timing.DialUp, 0)
	if !ok || ch.RateSPerDay.Value != 12 || ch.RateSPerDay.Step != 1 || ch.AmplitudeDeg.Value != 270 ||
		ch.BeatErrorMs != nil {
		t.Errorf("reading CH read as %+v", ch)
	}
	if bad := run.Sheet.Problems(); len(bad) > 0 {
		t.Errorf("the run as read has problems %v", bad)
	}
}
