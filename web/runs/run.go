// Package runs has the runs of a regulation sheet as several rooms show them: their grid, kinds, positions and papers.
package runs

import (
	"cmp"
	"fmt"
	"net/http"
	"slices"
	"strings"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/text"
	"ledgerwheel/domain/timing"
	"ledgerwheel/store"
	"ledgerwheel/web/chart"
	"ledgerwheel/web/page"
	"ledgerwheel/web/view"
)

// PositionView draws a position of a watch whose crown sits at crownHour.
func PositionView(p timing.Position, crownHour int) view.PositionView {
	return view.PositionView{Symbol: string(p), Words: p.Words(crownHour), CrownHour: crownHour}
}

// GridOf lays out a sheet's grid with the texts of its cells, what is wrong with them and what is asked about them.
func GridOf(id, caption string, sh timing.Sheet, typed func(field string) string, problems map[string]string,
	asked map[string]view.Question) GridView {
	return gridOf(id, caption, sh, 0, typed, problems, asked)
}

// againTitles head the grids of AgainGrids.
var againTitles = [timing.MaxRepeats]string{"A second reading of a position", "A third reading of a position",
	"A fourth reading of a position"}

// AgainGrids are the grids that positions are typed into which are read again: one more than the last that holds
// anything, each to be drawn folded.
func AgainGrids(sh timing.Sheet, typed func(field string) string, problems map[string]string,
	asked map[string]view.Question) []GridView {
	var grids []GridView
	wanted := 1
	for n := 1; n <= timing.MaxRepeats; n++ {
		g := gridOf(fmt.Sprintf("again-%d", n), againTitles[n-1], sh, n, typed, problems, asked)
		g.Edit, g.Again = true, true
		grids = append(grids, g)
		if g.typed() > 0 {
			wanted = min(n+1, timing.MaxRepeats)
		}
	}
	return grids[:wanted]
}

func gridOf(id, caption string, sh timing.Sheet, again int, typed func(field string) string, problems map[string]string,
	asked map[string]view.Question) GridView {
	g := GridView{ID: id, Caption: caption}
	grid := sh.Grid()
	confirmed := sh.Confirmed()
	for _, hours := range sh.States {
		g.States = append(g.States, gridStateView{Text: timing.StateWords(hours)})
	}
	for i, p := range grid.Rows {
		row := gridRowView{Position: PositionView(p, sh.Run.CrownHour)}
		for j := range grid.Columns {
			name := timing.AgainName(grid.Field(i, j), again)
			row.Cells = append(row.Cells, gridCellView{Name: name, Value: typed(name), Error: problems[name],
				Asked: asked[name], Confirmed: confirmed[name]})
		}
		g.Rows = append(g.Rows, row)
	}
	return g
}

// ReadGrid is the grid of a run to be read: figures with the digits that mean something.
func ReadGrid(id string, sh timing.Sheet) GridView {
	again := len(sh.Run.Again()) > 0
	sh.Run = sh.Run.Averaged()
	shown := sh.Shown()
	g := GridOf(id, "Readings of the run "+sh.Run.Title(), sh,
		func(name string) string { return shown[name] }, nil, nil)
	g.Note = uncertaintyNote(sh)
	if again {
		g.Note += " Positions read more than once stand here with their means."
	}
	return g
}

// uncertaintyNote says once what all figures of a kind share.
func uncertaintyNote(sh timing.Sheet) string {
	var parts []string
	for _, q := range timing.Quantities() {
		least, greatest, measured := sh.Uncertainties(q)
		if !measured || greatest.StdUncertainty == 0 {
			continue
		}
		low, high := least.Brief(false), greatest.Brief(false)
		text := "± " + high.Uncertainty
		if low.Uncertainty != high.Uncertainty {
			text = "± " + cmp.Or(low.Uncertainty, "0") + " to " + high.Uncertainty
		}
		parts = append(parts, fmt.Sprintf("%s %s", q.Label(), withUnit(text, q.Unit())))
	}
	if len(parts) == 0 {
		return ""
	}
	return "Expanded uncertainty of one figure (k = 2): " + strings.Join(parts, ", ") + "."
}

func withUnit(figure, unit string) string {
	if unit == timing.UnitDegree {
		return figure + unit
	}
	return figure + " " + unit
}

// MarkOf is the lozenge of a verdict.
func MarkOf(v metrology.Verdict) view.MarkKind {
	switch v {
	case metrology.Pass:
		return view.Pass
	case metrology.Fail:
		return view.Fail
	case metrology.Undecided:
		return view.Undecided
	}
	return view.NotMeasured
}

// MarkOfOutcome is the lozenge of a verdict as stored.
func MarkOfOutcome(o docket.Outcome) view.MarkKind {
	verdict, err := metrology.ParseVerdict(string(o))
	if err != nil {
		return view.NotMeasured
	}
	return MarkOf(verdict)
}

// StatOf prints a statistic in parts for a list whose heading has the unit.
func StatOf(s timing.Statistic) StatView {
	if !s.Computable() {
		return StatView{}
	}
	p := s.Value.Brief(s.Signed)
	return StatView{Value: p.Value, Uncertainty: p.Uncertainty}
}

// decidingStat prints a statistic in parts, with its unit, where a limit is held against it.
func decidingStat(s timing.Statistic) StatView {
	if !s.Computable() {
		return StatView{}
	}
	p := s.Value.Print(s.Signed)
	return StatView{Value: p.Value, Uncertainty: p.Uncertainty, Unit: p.Unit}
}

// ShownStatistics are those of one state of wind that a page and a paper show, in order; the extremes that only a
// limit asks for stand in the table of limits.
var ShownStatistics = []timing.Key{timing.MeanRate, timing.DeltaRate, timing.HorizontalMeanRate,
	timing.VerticalMeanRate,
	timing.HorizontalLessVertical, timing.HorizontalDelta, timing.VerticalDelta, timing.HorizontalAmplitude,
	timing.VerticalAmplitude,
	timing.AmplitudeLoss, timing.GreatestBeatError}

// KeySlug names a statistic in the ids by which tests find it.
func KeySlug(k timing.Key) string { return strings.ReplaceAll(string(k), "_", "-") }

// StatisticUnit is the unit of a statistic, known even where it is not computed.
func StatisticUnit(k timing.Key) string {
	switch k {
	case timing.HorizontalAmplitude, timing.VerticalAmplitude, timing.AmplitudeLoss, timing.LeastHorizontalAmplitude,
		timing.LeastVerticalAmplitude, timing.GreatestAmplitude, timing.AmplitudeLoss24h:
		return timing.UnitDegree
	case timing.GreatestBeatError:
		return timing.UnitMs
	}
	return timing.UnitSPerDay
}

// Judging is what a run is judged by; nil limits judge nothing.
type Judging struct {
	Limits *store.LimitsVersion
	Rule   metrology.Rule
}

// FiguresOf computes a run and judges it: the panel beside the grid.
func FiguresOf(sh timing.Sheet, by Judging) FiguresView {
	var f FiguresView
	var stats timing.Statistics
	if by.Limits != nil {
		j := timing.Judge(sh.Run, by.Limits.Limits, by.Rule, sh.Instruments())
		stats = j.Statistics
		f.Mark, f.Text, f.Rule, f.Judged = MarkOf(j.Verdict), j.Text, by.Rule.String(), VersionName(by.Limits.Limits)
		f.Limits = limitRows(j)
	} else {
		stats = timing.StatisticsOf(sh.Run, timing.Options{Instruments: sh.Instruments()})
		f.Text = "Not judged: no grade is chosen."
	}
	f.Rows, f.States = statRows(stats)
	if len(stats.States) == 0 {
		f.Text = "Nothing is measured yet. Figures appear here as readings are typed."
		return f
	}
	f.Why = whysOf(stats)
	return f
}

func VersionName(l timing.RateLimits) string { return fmt.Sprintf("%s, version %d", l.Name, l.Version) }

func limitRows(j timing.Judgement) []limitRowView {
	var rows []limitRowView
	for _, l := range j.Limits {
		row := limitRowView{Label: l.Limit.Label(), Bounds: l.Limit.Text(), Reason: l.Limit.Reason, Mark: MarkOf(l.Verdict),
			Figure: decidingStat(l.Statistic), TestID: "limit-" + KeySlug(l.Limit.Key)}
		switch l.Verdict {
		case metrology.NotMeasured:
			row.Text = text.Sentence(l.Statistic.Why)
		case metrology.Undecided:
			row.Text = "The limit lies inside the uncertainty: measure longer or better."
		}
		if l.Statistic.Computable() {
			row.Chance = timing.Percent(l.ProbabilityOfConformity)
		}
		rows = append(rows, row)
	}
	return rows
}

// statRows sets the states of wind side by side, and below them what belongs to the whole run.
func statRows(stats timing.Statistics) (rows []statRowView, states []string) {
	if len(stats.States) == 0 {
		return nil, nil
	}
	for _, state := range stats.States {
		states = append(states, timing.StateWords(state.HoursAfterWinding))
	}
	for _, key := range ShownStatistics {
		row := statRowView{Unit: StatisticUnit(key), TestID: "stat-" + KeySlug(key), Strong: key == timing.MeanRate ||
			key == timing.DeltaRate}
		for _, state := range stats.States {
			s := StatisticOf(state, key)
			row.Label = s.Label
			row.Cells = append(row.Cells, StatOf(s))
		}
		rows = append(rows, row)
	}
	for _, s := range []timing.Statistic{stats.AmplitudeLoss24h, stats.Isochronism} {
		rows = append(rows, statRowView{Label: s.Label, Unit: StatisticUnit(s.Key), TestID: "stat-" + KeySlug(s.Key),
			Whole: true,
			Cells: []StatView{StatOf(s)}})
	}
	return rows, states
}

func StatisticOf(state timing.StateStatistics, key timing.Key) timing.Statistic {
	list := state.List()
	return list[slices.IndexFunc(list, func(s timing.Statistic) bool { return s.Key == key })]
}

// whysOf gathers why figures are not computed, once for each reason.
func whysOf(stats timing.Statistics) []WhyView {
	var whys []WhyView
	add := func(what, why string) {
		why = text.Sentence(why)
		at := slices.IndexFunc(whys, func(w WhyView) bool { return w.Why == why })
		if at < 0 {
			whys = append(whys, WhyView{What: what, Why: why})
			return
		}
		whys[at].What += "; " + what
	}
	for _, state := range stats.States {
		for _, key := range ShownStatistics {
			if s := StatisticOf(state, key); !s.Computable() {
				where := ""
				if len(stats.States) > 1 {
					where = " (" + timing.StateWords(state.HoursAfterWinding) + ")"
				}
				add(s.Label+where, s.Why)
			}
		}
	}
	for _, s := range []timing.Statistic{stats.AmplitudeLoss24h, stats.Isochronism} {
		if !s.Computable() {
			add(s.Label, s.Why)
		}
	}
	return whys
}

// RateLimit is the band a chart of rates shows: what the grade allows of the mean.
func RateLimit(by Judging) (metrology.Limits, string) {
	if by.Limits == nil {
		return metrology.Limits{}, ""
	}
	limit, set := by.Limits.Limits.Limit(timing.MeanRate)
	if !set {
		return metrology.Limits{}, ""
	}
	return limit.Limits, "limits of the mean, " + limit.Text()
}

// RatesChart draws the rates of one run by position, a series for each state of wind.
func RatesChart(id string, sh timing.Sheet, by Judging) view.ChartView {
	c := chart.RateByPosition{ID: id, Title: "Rate by position, " + sh.Run.Title(), CrownHour: sh.Run.CrownHour}
	for _, hours := range slices.Backward(sh.Run.States()) { // the fullest takes the first mark, which is the last series'
		if s := chart.RatesOf(timing.StateWords(hours), sh.Run, hours, sh.Instruments()); len(s.Rates) > 0 {
			c.Series = append(c.Series, s)
		}
	}
	c.Limits, c.LimitsLabel = RateLimit(by)
	return view.ChartView{Caption: "Rate by position", TestID: id, Drawing: c}
}

// AmplitudeChart draws the rates of one run against its amplitudes.
func AmplitudeChart(id string, sh timing.Sheet) view.ChartView {
	return view.ChartView{Caption: "Rate against amplitude", TestID: id, Drawing: chart.RateAgainstAmplitude{ID: id,
		Title: "Rate against amplitude, " + sh.Run.Title(), States: chart.AmplitudesOf(sh.Run, sh.Instruments()),
		MarkNeutral: true}}
}

// CompareChart draws two runs by position, at the state of wind that both have first.
func CompareChart(id string, before, after store.RunRecord, names [2]string, by Judging) view.ChartView {
	hours := sharedState(before.Sheet.Run, after.Sheet.Run)
	c := chart.RateByPosition{ID: id, Title: "Rate by position, before and after, " + timing.StateWords(hours),
		CrownHour: after.Sheet.Run.CrownHour}
	for i, r := range []store.RunRecord{before, after} {
		c.Series = append(c.Series, chart.RatesOf(names[i], r.Sheet.Run, hours, r.Sheet.Instruments()))
	}
	c.Limits, c.LimitsLabel = RateLimit(by)
	return view.ChartView{Caption: "Rate by position, " + timing.StateWords(hours), TestID: id, Drawing: c}
}

// sharedState is the least state of wind at which both runs have readings, else that of the later run.
func sharedState(before, after timing.Run) float64 {
	states := after.States()
	for _, h := range states {
		if slices.Contains(before.States(), h) {
			return h
		}
	}
	if len(states) > 0 {
		return states[0]
	}
	return 0
}

// Name tells the runs of a docket apart: kinds that were taken more than once are named with their time.
func Name(s *page.Host, r *http.Request, run store.RunRecord, all []store.RunRecord) string {
	title := run.Sheet.Run.Title()
	same := 0
	for _, other := range all {
		if other.Sheet.Run.Title() == title {
			same++
		}
	}
	if same > 1 {
		return title + ", " + s.Moment(r, run.TakenAt)
	}
	return title
}
