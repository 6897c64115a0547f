package regulation

import (
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"time"

	"ledgerwheel/domain"
	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/text"
	"ledgerwheel/domain/timing"
	"ledgerwheel/domain/tongue"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/paper"
	"ledgerwheel/web/runs"
	"ledgerwheel/web/view"
)

// bulletin is what the report of one or two runs says, before it is set as a page or a PDF.
type bulletin struct {
	sheet store.RegulationSheet
	runs  []store.RunRecord // before and after, or the only one
	names []string
	by    runs.Judging // of the last run
	stats []timing.Statistics
	rows  []bulletinRow
	judge *timing.Judgement
	date  string
	entry string
	say   page.Voice // by the settings as they stood when the last run was last written or judged
}

// bulletinRow is one figure of every run, and the limit it was held against.
type bulletinRow struct {
	key    timing.Key
	hours  float64 // of its state of wind, after winding
	unit   string
	values []timing.Statistic
	limit  *timing.JudgedLimit
}

// bulletin reads the runs the query names; unnamed, they are the run as received and the newest.
func (s *Room) bulletin(r *http.Request) (bulletin, error) {
	sheet, err := runs.Read(r, s.store)
	if err != nil {
		return bulletin{}, err
	}
	newest, found := sheet.Newest()
	if !found {
		return bulletin{}, fmt.Errorf("bulletin of docket %s: no run: %w", sheet.Head.Docket.Number, domain.ErrNotFound)
	}
	p, err := s.chosenPair(r, sheet, newest)
	if err != nil {
		return bulletin{}, err
	}
	d := sheet.Head.Docket
	say := page.VoiceOf(d.Tongue, p.after.Shop)
	b := bulletin{say: say, sheet: sheet, runs: []store.RunRecord{p.before, p.after},
		names: []string{runNamed(say, p.before, sheet.Runs), runNamed(say, p.after, sheet.Runs)},
		by:    judgingOf(sheet, p.after), date: say.Moment(s.Now()),
		entry: say.Say("paper.entry", "number", d.Number, "entry", d.Version, "hash", d.Head.Short())}
	if p.before.ID == p.after.ID {
		b.runs, b.names = b.runs[1:], b.names[1:]
	}
	b.compute()
	return b, nil
}

func (b *bulletin) last() store.RunRecord { return b.runs[len(b.runs)-1] }

// compute takes the statistics of the runs and judges the last one as it was judged when it was saved.
func (b *bulletin) compute() {
	for _, run := range b.runs {
		b.stats = append(b.stats, timing.StatisticsOf(run.Sheet.Run, timing.Options{Instruments: run.Sheet.Instruments()}))
	}
	if b.by.Limits != nil {
		j := b.last().Judge(b.by.Limits.Limits, b.by.Rule)
		b.judge = &j
		b.stats[len(b.stats)-1] = j.Statistics
	}
	for _, hours := range b.states() {
		for _, key := range bulletinKeys(hours) {
			b.add(hours, key)
		}
	}
	b.addWhole(timing.AmplitudeLoss24h, func(s timing.Statistics) timing.Statistic { return s.AmplitudeLoss24h })
	b.addWhole(timing.Isochronism, func(s timing.Statistics) timing.Statistic { return s.Isochronism })
}

// states are those of all runs, least first.
func (b *bulletin) states() []float64 {
	var all timing.Run
	for _, run := range b.runs {
		all.Readings = append(all.Readings, run.Sheet.Run.Readings...)
	}
	return all.States()
}

// bulletinKeys are the statistics printed of a state of wind: all at full wind, the chief ones later.
func bulletinKeys(hours float64) []timing.Key {
	if hours == 0 {
		return append(append([]timing.Key{}, runs.ShownStatistics...), timing.LeastHorizontalAmplitude,
			timing.GreatestAmplitude)
	}
	return []timing.Key{timing.MeanRate, timing.DeltaRate, timing.HorizontalLessVertical, timing.LeastVerticalAmplitude}
}

// add sets a row for a statistic of one state, if some run has it or a limit asks for it.
func (b *bulletin) add(hours float64, key timing.Key) {
	row := bulletinRow{key: key, hours: hours, unit: runs.StatisticUnit(key), limit: b.limitOn(key, hours)}
	for _, stats := range b.stats {
		s := timing.Statistic{Why: "not measured"}
		if state, measured := stats.At(hours); measured {
			s = runs.StatisticOf(state, key)
		}
		row.values = append(row.values, s)
	}
	b.keep(row)
}

func (b *bulletin) addWhole(key timing.Key, of func(timing.Statistics) timing.Statistic) {
	row := bulletinRow{key: key, unit: runs.StatisticUnit(key), limit: b.limitOn(key, 0)}
	for _, stats := range b.stats {
		s := of(stats)
		row.values = append(row.values, s)
	}
	b.keep(row)
}

func (b *bulletin) keep(row bulletinRow) {
	for _, v := range row.values {
		if v.Computable() {
			b.rows = append(b.rows, row)
			return
		}
	}
	if row.limit != nil {
		b.rows = append(b.rows, row)
	}
}

// limitOn finds the judged limit on a statistic at a state of wind.
func (b *bulletin) limitOn(key timing.Key, hours float64) *timing.JudgedLimit {
	if b.judge == nil {
		return nil
	}
	for i, l := range b.judge.Limits {
		if l.Limit.Key == key && timing.LimitedState(key) == hours {
			return &b.judge.Limits[i]
		}
	}
	return nil
}

func (b *bulletin) verdict() (metrology.Verdict, string) {
	if b.judge == nil {
		return metrology.NotMeasured, b.say.Say("paper.not_judged")
	}
	return b.judge.Verdict, runs.VerdictSaid(b.say, *b.judge)
}

// facts are the conditions of a run.
func facts(say page.Voice, run store.RunRecord) []paper.Field {
	sh := run.Sheet
	var fields []paper.Field
	for _, f := range []paper.Field{{Label: say.Say("paper.taken"), Value: say.Moment(run.TakenAt)},
		{Label: say.Say("paper.by"), Value: run.TakenBy}, {Label: say.Say("paper.instrument"), Value: sh.Instrument},
		{Label: say.Say("paper.its_clock"), Value: runs.ClockSaid(say, sh)},
		{Label: say.Say("paper.temperature"), Value: say.Figures(temperatureText(sh))},
		{Label: say.Say("paper.note"), Value: sh.Run.Label}} {
		if f.Value != "" {
			fields = append(fields, f)
		}
	}
	return fields
}

// runNamed names a run, with when it was taken where others have the same name.
func runNamed(say page.Voice, run store.RunRecord, all []store.RunRecord) string {
	title, same := runs.TitleSaid(say, run.Sheet.Run), 0
	for _, other := range all {
		if other.Sheet.Run.Title() == run.Sheet.Run.Title() {
			same++
		}
	}
	if same > 1 {
		return title + ", " + say.Moment(run.TakenAt)
	}
	return title
}

// bulletinNotes say what every reader of figures must know.
func bulletinNotes(t tongue.Tongue) []string {
	return []string{t.Say("paper.bulletin.units"), t.Say("paper.bulletin.own_limits")}
}

func (s *Room) showBulletin(w http.ResponseWriter, r *http.Request) error {
	b, err := s.bulletin(r)
	if err != nil {
		return err
	}
	number := b.sheet.Head.Docket.Number.String()
	query := ""
	if len(b.runs) > 0 {
		query = "?" + url.Values{"before": {page.Itoa64(b.runs[0].ID)}, "after": {page.Itoa64(b.last().ID)}}.Encode()
	}
	return page.ShowPaper(w, r, view.PrintView{Page: s.Page(r, "Bulletin of rates "+number), Heading: "Bulletin of rates",
		BackHref: view.DocketURL(number, "regulation"), BackText: "Back to regulation",
		PDF: &view.LinkView{Text: "As PDF", Href: view.DocketURL(number, "papers/bulletin.pdf") + query, TestID: "pdf"}},
		bulletinPaper(b))
}

func (s *Room) sendBulletin(w http.ResponseWriter, r *http.Request) error {
	b, err := s.bulletin(r)
	if err != nil {
		return err
	}
	return s.SendPaper(w, r, "bulletin-"+b.sheet.Head.Docket.Number.String(), bulletinPaper(b), s.Now())
}

// bulletinPaper is what the bulletin says.
func bulletinPaper(b bulletin) paper.Bulletin {
	say := b.say
	verdict, said := b.verdict()
	out := paper.Bulletin{Issuer: page.IssuerOf(say.Shop), Lang: say.Lang(), Tongue: say.Tongue,
		Docket: b.sheet.Head.Docket.Number.String(), Date: b.date,
		Watch: runs.WatchFields(say.Tongue, b.sheet.Head), Mark: runs.PaperMark(verdict), Verdict: said,
		Notes:      append(bulletinNotes(say.Tongue), store.TestedSaid(b.sheet.Tests, say.Tongue, say.Shop), b.entry, say.SealLine(b.sheet.Seal)),
		Signatures: []string{say.Say("paper.watchmaker"), say.Say("paper.date")}}
	if b.judge != nil {
		limits := b.by.Limits.Limits
		out.LimitsName, out.Rule = runs.VersionSaid(say.Tongue, limits.Name, limits.Version), runs.RuleSaid(say.Tongue, b.by.Rule)
		if limit, set := b.by.Limits.Limits.Limit(timing.MeanRate); set && limit.Limits.Lower != nil &&
			limit.Limits.Upper != nil {
			out.Limits = paper.Limits{Known: true, LowerSPerDay: *limit.Limits.Lower, UpperSPerDay: *limit.Limits.Upper}
		}
	}
	for i, run := range b.runs {
		out.Runs = append(out.Runs, paperRun(say, text.Capital(b.names[i]), run.Sheet, facts(say, run)))
	}
	for _, row := range b.rows {
		name := text.Capital(runs.StatisticSaid(say.Tongue, row.key))
		if row.hours != 0 {
			name += ", " + runs.WindSaid(say, row.hours)
		}
		stat := paper.Statistic{Name: name + ", " + row.unit}
		for _, v := range row.values {
			stat.Values = append(stat.Values, say.Figures(paperFigure(v, row.limit != nil)))
		}
		if row.limit != nil {
			lower, upper := row.limit.Limit.Ends()
			stat.Limit = strings.TrimSuffix(runs.BoundsSaid(say, lower, upper), " "+row.unit)
			stat.Judged, stat.Mark = true, runs.PaperMark(row.limit.Verdict)
		}
		out.Statistics = append(out.Statistics, stat)
	}
	return out
}

// paperFigure prints a statistic whose row has the unit, to more places where a limit decides by it.
func paperFigure(s timing.Statistic, decides bool) string {
	if !s.Computable() {
		return ""
	}
	p := s.Value.Brief(s.Signed)
	if decides {
		p = s.Value.Print(s.Signed)
	}
	p.Unit = ""
	return p.String()
}

// paperRun sets a run for the PDF.
func paperRun(say page.Voice, name string, sh timing.Sheet, facts []paper.Field) paper.Run {
	out := paper.Run{Name: name, Facts: facts}
	states := sh.Run.States()
	for _, hours := range states {
		out.States = append(out.States, text.Capital(runs.WindSaid(say, hours)))
	}
	instruments := sh.Instruments()
	for _, p := range timing.Positions() {
		row := paper.RunRow{Position: runs.PaperPosition(say.Tongue, p, sh.Run.CrownHour)}
		for _, hours := range states {
			r, _ := sh.Run.Averaged().Reading(p, hours)
			row.Readings = append(row.Readings, paperReading(say, r, instruments))
		}
		out.Rows = append(out.Rows, row)
	}
	return out
}

func paperReading(say page.Voice, r timing.Reading, instruments timing.Instruments) paper.Reading {
	out := paper.Reading{Measured: r.Measured()}
	text := func(q timing.Quantity) string { return say.Figures(instruments.Text(r, q)) }
	out.Rate, out.Amplitude, out.BeatError = text(timing.Rate), text(timing.Amplitude), text(timing.BeatError)
	if v, measured := instruments.Value(r, timing.Rate); measured {
		out.RateSPerDay, out.USPerDay, out.RateU = v.Value, v.Expanded(), say.Figures(v.Brief(true).Uncertainty)
	} else {
		out.RateSPerDay = noRate
	}
	return out
}

// noRate is a rate that no chart of the PDF can draw: the figure was not measured.
const noRate = 2 * 24 * float64(time.Hour/time.Second)
