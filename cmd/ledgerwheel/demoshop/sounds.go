package demoshop

import (
	"bytes"
	"context"
	"fmt"
	"hash/fnv"
	"math"
	"math/rand/v2"
	"slices"

	"ledgerwheel/domain"
	"ledgerwheel/domain/acoustic"
	"ledgerwheel/domain/acoustic/simulate"
	"ledgerwheel/domain/heard"
	"ledgerwheel/domain/recorder"
	"ledgerwheel/domain/recording"
	"ledgerwheel/domain/timing"
	"ledgerwheel/domain/watch"
	"ledgerwheel/store"
)

// How a watch is recorded at the bench.
const (
	recordedS  = 15
	recordedHz = 48000
	// clockFastPPM is how fast the bench microphone's clock truly runs; its calibrations found about that.
	clockFastPPM = 11.6
)

// listenedTo adds to the docket's newest run what the bench microphone heard in one position, sound and all. The watch
// sounds as the model says it goes; the figures are those that the program hears.
func (j *job) listenedTo(s swing, p timing.Position, hours float64) *job {
	seed := fmt.Sprintf("%s %s %g", j.key, p, hours)
	return j.then(j.hands, func(ctx context.Context, f *filler, c store.Change) error {
		sheet, err := f.store.RegulationSheet(ctx, c.Number)
		if err != nil {
			return err
		}
		run, ok := sheet.Newest()
		if !ok {
			return domain.ErrNotFound
		}
		microphone, err := f.recorder(ctx, benchMicrophone)
		if err != nil {
			return err
		}
		sound, err := soundOf(s, p, hours, sheet.Head.Calibre, seed)
		if err != nil {
			return err
		}
		source := heard.Source{RecorderID: microphone.ID, Recorder: microphone.Name, Clock: microphone.Clock(c.At),
			SampleRateHz: recordedHz}
		result, err := listen(ctx, sound, acoustic.Settings{BeatsPerHour: float64(sheet.Head.Calibre.BeatsPerHour),
			LiftAngleDeg: sheet.Head.Calibre.LiftAngleDeg, Clock: source.Clock})
		if err != nil {
			return err
		}
		in := store.HeardReading{RunID: run.ID, Reading: heard.Reading(result, p, hours, microphone.Name, c.By.Name, c.At),
			Facts: heard.FactsOf(result, source), Result: &result}
		if in.Facts.Sound, err = f.darkroom.uploads.PutSound(sound); err != nil {
			return err
		}
		_, err = f.store.KeepHeard(ctx, c, in)
		return err
	})
}

func (f *filler) recorder(ctx context.Context, name string) (recorder.Recorder, error) {
	all, err := f.store.Recorders(ctx)
	if err != nil {
		return recorder.Recorder{}, err
	}
	at := slices.IndexFunc(all, func(r recorder.Recorder) bool { return r.Name == name })
	if at < 0 {
		return recorder.Recorder{}, fmt.Errorf("recorder %q: %w", name, domain.ErrNotFound)
	}
	return all[at], nil
}

// soundOf is the watch's sound in a position at a state of wind, as a WAV file. The seed draws its voice and its
// scatter.
func soundOf(s swing, p timing.Position, hours float64, k watch.Calibre, seed string) ([]byte, error) {
	h := fnv.New64a()
	h.Write([]byte(seed))
	random := rand.New(rand.NewPCG(h.Sum64(), 2))
	w := simulate.Lever()
	w.BeatsPerHour, w.LiftAngleDeg = float64(k.BeatsPerHour), k.LiftAngleDeg
	w.AmplitudeDeg = s.amplitude(p, hours) + s.scatterDeg*random.NormFloat64()
	w.RateSPerDay = s.rate(p, w.AmplitudeDeg) + s.scatter*random.NormFloat64()
	w.BeatErrorMs = s.beatMs
	if p.Vertical() {
		w.BeatErrorMs += s.beatHanging * random.NormFloat64()
	}
	w.WheelPatternUs = make([]float64, 2*15) // an escape wheel of fifteen teeth, as nearly all have
	for i := range w.WheelPatternUs {
		w.WheelPatternUs[i] = 12 * random.NormFloat64()
	}
	room := simulate.QuietRoom()
	room.SNRdB, room.PinkShare, room.RumbleShare, room.Bits, room.ClockPPM = 34, 0.3, 0.3, 16, clockFastPPM
	samples, _ := simulate.Sound(w, room, recordedHz, recordedS, math.Float64bits(random.Float64()))
	var file bytes.Buffer
	err := recording.WriteWAV(&file, recordedHz, samples)
	return file.Bytes(), err
}

// listen hears a recording as one that is sent in.
func listen(ctx context.Context, sound []byte, s acoustic.Settings) (acoustic.Result, error) {
	r, err := recording.Open(bytes.NewReader(sound))
	if err != nil {
		return acoustic.Result{}, err
	}
	return recording.Listen(ctx, r, s, func(int64) {})
}
