package demoshop

import (
	"io"
	"math"
	"testing"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain/acoustic"
	"ledgerwheel/domain/timing"
	"ledgerwheel/domain/watch"
	"ledgerwheel/store"
	"ledgerwheel/store/files"
)

// What is heard of a recording made for the demo is how the model has the watch go, the recorder's clock corrected.
func TestRecordedSoundsGoAsTheModel(t *testing.T) {
	t.Parallel()
	s := sound(pellwarne)
	s.scatter, s.scatterDeg, s.beatHanging = 0, 0, 0
	k := watch.Calibre{BeatsPerHour: 21600, LiftAngleDeg: 50}
	for _, p := range []timing.Position{timing.DialUp, timing.SixUp} {
		file, err := soundOf(s, p, 24, k, "a test "+string(p))
		if err != nil {
			t.Fatal(err)
		}
		r, err := listen(t.Context(), file, acoustic.Settings{LiftAngleDeg: 50, Clock: acoustic.Clock{PPM: clockFastPPM,
			StdPPM: 0.1}})
		if err != nil {
			t.Fatal(err)
		}
		if want := s.rate(p, s.amplitude(p, 24)); math.Abs(r.Rate.Value-want) > 3*r.Rate.StdUncertainty ||
			r.BeatsPerHour != 21600 {
			t.Errorf("%s: %v at %v, want %v", p, r.Rate, r.BeatsPerHour, want)
		}
		// Three degrees: the amplitude of single swings scatters, and a real ear is no better (common practice).
		if want := s.amplitude(p, 24); r.Amplitude == nil || math.Abs(r.Amplitude.Value-want) > 3 {
			t.Errorf("%s: amplitude %v, want %v", p, r.Amplitude, want)
		}
		if math.Abs(math.Abs(r.BeatError.Value)-s.beatMs) > 0.05 {
			t.Errorf("%s: beat error %v, want %v", p, r.BeatError, s.beatMs)
		}
	}
}

// checkSounds finds each kept sound on the disk, with the charts of what was heard in it.
func checkSounds(t *testing.T, s *store.Store, uploads *files.Folder) {
	rows, _ := s.Pool().Query(t.Context(), `SELECT id FROM heard WHERE sound_sha256 IS NOT NULL AND recorder = $1`,
		benchMicrophone)
	ids, err := pgx.CollectRows(rows, pgx.RowTo[int64])
	if err != nil || len(ids) != 4 {
		t.Fatalf("%d sounds kept (%v), want 4", len(ids), err)
	}
	for _, id := range ids {
		kept, err := s.KeptSound(t.Context(), id)
		if err != nil {
			t.Fatal(err)
		}
		sheet, err := s.HeardSheet(t.Context(), kept.Number, id)
		if err != nil {
			t.Fatal(err)
		}
		h := sheet.Heard
		if !h.Stands || h.Result == nil || len(h.Result.Beats) < 80 || h.Facts.AmplitudeDeg == nil {
			t.Errorf("docket %s, %s: %d beats, stands %v", h.Number, h.Position, h.Facts.BeatsUsed, h.Stands)
		}
		regulation, err := s.RegulationSheet(t.Context(), h.Number)
		if err != nil {
			t.Fatal(err)
		}
		run, _ := regulation.Run(h.RunID)
		// A day after it was read at full wind: the model loses 34° of amplitude in it, which makes a second or so of the
		// rate lying; hanging, the rate of a heavy spot all but vanishes about 220° besides.
		apart := map[bool]float64{false: 4, true: 12}[h.Position.Vertical()]
		wound, found := run.Sheet.Run.Reading(h.Position, 0)
		if !found || h.Hours != 24 || math.Abs(h.Facts.RateSPerDay-wound.RateSPerDay.Value) > apart ||
			math.Abs(wound.AmplitudeDeg.Value-34-*h.Facts.AmplitudeDeg) > 8 {
			t.Errorf("docket %s, %s: %v s/d at %.0f° after a day, %s at full wind", h.Number, h.Position, h.Facts.RateSPerDay,
				*h.Facts.AmplitudeDeg, wound.Text())
		}
		file, err := uploads.OpenSound(h.Sum)
		if err != nil {
			t.Error(err)
			continue
		}
		if n, err := io.Copy(io.Discard, file); err != nil || n != h.Facts.Sound.Bytes || h.Facts.Sound.Format != "WAV" {
			t.Errorf("docket %s: %d bytes of %s, %v", h.Number, n, h.Facts.Sound.Format, err)
		}
		file.Close()
	}
}
