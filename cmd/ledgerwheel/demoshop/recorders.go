package demoshop

import (
	"context"
	"math/rand/v2"

	"ledgerwheel/domain/recorder"
	"ledgerwheel/domain/staff"
	"ledgerwheel/store"
)

// The recorders of Tern Quay: the one at the bench was calibrated by a quartz watch, the one at the counter never was.
const (
	benchMicrophone = "Bench microphone"
	counterPickup   = "Counter pickup"
)

var recorders = []struct {
	back int // working days ago
	what recorder.Recorder
}{
	{190, recorder.Recorder{Name: benchMicrophone, UsualRateHz: 48000, Note: "Contact microphone in the movement " +
		"holder, first input of the bench’s sound card."}},
	{64, recorder.Recorder{Name: counterPickup, UsualRateHz: 44100, Note: "The counter tablet’s own microphone, for a " +
		"first look while the customer waits."}},
}

// calibrations of the bench microphone, by a quartz watch compared with a time signal over some weeks. Its clock ran
// fast by a little less each time.
var calibrations = []struct {
	back      int
	fastPPM   float64
	seconds   int
	reference recorder.Reference
	note      string
}{
	{188, 12.4, 1240, recorder.Reference{RateSPerDay: 0.21, U95SPerDay: 0.06}, "The bench’s quartz watch, against the " +
		"time signal over 19 days."},
	{41, 11.6, 1815, recorder.Reference{RateSPerDay: 0.24, U95SPerDay: 0.04}, "The same watch, against the time signal " +
		"over 33 days."},
}

// keepRecorders adds the recorders and the calibrations that are not there yet.
func (f *filler) keepRecorders(ctx context.Context) error {
	kept, err := f.store.Recorders(ctx)
	if err != nil {
		return err
	}
	ids := map[string]int64{}
	for _, r := range kept {
		ids[r.Name] = r.ID
	}
	for _, r := range recorders {
		if ids[r.what.Name] != 0 {
			continue
		}
		if ids[r.what.Name], err = f.store.AddRecorder(ctx, r.what, f.staff[staff.Owner],
			f.calendar.at(r.back, "10:05")); err != nil {
			return err
		}
	}
	record, err := f.store.RecorderRecord(ctx, ids[benchMicrophone])
	if err != nil {
		return err
	}
	return f.calibrate(ctx, record)
}

func (f *filler) calibrate(ctx context.Context, record store.RecorderRecord) error {
	for i, c := range calibrations {
		if i < len(record.Calibrations) {
			continue
		}
		e, err := recorder.FromPulses(steps(uint64(i+1), c.seconds, c.fastPPM, c.reference), c.reference)
		if err != nil {
			return err
		}
		found := e.Calibration(recorder.ByQuartzWatch, 48000, f.calendar.at(c.back, "17:25"))
		found.ByID, found.Note = f.staff[staff.Watchmaker].StaffID, c.note
		found.ReferenceRate, found.ReferenceU95 = c.reference.RateSPerDay, c.reference.U95SPerDay
		if _, err := f.store.KeepCalibration(ctx, record.Recorder.ID, found); err != nil {
			return err
		}
	}
	return nil
}

// steps are the arrivals of a quartz watch's steps at a recorder that runs fast, with the scatter of a faint click; now
// and then one is not heard.
func steps(seed uint64, seconds int, fastPPM float64, watch recorder.Reference) []float64 {
	r := rand.New(rand.NewPCG(seed, 1876))
	var at []float64
	for i := range seconds {
		if r.Float64() < 0.006 {
			continue
		}
		elapsed := float64(i) / (1 + watch.RateSPerDay/86400)
		at = append(at, elapsed*(1+fastPPM*1e-6)+40e-6*r.NormFloat64())
	}
	return at
}
