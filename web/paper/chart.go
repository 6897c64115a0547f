package paper

import (
	"math"

	"github.com/a-h/templ"

	"ledgerwheel/domain/figure"
	"ledgerwheel/domain/tongue"
	"ledgerwheel/web/paper/drawing"
)

// Limits are the rate limits a run is judged by, in seconds per day.
type Limits struct {
	Known        bool
	LowerSPerDay float64
	UpperSPerDay float64
}

func (l Limits) drawn() bool {
	return l.Known && plottable(l.LowerSPerDay) && plottable(l.UpperSPerDay)
}

// dayS is the length of a day in s: no rate, loss or limit can be greater.
const dayS = 86400

// plottable reports a number that a chart can show.
func plottable(v float64) bool { return math.Abs(v) <= dayS } // refuses NaN too

// chartPoint is a rate with its expanded uncertainty, both in s/d.
type chartPoint struct {
	measured     bool
	rate, spread float64
}

// newChartPoint leaves out a reading that no chart can show.
func newChartPoint(r Reading) chartPoint {
	spread := r.USPerDay
	if !plottable(spread) || spread < 0 {
		spread = 0
	}
	return chartPoint{plottable(r.RateSPerDay), r.RateSPerDay, spread}
}

// chartSeries is a run: a point for each position, in order.
type chartSeries struct {
	name   string
	points []chartPoint
}

// rateChart draws rate by position with uncertainty bars and the limits.
type rateChart struct {
	tongue    tongue.Tongue
	lang      string
	title     string
	positions []string
	series    []chartSeries
	limits    Limits
}

// scale maps values to heights on the page.
type scale struct {
	low, high   float64 // s/d
	top, bottom float64 // mm
}

func (sc scale) y(value float64) float64 {
	return sc.bottom - (value-sc.low)/(sc.high-sc.low)*(sc.bottom-sc.top)
}

// span finds the values that a chart must show, zero among them.
func (c rateChart) span() (low, high float64) {
	take := func(v float64) { low, high = min(low, v), max(high, v) }
	if c.limits.drawn() {
		take(c.limits.LowerSPerDay)
		take(c.limits.UpperSPerDay)
	}
	for _, s := range c.series {
		for _, p := range s.points {
			if p.measured {
				take(p.rate - p.spread)
				take(p.rate + p.spread)
			}
		}
	}
	const least = 1.0 // s/d; finer scales show nothing but noise
	if spare := least - (high - low); spare > 0 {
		return low - spare/2, high + spare/2
	}
	return low, high
}

// tickStep is the step of 1, 2 or 5 times a power of ten that gives at most most
// steps over span.
func tickStep(span float64, most int) float64 {
	step := math.Pow(10, math.Floor(math.Log10(span/float64(most))))
	for _, f := range []float64{1, 2, 5, 10} {
		if span/(step*f) <= float64(most) {
			return step * f
		}
	}
	return step * 10
}

const (
	axisWidth = 11.0 // mm for the figures at the left
	chartFoot = 6.0  // mm for the positions below
	chartPlot = 66.0 // mm of the chart without its legend

	legendMark = 3.0 // mm for a mark in the legend
	legendGap  = 5.0 // mm between names in it
)

// Styles of a chart.
var (
	chartTitle = style(sansBold, 9, drawing.Plain)
	chartLabel = style(sans, 7, drawing.Quiet)
)

// charts are rate by position, a chart for each state of wind, two abreast.
type charts struct {
	tongue tongue.Tongue
	list   []rateChart
}

func (c charts) heading() string { return c.tongue.Say("paper.rate_by_position") }

func (c charts) read() templ.Component { return readCharts(c) }

func (c charts) flow(f *flow) error {
	const gap = 8.0
	for i := 0; i < len(c.list); i += 2 {
		row := c.list[i:min(i+2, len(c.list))]
		width := (f.inner() - gap*float64(len(row)-1)) / float64(len(row))
		height := 0.0
		for _, one := range row {
			height = max(height, one.height(width))
		}
		if i == 0 {
			f.section(c.heading(), height)
		}
		f.need(height)
		for k, one := range row {
			one.draw(f.Drawing, f.side+float64(k)*(width+gap), f.y, width, height)
		}
		f.y += height + 4
	}
	return nil
}

func (c rateChart) height(width float64) float64 {
	return chartPlot + float64(max(1, len(c.legendRows(width-axisWidth))))*chartLabel.LineHeight()
}

// picture is the chart alone, for a page.
func (c rateChart) picture() string {
	const width = 81.0
	d := drawing.New(width, c.height(width))
	d.AddPage()
	c.draw(d, 0, 0, d.W, d.H)
	return d.Part(0, 0, 0, d.W, d.H)
}

// tick sets one line of a chart about x, smaller if it is wider than width.
func tick(d *drawing.Drawing, x, baseline, width float64, text string, st drawing.Style, align drawing.Alignment) {
	if natural := st.Width(text); natural > width {
		st = st.At(st.Size * width / natural * 0.999)
	}
	d.Text(x, baseline, text, st, align)
}

// draw sets the chart in a box of w by h mm at (x, y).
func (c rateChart) draw(d *drawing.Drawing, x, y, w, h float64) {
	const titleHeight = 8.0
	footHeight := chartFoot + float64(len(c.legendRows(w-axisWidth)))*chartLabel.LineHeight()
	tick(d, x, y+chartTitle.Ascent(), w, c.title, chartTitle, drawing.Left)
	low, high := c.span()
	step := tickStep(high-low, 7)
	low, high = math.Floor(low/step)*step, math.Ceil(high/step)*step
	sc := scale{low, high, y + titleHeight, y + h - footHeight}
	x1, x2 := x+axisWidth, x+w
	c.grid(d, sc, x, x1, x2, step)
	c.drawLimits(d, sc, x1, x2)
	slot := (x2 - x1) / float64(max(1, len(c.positions)))
	for i, name := range c.positions {
		tick(d, x1+slot*(float64(i)+0.5), sc.bottom+1+chartLabel.Ascent(), slot, name, chartLabel.In(drawing.Plain),
			drawing.Centre)
	}
	for k, series := range c.series {
		offset := (float64(k) - float64(len(c.series)-1)/2) * min(3.4, slot*0.7/float64(len(c.series)))
		for i, p := range series.points {
			if p.measured && i < len(c.positions) {
				c.point(d, sc, x1+slot*(float64(i)+0.5)+offset, p, k)
			}
		}
	}
	c.legend(d, x1, sc.bottom+chartFoot, w-axisWidth)
}

// grid rules the ticks; zero is ruled darker.
func (c rateChart) grid(d *drawing.Drawing, sc scale, x, x1, x2, step float64) {
	steps := int(math.Round((sc.high - sc.low) / step))
	for i := 0; i <= steps; i++ {
		value := sc.low + float64(i)*step
		width, colour := 0.12, drawing.Rule
		if math.Abs(value) < step/1e6 { // rounding of the sum only
			value, width, colour = 0, 0.2, drawing.Plain
		}
		yy := sc.y(value)
		d.Line(x1, yy, x2, yy, width, colour)
		tick(d, x1-1.4, yy+chartLabel.CapHeight()/2, x1-1.4-x, tongue.Figures(signed(value, step), c.lang), chartLabel, drawing.Right)
	}
	d.Text(x, sc.top-1.6, "s/d", chartLabel, drawing.Left)
}

// signed formats a tick with as many decimals as the step has, and the sign of rates.
func signed(value, step float64) string {
	decimals := max(0, -int(math.Floor(math.Log10(step)+1e-9))) // rounding of the logarithm only
	return figure.Signed(value, decimals)
}

func (c rateChart) drawLimits(d *drawing.Drawing, sc scale, x1, x2 float64) {
	if !c.limits.drawn() {
		return
	}
	for _, limit := range []float64{c.limits.LowerSPerDay, c.limits.UpperSPerDay} {
		yy := sc.y(limit)
		d.Path([][2]float64{{x1, yy}, {x2, yy}}, false,
			&drawing.Stroke{Width: 0.28, Ink: drawing.Brass, Dash: []float64{1.6, 0.9}}, nil)
	}
	st, limit := chartLabel.At(6).In(drawing.Brass), c.tongue.Say("paper.limit")
	d.Text(x2, sc.y(c.limits.UpperSPerDay)-0.7, limit, st, drawing.Right)
	d.Text(x2, sc.y(c.limits.LowerSPerDay)+0.5+st.Ascent()*0.8, limit, st, drawing.Right)
}

// point draws a rate and the bar of its expanded uncertainty.
func (c rateChart) point(d *drawing.Drawing, sc scale, x float64, p chartPoint, series int) {
	top, bottom := sc.y(p.rate+p.spread), sc.y(p.rate-p.spread)
	d.Line(x, top, x, bottom, 0.22, drawing.Accent)
	for _, end := range []float64{top, bottom} {
		d.Line(x-0.7, end, x+0.7, end, 0.22, drawing.Accent)
	}
	seriesMark(d, x, sc.y(p.rate), series)
}

// seriesMark tells runs apart by shape: hollow ring, full dot, hollow square,
// full triangle. Lozenges are kept for verdicts.
func seriesMark(d *drawing.Drawing, x, y float64, series int) {
	const r = 0.8
	pen, fill := &drawing.Stroke{Width: 0.3, Ink: drawing.Accent}, drawing.White
	if series%2 == 1 {
		fill = drawing.Accent
	}
	switch series % 4 {
	case 0, 1:
		d.Circle(x, y, r, pen, &fill)
	case 2:
		d.Path([][2]float64{{x - r*0.9, y - r*0.9}, {x + r*0.9, y - r*0.9}, {x + r*0.9, y + r*0.9}, {x - r*0.9, y + r*0.9}},
			true, pen, &fill)
	default:
		d.Path([][2]float64{{x, y - r*1.1}, {x + r, y + r*0.8}, {x - r, y + r*0.8}}, true, pen, &fill)
	}
}

// legendEntry is the name of a series, and which one it is.
type legendEntry struct {
	series int
	name   drawing.Block
	width  float64 // mark and gap included
}

// legendRows parts the names of the runs into rows of at most width mm; a name that is wider wraps in a row of its own.
func (c rateChart) legendRows(width float64) [][]legendEntry {
	var rows [][]legendEntry
	at := 0.0
	for k, series := range c.series {
		b := chartLabel.In(drawing.Plain).Settle(series.name, 5, width-legendMark)
		e := legendEntry{k, b, legendMark}
		for _, l := range b.Lines {
			e.width = max(e.width, legendMark+b.Style.Width(l.Text))
		}
		if len(rows) == 0 || at+legendGap+e.width > width || len(b.Lines) > 1 {
			rows = append(rows, []legendEntry{e})
			for range len(b.Lines) - 1 {
				rows = append(rows, nil) // room for its further lines
			}
			at = e.width
			if len(b.Lines) > 1 {
				at = width
			}
			continue
		}
		rows[len(rows)-1] = append(rows[len(rows)-1], e)
		at += legendGap + e.width
	}
	return rows
}

// legend names the runs under the chart.
func (c rateChart) legend(d *drawing.Drawing, x, y, width float64) {
	for _, row := range c.legendRows(width) {
		at := x
		for _, e := range row {
			seriesMark(d, at+1, y+chartLabel.Ascent()-chartLabel.CapHeight()/2, e.series)
			d.Block(at+legendMark, y, width-legendMark, e.name, drawing.Left)
			at += e.width + legendGap
		}
		y += chartLabel.LineHeight()
	}
}
