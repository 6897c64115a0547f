package store_test

import (
	"errors"
	"math"
	"strings"
	"testing"
	"time"

	"ledgerwheel/domain"
	"ledgerwheel/domain/acoustic"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/recorder"
	"ledgerwheel/domain/timing"
	"ledgerwheel/store"
)

func deskMicrophone() recorder.Recorder {
	return recorder.Recorder{Name: "Desk microphone", Note: "contact microphone on the holder", UsualRateHz: 48000}
}

// found is a calibration made so long before the counter's clock.
func (c *counter) found(ppm, std float64, ago time.Duration) recorder.Calibration {
	at := c.at.Add(-ago)
	return recorder.Calibration{PPM: ppm, StdPPM: std, Method: recorder.ByPulses, At: at,
		RedoBy: recorder.DefaultRedoBy(at), ByID: c.clerk.StaffID,
		KeptAt: at, DurationS: 600, RateHz: 48000, Used: 598, Missed: 3, ScatterUs: 21.5, ReferenceRate: 0.31,
		ReferenceU95: 0.08}
}

func (c *counter) recorder(t *testing.T, r recorder.Recorder) int64 {
	t.Helper()
	id, err := c.AddRecorder(t.Context(), r, c.clerk, c.at.AddDate(-1, 0, 0))
	if err != nil {
		t.Fatal(err)
	}
	return id
}

func (c *counter) calibrated(t *testing.T, id int64, k recorder.Calibration) int64 {
	t.Helper()
	kept, err := c.KeepCalibration(t.Context(), id, k)
	if err != nil {
		t.Fatal(err)
	}
	return kept
}

func TestRecordersAreKept(t *testing.T) {
	t.Parallel()
	c := newCounter(t)
	id := c.recorder(t, deskMicrophone())
	other := c.recorder(t, recorder.Recorder{Name: "Attic pickup", UsualRateHz: 44100})
	first := c.calibrated(t, id, c.found(12.25, 0.25, 300*24*time.Hour))
	want := c.found(11.5, 0.125, 20*24*time.Hour)
	second := c.calibrated(t, id, want)

	list, err := c.Recorders(t.Context())
	if err != nil || len(list) != 2 || list[0].ID != other || list[0].Calibration != nil || list[1].ID != id {
		t.Fatalf("list %+v, %v", list, err)
	}
	got := list[1].Calibration
	if got == nil || got.ID != second || got.RecorderID != id || got.By != "Nuala Reed" {
		t.Fatalf("in force %+v", got)
	}
	want.ID, want.RecorderID, want.By = second, id, "Nuala Reed"
	if *got != want {
		t.Errorf("kept\n%+v, want\n%+v", *got, want)
	}
	if list[1].Note != deskMicrophone().Note || list[1].UsualRateHz != 48000 || list[1].AddedBy != "Nuala Reed" ||
		list[1].Retired() {
		t.Errorf("recorder %+v", list[1])
	}
	record, err := c.RecorderRecord(t.Context(), id)
	if err != nil || len(record.Calibrations) != 2 || record.Calibrations[1].ID != first ||
		record.Recorder.Calibration.ID != second {
		t.Fatalf("record %+v, %v", record, err)
	}
	words := ""
	for _, e := range record.History {
		words += e.Words + " " + e.By + "\n"
	}
	for _, w := range []string{"Added, usually at 48000", "Calibrated, reference pulses", "+11.50 ± 0.25 ppm",
		"Nuala Reed"} {
		if !strings.Contains(words, w) {
			t.Errorf("history lacks %q: %s", w, words)
		}
	}
	if one, err := c.Recorder(t.Context(), other); err != nil || one.Name != "Attic pickup" {
		t.Errorf("one %+v, %v", one, err)
	}
	if _, err := c.Recorder(t.Context(), 9999); !errors.Is(err, domain.ErrNotFound) {
		t.Errorf("a recorder that is none: %v", err)
	}
}

func TestARetiredCalibrationGivesWay(t *testing.T) {
	t.Parallel()
	c := newCounter(t)
	id := c.recorder(t, deskMicrophone())
	first := c.calibrated(t, id, c.found(12, 0.25, 300*24*time.Hour))
	second := c.calibrated(t, id, c.found(40, 0.25, 20*24*time.Hour))
	if problems := problemsOf(t, c.RetireCalibration(t.Context(), id, second, " ", c.clerk, c.at)); problems["why"] == "" {
		t.Errorf("without a reason: %v", problems)
	}
	for range 2 { // twice is once
		if err := c.RetireCalibration(t.Context(), id, second, "wrong watch", c.clerk, c.at); err != nil {
			t.Fatal(err)
		}
	}
	record, err := c.RecorderRecord(t.Context(), id)
	if err != nil || record.Recorder.Calibration == nil || record.Recorder.Calibration.ID != first {
		t.Fatalf("in force %+v, %v", record.Recorder.Calibration, err)
	}
	retired := record.Calibrations[0]
	if retired.ID != second || !retired.RetiredAt.Equal(c.at) || retired.RetiredWhy != "wrong watch" ||
		retired.RetiredBy != "Nuala Reed" {
		t.Errorf("retired %+v", retired)
	}
	if err := c.RetireCalibration(t.Context(), id+1, first, "other's", c.clerk, c.at); !errors.Is(err,
		domain.ErrNotFound) {
		t.Errorf("of another recorder: %v", err)
	}
	if err := c.RetireCalibration(t.Context(), id, 9999, "none", c.clerk, c.at); !errors.Is(err, domain.ErrNotFound) {
		t.Errorf("one that is none: %v", err)
	}
}

func TestRecorderOutOfUseAndBack(t *testing.T) {
	t.Parallel()
	c := newCounter(t)
	id := c.recorder(t, deskMicrophone())
	if err := c.DescribeRecorder(t.Context(), id, "another sound card", 96000, c.clerk, c.at); err != nil {
		t.Fatal(err)
	}
	if problems := problemsOf(t, c.DescribeRecorder(t.Context(), id, "", 12, c.clerk,
		c.at)); problems["usual_rate"] == "" {
		t.Errorf("an absurd rate: %v", problems)
	}
	if err := c.RetireRecorder(t.Context(), id, "cable broken", c.clerk, c.at); err != nil {
		t.Fatal(err)
	}
	r, err := c.Recorder(t.Context(), id)
	if err != nil || !r.Retired() || r.RetiredWhy != "cable broken" || r.RetiredBy != "Nuala Reed" ||
		r.UsualRateHz != 96000 || r.Note != "another sound card" {
		t.Fatalf("%+v, %v", r, err)
	}
	_, err = c.KeepCalibration(t.Context(), id, c.found(1, 1, time.Hour))
	if problems := problemsOf(t, err); problems[""] == "" {
		t.Errorf("calibrated while out of use: %v", problems)
	}
	if err := c.UseRecorder(t.Context(), id, c.clerk, c.at); err != nil {
		t.Fatal(err)
	}
	if r, err = c.Recorder(t.Context(), id); err != nil || r.Retired() {
		t.Errorf("%+v, %v", r, err)
	}
	if err := c.UseRecorder(t.Context(), 9999, c.clerk, c.at); !errors.Is(err, domain.ErrNotFound) {
		t.Errorf("one that is none: %v", err)
	}
}

func TestRecorderRefuses(t *testing.T) {
	t.Parallel()
	c := newCounter(t)
	id := c.recorder(t, deskMicrophone())
	same := deskMicrophone()
	same.Name = "desk  MICROPHONE"
	_, err := c.AddRecorder(t.Context(), same, c.clerk, c.at)
	if problems := problemsOf(t, err); problems["name"] == "" {
		t.Errorf("the same name: %v", problems)
	}
	_, err = c.AddRecorder(t.Context(), recorder.Recorder{}, c.clerk, c.at)
	if problems := problemsOf(t, err); problems["name"] == "" || problems["usual_rate"] == "" {
		t.Errorf("nothing: %v", problems)
	}
	_, err = c.KeepCalibration(t.Context(), id, c.found(math.NaN(), 0, time.Hour))
	if problems := problemsOf(t, err); problems["ppm"] == "" || problems["uncertainty"] == "" {
		t.Errorf("no figures: %v", problems)
	}
	if _, err := c.KeepCalibration(t.Context(), 9999, c.found(1, 1, time.Hour)); !errors.Is(err, domain.ErrNotFound) {
		t.Errorf("one that is none: %v", err)
	}
}

// Even a wrong program can't change what was found.
func TestCalibrationsAreNeverEdited(t *testing.T) {
	t.Parallel()
	c := newCounter(t)
	id := c.recorder(t, deskMicrophone())
	kept := c.calibrated(t, id, c.found(12, 0.25, time.Hour))
	if err := c.RetireCalibration(t.Context(), id, kept, "wrong watch", c.clerk, c.at); err != nil {
		t.Fatal(err)
	}
	for _, change := range []string{"recorder_calibration SET ppm = 0", "recorder_calibration_retired SET why = 'x'",
		"recorder_history SET words = 'x'"} {
		table, _, _ := strings.Cut(change, " ")
		for _, sql := range []string{"UPDATE " + change, "DELETE FROM " + table} {
			if _, err := c.Pool().Exec(t.Context(), sql); err == nil || !strings.Contains(err.Error(), "as it was written") {
				t.Errorf("%s: %v", sql, err)
			}
		}
	}
}

// heardBy is a final run whose readings name the recorder as their instrument.
func heardBy(name string, rate float64) timing.Sheet {
	sh := runSheet(timing.Final, rate)
	sh.Instrument = name
	for i := range sh.Run.Readings {
		sh.Run.Readings[i].Instrument = name
	}
	return sh
}

// TestRunsUseTheCalibrationInForce reads runs taken by a recorder: its clock is known as well as the calibration says
// that was in force when each reading was taken, whatever the run's own sheet says of it.
func TestRunsUseTheCalibrationInForce(t *testing.T) {
	t.Parallel()
	b := regulating(t)
	c := &counter{Store: b.Store, at: b.at, clerk: b.watchmaker}
	id := c.recorder(t, deskMicrophone())
	sh := heardBy("Desk microphone", 3)
	sh.ClockPPM = 0.1
	clockOf := func(runID int64) float64 {
		t.Helper()
		run, found := b.regulation(t).Run(runID)
		if !found {
			t.Fatal("the run is gone")
		}
		return run.Sheet.Instruments().ClockStdSPerDay["Desk microphone"] / timing.SPerDayPerPPM
	}
	near := func(what string, got, want, tol float64) {
		t.Helper()
		if math.Abs(got-want) > tol {
			t.Errorf("%s: u = %v ppm, want %v", what, got, want)
		}
	}
	uncalibrated := acoustic.UncalibratedClock().StdPPM
	const arithmetic = 1e-9
	never := b.mustRecord(t, store.RunEntry{Sheet: sh})
	near("never calibrated", clockOf(never), uncalibrated, arithmetic)

	k := c.found(12, 0.25, 0)
	k.KeptAt = b.next().At
	k.At = k.KeptAt.AddDate(0, -6, 0) // made half a year before it was written down
	kept := c.calibrated(t, id, k)
	calibrated := b.mustRecord(t, store.RunEntry{Sheet: sh})
	near("the run before it was written down", clockOf(never), uncalibrated, arithmetic)
	// Half a year at ±3 ppm a year is ±1.5 ppm, and ±1 ppm for temperature: √(0.25² + 1.5²/3 + 1²/3) = 1.0704. Six months
	// are half a year to within 2 %, which is 1 % of this.
	got := clockOf(calibrated)
	near("calibrated half a year ago", got, 1.0704, 0.015)

	if err := c.RetireCalibration(t.Context(), id, kept, "wrong watch", c.clerk, b.next().At); err != nil {
		t.Fatal(err)
	}
	near("retired afterwards", clockOf(calibrated), got, arithmetic)
	near("after it was retired", clockOf(b.mustRecord(t, store.RunEntry{Sheet: sh})), uncalibrated, arithmetic)
}

// TestTheVerdictUsesTheRecordersClock judges the same figures by a recorder never calibrated and by a calibrated one:
// ±50 ppm are ±2.5 s/d in one standard uncertainty, which leaves open what the calibrated one decides.
func TestTheVerdictUsesTheRecordersClock(t *testing.T) {
	t.Parallel()
	b := regulating(t)
	c := &counter{Store: b.Store, at: b.at, clerk: b.watchmaker}
	id := c.recorder(t, deskMicrophone())
	meanRate := func() string {
		t.Helper()
		id := b.mustRecord(t, store.RunEntry{Sheet: heardBy("Desk microphone", 8)})
		sheet := b.regulation(t)
		run, _ := sheet.Run(id)
		limits, _ := sheet.LimitsByID(run.RateLimitsID)
		judged := run.Judge(limits.Limits, run.Rule())
		if shown := judged.Verdict.String(); shown != string(run.Outcome) {
			t.Errorf("kept as %s, shown as %s", run.Outcome, shown)
		}
		for _, l := range judged.Limits {
			if l.Limit.Key == timing.MeanRate {
				return l.Verdict.String()
			}
		}
		t.Fatal("the mean rate was not judged")
		return ""
	}
	before := meanRate()
	k := c.found(2, 0.1, 0)
	k.KeptAt = b.next().At
	k.At = k.KeptAt
	c.calibrated(t, id, k)
	if after := meanRate(); before != string(docket.Undecided) || after != string(docket.Passed) {
		t.Errorf("never calibrated: %s, calibrated: %s", before, after)
	}
}
