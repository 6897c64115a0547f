package trials

import (
	"errors"
	"fmt"
	"net/http"
	"strconv"
	"time"

	"ledgerwheel/domain"
	"ledgerwheel/domain/chronometer"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/text"
	"ledgerwheel/domain/timing"
	"ledgerwheel/domain/trial"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/sheet"
	"ledgerwheel/web/view"
)

// trialRoutes are the sheet of a docket's trials, the forms on it, and a trial's bulletin.
func (s *Room) trialRoutes() []page.Route {
	return []page.Route{
		page.Get("/dockets/{number}/trial", page.Needs(staff.ViewDockets), s.showTrial),
		page.Post("/dockets/{number}/trial", page.Needs(staff.TakeReadings), s.beginTrial),
		page.Post("/dockets/{number}/trial/day", page.Needs(staff.TakeReadings), s.noteTrialDay),
		page.Post("/dockets/{number}/trial/end", page.Needs(staff.TakeReadings), s.endTrial),
		page.Post("/dockets/{number}/trial/abandon", page.Needs(staff.TakeReadings), s.abandonTrial),
		page.Get("/dockets/{number}/papers/trial", page.Needs(staff.PrintPapers), s.showTrialBulletin),
		page.Get("/dockets/{number}/papers/trial.pdf", page.Needs(staff.PrintPapers), s.sendTrialBulletin),
	}
}

// trialForms are the forms of the sheet as they came back; nil where none did.
type trialForms struct {
	begin, day, abandon, end *page.Form
}

// trialOf reads the sheet that the address names, and the trial of its query.
func (s *Room) trialOf(r *http.Request) (store.TrialSheet, error) {
	n, err := page.PathNumber(r)
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
		return 0, page.BadRequest(fmt.Errorf("%s: %q is no id", name, typed))
	}
	return id, nil
}

func (s *Room) showTrial(w http.ResponseWriter, r *http.Request) error {
	sheet, err := s.trialOf(r)
	if err != nil {
		return err
	}
	return s.renderTrial(w, r, http.StatusOK, sheet, trialForms{})
}

// refuseTrial shows the sheet of a docket with the forms that were refused.
func (s *Room) refuseTrial(w http.ResponseWriter, r *http.Request, status int, n docket.Number, id int64,
	forms trialForms) error {
	sheet, err := s.store.TrialSheet(r.Context(), n, id)
	if err != nil {
		return err
	}
	return s.renderTrial(w, r, status, sheet, forms)
}

func (s *Room) beginTrial(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.ChangeForm(w, r)
	if err != nil {
		return err
	}
	p := readPlan(f)
	if !f.OK() {
		f.FailAll(p.Problems(s.Today(r))) // what could not be read must not hide what else is wrong
		f.FailAll(p.ClockProblems(page.ZoneOf(r)))
		return s.refuseTrial(w, r, http.StatusUnprocessableEntity, c.Number, 0, trialForms{begin: f})
	}
	_, err = s.store.BeginTrial(r.Context(), c, p)
	return s.Settle(w, r, sheet.Ending{Form: f, Change: c, Err: err, Said: "The trial is begun.",
		To:    view.DocketURL(c.Number.String(), "trial"),
		Again: func(status int) error { return s.refuseTrial(w, r, status, c.Number, 0, trialForms{begin: f}) }})
}

// bySize is the choice of a category by the size of the movement.
const bySize = "size"

// readPlan reads how a trial is to be set up.
func readPlan(f *page.Form) trial.Plan {
	p := trial.Plan{Method: trial.Method(f.Text("method")), FirstDay: f.Day("first_day"),
		Instrument: text.Line(f.Raw("instrument"))}
	switch typed := f.Text("category"); typed {
	case bySize:
		diameter, area := f.Decimal("diameter", "mm"), f.Decimal("area", "mm²", "mm2")
		category, err := chronometer.CategoryOf(page.OrZero(diameter), page.OrZero(area))
		if err != nil {
			f.Fail("diameter", text.Sentence(err.Error()))
		}
		p.Category = category
	default:
		n, _ := strconv.Atoi(typed) // what is no number is no category
		p.Category = chronometer.Category(n)
	}
	if clock, ok := f.Clock("reading_time"); ok {
		p.ReadingMinute = int(clock.Minutes())
	}
	if p.Method == trial.ByInstrument {
		p.ClockPPM = page.OrZero(f.Decimal("clock_ppm", "ppm"))
	} else {
		p.Instrument = ""
	}
	hours, temperature := f.Decimal("settling_hours", "h"), f.Decimal("settling_temperature", celsius...)
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

func (s *Room) noteTrialDay(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.ChangeForm(w, r)
	if err != nil {
		return err
	}
	id, day, version := f.ID("trial"), f.Int("day"), f.Int("day_version")
	if !f.OK() || id == 0 {
		return page.BadRequest(errors.New("a day of a trial needs the trial, the day and its version"))
	}
	record, err := s.store.TrialSheet(r.Context(), c.Number, id)
	if err != nil {
		return err
	}
	plan := record.Shown.Plan
	e := readTrialDay(f, plan, day, record.Shown.Zone())
	entries, zone := record.Shown.Entries(), record.Shown.Zone()
	bad := e.Problems(plan, c.At)
	for field, question := range e.Doubts(plan, entries, zone) {
		if bad[field] == "" {
			f.Ask(field, question)
		}
	}
	if !f.OK() {
		f.FailAll(bad)
		return s.renderTrial(w, r, http.StatusUnprocessableEntity, record, trialForms{day: f})
	}
	seen := c
	c.Version = 0 // the day's own version says whether somebody was quicker
	err = s.store.NoteTrialDay(r.Context(), c, id, store.TrialNote{Version: version,
		Entry: e.Confirm(f.Confirmed(), c.By.Name, entries),
		Why:   text.Lines(f.Raw("why"))})
	if errors.Is(err, domain.ErrChanged) {
		now, _ := record.Shown.Day(day)
		f.Values.Set("day_version", strconv.Itoa(now.Version))
	}
	return s.Settle(w, r, sheet.Ending{Form: f, Change: seen, Err: err, Said: notedDay(day, version),
		To:    view.DocketURL(c.Number.String(), "trial") + "?trial=" + page.Itoa64(id),
		Again: func(status int) error { return s.renderTrial(w, r, status, record, trialForms{day: f}) }})
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

// readTrialDay reads what the form says of a day. Times are of the trial's clock.
func readTrialDay(f *page.Form, p trial.Plan, day int, zone *time.Location) trial.Entry {
	e := trial.Entry{Day: day, Position: timing.Position(f.Text("position")), TemperatureC: f.Decimal("temperature",
		celsius...), Note: text.Lines(f.Raw("note"))}
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
	clock, known := f.Clock("read_time")
	if known && !civilDay.IsZero() {
		at, why := trial.ReadingAt(civilDay, clock, zone, trial.Which(f.Text("which")))
		if why != "" {
			f.Fail("read_time", why)
		} else {
			e.ReadAt = docket.Moment(at)
		}
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
func comparedOf(f *page.Form, reference time.Time, p trial.Plan, zone *time.Location) *trial.Compared {
	within := f.Decimal("within", "s")
	shown, ok := f.Clock("watch_time")
	if !ok || reference.IsZero() {
		return nil
	}
	watch, err := chronometer.WatchInstant(reference.In(p.WatchZone(zone)), shown.Seconds(), chronometer.TwelveHourDial)
	if err != nil {
		f.Fail("watch_time", text.Sentence(err.Error()))
		return nil
	}
	return &trial.Compared{Reference: reference, Watch: docket.Moment(watch), WithinS: page.OrZero(within)}
}

func (s *Room) endTrial(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.ChangeForm(w, r)
	if err != nil {
		return err
	}
	id := f.ID("trial")
	if id == 0 || c.Version == 0 {
		return page.BadRequest(errors.New("ending a trial needs the trial and the version that was seen"))
	}
	if !f.Checked("confirm") {
		f.Fail("confirm", trial.NoConfirm)
		return s.refuseTrial(w, r, http.StatusUnprocessableEntity, c.Number, id, trialForms{end: f})
	}
	verdict, err := s.store.EndTrial(r.Context(), c, id)
	return s.Settle(w, r, sheet.Ending{Form: f, Change: c, Err: err, Said: "The trial is ended: " +
		trial.VerdictWords(verdict) + ".",
		To: view.DocketURL(c.Number.String(), "trial") + "?trial=" + page.Itoa64(id),
		Again: func(status int) error {
			return s.refuseTrial(w, r, status, c.Number, id, trialForms{end: f})
		}})
}

func (s *Room) abandonTrial(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.ChangeForm(w, r)
	if err != nil {
		return err
	}
	id := f.ID("trial")
	if id == 0 || c.Version == 0 {
		return page.BadRequest(errors.New("abandoning a trial needs the trial and the version that was seen"))
	}
	err = s.store.AbandonTrial(r.Context(), c, id, text.Lines(f.Raw("reason")))
	return s.Settle(w, r, sheet.Ending{Form: f, Change: c, Err: err, Said: "The trial is abandoned.",
		To:    view.DocketURL(c.Number.String(), "trial") + "?trial=" + page.Itoa64(id),
		Again: func(status int) error { return s.refuseTrial(w, r, status, c.Number, id, trialForms{abandon: f}) }})
}
