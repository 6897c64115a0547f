package paper

import (
	"cmp"
	"strconv"

	"ledgerwheel/domain/tongue"
	"ledgerwheel/web/paper/drawing"
)

// Reading is one cell of a run: position by wind state. Texts are formatted and
// empty where nothing was measured; the numbers are for the chart.
type Reading struct {
	Measured    bool
	Rate        string // s/d, signed
	RateU       string // expanded uncertainty, s/d; empty if not stated
	Amplitude   string // degrees
	BeatError   string // ms
	RateSPerDay float64
	USPerDay    float64 // expanded uncertainty, k = 2
}

// RunRow holds the readings in one position, one for each wind state of the run.
type RunRow struct {
	Position Position
	Readings []Reading
}

// Run is a set of readings taken together.
type Run struct {
	Name   string   // "As received", "Final"
	Facts  []Field  // when, by whom, instrument, temperature
	States []string // "Full wind", "After 24 h"
	Rows   []RunRow
}

// Statistic is a figure of every run beside its limit; Values follow the runs.
type Statistic struct {
	Name    string   // with its unit, as "Mean rate, s/d"
	Values  []string // with uncertainty, as "+2.1 ± 0.4"; empty where there is none
	Limit   string   // as "−4 to +6"; empty if nothing limits it
	Mark    Mark
	Judged  bool   // whether there is a verdict
	Verdict string // word; empty takes the mark's own
}

// Bulletin is the report of runs (A4).
type Bulletin struct {
	Issuer     Issuer
	Lang       string
	Tongue     tongue.Tongue
	Docket     string
	Title      string // empty is "Bulletin of rates"
	Date       string
	Watch      []Field
	Mark       Mark   // the judged run as a whole
	Verdict    string // in a sentence
	Rule       string // the decision rule, stated
	LimitsName string // grade and version of the rate limits
	Limits     Limits // of the rate in one position, for the chart
	Runs       []Run
	Statistics []Statistic
	Notes      []string
	Signatures []string // roles that sign
}

func (b Bulletin) document() document {
	t := b.Tongue
	title := cmp.Or(b.Title, t.Say("paper.bulletin"))
	doc := document{size: a4, title: title, number: b.Docket, issuer: b.Issuer, lang: b.Lang, tongue: t, parts: []part{
		letterhead{Issuer: b.Issuer},
		head{name: title, under: b.Date, code: b.Docket, codeWords: t.Say("paper.docket", "number", b.Docket)},
		fields{list: b.Watch},
		verdict{t, b.Mark, b.Verdict, judgedBy(t, b.LimitsName)},
	}}
	for n, run := range b.Runs {
		doc.parts = append(doc.parts, run.parts(t, n)...)
	}
	doc.parts = append(doc.parts, charts{t, b.rateCharts()})
	doc.parts = append(doc.parts, b.statistics()...)
	doc.parts = append(doc.parts, reached(t, b.Rule)...)
	doc.parts = append(doc.parts, prose{heading: t.Say("paper.notes"), paragraphs: b.Notes}, signatures{roles: b.Signatures})
	return doc
}

func judgedBy(t tongue.Tongue, limits string) string {
	if limits == "" {
		return ""
	}
	return t.Say("paper.judged_by", "limits", limits)
}

// reached says how the verdicts are reached.
func reached(t tongue.Tongue, rule string) []part {
	return []part{prose{heading: t.Say("paper.how_reached"), id: "bulletin-rule", paragraphs: []string{rule}},
		markKey{t}}
}

// parts set one run as a table for every two states of wind.
func (r Run) parts(tongue tongue.Tongue, n int) []part {
	const perTable = 2
	var list []part
	for from := 0; from < len(r.States); from += perTable {
		t := r.table(tongue, from, min(from+perTable, len(r.States)))
		t.id = "bulletin-" + strconv.Itoa(n)
		if from == 0 {
			t.heading = r.Name
			t.before = fields{list: r.Facts}
		}
		list = append(list, t)
	}
	return list
}

func (r Run) table(tongue tongue.Tongue, from, to int) table {
	const positionShare = 0.27
	t := table{caption: r.Name, columns: []column{{tongue.Say("paper.position"), positionShare, drawing.Left}}}
	share := (1 - positionShare) / float64(max(1, to-from))
	for i, state := range r.States[from:to] {
		t.groups = append(t.groups, group{state, 1 + 3*i, 4 + 3*i})
		t.columns = append(t.columns,
			column{tongue.Say("paper.rate_unit"), share * 0.42, drawing.Right},
			column{tongue.Say("paper.amplitude_unit"), share * 0.29, drawing.Right},
			column{tongue.Say("paper.beat_error_unit"), share * 0.29, drawing.Right})
	}
	for _, row := range r.Rows {
		cells := []cell{positionCell(row.Position)}
		for state := from; state < to; state++ {
			cells = append(cells, readingCells(row.Readings, state)...)
		}
		t.rows = append(t.rows, cells)
	}
	return t
}

func positionCell(p Position) cell { return cell{text: p.Words, position: &p} }

const none = "–"

func readingCells(readings []Reading, state int) []cell {
	if state >= len(readings) || !readings[state].Measured {
		return []cell{{text: none}, {text: none}, {text: none}}
	}
	r := readings[state]
	rate := cmp.Or(r.Rate, none)
	if r.RateU != "" {
		rate += " ± " + r.RateU
	}
	return []cell{{text: rate, strong: r.RateU == ""}, {text: cmp.Or(r.Amplitude, none)},
		{text: cmp.Or(r.BeatError, none)}}
}

// rateCharts gathers a chart for every state of wind in which anything was measured.
func (b Bulletin) rateCharts() []rateChart {
	var charts []rateChart
	at := map[string]int{}
	for _, run := range b.Runs {
		for state, name := range run.States {
			series := chartSeries{name: run.Name}
			var positions []string
			any := false
			for _, row := range run.Rows {
				positions = append(positions, row.Position.Symbol)
				p := chartPoint{}
				if state < len(row.Readings) && row.Readings[state].Measured {
					r := row.Readings[state]
					p = newChartPoint(r)
					any = any || p.measured
				}
				series.points = append(series.points, p)
			}
			if !any {
				continue
			}
			i, known := at[name]
			if !known {
				i = len(charts)
				at[name] = i
				charts = append(charts, rateChart{tongue: b.Tongue, lang: b.Lang, title: name, positions: positions, limits: b.Limits})
			}
			charts[i].series = append(charts[i].series, series.on(positions, charts[i].positions))
		}
	}
	return charts
}

// on orders a series taken in positions from by the positions of a chart.
func (s chartSeries) on(from, chart []string) chartSeries {
	byName := map[string]chartPoint{}
	for i, name := range from {
		byName[name] = s.points[i]
	}
	out := chartSeries{name: s.name, points: make([]chartPoint, len(chart))}
	for i, name := range chart {
		out.points[i] = byName[name]
	}
	return out
}

// statistics compare the runs, three at most beside one another.
func (b Bulletin) statistics() []part {
	const perTable = 3
	var list []part
	if len(b.Statistics) == 0 {
		return nil
	}
	for from := 0; from < max(1, len(b.Runs)); from += perTable {
		t := b.statisticsTable(from, min(from+perTable, len(b.Runs)))
		if from == 0 {
			t.heading = b.Tongue.Say("paper.figures")
		}
		list = append(list, t)
	}
	return list
}

func (b Bulletin) statisticsTable(from, to int) table {
	const name, limit, verdict = 0.35, 0.15, 0.16
	t := table{id: "bulletin-figures", caption: b.Tongue.Say("paper.figures"), columns: []column{{b.Tongue.Say("paper.figure"), name, drawing.Left}}}
	share := (1 - name - limit - verdict) / float64(max(1, to-from))
	for _, run := range b.Runs[from:to] {
		t.columns = append(t.columns, column{run.Name, share, drawing.Right})
	}
	t.columns = append(t.columns, column{b.Tongue.Say("paper.limit_column"), limit, drawing.Right},
		column{b.Tongue.Say("paper.verdict"), verdict, drawing.Left})
	for _, stat := range b.Statistics {
		row := []cell{{text: stat.Name}}
		for i := from; i < to; i++ {
			value := none
			if i < len(stat.Values) && stat.Values[i] != "" {
				value = stat.Values[i]
			}
			row = append(row, cell{text: value})
		}
		row = append(row, cell{text: stat.Limit})
		if stat.Judged {
			row = append(row, verdictCell(b.Tongue, stat.Mark, stat.Verdict))
		} else {
			row = append(row, cell{})
		}
		t.rows = append(t.rows, row)
	}
	return t
}

// verdictCell says a mark in words, the mark's own unless others are given.
func verdictCell(t tongue.Tongue, m Mark, words string) cell {
	return cell{text: cmp.Or(words, markWord(t, m)), verdict: &m}
}
