package paper

import (
	"slices"
	"time"

	"ledgerwheel/domain/text"
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

// Texts is as [ClaimTicket.Texts].
func (b Bulletin) Texts() []string {
	all := slices.Concat(b.Issuer.texts(), fieldTexts(b.Watch),
		[]string{b.Title, b.Verdict, b.Rule, b.LimitsName}, b.Notes, b.Signatures)
	for _, run := range b.Runs {
		all = append(append(append(all, run.Name), fieldTexts(run.Facts)...), run.States...)
	}
	return all
}

// PDF sets the bulletin; errors as [Estimate.PDF].
func (b Bulletin) PDF(created time.Time) ([]byte, error) {
	f, err := b.layout(created)
	if err != nil {
		return nil, err
	}
	return f.finish()
}

func (b Bulletin) layout(created time.Time) (*flow, error) {
	if b.Title == "" {
		b.Title = "Bulletin of rates"
	}
	f, err := newFlow(b.Issuer, b.Title, b.Docket, b.Lang, created)
	if err != nil {
		return nil, err
	}
	f.letterhead()
	if err := f.title(b.Title, b.Date, b.Docket); err != nil {
		return nil, err
	}
	f.fields(b.Watch, 4)
	f.verdict(b)
	for _, run := range b.Runs {
		f.run(run)
	}
	f.charts(b)
	f.statistics(b)
	f.section("How the verdicts are reached", 3*bodyStyle.lineHeight())
	f.prose(b.Rule, bodyStyle)
	f.y += 2
	f.markKey()
	f.notes(b.Notes)
	f.y += 4
	f.signatures(b.Signatures)
	return f, nil
}

// verdict sets the judgement of the whole between two rules.
func (f *flow) verdict(b Bulletin) {
	const size = 7.0
	f.y += 1
	st := style{serif, 13, textInk}
	words := style{sans, 9, textInk}
	width := a4Inner - size - 6
	body := words.fitBlock(b.Verdict, 6.5, width, 3*words.lineHeight())
	height := st.lineHeight() + body.height()
	if b.LimitsName != "" {
		height += smallStyle.lineHeight()
	}
	height = max(size, height)
	f.need(height + 6)
	f.line(marginSide, f.y, a4Width-marginSide, f.y, 0.15, brassInk)
	f.y += 3
	f.lozenge(marginSide+size/2, f.y+size/2, size, b.Mark)
	x := marginSide + size + 6
	word := b.Mark.word()
	f.text(x, f.y+st.ascent(), text.Capital(word), st, left)
	y := f.block(x, f.y+st.lineHeight(), width, body)
	if b.LimitsName != "" {
		f.fitted(x, y+smallStyle.ascent(), width, "Judged by "+b.LimitsName, smallStyle, 5.5, left)
	}
	f.y += height + 3
	f.line(marginSide, f.y, a4Width-marginSide, f.y, 0.15, brassInk)
	f.y += 6
}

// run sets one run as a table for every two states of wind.
func (f *flow) run(r Run) {
	const perTable = 2
	tableHeight := 12 + 5.5 + float64(len(r.Rows))*(bodyStyle.lineHeight()+2*cellPad)
	f.section(r.Name, min(tableHeight+10, 120))
	f.fields(r.Facts, 4)
	for from := 0; from < len(r.States); from += perTable {
		f.runTable(r, from, min(from+perTable, len(r.States)))
		f.y += 5
	}
}

func (f *flow) runTable(r Run, from, to int) {
	const positionWidth = 46.0
	t := table{flow: f, columns: []column{{"Position", positionWidth, left}}}
	stateWidth := (a4Inner - positionWidth) / float64(max(1, to-from))
	for i, state := range r.States[from:to] {
		t.groups = append(t.groups, group{state, 1 + 3*i, 4 + 3*i})
		t.columns = append(t.columns,
			column{"Rate, s/d", stateWidth * 0.42, right},
			column{"Amplitude, °", stateWidth * 0.29, right},
			column{"Beat error, ms", stateWidth * 0.29, right})
	}
	rows := make([][]cell, len(r.Rows))
	for i, row := range r.Rows {
		rows[i] = append(rows[i], f.positionCell(row.Position))
		for state := from; state < to; state++ {
			rows[i] = append(rows[i], readingCells(row.Readings, state)...)
		}
	}
	t.draw(rows)
}

func (f *flow) positionCell(p Position) cell {
	const size, symbolWidth = 5.2, 8.5
	return cell{
		text:   p.Words,
		indent: size + 1.2 + symbolWidth,
		mark: func(x, mid float64) float64 {
			f.lying(x+size/2, mid, size, p)
			f.fitted(x+size+1.2, mid+strongStyle.capHeight()/2, symbolWidth-1, p.Symbol, strongStyle, 5.5, left)
			return size + 1.2 + symbolWidth
		},
	}
}

func readingCells(readings []Reading, state int) []cell {
	const none = "–"
	if state >= len(readings) || !readings[state].Measured {
		return []cell{{text: none}, {text: none}, {text: none}}
	}
	r := readings[state]
	rate := r.Rate
	if r.RateU != "" {
		rate += " ± " + r.RateU
	}
	cells := []cell{{text: rate, strong: r.RateU == ""}, {text: r.Amplitude}, {text: r.BeatError}}
	for i := range cells {
		if cells[i].text == "" {
			cells[i].text = none
		}
	}
	return cells
}

// charts draws rate by position, a chart for each state of wind, two abreast.
func (f *flow) charts(b Bulletin) {
	charts := b.rateCharts()
	if len(charts) == 0 {
		return
	}
	const plot, gap = 66.0, 8.0
	heading := true
	for i := 0; i < len(charts); i += 2 {
		row := charts[i:min(i+2, len(charts))]
		width := (a4Inner - gap*float64(len(row)-1)) / float64(len(row))
		rows := 1
		for _, c := range row {
			rows = max(rows, len(c.legendRows(width-axisWidth)))
		}
		height := plot + float64(rows)*labelStyle.lineHeight()
		if heading {
			f.section("Rate by position", height)
			heading = false
		}
		f.need(height)
		for k, c := range row {
			c.draw(f.sheet, marginSide+float64(k)*(width+gap), f.y, width, height)
		}
		f.y += height
		f.y += 4
	}
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
				charts = append(charts, rateChart{title: name, positions: positions, limits: b.Limits})
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

// statistics compares the runs, three at most beside one another.
func (f *flow) statistics(b Bulletin) {
	const perTable = 3
	if len(b.Statistics) == 0 {
		return
	}
	rowHeight := bodyStyle.lineHeight() + 2*cellPad
	f.section("Figures", min(20+float64(len(b.Statistics))*rowHeight, 120))
	for from := 0; from < max(1, len(b.Runs)); from += perTable {
		f.statisticsTable(b, from, min(from+perTable, len(b.Runs)))
		f.y += 6
	}
}

func (f *flow) statisticsTable(b Bulletin, from, to int) {
	const nameWidth, limitWidth, verdictWidth = 60.0, 25.0, 27.0
	t := table{flow: f, columns: []column{{"Figure", nameWidth, left}}}
	valueWidth := (a4Inner - nameWidth - limitWidth - verdictWidth) / float64(max(1, to-from))
	for _, run := range b.Runs[from:to] {
		t.columns = append(t.columns, column{run.Name, valueWidth, right})
	}
	t.columns = append(t.columns, column{"Limit", limitWidth, right}, column{"Verdict", verdictWidth, left})
	var rows [][]cell
	for _, stat := range b.Statistics {
		row := []cell{{text: stat.Name}}
		for i := from; i < to; i++ {
			value := "–"
			if i < len(stat.Values) && stat.Values[i] != "" {
				value = stat.Values[i]
			}
			row = append(row, cell{text: value})
		}
		rows = append(rows, append(row, cell{text: stat.Limit}, f.verdictCell(stat)))
	}
	t.draw(rows)
}

func (f *flow) verdictCell(stat Statistic) cell {
	if !stat.Judged {
		return cell{}
	}
	word := stat.Verdict
	if word == "" {
		word = stat.Mark.word()
	}
	const size = 3.0
	return cell{text: word, indent: size + 1.8, mark: func(x, mid float64) float64 {
		f.lozenge(x+size/2, mid, size, stat.Mark)
		return size + 1.8
	}}
}

// markKey explains the lozenges in one line.
func (f *flow) markKey() {
	const size = 3.0
	f.need(bodyStyle.lineHeight() + 2)
	x := marginSide
	for _, m := range []Mark{Pass, Fail, Undecided, NotMeasured} {
		mid := f.y + smallStyle.ascent() - smallStyle.capHeight()/2
		f.lozenge(x+size/2, mid, size, m)
		x += size + 1.6
		x += f.text(x, f.y+smallStyle.ascent(), m.word(), smallStyle, left) + 7
	}
	f.y += smallStyle.lineHeight() + 2
}
