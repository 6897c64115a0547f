package demoshop

import (
	"context"
	"errors"
	"slices"
	"strings"
	"time"

	"ledgerwheel/domain"
	"ledgerwheel/domain/comeback"
	"ledgerwheel/domain/diagnosis"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/service"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/timing"
	"ledgerwheel/domain/watch"
	"ledgerwheel/store"
)

// toBench passes the watch on to be diagnosed.
func (j *job) toBench() *job { return j.move(staff.Clerk, docket.StageDiagnosis, j.bench(), "") }

// seen is a finding.
func seen(c diagnosis.Component, fault string, s diagnosis.Severity, note string) diagnosis.Finding {
	return diagnosis.Finding{Component: c, Fault: fault, Severity: s, Note: note}
}

// found adds findings, one after the other.
func (j *job) found(findings ...diagnosis.Finding) *job {
	for _, finding := range findings {
		j.then(j.hands, func(ctx context.Context, f *filler, c store.Change) error {
			_, err := f.store.AddFinding(ctx, c, finding)
			return err
		})
	}
	return j
}

// foundPictured adds a finding that points to the docket's newest photograph.
func (j *job) foundPictured(finding diagnosis.Finding) *job {
	return j.then(j.hands, func(ctx context.Context, f *filler, c store.Change) error {
		sheet, err := f.store.DiagnosisSheet(ctx, c.Number)
		if err != nil {
			return err
		}
		if n := len(sheet.Photos); n > 0 {
			finding.PhotoID = sheet.Photos[n-1].ID
		}
		_, err = f.store.AddFinding(ctx, c, finding)
		return err
	})
}

// struck strikes out the finding of that component.
func (j *job) struck(component diagnosis.Component, why string) *job {
	return j.then(j.hands, func(ctx context.Context, f *filler, c store.Change) error {
		sheet, err := f.store.DiagnosisSheet(ctx, c.Number)
		if err != nil {
			return err
		}
		at := slices.IndexFunc(sheet.Findings, func(r store.FindingRow) bool {
			return r.Component == component &&
				!r.Struck()
		})
		if at < 0 {
			return domain.ErrNotFound
		}
		return f.store.StrikeFinding(ctx, c, sheet.Findings[at].ID, why)
	})
}

// readCautions acknowledges every hazard that the watch raises by itself, but those left out.
func (j *job) readCautions(but ...diagnosis.Hazard) *job {
	w := watches[j.intake.watch].Watch
	for _, h := range diagnosis.HazardsFor(diagnosis.FactsOf(w.Tidied())) {
		if slices.Contains(but, h) {
			continue
		}
		j.then(j.hands, func(ctx context.Context, f *filler, c store.Change) error {
			return f.store.AcknowledgeHazard(ctx, c, h)
		})
	}
	return j
}

// Which states of wind a run is taken at.
var (
	fullWind = []float64{0}
	bothDays = []float64{0, 24}
)

// measured records a run in the six positions, by the shop's bench instrument.
func (j *job) measured(kind timing.Kind, label string, s swing, hours []float64) *job {
	j.runs++
	seed := j.key + string(rune('0'+j.runs))
	return j.then(j.hands, func(ctx context.Context, f *filler, c store.Change) error {
		sheet := s.sheet(seed, kind, label, hours, f.shop.Instrument, f.shop.InstrumentPPM, c.At)
		_, err := f.store.RecordRun(ctx, c, store.RunEntry{Sheet: sheet})
		return err
	})
}

// sheet is such a run, written down at a moment.
func (s swing) sheet(seed string, kind timing.Kind, label string, hours []float64, instrument string, ppm float64, at time.Time) timing.Sheet {
	readings := s.readings(seed, hours...)
	sheet := timing.Sheet{Run: timing.Run{Kind: kind, Label: label, Readings: readings}, States: hours,
		Instrument: instrument, ClockPPM: ppm, TemperatureC: readings[0].TemperatureC}
	for i := range readings {
		r := &sheet.Run.Readings[i]
		r.Instrument = instrument
		// Written down at the end of the run; those at full wind were taken the day before.
		r.TakenAt = at.Add(-time.Duration((hours[len(hours)-1] - r.HoursAfterWinding) * float64(time.Hour)))
	}
	return sheet
}

// adjusted is a run after an adjustment, at full wind.
func (j *job) adjusted(what string, s swing) *job {
	return j.measured(timing.Adjustment, what, s, fullWind)
}

// reread corrects one rate of the docket's newest run, mistyped before.
func (j *job) reread(p timing.Position, hours, rateSPerDay float64) *job {
	return j.then(j.hands, func(ctx context.Context, f *filler, c store.Change) error {
		sheet, err := f.store.RegulationSheet(ctx, c.Number)
		if err != nil {
			return err
		}
		run, ok := sheet.Newest()
		if !ok {
			return domain.ErrNotFound
		}
		readings := slices.Clone(run.Sheet.Run.Readings)
		for i := range readings {
			if readings[i].Position == p && readings[i].HoursAfterWinding == hours {
				readings[i].RateSPerDay = shown(rateSPerDay, rateStep)
			}
		}
		run.Sheet.Run.Readings = readings
		c.Why = "Misread: the sign was overlooked."
		return f.store.ChangeRun(ctx, c, run.ID, run.Version, run.Sheet)
	})
}

// cameBack says why a watch came back under warranty, and whether that covers it.
func (j *job) cameBack(by staff.Role, said comeback.Said) *job {
	return j.then(by, func(ctx context.Context, f *filler, c store.Change) error { return f.store.SayComeback(ctx, c, said) })
}

// diagnosed is the end of diagnosis: the watch goes to the safe until the work is priced.
func (j *job) diagnosed() *job { return j.move(j.hands, docket.StageEstimate, safe, "") }

// toService, toRegulation and toFinalTest pass the watch on along the bench.
func (j *job) toService() *job { return j.move(j.hands, docket.StageService, j.bench(), "") }

func (j *job) toRegulation() *job {
	return j.move(j.hands, docket.StageRegulation, j.bench(), "")
}

func (j *job) toFinalTest() *job { return j.move(j.hands, docket.StageFinalTest, j.bench(), "") }

func (j *job) toReady() *job { return j.move(j.hands, docket.StageReady, safe, "") }

// worked adds a stretch of bench work.
func (j *job) worked(minutes int, note string, steps ...service.Step) *job {
	return j.wrought(service.Work{Steps: steps, Minutes: minutes, Note: note})
}

func (j *job) wrought(w service.Work) *job {
	return j.then(j.hands, func(ctx context.Context, f *filler, c store.Change) error {
		_, err := f.store.AddWork(ctx, c, w)
		return err
	})
}

// stripped is the first half of a full service.
func (j *job) stripped(minutes int, note string) *job {
	return j.worked(minutes, note, service.StepLetDown, service.StepUncase, service.StepDismantle, service.StepInspect,
		service.StepClean, service.StepPegJewels)
}

// rebuilt is the second half, with the lubricants usual in each place that the watch has.
func (j *job) rebuilt(minutes int, note string, more ...service.Step) *job {
	w := watches[j.intake.watch].Watch
	automatic := w.Winding == watch.WindingAutomatic
	work := service.Work{Minutes: minutes, Note: note,
		Steps: append([]service.Step{service.StepReassemble, service.StepLubricate,
			service.StepEscapement, service.StepDialAndHands, service.StepCaseUp}, more...)}
	for _, p := range service.Places {
		if !automatic && p == service.AutomaticWork || !watches[j.intake.watch].date && p == service.CalendarWork {
			continue
		}
		work.Lubricants = append(work.Lubricants, service.Lubricant{Place: p, Kind: service.UsualLubricant(p, automatic)})
	}
	return j.wrought(work)
}

// errNoPart reports a part that a later step names and none wrote down.
var errNoPart = errors.New("no such part on the docket")

// moved has a part of the docket go to another state.
func (j *job) moved(by staff.Role, description string, m store.PartMove) *job {
	return j.then(by, func(ctx context.Context, f *filler, c store.Change) error {
		sheet, err := f.store.PartsSheet(ctx, c.Number)
		if err != nil {
			return err
		}
		for _, p := range sheet.Parts {
			if strings.HasPrefix(p.Description, description) {
				return f.store.MovePart(ctx, c, p.ID, m)
			}
		}
		return errNoPart
	})
}
