package paper

import (
	"math"

	"codeberg.org/go-pdf/fpdf"

	"ledgerwheel/domain/figure"
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

	legendMark = 3.0 // mm for a mark in the legend
	legendGap  = 5.0 // mm between names in it
)

// draw sets the chart in a box of w by h mm at (x, y).
func (c rateChart) draw(s *sheet, x, y, w, h float64) {
	const titleHeight = 8.0
	footHeight := chartFoot + float64(len(c.legendRows(w-axisWidth)))*labelStyle.lineHeight()
	s.fitted(x, y+strongStyle.ascent(), w, c.title, strongStyle, 6, left)
	low, high := c.span()
	step := tickStep(high-low, 7)
	low, high = math.Floor(low/step)*step, math.Ceil(high/step)*step
	sc := scale{low, high, y + titleHeight, y + h - footHeight}
	x1, x2 := x+axisWidth, x+w
	c.grid(s, sc, x, x1, x2, step)
	c.drawLimits(s, sc, x1, x2)
	slot := (x2 - x1) / float64(max(1, len(c.positions)))
	for i, name := range c.positions {
		s.fitted(x1+slot*(float64(i)+0.5), sc.bottom+1+labelStyle.ascent(), slot, name, labelStyle.in(textInk), 5, centre)
	}
	for k, series := range c.series {
		offset := (float64(k) - float64(len(c.series)-1)/2) * min(3.4, slot*0.7/float64(len(c.series)))
		for i, p := range series.points {
			if p.measured && i < len(c.positions) {
				c.point(s, sc, x1+slot*(float64(i)+0.5)+offset, p, k)
			}
		}
	}
	c.legend(s, x1, sc.bottom+chartFoot, w-axisWidth)
}

// grid rules the ticks; zero is ruled darker.
func (c rateChart) grid(s *sheet, sc scale, x, x1, x2, step float64) {
	steps := int(math.Round((sc.high - sc.low) / step))
	for i := 0; i <= steps; i++ {
		value := sc.low + float64(i)*step
		width, colour := 0.12, ruleInk
		if math.Abs(value) < step/1e6 { // rounding of the sum only
			value, width, colour = 0, 0.2, textInk
		}
		yy := sc.y(value)
		s.line(x1, yy, x2, yy, width, colour)
		s.fitted(x1-1.4, yy+labelStyle.capHeight()/2, x1-1.4-x, signed(value, step), labelStyle, 4, right)
	}
	s.text(x, sc.top-1.6, "s/d", labelStyle, left)
}

// signed formats a tick with as many decimals as the step has, and the sign of rates.
func signed(value, step float64) string {
	decimals := max(0, -int(math.Floor(math.Log10(step)+1e-9))) // rounding of the logarithm only
	return figure.Signed(value, decimals)
}

func (c rateChart) drawLimits(s *sheet, sc scale, x1, x2 float64) {
	if !c.limits.drawn() {
		return
	}
	for _, limit := range []float64{c.limits.LowerSPerDay, c.limits.UpperSPerDay} {
		yy := sc.y(limit)
		s.dashed([]float64{1.6, 0.9}, func() { s.line(x1, yy, x2, yy, 0.28, brassInk) })
	}
	st := labelStyle.at(6).in(brassInk)
	s.text(x2, sc.y(c.limits.UpperSPerDay)-0.7, "limit", st, right)
	s.text(x2, sc.y(c.limits.LowerSPerDay)+0.5+st.ascent()*0.8, "limit", st, right)
}

// point draws a rate and the bar of its expanded uncertainty.
func (c rateChart) point(s *sheet, sc scale, x float64, p chartPoint, series int) {
	top, bottom := sc.y(p.rate+p.spread), sc.y(p.rate-p.spread)
	s.line(x, top, x, bottom, 0.22, accentInk)
	for _, end := range []float64{top, bottom} {
		s.line(x-0.7, end, x+0.7, end, 0.22, accentInk)
	}
	s.seriesMark(x, sc.y(p.rate), series)
}

// seriesMark tells runs apart by shape: hollow ring, full dot, hollow square,
// full triangle. Lozenges are kept for verdicts.
func (s *sheet) seriesMark(x, y float64, series int) {
	const r = 0.8
	s.pdf.SetDrawColor(accentInk.r, accentInk.g, accentInk.b)
	s.pdf.SetLineWidth(0.3)
	fill := whiteInk
	if series%2 == 1 {
		fill = accentInk
	}
	s.pdf.SetFillColor(fill.r, fill.g, fill.b)
	switch series % 4 {
	case 0, 1:
		s.pdf.Circle(x, y, r, "FD")
	case 2:
		s.pdf.Rect(x-r*0.9, y-r*0.9, r*1.8, r*1.8, "FD")
	default:
		s.pdf.Polygon([]fpdf.PointType{{X: x, Y: y - r*1.1}, {X: x + r, Y: y + r*0.8}, {X: x - r, Y: y + r*0.8}}, "FD")
	}
}

// legendEntry is the name of a series, and which one it is.
type legendEntry struct {
	series int
	name   string
	style  style
	width  float64 // mark and gap included
}

// legendRows parts the names of the runs into rows of at most width mm.
func (c rateChart) legendRows(width float64) [][]legendEntry {
	const widest, most = 40.0, 20 // a docket has few runs; the chart keeps room for itself
	var rows [][]legendEntry
	at := 0.0
	for k, series := range c.series {
		line, st := labelStyle.in(textInk).fit(series.name, 5, min(width-legendMark, widest))
		e := legendEntry{k, line, st, legendMark + st.width(line)}
		if len(rows) == 0 || at+legendGap+e.width > width {
			if len(rows) == most {
				break
			}
			rows = append(rows, []legendEntry{e})
			at = e.width
			continue
		}
		rows[len(rows)-1] = append(rows[len(rows)-1], e)
		at += legendGap + e.width
	}
	return rows
}

// legend names the runs under the chart.
func (c rateChart) legend(s *sheet, x, y, width float64) {
	for _, row := range c.legendRows(width) {
		at := x
		for _, e := range row {
			s.seriesMark(at+1, y+labelStyle.ascent()-labelStyle.capHeight()/2, e.series)
			s.text(at+legendMark, y+labelStyle.ascent(), e.name, e.style, left)
			at += e.width + legendGap
		}
		y += labelStyle.lineHeight()
	}
}
