package trials

import (
	"cmp"
	"fmt"
	"net/http"
	"strconv"
	"strings"
	"time"

	"ledgerwheel/domain/chronometer"
	"ledgerwheel/domain/figure"
	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/text"
	"ledgerwheel/domain/timing"
	"ledgerwheel/domain/trial"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/runs"
	"ledgerwheel/web/sheet"
	"ledgerwheel/web/view"
)

// trialPage is a trial with everything that follows from it, for the page and the papers.
type trialPage struct {
	record   store.TrialRecord
	entries  []trial.Entry
	whole    chronometer.Trial
	rates    chronometer.Rates
	judged   chronometer.Judgement
	rule     metrology.Rule // the trial's own, as are its zone and shop
	verdict  metrology.Verdict
	warnings []chronometer.Warning
	zone     *time.Location
	shop     shop.Shop
	crown    int
}

func newTrialPage(sheet store.TrialSheet) (trialPage, error) {
	t := trialPage{record: *sheet.Shown, entries: sheet.Shown.Entries(), zone: sheet.Shown.Zone(),
		crown: crownOf(sheet.Head), rule: sheet.Shown.Rule(), shop: sheet.Shown.Shop}
	t.whole = trial.Record(t.record.Plan, t.entries, t.zone)
	var err error
	if t.rates, err = t.whole.Rates(); err != nil {
		return t, fmt.Errorf("trial %d: %w", t.record.ID, err)
	}
	if t.judged, err = t.whole.Judge(); err != nil {
		return t, fmt.Errorf("trial %d: %w", t.record.ID, err)
	}
	t.verdict, t.warnings = trial.VerdictBy(t.judged, t.rule), t.whole.Warnings()
	return t, nil
}

func crownOf(h store.Head) int {
	if h.Watch.CrownAt == 0 {
		return timing.CrownAtThree
	}
	return h.Watch.CrownAt
}

// renderTrial shows the sheet with the forms as they came back, or as they begin.
func (s *Room) renderTrial(w http.ResponseWriter, r *http.Request, status int, sheet store.TrialSheet,
	forms trialForms) error {
	p, d := s.DocketPage(r, sheet.Head, "trial")
	v := trialView{Begin: s.beginTrialView(r, sheet, forms.begin), EndProblem: endProblem(forms.end)}
	if len(sheet.Trials) > 1 {
		v.Earlier = s.trialList(r, sheet, d.Number)
	}
	if sheet.Shown != nil {
		t, err := newTrialPage(sheet)
		if err != nil {
			return err
		}
		r := page.AsStood(r, t.shop) // its days and times are those of its own clock
		v.Shown = s.trialShown(r, t, d.Number)
		if t.record.State == trial.Running && page.May(r, staff.TakeReadings) && !sheet.Head.Docket.Closed() &&
			forms.begin == nil {
			if v.Shown.Note, err = s.trialDayForm(r, t, forms.day); err != nil {
				return err
			}
			if trial.MayEnd(t.judged) {
				end := cmp.Or(forms.end, page.EmptyForm()).View()
				v.Shown.End, v.Shown.Ending = &end, trial.EndingWords(t.verdict)
			}
			v.Shown.Advice = trial.Advice(t.judged, t.rule)
			typed := forms.abandon
			if typed == nil {
				typed = page.EmptyForm()
			}
			abandon := typed.View()
			v.Shown.Abandon = &abandon
		}
	}
	return page.Render(w, r, status, trialsPage(p, d, v))
}

func endProblem(f *page.Form) string {
	if f == nil {
		return ""
	}
	return f.Problems[""]
}

// beginTrialView is the form that begins a trial, or why there is none; nil while one runs.
func (s *Room) beginTrialView(r *http.Request, record store.TrialSheet, typed *page.Form) *trialBeginView {
	if _, running := record.Running(); running && typed == nil {
		return nil
	}
	v := &trialBeginView{Why: trial.StageProblem(record.Head.Docket)}
	if !page.May(r, staff.TakeReadings) {
		v.Why = "Trials are run by " + sheet.RoleNames(staff.TakeReadings) + "."
	}
	if typed == nil {
		typed = page.EmptyForm()
		viewer, _ := page.ViewerOf(r.Context())
		for name, value := range map[string]string{"category": bySize, "method": string(trial.ByInstrument),
			"first_day":    s.Today(r).Format(time.DateOnly),
			"reading_time": "09:00", "instrument": viewer.Shop.Instrument,
			"clock_ppm": figure.Plain(viewer.Shop.InstrumentPPM)} {
			typed.Values.Set(name, value)
		}
		if mm := record.Head.Calibre.DiameterMm; mm > 0 {
			typed.Values.Set("diameter", figure.Plain(mm))
		}
	}
	f := typed.View()
	v.Form = f
	v.Category = f.Field("category", "Category").WithOptions(view.Option{Value: bySize,
		Text: "By the size of the movement, given below"},
		view.Option{Value: "1", Text: text.Capital(chronometer.Category1.String())},
		view.Option{Value: "2", Text: text.Capital(chronometer.Category2.String())})
	v.Method = f.Field("method", "The rates come from").WithOptions(
		view.Option{Value: string(trial.ByInstrument), Text: "A timing instrument", Hint: "Each day's rate is typed."},
		view.Option{Value: string(trial.ByComparison), Text: "Clock comparisons", Hint: "Once a day the watch is read " +
			"against a clock that is known to be right."})
	return v
}

// trialShown is one trial in full.
func (s *Room) trialShown(r *http.Request, t trialPage, number string) *shownView {
	v := &shownView{ID: page.Itoa64(t.record.ID), Running: t.record.State == trial.Running, Terms: s.trialTerms(r, t),
		Days: s.trialDays(r, t, number), Criteria: criteriaTable(t)}
	if v.Running {
		v.Today = s.trialToday(r, t)
		v.Forecast, v.ForecastLater = forecastView(t)
	}
	v.Charts = []view.ChartView{trialStripOf(t, t.record.Plan.DueOn(s.Today(r)))}
	for _, w := range t.warnings {
		v.Warnings = append(v.Warnings, w.Text)
	}
	v.Mark, v.Verdict, v.Simple = runs.MarkOf(t.verdict), verdictSentence(t), simpleSentence(t.judged)
	v.Rule = t.rule.String()
	v.Heading = "Trial, " + t.record.Plan.Category.String()
	v.Taken = "Day 1 begins " + s.Moment(r, t.record.Plan.DueAt(0, t.zone)) + ", day 15 ends " +
		s.Moment(r, t.record.Plan.DueAt(chronometer.Days, t.zone))
	v.CriteriaSay, v.DaysSay, v.PlanSays = criteriaSay(t), daysSay(t), t.record.Plan.Method.Words()
	if t.record.State == trial.Abandoned {
		v.Mark, v.Verdict = view.NotMeasured, "Abandoned: "+t.record.Reason
	}
	if page.May(r, staff.PrintPapers) {
		v.Paper = &view.LinkView{Text: "Bulletin of the trial", Href: view.DocketURL(number, "papers/trial") + "?trial=" +
			v.ID, TestID: "trial-bulletin"}
	}
	return v
}

// criteriaSay counts where the criteria stand.
func criteriaSay(t trialPage) string {
	var said []string
	for _, st := range []chronometer.Standing{chronometer.Pass, chronometer.Fail, chronometer.Open, chronometer.Spoilt} {
		if n := len(t.judged.With(st)); n > 0 {
			said = append(said, fmt.Sprintf("%d %s", n, st))
		}
	}
	return strings.Join(said, ", ")
}

// daysSay counts the days whose rate is known.
func daysSay(t trialPage) string {
	known := 0
	for day := 1; day <= chronometer.Days; day++ {
		if _, found := t.rates.Rate(day); found {
			known++
		}
	}
	return fmt.Sprintf("rates of %d", known)
}

// verdictSentence says how the trial stands by the rule.
func verdictSentence(t trialPage) string {
	spoilt := len(t.judged.With(chronometer.Spoilt)) > 0
	switch t.judged.Standing {
	case chronometer.Open:
		return "No verdict yet: criteria are still open."
	}
	if spoilt && t.verdict == metrology.NotMeasured {
		return "No verdict: a day did not follow the programme, and the criteria that need it are spoilt."
	}
	switch t.verdict {
	case metrology.Pass:
		return "Pass: all seven criteria keep within their limits."
	case metrology.Undecided:
		return "Undecided: of some criteria a limit lies inside the uncertainty."
	}
	var out []string
	for _, r := range t.judged.Results {
		if r.Standing == chronometer.Fail {
			out = append(out, r.Criterion.Symbol()+", "+r.Criterion.Label())
		}
	}
	return "Fail: " + cmp.Or(strings.Join(out, "; "), "outside the limits") + "."
}

// simpleSentence says how it stands by simple acceptance.
func simpleSentence(j chronometer.Judgement) string {
	return "By simple acceptance of the figures as they are, without regard to their uncertainty: " + string(j.Standing) +
		"."
}

func (s *Room) trialTerms(r *http.Request, t trialPage) []view.TermView {
	p := t.record.Plan
	terms := []view.TermView{view.Term("Category", text.Capital(p.Category.String())),
		view.Term("Rates by", p.Method.Words()),
		view.Term("Time zone", t.record.TimeZone), view.Term("Day 1 begins", s.Moment(r, p.DueAt(0, t.zone))),
		view.Term("Day 15 ends", s.Moment(r, p.DueAt(chronometer.Days, t.zone)))}
	if p.Method == trial.ByInstrument {
		terms = append(terms, view.Term("Instrument", p.Instrument),
			view.Term("Its clock", "right to within ±"+figure.Plain(p.ClockPPM)+" ppm"))
	}
	if p.Settling != nil {
		terms = append(terms, view.Term("Settled", fmt.Sprintf("%g h at %g °C", p.Settling.Hours, p.Settling.TemperatureC)))
	}
	terms = append(terms, view.Term("Begun", s.Moment(r, t.record.BegunAt)+", "+t.record.BegunBy))
	if !t.record.EndedAt.IsZero() {
		terms = append(terms, view.Term(text.Capital(string(t.record.State)),
			s.Moment(r, t.record.EndedAt)+", "+t.record.EndedBy))
	}
	return terms
}

// trialToday says what the trial asks of today, and what comes next.
func (s *Room) trialToday(r *http.Request, t trialPage) *trialToday {
	p := t.record.Plan
	n := p.NeedsOn(t.entries, s.Today(r))
	at := page.TrialClock(p.ReadingMinute)
	v := &trialToday{Text: text.Sentence(n.Text(at))}
	if n.Read && n.DueOn > 0 {
		day, _ := chronometer.DayOf(n.DueOn)
		v.Steps = append(v.Steps, trialStep("Read at "+at, day, t.crown))
	}
	if n.Set != nil {
		label := "Then, until tomorrow at " + at
		if !n.Read {
			label = "Until tomorrow at " + at
		}
		v.Steps = append(v.Steps, trialStep(label, *n.Set, t.crown))
		if next, ok := chronometer.DayOf(n.Set.Number + 1); ok {
			v.Steps = append(v.Steps, trialStep("Next", next, t.crown))
		}
	}
	return v
}

func trialStep(label string, day chronometer.Day, crown int) stepView {
	return stepView{Label: label, Day: fmt.Sprintf("Day %d", day.Number), Position: runs.PositionView(day.Position, crown),
		Temperature: figure.Shown(day.TemperatureC) + " °C ± " + figure.Plain(chronometer.ChamberToleranceC) + " °C",
		Functions:   day.FunctionsEngaged}
}

// trialDays is the programme with what was noted.
func (s *Room) trialDays(r *http.Request, t trialPage, number string) view.DataView {
	d := view.DataView{TableView: view.TableView{ID: "trial-days", Caption: "The fifteen days", HideCaption: true,
		TestID: "trial-days"}, Stack: true,
		Columns: []view.Column{{Text: "day"}, {Text: "position"}, {Text: "asked", Unit: "°C", Numeric: true},
			{Text: "was", Unit: "°C", Numeric: true},
			{Text: "rate", Unit: "s/d", Numeric: true}, {Text: "read"}, {Text: "noted by"}, {Text: "do", Hide: true}}}
	due := t.record.Plan.DueOn(s.Today(r))
	change := t.record.State == trial.Running && page.May(r, staff.TakeReadings)
	for day := t.record.Plan.FirstNoted(); day <= chronometer.Days; day++ {
		d.Rows = append(d.Rows, s.trialDayRow(r, t, number, day, due, change))
	}
	return d
}

func (s *Room) trialDayRow(r *http.Request, t trialPage, number string, day, due int, change bool) view.Row {
	row := view.Row{Head: true, Now: day == due && t.record.State == trial.Running, TestID: "trial-day-" +
		strconv.Itoa(day)}
	kept, noted := t.record.Day(day)
	cells := []view.Cell{view.Txt(strconv.Itoa(day)), {Text: "first comparison"}, {}, {}, {}, {}, {}, {}}
	if want, ok := chronometer.DayOf(day); ok {
		cells[1], cells[2] = view.Show(view.PositionMark(runs.PositionView(want.Position, t.crown))),
			view.Txt(figure.Plain(want.TemperatureC))
	}
	if v, known := t.rates.Rate(day); known {
		cells[4] = view.Show(runs.Stat(statOf(v, true)))
	}
	if noted {
		cells[5] = view.Cell{Text: s.Moment(r, kept.ReadAt), Note: comparedNote(kept.Entry)}
		cells[6] = view.Cell{Text: kept.By, Auto: true, Note: kept.Note}
		if kept.TemperatureC != nil {
			cells[3] = view.Txt(figure.Shown(*kept.TemperatureC))
		}
		if asked := kept.AskedText(); asked != "" {
			cells[6].Note = strings.TrimSpace(kept.Note + " " + asked)
		}
		if kept.Version > 1 {
			cells[6].Note = strings.TrimSpace(cells[6].Note + " Corrected " + s.Moment(r, kept.At) + ".")
		}
	} else {
		cells[5] = view.Cell{Text: "due " + s.Moment(r, t.record.Plan.DueAt(day, t.zone))}
	}
	if change && day <= due {
		text := "Note"
		if noted {
			text = "Correct"
		}
		cells[7] = view.Lnk(fmt.Sprintf("%s day %d", text, day),
			view.DocketURL(number, "trial")+"?trial="+page.Itoa64(t.record.ID)+"&day="+strconv.Itoa(day)+"#note")
	}
	row.Cells = cells
	return row
}

func comparedNote(e trial.Entry) string {
	if e.Compared == nil {
		return ""
	}
	return "watch less reference " + e.Compared.State().FormatSigned()
}

// statOf prints a value in parts, its unit being in the heading.
func statOf(v metrology.Value, signed bool) runs.StatView {
	p := v.Brief(signed)
	return runs.StatView{Value: p.Value, Uncertainty: p.Uncertainty}
}

// forecastsKept is more than a shop runs trials side by side.
const forecastsKept = 64

// trialList is every trial of the docket, newest first.
func (s *Room) trialList(r *http.Request, sheet store.TrialSheet, number string) *view.DataView {
	d := &view.DataView{TableView: view.TableView{ID: "trial-list", Caption: "Trials, newest first", HideCaption: true,
		TestID: "trial-list"}, Stack: true,
		Columns: []view.Column{{Text: "day 1"}, {Text: "category"}, {Text: "rates by"}, {Text: "came to"}}}
	for _, t := range sheet.Trials {
		state := view.Cell{Text: string(t.State), Note: t.Reason}
		if t.State == trial.Ended {
			state = view.Cell{Mark: runs.MarkOf(t.Verdict), Text: trial.VerdictWords(t.Verdict)}
		}
		d.Rows = append(d.Rows, view.Row{Head: true, Now: t.ID == sheet.Shown.ID, Cells: []view.Cell{
			view.Lnk(s.Day(r, t.Plan.FirstDay), view.DocketURL(number, "trial")+"?trial="+page.Itoa64(t.ID)),
			view.Txt(strconv.Itoa(int(t.Plan.Category))), view.Txt(t.Plan.Method.Words()), state}})
	}
	return d
}
