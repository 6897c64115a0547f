package figures

import (
	"strconv"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/figure"
	"ledgerwheel/domain/figures"
	"ledgerwheel/domain/share"
	"ledgerwheel/web/chart"
)

const tooFew = "too few to say"

// cell is a figure as a page shows it and as a file has it.
type cell struct{ text, csv, href string }

func words(text string) cell { return cell{text: text, csv: text} }

func count(n int64) cell { return words(strconv.FormatInt(n, 10)) }

// places is a figure with so many decimals.
func places(x float64, decimals int) cell {
	return cell{text: figure.Places(x, decimals), csv: strconv.FormatFloat(x, 'f', decimals, 64)}
}

func signed(x float64, decimals int) cell {
	return cell{text: figure.Signed(x, decimals), csv: strconv.FormatFloat(x, 'f', decimals, 64)}
}

var blank, few = cell{}, cell{text: tooFew}

// column heads a column of a report; of figures it says the unit.
type column struct {
	text, unit string
	numeric    bool
}

func figured(text, unit string) column { return column{text, unit, true} }

// line is a row of a report, with what the chart draws of it.
type line struct {
	label          string
	month          figures.Month
	key            string
	cells          []cell
	low, mid, high *float64
}

// report is a figure as it was worked out.
type report struct {
	columns []column // after the first, which is what lines are told apart by
	lines   []line
	foot    *line
	none    bool // nothing was counted
	chart   chart.FigureRows
}

// builder makes reports of counts.
type builder struct {
	asked
	counts figures.Counts
	names  map[string]string
}

// each makes a line of each group and one of all together.
func (b builder) each(r report, make func(c figures.Counts) line) report {
	label := func(key string) string { return name(b.by, key, b.names) }
	for _, g := range figures.Groups(b.counts, b.by, b.from, b.to, label) {
		l := make(g.Counts)
		l.key, l.month, l.label = g.Key, g.Month, label(g.Key)
		if b.by == figures.ByAll {
			l.label = g.Month.String()
		}
		r.lines = append(r.lines, l)
	}
	if len(b.counts) > 0 {
		foot := make(b.counts)
		foot.label = "Together"
		r.foot = &foot
	}
	return r
}

// draw has the chart show every line that has a figure to show or is too few.
func (r report) draw() chart.FigureRows {
	c := r.chart
	c.ID = "figure"
	for _, l := range r.lines {
		c.Rows = append(c.Rows, chart.FigureRow{Label: l.label, Words: tooFew, Low: l.low, Mid: l.mid, High: l.high})
	}
	return c
}

func of(x float64) *float64 { return &x }

// middle are the cells of a histogram: how many, the median and where it lies, and what 8 in 10 don't pass; values over per are in the unit.
func middle(h share.Histogram, per float64, write func(float64) cell) (cells []cell, l line) {
	cells = []cell{count(h.N())}
	lo, hi, ok := h.Between(0.5)
	if !ok {
		return append(cells, few, blank, blank, blank), l
	}
	median, _ := h.Quantile(0.5)
	eight, _ := h.Quantile(0.8)
	at := func(v int) float64 { return float64(v) / per }
	l.low, l.mid, l.high = of(at(median)), of(at(median)), of(at(eight))
	return append(cells, write(at(median)), write(at(eight)), write(at(lo)), write(at(hi))), l
}

func middleColumns(of, unit string) []column {
	return []column{figured(of, ""), figured("Median", unit), figured("8 in 10 within", unit), figured("Median at least", unit), figured("Median at most", unit)}
}

// shared are the cells of a share: how many, of how many, the share and its interval.
func shared(s share.Share) (cells []cell, l line) {
	cells = []cell{count(int64(s.K)), count(int64(s.N))}
	if s.TooFew() {
		return append(cells, few, blank, blank), l
	}
	lo, hi := s.Interval()
	l.low, l.mid, l.high = of(100*lo), of(100*s.P()), of(100*hi)
	return append(cells, places(100*s.P(), 0), places(100*lo, 0), places(100*hi, 0)), l
}

func sharedColumns(k, n string) []column {
	return []column{figured(k, ""), figured(n, ""), figured("Share", "%"), figured("At least", "%"), figured("At most", "%")}
}

// compared adds to each line how its share stands to the others together, where lines are no months.
func (b builder) compared(r report, take func(c figures.Counts) share.Share) report {
	if b.by == figures.ByAll {
		return r
	}
	var shares []share.Share
	for _, l := range r.lines {
		shares = append(shares, take(b.counts.Of(func(k figures.Key) bool { return k.Key == l.key })))
	}
	r.columns = append(r.columns, column{text: "Beside the others"})
	for i, v := range share.Compare(shares) {
		r.lines[i].cells = append(r.lines[i].cells, words([]string{tooFew, "no difference beyond chance", "above", "below"}[v]))
	}
	if r.foot != nil {
		r.foot.cells = append(r.foot.cells, blank)
	}
	return r
}

// byShare is the report of a share.
func (b builder) byShare(k, n, title string, take func(c figures.Counts) share.Share, more []column, also func(c figures.Counts) []cell) report {
	r := report{columns: append(sharedColumns(k, n), more...), chart: chart.FigureRows{Title: title, Unit: "%", Percent: true,
		Range: "the line is Wilson's interval: of such lines 95 in 100 hold the true share"}}
	r = b.each(r, func(c figures.Counts) line {
		cells, l := shared(take(c))
		l.cells = append(cells, also(c)...)
		return l
	})
	return b.compared(r, take)
}

func nothing(figures.Counts) []cell { return nil }

func turnaround(b builder) report {
	r := report{columns: middleColumns("Watches ready", "days"), chart: chart.FigureRows{Title: "Days from taking in to ready", Unit: "days from taking in to ready", Range: "the lozenge is the median, the line goes to 8 in 10"}}
	return b.each(r, func(c figures.Counts) (l line) {
		cells, l := middle(c.Histogram(figures.Turnaround), 1, func(x float64) cell { return places(x, 0) })
		l.cells = cells
		return l
	})
}

// workStages are the stages in which time goes until a watch leaves.
func workStages() []docket.Stage {
	return []docket.Stage{docket.StageIntake, docket.StageDiagnosis, docket.StageEstimate, docket.StageParts, docket.StageService, docket.StageRegulation,
		docket.StageFinalTest, docket.StageReady}
}

// whereTimeGoes has a line for each stage, or, by a dimension, one for each key with the medians of the stages.
func whereTimeGoes(b builder) report {
	days := func(x float64) cell { return places(x, 1) }
	r := report{chart: chart.FigureRows{Title: "Days in each stage", Unit: "days in the stage, all stays of a watch together", Range: "the lozenge is the median, the line goes to 8 in 10"}}
	if b.by == figures.ByAll {
		r.columns = middleColumns("Watches", "days")
		for _, stage := range workStages() {
			cells, l := middle(b.counts.Histogram(figures.StageTime(stage)), 24, days)
			l.label, l.key, l.cells = stage.Label(), string(stage), cells
			r.lines = append(r.lines, l)
		}
		return r
	}
	for _, stage := range workStages() {
		r.columns = append(r.columns, figured("Median in "+stage.Label(), "days"))
	}
	r.chart.Title, r.chart.Unit = "Days in service", "days in service"
	return b.each(r, func(c figures.Counts) (l line) {
		for _, stage := range workStages() {
			cells, drawn := middle(c.Histogram(figures.StageTime(stage)), 24, days)
			if l.cells = append(l.cells, cells[1]); stage == docket.StageService {
				l.low, l.mid, l.high = drawn.low, drawn.mid, drawn.high
			}
		}
		return l
	})
}

func promises(b builder) report {
	kept := func(m figures.Measure) func(c figures.Counts) share.Share {
		return func(c figures.Counts) share.Share { return c.Share(m, -figures.MostDays, 0) }
	}
	return b.byShare("Ready by the day first promised", "Promised and ready", "Ready by the day that was promised first", kept(figures.Promise),
		[]column{figured("By the day that stood last", "%"), figured("Late by, median", "days"), figured("Not ready yet", "")}, func(c figures.Counts) []cell {
			last, _ := shared(kept(figures.PromiseLast)(c))
			late := share.HistogramOf(nil)
			for _, bin := range c.Histogram(figures.Promise) {
				if bin.Value > 0 {
					late = append(late, bin)
				}
			}
			by, _ := middle(late, 1, func(x float64) cell { return places(x, 0) })
			return []cell{last[2], by[1], count(c.Sum(figures.PromiseOpen))}
		})
}

func firstPass(b builder) report {
	return b.byShare("Passed the first final test", "Tested", "Passed the first final test", func(c figures.Counts) share.Share { return c.Share(figures.FirstPass, 1, 1) }, nil, nothing)
}

func comebacks(b builder) report {
	return b.byShare("Came back under warranty", "Handed over", "Came back under warranty, of those handed over", func(c figures.Counts) share.Share { return c.Share(figures.CameBack, 1, 1) }, nil, nothing)
}

// refusedKinds are the kinds of line that can be refused: a discount is not.
func refusedKinds() []estimate.Kind { return estimate.Kinds[:len(estimate.Kinds)-1] }

func estimates(b builder) report {
	kinds := refusedKinds()
	var more []column
	for _, k := range kinds {
		more = append(more, figured("Lines refused: "+k.Words(), ""))
	}
	return b.byShare("Approved", "Answered", "Estimates approved", func(c figures.Counts) share.Share { return c.Share(figures.Estimate, 1, 1) }, more, func(c figures.Counts) (cells []cell) {
		for _, k := range kinds {
			cells = append(cells, count(c.Sum(figures.Refused(k))))
		}
		return cells
	})
}
