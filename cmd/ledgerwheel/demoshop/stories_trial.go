package demoshop

import (
	"context"
	"time"

	"ledgerwheel/domain"
	"ledgerwheel/domain/chronometer"
	"ledgerwheel/domain/diagnosis"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/timing"
	"ledgerwheel/domain/trial"
	"ledgerwheel/store"
)

// onTrial are the two watches that go through the fifteen days: one half way, one that has passed.
func (b *book) onTrial() {
	b.halfWayThrough()
	b.passedItsTrial()
}

// halfWayThrough is read against the time signal once a day; day 9 is the last one noted.
func (b *book) halfWayThrough() {
	denm := sound(denmoor)
	b.open("sorley-deckhand", arrival{back: 27, clock: "10:05", customer: "sorley", watch: "sorley cutter",
		wanted:    docket.WantedRegulation,
		complaint: "Wants to know whether it may be called a chronometer before he gives it to his daughter.",
		declared:  265000, dueDays: 45}).
		on(26, "09:40").toBench().
		found(seen(diagnosis.Hairspring, "sound", diagnosis.Observe, "")).
		readCautions().
		after(1*hour).measured(timing.AsReceived, "", denm.going(5.1), fullWind).
		diagnosed().
		on(24, "11:10").drafted("Regulation, then a trial of fifteen days with its bulletin.",
		labour("Regulation in six positions", 6500), labour("Trial of fifteen days, with bulletin", 9800)).
		sent().
		on(23, "16:20").answeredOnThePhone("“Take your time.”").
		on(16, "10:00").toRegulation().
		after(30*minute).adjusted("Rim weights turned", denm.going(1.8)).
		tried(0, trial.Plan{Category: chronometer.Category1, Method: trial.ByComparison, Settling: &chronometer.Settling{
			Hours: 16, TemperatureC: 22.8}},
			1.4, 1.9, 3.2, 2.7, -0.3, 0.4, 2.9, 2.5, 3.6)
}

// passedItsTrial kept within every limit from the first day to the last.
func (b *book) passedItsTrial() {
	denm := sound(denmoor)
	b.open("trustees-standby", arrival{back: 39, clock: "12:25", customer: "harbour", watch: "trustees standby",
		wanted:    docket.WantedRegulation,
		complaint: "The spare of the pilot boat. The harbour master asks for a trial on paper.", limit: 20000,
		declared: 240000, dueDays: 50}).
		on(38, "09:50").toBench().
		found(seen(diagnosis.Hairspring, "sound", diagnosis.Observe, "")).
		readCautions().
		after(1*hour).measured(timing.AsReceived, "", denm.going(-6.4), bothDays).
		diagnosed().
		on(36, "14:30").drafted("", labour("Regulation in six positions", 6500),
		labour("Trial of fifteen days, with bulletin", 9800)).
		toRegulation().
		on(33, "10:20").adjusted("Rim weights turned", denm.going(1.2)).
		tried(4, trial.Plan{Category: chronometer.Category1, Method: trial.ByInstrument, Settling: &chronometer.Settling{
			Hours: 18, TemperatureC: 23.1}},
			1.2, 0.8, 2.4, 2.1, -0.6, -0.2, 1.9, 2.3, 1.5, 1.1, 0.2, 1.3, 3.1, 0.9, 1.6).
		trialEnded().
		on(2, "15:30").measured(timing.Final, "", denm.going(1.1), bothDays)
}

// tried runs a trial whose newest rate was read so many civil days before the shop's last working day, weekends
// included, and notes each day as it is read.
func (j *job) tried(back int, p trial.Plan, rates ...float64) *job {
	c := j.story.calendar
	p.FirstDay, p.ReadingMinute = c.last.AddDate(0, 0, -back-len(rates)), 8*60+30
	if p.Method == trial.ByInstrument {
		p.Instrument, p.ClockPPM = ternQuay().Instrument, ternQuay().InstrumentPPM
	}
	j.clockAt(p.DueAt(0, c.zone).Add(-10*minute)).then(j.hands, func(ctx context.Context, f *filler,
		c store.Change) error {
		_, err := f.store.BeginTrial(ctx, c, p)
		return err
	})
	stateS := 4.0 // what the watch shows less the true time
	for day := p.FirstNoted(); day <= len(rates); day++ {
		if day > 0 {
			stateS += rates[day-1]
			e := trialDay(p, day, p.DueAt(day, c.zone), rates[day-1], stateS)
			j.noted(e)
			continue
		}
		j.noted(trialDay(p, day, p.DueAt(0, c.zone), 0, stateS))
	}
	return j
}

// trialDay is a day as the programme asks for it, its chamber a little off.
func trialDay(p trial.Plan, day int, at time.Time, rate, stateS float64) trial.Entry {
	want, _ := chronometer.DayOf(max(1, day))
	temperature := want.TemperatureC + []float64{0.1, -0.2, 0.3, 0, -0.1}[day%5]
	e := trial.Entry{Day: day, Position: want.Position, TemperatureC: &temperature, ReadAt: at}
	if p.Method == trial.ByInstrument {
		e.Rate = &timing.Figure{Value: rate, Step: 0.1}
		return e
	}
	e.Compared = &trial.Compared{Reference: at, Watch: at.Add(time.Duration(stateS*10) * 100 * time.Millisecond),
		WithinS: 0.2}
	return e
}

// noted writes down a day of the newest trial some minutes after it was read.
func (j *job) noted(e trial.Entry) {
	j.clockAt(e.ReadAt.Add(4*minute)).then(j.hands, func(ctx context.Context, f *filler, c store.Change) error {
		id, err := f.newestTrial(ctx, c.Number)
		if err != nil {
			return err
		}
		return f.store.NoteTrialDay(ctx, c, id, store.TrialNote{Entry: e})
	})
	j.steps[len(j.steps)-1].daily = true
}

// trialEnded ends the newest trial with its verdict.
func (j *job) trialEnded() *job {
	return j.then(j.hands, func(ctx context.Context, f *filler, c store.Change) error {
		id, err := f.newestTrial(ctx, c.Number)
		if err != nil {
			return err
		}
		_, err = f.store.EndTrial(ctx, c, id)
		return err
	})
}

func (f *filler) newestTrial(ctx context.Context, n docket.Number) (int64, error) {
	sheet, err := f.store.TrialSheet(ctx, n, 0)
	if err != nil {
		return 0, err
	}
	if sheet.Shown == nil {
		return 0, domain.ErrNotFound
	}
	return sheet.Shown.ID, nil
}

// clockAt sets the clock to a moment, which must lie after the last step.
func (j *job) clockAt(at time.Time) *job {
	if len(j.steps) > 0 && !at.After(j.steps[len(j.steps)-1].at) {
		panic("demoshop: " + j.key + ": the clock goes back to " + at.String())
	}
	j.clock = at
	return j
}
