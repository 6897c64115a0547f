package web

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"strconv"
	"time"

	"ledgerwheel/domain"
	"ledgerwheel/domain/chronometer"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/text"
	"ledgerwheel/domain/timing"
	"ledgerwheel/domain/trial"
	"ledgerwheel/store"
	"ledgerwheel/web/view"
)

type trialStore interface {
	TrialSheet(ctx context.Context, n docket.Number, id int64) (store.TrialSheet, error)
	BeginTrial(ctx context.Context, c store.Change, p trial.Plan) (int64, error)
	NoteTrialDay(ctx context.Context, c store.Change, id int64, in store.TrialNote) error
	EndTrial(ctx context.Context, c store.Change, id int64) (metrology.Verdict, error)
	AbandonTrial(ctx context.Context, c store.Change, id int64, reason string) error
}

// trialRoutes are the sheet of a docket's trials, the forms on it, and a trial's bulletin.
func (s *Server) trialRoutes() []route {
	return []route{
		{http.MethodGet, "/dockets/{number}/trial", needs(staff.ViewDockets), s.showTrial},
		{http.MethodPost, "/dockets/{number}/trial", needs(staff.TakeReadings), s.beginTrial},
		{http.MethodPost, "/dockets/{number}/trial/day", needs(staff.TakeReadings), s.noteTrialDay},
		{http.MethodPost, "/dockets/{number}/trial/end", needs(staff.TakeReadings), s.endTrial},
		{http.MethodPost, "/dockets/{number}/trial/abandon", needs(staff.TakeReadings), s.abandonTrial},
		{http.MethodGet, "/dockets/{number}/papers/trial", needs(staff.PrintPapers), s.showTrialBulletin},
		{http.MethodGet, "/dockets/{number}/papers/trial.pdf", needs(staff.PrintPapers), s.sendTrialBulletin},
	}
}

// trialForms are the forms of the sheet as they came back; nil where none did.
type trialForms struct {
	begin, day, abandon *form
	end                 string // why the trial could not be ended
}

// trialOf reads the sheet that the address names, and the trial of its query.
func (s *Server) trialOf(r *http.Request) (store.TrialSheet, error) {
	n, err := pathNumber(r)
	if err != nil {
		return store.TrialSheet{}, err
	}
	id, err := queryID(r, "trial")
	if err != nil {
		return store.TrialSheet{}, err
	}
	return s.store.TrialSheet(r.Context(), n, id)
}

func queryID(r *http.Request, name string) (int64, error) {
	typed := r.URL.Query().Get(name)
	if typed == "" {
		return 0, nil
	}
	id, err := strconv.ParseInt(typed, 10, 64)
	if err != nil || id <= 0 {
		return 0, badRequest(fmt.Errorf("%s: %q is no id", name, typed))
	}
	return id, nil
}

func (s *Server) showTrial(w http.ResponseWriter, r *http.Request) error {
	sheet, err := s.trialOf(r)
	if err != nil {
		return err
	}
	return s.renderTrial(w, r, http.StatusOK, sheet, trialForms{})
}

// refuseTrial shows the sheet of a docket with the forms that were refused.
func (s *Server) refuseTrial(w http.ResponseWriter, r *http.Request, status int, n docket.Number, id int64, forms trialForms) error {
	sheet, err := s.store.TrialSheet(r.Context(), n, id)
	if err != nil {
		return err
	}
	return s.renderTrial(w, r, status, sheet, forms)
}

func (s *Server) beginTrial(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.changeForm(w, r)
	if err != nil {
		return err
	}
	p := readPlan(f)
	if !f.OK() {
		f.FailAll(p.Problems(s.today(r))) // what could not be read must not hide what else is wrong
		return s.refuseTrial(w, r, http.StatusUnprocessableEntity, c.Number, 0, trialForms{begin: f})
	}
	_, err = s.store.BeginTrial(r.Context(), c, p)
	return s.settle(w, r, ending{form: f, change: c, err: err, said: "The trial is begun.",
		to:    view.DocketURL(c.Number.String(), "trial"),
		again: func(status int) error { return s.refuseTrial(w, r, status, c.Number, 0, trialForms{begin: f}) }})
}

// bySize is the choice of a category by the size of the movement.
const bySize = "size"

// readPlan reads how a trial is to be set up.
func readPlan(f *form) trial.Plan {
	p := trial.Plan{Method: trial.Method(f.Text("method")), FirstDay: f.Day("first_day"), Instrument: text.Line(f.Raw("instrument"))}
	switch typed := f.Text("category"); typed {
	case bySize:
		diameter, area := f.decimal("diameter", "mm"), f.decimal("area", "mm²", "mm2")
		category, err := chronometer.CategoryOf(orZero(diameter), orZero(area))
		if err != nil {
			f.Fail("diameter", text.Sentence(err.Error()))
		}
		p.Category = category
	default:
		n, _ := strconv.Atoi(typed) // what is no number is no category
		p.Category = chronometer.Category(n)
	}
	if clock, ok := f.clock("reading_time"); ok {
		p.ReadingMinute = int(clock.Minutes())
	}
	if p.Method == trial.ByInstrument {
		p.ClockPPM = orZero(f.decimal("clock_ppm", "ppm"))
	} else {
		p.Instrument = ""
	}
	hours, temperature := f.decimal("settling_hours", "h"), f.decimal("settling_temperature", celsius...)
	switch {
	case hours != nil && temperature != nil:
		p.Settling = &chronometer.Settling{Hours: *hours, TemperatureC: *temperature}
	case hours != nil:
		f.Fail("settling_temperature", "Give the temperature too, or leave both blank.")
	case temperature != nil:
		f.Fail("settling_hours", "Give the hours too, or leave both blank.")
	}
	return p
}

// celsius is how a temperature’s unit is typed.
var celsius = []string{"°C", "°", "C"}

func (s *Server) noteTrialDay(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.changeForm(w, r)
	if err != nil {
		return err
	}
	id, day, version := f.ID("trial"), f.Int("day"), f.Int("day_version")
	if !f.OK() || id == 0 {
		return badRequest(errors.New("a day of a trial needs the trial, the day and its version"))
	}
	sheet, err := s.store.TrialSheet(r.Context(), c.Number, id)
	if err != nil {
		return err
	}
	plan := sheet.Shown.Plan
	e := readTrialDay(f, plan, day, zoneOf(r))
	if !f.OK() {
		f.FailAll(e.Problems(plan, c.At))
		return s.renderTrial(w, r, http.StatusUnprocessableEntity, sheet, trialForms{day: f})
	}
	seen := c
	c.Version = 0 // the day's own version says whether somebody was quicker
	err = s.store.NoteTrialDay(r.Context(), c, id, store.TrialNote{Entry: e, Version: version, Why: text.Lines(f.Raw("why"))})
	if errors.Is(err, domain.ErrChanged) {
		now, _ := sheet.Shown.Day(day)
		f.Values.Set("day_version", strconv.Itoa(now.Version))
	}
	return s.settle(w, r, ending{form: f, change: seen, err: err, said: notedDay(day, version),
		to:    view.DocketURL(c.Number.String(), "trial") + "?trial=" + itoa64(id),
		again: func(status int) error { return s.renderTrial(w, r, status, sheet, trialForms{day: f}) }})
}

// notedDay says what was done with a day; version is the one that was seen, 0 for a day not noted before.
func notedDay(day, version int) string {
	switch {
	case version > 0:
		return fmt.Sprintf("Day %d is corrected; the journal keeps what it said before.", day)
	case day == 0:
		return "The first comparison is noted."
	}
	return fmt.Sprintf("Day %d is noted.", day)
}

// readTrialDay reads what the form says of a day. Times are of the shop's clock.
func readTrialDay(f *form, p trial.Plan, day int, zone *time.Location) trial.Entry {
	e := trial.Entry{Day: day, Position: timing.Position(f.Text("position")), TemperatureC: f.decimal("temperature", celsius...), Note: text.Lines(f.Raw("note"))}
	switch f.Text("functions") {
	case "yes":
		e.FunctionsEngaged = new(true)
	case "no":
		e.FunctionsEngaged = new(false)
	}
	civilDay := f.Day("read_date")
	if civilDay.IsZero() {
		f.Fail("read_date", "Give the day of the reading.")
	}
	clock, known := f.clock("read_time")
	if known && !civilDay.IsZero() {
		y, m, d := civilDay.Date()
		e.ReadAt = docket.Moment(time.Date(y, m, d, 0, 0, 0, int(clock), zone)) // nanoseconds carry over by the clock on the wall
	}
	if p.Method == trial.ByInstrument {
		figure, problem := timing.ParseFigure(timing.Rate, f.Text("rate"))
		if problem != "" {
			f.Fail("rate", problem)
		}
		e.Rate = figure
		return e
	}
	e.Compared = comparedOf(f, e.ReadAt, p, zone)
	return e
}

// comparedOf reads what the watch showed at the reference time; nil where that can't be said.
func comparedOf(f *form, reference time.Time, p trial.Plan, zone *time.Location) *trial.Compared {
	within := f.decimal("within", "s")
	shown, ok := f.clock("watch_time")
	if !ok || reference.IsZero() {
		return nil
	}
	watch, err := chronometer.WatchInstant(reference.In(p.WatchZone(zone)), shown.Seconds(), chronometer.TwelveHourDial)
	if err != nil {
		f.Fail("watch_time", text.Sentence(err.Error()))
		return nil
	}
	return &trial.Compared{Reference: reference, Watch: docket.Moment(watch), WithinS: orZero(within)}
}

func (s *Server) endTrial(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.changeForm(w, r)
	if err != nil {
		return err
	}
	id := f.ID("trial")
	if id == 0 || c.Version == 0 {
		return badRequest(errors.New("ending a trial needs the trial and the version that was seen"))
	}
	verdict, err := s.store.EndTrial(r.Context(), c, id)
	return s.settle(w, r, ending{form: f, change: c, err: err, said: "The trial is ended: " + trial.VerdictWords(verdict) + ".",
		to: view.DocketURL(c.Number.String(), "trial") + "?trial=" + itoa64(id),
		again: func(status int) error {
			return s.refuseTrial(w, r, status, c.Number, id, trialForms{end: f.Problems[""]})
		}})
}

func (s *Server) abandonTrial(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.changeForm(w, r)
	if err != nil {
		return err
	}
	id := f.ID("trial")
	if id == 0 || c.Version == 0 {
		return badRequest(errors.New("abandoning a trial needs the trial and the version that was seen"))
	}
	err = s.store.AbandonTrial(r.Context(), c, id, text.Lines(f.Raw("reason")))
	return s.settle(w, r, ending{form: f, change: c, err: err, said: "The trial is abandoned.",
		to:    view.DocketURL(c.Number.String(), "trial") + "?trial=" + itoa64(id),
		again: func(status int) error { return s.refuseTrial(w, r, status, c.Number, id, trialForms{abandon: f}) }})
}
