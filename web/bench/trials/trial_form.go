package trials

import (
	"fmt"
	"net/http"
	"strconv"
	"time"

	"ledgerwheel/domain/chronometer"
	"ledgerwheel/domain/figure"
	"ledgerwheel/domain/timing"
	"ledgerwheel/domain/trial"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/view"
)

// trialDayForm is the form in which a day is noted or corrected: the one the query names, or else the next one that has
// fallen due; nil when none has.
func (s *Room) trialDayForm(r *http.Request, t trialPage, typed *page.Form) (*trialNoteView, error) {
	p := t.record.Plan
	today := s.Today(r)
	day, due := p.NextDay(t.entries, today)
	if typed != nil {
		day, due = typed.Int("day"), true
	} else if asked := r.URL.Query().Get("day"); asked != "" {
		n, err := strconv.Atoi(asked)
		if err != nil || n < p.FirstNoted() || n > chronometer.Days {
			return nil, page.BadRequest(fmt.Errorf("day %q is none of the trial", asked))
		}
		day, due = n, n <= p.DueOn(today)
	}
	if !due {
		return nil, nil
	}
	kept, noted := t.record.Day(day)
	v := &trialNoteView{Day: strconv.Itoa(day), Version: strconv.Itoa(kept.Version), Corrects: noted,
		Compared: p.Method == trial.ByComparison,
		Heading:  noteHeading(day, noted), Functions: day == chronometer.FunctionDay}
	if typed == nil {
		typed = s.newDayForm(t, day, kept, noted)
	} else {
		v.Version = typed.Raw("day_version")
	}
	v.Form = typed.View()
	v.Which = whichField(typed, t.zone)
	want, ok := chronometer.DayOf(max(1, day))
	if ok {
		v.Asked = trialStep("", want, t.crown)
	}
	v.Position = v.Form.Field("position", "Position it was in")
	if day == 0 {
		v.Position = v.Form.Field("position", "Position it is set in for day 1")
	}
	for _, pos := range timing.Positions() {
		v.Position.Options = append(v.Position.Options, view.Option{Value: string(pos), Text: string(pos) + ", " +
			pos.Words(t.crown)})
	}
	return v, nil
}

// whichField asks which moment is meant where the typed time stands twice on its day; without a name where it doesn't.
func whichField(typed *page.Form, zone *time.Location) view.Field {
	probe := &page.Form{Values: typed.Values, Problems: map[string]string{}} // the form has its problems already
	day := probe.Day("read_date")
	clock, known := probe.Clock("read_time")
	if !known || day.IsZero() || len(trial.OnClock(day, clock, zone)) < 2 {
		return view.Field{}
	}
	return typed.View().Field("which", "Which of the two").WithOptions(
		view.Option{Value: string(trial.Earlier), Text: "The first, before the clocks go back"},
		view.Option{Value: string(trial.Later), Text: "The second, after"})
}

func noteHeading(day int, noted bool) string {
	switch {
	case noted:
		return fmt.Sprintf("Correct day %d", day)
	case day == 0:
		return "The first comparison"
	}
	return fmt.Sprintf("Note day %d", day)
}

// newDayForm is a day as it would be typed: as it was noted, or as the programme has it.
func (s *Room) newDayForm(t trialPage, day int, kept store.TrialDay, noted bool) *page.Form {
	f := page.EmptyForm()
	set := f.Values.Set
	p := t.record.Plan
	at := p.DueAt(day, t.zone)
	if now := s.Now(); at.After(now) {
		at = now
	}
	layout := "15:04"
	if p.Method == trial.ByComparison {
		layout = "15:04:05.999"
		at = at.Truncate(time.Minute)
		set("within", figure.Plain(lastWithin(t)))
	}
	if noted {
		at = kept.ReadAt
		fillDay(f, kept.Entry, p.WatchZone(t.zone))
	} else if want, ok := chronometer.DayOf(max(1, day)); ok {
		set("position", string(want.Position))
	}
	local := at.In(t.zone)
	set("read_date", local.Format(time.DateOnly))
	if noted || p.Method == trial.ByInstrument {
		set("read_time", local.Format(layout))
	}
	if noted {
		set("which", string(whichOf(local)))
	}
	return f
}

// whichOf says which of two moments a kept reading is, where its time stands twice.
func whichOf(local time.Time) trial.Which {
	y, m, d := local.Date()
	day := time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
	wall := time.Date(y, m, d, local.Hour(), local.Minute(), local.Second(), local.Nanosecond(), time.UTC)
	if moments := trial.OnClock(day, wall.Sub(day), local.Location()); len(moments) == 2 && moments[1].Equal(local) {
		return trial.Later
	}
	return trial.Earlier
}

// lastWithin is how well watch and clock were read together before; half a second where that was never said, about what
// the eye does at a seconds hand (common practice).
func lastWithin(t trialPage) float64 {
	for i := len(t.entries) - 1; i >= 0; i-- {
		if c := t.entries[i].Compared; c != nil {
			return c.WithinS
		}
	}
	return 0.5
}

// fillDay writes a day as it was noted into the fields.
func fillDay(f *page.Form, e trial.Entry, watchZone *time.Location) {
	set := f.Values.Set
	set("position", string(e.Position))
	set("note", e.Note)
	if e.Rate != nil {
		set("rate", e.Rate.InputText(timing.Rate))
	}
	if e.TemperatureC != nil {
		set("temperature", figure.Plain(*e.TemperatureC))
	}
	if e.FunctionsEngaged != nil {
		set("functions", map[bool]string{true: "yes", false: "no"}[*e.FunctionsEngaged])
	}
	if c := e.Compared; c != nil {
		set("watch_time", c.Watch.In(watchZone).Format("15:04:05.999"))
		set("within", figure.Plain(c.WithinS))
	}
}
