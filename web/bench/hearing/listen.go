package hearing

import (
	"net/http"
	"slices"
	"strconv"
	"strings"

	"ledgerwheel/domain/acoustic"
	"ledgerwheel/domain/figure"
	"ledgerwheel/domain/heard"
	rules "ledgerwheel/domain/listening"
	"ledgerwheel/domain/recorder"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/timing"
	"ledgerwheel/store"
	"ledgerwheel/web/bench/hearing/listening"
	"ledgerwheel/web/page"
	"ledgerwheel/web/runs"
)

// listenRoutes are live listening: at the bench alone, and for a docket's regulation.
func (s *Room) listenRoutes() []page.Route {
	return []page.Route{
		page.Get("/listen", page.Needs(staff.TakeReadings), s.showListen),
		page.Get("/listen/socket", page.Needs(staff.TakeReadings), s.listenSocket),
		page.Post("/listen/clock", page.Needs(staff.ManageRecorders), s.keepClock),
		page.Get("/dockets/{number}/listen", page.Needs(staff.TakeReadings), s.showListen),
		page.Get("/dockets/{number}/listen/socket", page.Needs(staff.TakeReadings), s.listenSocket),
		page.Post("/dockets/{number}/listen/keep", page.Needs(staff.TakeReadings), s.keepHeard),
		page.Post("/dockets/{number}/listen/clock", page.Needs(staff.ManageRecorders), s.keepClock),
	}
}

// subject is what is listened for: a docket's regulation sheet, or nothing at the bench alone.
type subject struct {
	sheet     *store.RegulationSheet
	recorders []recorder.Recorder
}

// subjectOf reads what the address names.
func (s *Room) subjectOf(r *http.Request) (subject, error) {
	var b subject
	var err error
	if strings.HasPrefix(r.URL.Path, "/dockets/") {
		sheet, err := runs.Read(r, s.store)
		if err != nil {
			return b, err
		}
		b.sheet = &sheet
	}
	b.recorders, err = s.store.Recorders(r.Context())
	b.recorders = slices.DeleteFunc(b.recorders, recorder.Recorder.Retired)
	return b, err
}

// limits is what the docket's runs are judged by.
func (b subject) limits() (store.LimitsVersion, bool) {
	if b.sheet == nil {
		return store.LimitsVersion{}, false
	}
	if v, found := b.sheet.LimitsByID(b.sheet.Head.RateLimitsID); found {
		return v, true
	}
	return b.sheet.NewestLimits(b.sheet.Head.Calibre.GradeKey)
}

// runChoice is the run a reading goes to: one on record, or a new one of a kind.
type runChoice struct {
	id  int64
	run timing.Run
	// instruments is what is known of the instruments of its readings so far.
	instruments timing.Instruments
}

// chooseRun reads which run a form names. why says what is wrong with it.
func (b subject) chooseRun(r *http.Request, typed string) (c runChoice, why string) {
	d := b.sheet.Head.Docket
	if kind, isNew := strings.CutPrefix(typed, runs.NewRun); isNew {
		c.run = timing.Run{Kind: timing.Kind(kind), CrownHour: b.sheet.Head.Watch.CrownAt}
		c.instruments.LiftAngleRel = b.sheet.Head.Calibre.LiftAngle().Rel()
		why = d.RunProblem(c.run.Kind)
	} else {
		id, err := strconv.ParseInt(typed, 10, 64)
		kept, found := b.sheet.Run(id)
		if err != nil || !found {
			return c, "Choose the run that the reading goes to."
		}
		c = runChoice{id: id, run: kept.Sheet.Run, instruments: kept.Sheet.Instruments()}
		why = d.RunProblem(c.run.Kind)
	}
	if why == "" && !slices.Contains(runs.AllowedKinds(r, d), c.run.Kind) {
		why = "Your role in the shop takes no runs of this kind."
	}
	return c, why
}

// source finds the recorder that a form names, as it stands now.
func (s *Room) source(b subject, typed string) (from heard.Source, why string) {
	if typed == "" || typed == "0" {
		return heard.Source{Recorder: heard.UnlistedRecorder, Clock: acoustic.UncalibratedClock()}, ""
	}
	id, _ := strconv.ParseInt(typed, 10, 64)
	at := slices.IndexFunc(b.recorders, func(r recorder.Recorder) bool { return r.ID == id })
	if at < 0 {
		return from, "Choose one of the recorders offered."
	}
	rec := b.recorders[at]
	return heard.Source{RecorderID: rec.ID, Recorder: rec.Name, Clock: rec.Clock(s.Now())}, ""
}

// listenTo reads what a person wants to listen to.
func (s *Room) listenTo(r *http.Request, b subject, f *page.Form) listening.Begin {
	var out listening.Begin
	crown := 0
	if b.sheet != nil {
		crown = b.sheet.Head.Watch.CrownAt
	}
	out.Words = func(p timing.Position) string { return p.Words(crown) }
	asked, problems := heard.ParseAsked(f.Text)
	f.FailAll(problems)
	out.Plan = rules.Plan{Through: f.Text("mode") == "six", Positions: []timing.Position{asked.Position},
		SettleS: secondsOf(f, "settle"), MostS: secondsOf(f, "most")}
	if f.Text("least") != "" {
		out.Plan.LeastS = secondsOf(f, "least")
	}
	if out.Plan.Through && asked.Position.Valid() {
		out.Plan.Positions = rules.Round(asked.Position)
	}
	f.FailAll(out.Plan.Problems())
	out.Hours = asked.Hours
	var why string
	if out.Source, why = s.source(b, f.Text("recorder")); why != "" {
		f.Fail("recorder", why)
	}
	out.Source.LiftAngleAssumed = asked.LiftAssumed
	out.Settings = asked.Settings()
	out.Settings.Clock = out.Source.Clock
	out.Ask = heard.Question{Recorder: out.Source.Recorder, Clock: out.Source.Clock, HoursAfterWinding: asked.Hours}
	if b.sheet != nil {
		s.askOfDocket(r, b, f, &out)
	}
	return out
}

// askOfDocket adds what is to be decided of the docket's watch. Without a run to keep into, it is listened to all the
// same.
func (s *Room) askOfDocket(r *http.Request, b subject, f *page.Form, out *listening.Begin) {
	viewer, _ := page.ViewerOf(r.Context())
	out.RunKey = f.Text("run")
	out.EscapeTeeth = b.sheet.Head.Calibre.EscapeTeeth()
	out.Stated = statedOf(b.sheet.Head.Calibre)
	out.Ask.Rule = runs.JudgingRule(viewer.Shop)
	if limits, found := b.limits(); found {
		out.Ask.Limits = limits.Limits
	}
	out.Ask.Run = timing.Run{CrownHour: b.sheet.Head.Watch.CrownAt}
	if out.RunKey == "" {
		return
	}
	c, why := b.chooseRun(r, out.RunKey)
	if why != "" {
		f.Fail("run", why)
	}
	out.Ask.Run, out.Ask.Instruments = c.run, c.instruments
}

// secondsOf reads a length of time; what is no number is none that a plan allows.
func secondsOf(f *page.Form, name string) float64 {
	n, err := figure.Parse(f.Text(name), "s")
	if err != nil {
		return -1
	}
	return n.Float()
}

func (s *Room) showListen(w http.ResponseWriter, r *http.Request) error {
	b, err := s.subjectOf(r)
	if err != nil {
		return err
	}
	return s.renderListen(w, r, http.StatusOK, b, s.listenForm(r, b))
}

// listenForm fills in what the docket and the address say.
func (s *Room) listenForm(r *http.Request, b subject) *page.Form {
	f := page.EmptyForm()
	set := f.Values.Set
	set("mode", "one")
	set("position", string(timing.DialUp))
	set("hours", "0")
	set("settle", strconv.Itoa(rules.DefaultSettleS))
	set("most", strconv.Itoa(rules.DefaultMostS))
	set("least", strconv.Itoa(rules.DefaultLeastS))
	if len(b.recorders) > 0 {
		set("recorder", page.Itoa64(b.recorders[0].ID))
	}
	if b.sheet != nil {
		if k := b.sheet.Head.Calibre; k.ID != 0 {
			set("beats_per_hour", strconv.Itoa(k.BeatsPerHour))
			if k.LiftAngleDeg > 0 {
				set("lift_angle", figure.Plain(k.LiftAngleDeg))
			}
		}
		if options := runs.Choices(s.Host, r, *b.sheet); len(options) > 0 {
			set("run", options[0].Value)
		}
	}
	for _, name := range []string{"mode", "position", "hours", "recorder", "run", "settle", "most", "least",
		"beats_per_hour", "lift_angle"} {
		if typed := r.URL.Query().Get(name); typed != "" {
			set(name, typed)
		}
	}
	return f
}
