package chart

import (
	"cmp"
	"context"
	"fmt"
	"io"
	"math"
	"strings"

	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/timing"
)

// RateByPosition shows the rates of one or more runs position by position, with their expanded uncertainties and the
// limits they are held to.
type RateByPosition struct {
	ID        string // of the element; unique on its page
	Title     string
	CrownHour int          // where the crown sits, 1 to 12
	Series    []RateSeries // oldest first; at most six
	// Limits are drawn as a band; LimitsLabel says what they limit, for example "limits of the mean, −4 to +6 s/d".
	Limits      metrology.Limits
	LimitsLabel string
}

// RateSeries is one run's rates.
type RateSeries struct {
	Name  string // as the legend says it: "as received"
	Rates map[timing.Position]metrology.Value
	// Predicted says that the rates were worked out, not measured: they are drawn hollow and dashed, and the legend
	// says so. A chart has at most one such series.
	Predicted bool
}

// Render writes the chart; it makes RateByPosition a templ component.
func (c RateByPosition) Render(ctx context.Context, w io.Writer) error { return write(ctx, w, c.SVG) }

// SVG returns the chart as an svg element. It fails on an unusable ID, on more than six measured series or more than
// one predicted, and on figures that are not finite.
func (c RateByPosition) SVG() (string, error) {
	values := c.values()
	if err := checkFigures(values); err != nil {
		return "", err
	}
	if measured := c.measured(len(c.Series)); measured > len(marks) || len(c.Series)-measured > 1 {
		return "", ErrTooMany
	}
	data, found := around(values)
	if !found {
		return empty(c.ID, c.Title)
	}
	l := c.layout(data)
	var s svg
	l.band(&s)
	l.rules(&s)
	l.positions(&s)
	l.points(&s)
	height := l.ledger(&s)
	return frame{id: c.ID, title: c.Title, desc: c.desc(), height: height}.document(&s)
}

// measured counts the measured series among the first n.
func (c RateByPosition) measured(n int) int {
	count := 0
	for _, series := range c.Series[:n] {
		if !series.Predicted {
			count++
		}
	}
	return count
}

func (c RateByPosition) values() []metrology.Value {
	var values []metrology.Value
	for _, series := range c.Series {
		for _, p := range timing.Positions() {
			if v, taken := series.Rates[p]; taken {
				values = append(values, v)
			}
		}
	}
	return values
}

// positionLayout places the chart's parts.
type positionLayout struct {
	RateByPosition
	y           axis
	left, right float64
	column      float64 // width of one position's column
}

// Heights in user units.
const (
	plotTop    = 26.0
	plotHeight = 190.0
	plotBottom = plotTop + plotHeight
	rightEdge  = width - 2
)

// leastRateSpan, in s/d, keeps a run of equal rates from being drawn as if tenths mattered.
const leastRateSpan = 4

func (c RateByPosition) layout(data span) positionLayout {
	full := data.with(0, leastRateSpan)
	for _, limit := range []*float64{c.Limits.Lower, c.Limits.Upper} {
		if limit != nil {
			full = full.with(*limit, leastRateSpan)
		}
	}
	if room := leastRateSpan - (full.high - full.low); room > 0 {
		full = span{full.low - room/2, full.high + room/2}
	}
	y := newAxis(full, 6, plotBottom, plotTop)
	left := y.labelWidth(true) + 8
	return positionLayout{RateByPosition: c, y: y, left: left, right: rightEdge,
		column: (rightEdge - left) / float64(len(timing.Positions()))}
}

// centre is the middle of the i-th position's column.
func (l positionLayout) centre(i int) float64 { return l.left + (float64(i)+0.5)*l.column }

// band draws what the limits allow, as far as it lies on the chart.
func (l positionLayout) band(s *svg) {
	low, high, found := visibleBand(l.Limits, l.y)
	if !found {
		return
	}
	s.element("rect", "class", "chart-band", "x", num(l.left), "y", num(l.y.at(high)),
		"width", num(l.right-l.left), "height", num(l.y.at(low)-l.y.at(high)))
	for _, limit := range []*float64{l.Limits.Lower, l.Limits.Upper} {
		if limit != nil && l.y.holds(*limit) {
			s.line("chart-limit", l.left, l.y.at(*limit), l.right, l.y.at(*limit))
		}
	}
}

// visibleBand returns the part of limits that lies on an axis; found is false if none does.
func visibleBand(limits metrology.Limits, a axis) (low, high float64, found bool) {
	if limits.Check() != nil {
		return 0, 0, false
	}
	low, high = a.low, a.high
	if limits.Lower != nil {
		low = math.Max(low, *limits.Lower)
	}
	if limits.Upper != nil {
		high = math.Min(high, *limits.Upper)
	}
	return low, high, low < high
}

// rules draws the ruled lines with their figures, and the double rule between lying and hanging positions.
func (l positionLayout) rules(s *svg) {
	rateRules(s, l.y, l.left, l.right)
	between := l.left + 2*l.column
	s.line("chart-column", between-1, plotTop, between-1, plotBottom)
	s.line("chart-column", between+1, plotTop, between+1, plotBottom)
}

// rateRules draws the ruled lines of a rate axis and its caption.
func rateRules(s *svg, y axis, left, right float64) {
	s.text("chart-caption", start, 0, y.to-plotTop+smallSize, "rate, s/d (+ gains)")
	for _, tick := range y.ticks {
		class := "chart-rule"
		if math.Abs(tick) < y.step/2 {
			class = "chart-zero"
		}
		s.line(class, left, y.at(tick), right, y.at(tick))
		s.text("chart-tick", end, left-6, y.at(tick)+textSize*0.35, y.label(tick, true))
	}
}

// positions writes the head of each column: the watch as it lies, its symbol and the plain words.
func (l positionLayout) positions(s *svg) {
	for i, p := range timing.Positions() {
		x := l.centre(i)
		s.watch(p, l.CrownHour, x, plotBottom+20)
		s.text("chart-symbol", middle, x, plotBottom+50, string(p))
		for j, line := range wordLines(p.Words(l.CrownHour)) {
			s.text("chart-words", middle, x, plotBottom+65+float64(j)*wordHeight, line)
		}
	}
}

const wordHeight = 15.0

// headsBottom is where the column heads end.
func (l positionLayout) headsBottom() float64 {
	lines := 0
	for _, p := range timing.Positions() {
		lines = max(lines, len(wordLines(p.Words(l.CrownHour))))
	}
	return plotBottom + 65 + float64(lines-1)*wordHeight + 10
}

// points draws the series side by side in each column, oldest left, joined by a thin line from run to run.
func (l positionLayout) points(s *svg) {
	n := len(l.Series)
	shift := math.Min(15, l.column/float64(n+1))
	for i, p := range timing.Positions() {
		at := func(k int) (x, y float64, v metrology.Value, taken bool) {
			v, taken = l.Series[k].Rates[p]
			return l.centre(i) + (float64(k)-float64(n-1)/2)*shift, l.y.at(v.Value), v, taken
		}
		last := -1 // the measured series before
		for k := range n {
			if l.Series[k].Predicted {
				continue
			}
			if last >= 0 {
				x0, y0, _, before := at(last)
				x1, y1, _, after := at(k)
				if before && after {
					s.line("chart-link", x0, y0, x1, y1)
				}
			}
			last = k
		}
		for k := range n {
			if x, y, v, taken := at(k); taken {
				u := v.Expanded()
				if u > 0 {
					s.bar(l.shape(k), x, l.y.at(v.Value-u), x, l.y.at(v.Value+u))
				}
				s.drawMark(l.shape(k), x, y)
			}
		}
	}
}

// shape gives the newest measured series the first mark, and the predicted one its own.
func (l positionLayout) shape(k int) int {
	if l.Series[k].Predicted {
		return predictedShape
	}
	return l.measured(len(l.Series)) - 1 - l.measured(k)
}

// ledger writes the rows under the columns: for each series its mark, its name and its figures, then the limits. It
// is legend and table in one. It returns the chart's height.
func (l positionLayout) ledger(s *svg) float64 {
	y := l.headsBottom()
	for k := range l.Series {
		y = l.ledgerRow(s, k, y)
	}
	if _, _, visible := visibleBand(l.Limits, l.y); l.LimitsLabel != "" {
		s.line("chart-rule", 0, y, width, y)
		x := 0.0
		if visible {
			s.element("rect", "class", "chart-band", "x", "0", "y", num(y+6), "width", "14", "height", "12")
			s.line("chart-limit", 0, y+6, 14, y+6)
			s.line("chart-limit", 0, y+18, 14, y+18)
			x = 20
		}
		y += s.caption(x, y+17, limitsText(l.LimitsLabel, visible)) + 24
	}
	s.line("chart-zero", 0, y, width, y)
	s.line("chart-zero", 0, y+3, width, y+3)
	return y + 4
}

func limitsText(label string, visible bool) string {
	if visible {
		return label
	}
	return label + " (off this chart)"
}

// ledgerRow writes one series from y on and returns where it ends.
func (l positionLayout) ledgerRow(s *svg, k int, y float64) float64 {
	series := l.Series[k]
	s.line("chart-rule", 0, y, width, y)
	s.drawMark(l.shape(k), markRadius+1, y+13)
	remark := uncertaintyText(series.Rates)
	if series.Predicted {
		remark = strings.TrimSuffix("predicted, "+remark, ", ")
	}
	y += s.nameRow(y+17, series.Name, remark)
	print := printed
	for _, v := range series.Rates {
		if textWidth(printed(v).Value, textSize) > l.column-2 {
			print = whole
		}
	}
	for i, p := range timing.Positions() {
		figure := "–"
		if v, taken := series.Rates[p]; taken {
			figure = print(v).Value
		}
		s.text("chart-figure", middle, l.centre(i), y+36, figure)
	}
	return y + 44
}

// whole rounds a rate that is too long for its column to whole seconds.
func whole(v metrology.Value) metrology.Printed {
	v.Value, v.StdUncertainty = math.Round(v.Value), 0
	return v.Brief(true)
}

// leastPrintedUncertainty, in s/d, keeps figures under a chart to tenths of a second; the description has them to all
// their digits.
const leastPrintedUncertainty = 0.1

// printed rounds a rate as it stands under its column.
func printed(v metrology.Value) metrology.Printed {
	if v.StdUncertainty == 0 {
		v.Value = math.Round(v.Value*10) / 10
		return v.Brief(true)
	}
	v.StdUncertainty = math.Max(v.StdUncertainty, leastPrintedUncertainty/metrology.CoverageFactor)
	return v.Brief(true)
}

// uncertaintyText says the expanded uncertainties of a series in one phrase; "" when all are exact.
func uncertaintyText(rates map[timing.Position]metrology.Value) string {
	var least, greatest metrology.Value
	first := true
	for _, v := range rates {
		if first || v.StdUncertainty < least.StdUncertainty {
			least = v
		}
		if first || v.StdUncertainty > greatest.StdUncertainty {
			greatest = v
		}
		first = false
	}
	if greatest.StdUncertainty == 0 {
		return ""
	}
	low, high := printed(least).Uncertainty, printed(greatest).Uncertainty
	switch low {
	case high:
		return "U = " + high + " s/d, k = 2"
	case "":
		low = "0"
	}
	return "U = " + low + " to " + high + " s/d, k = 2"
}

// desc says in words all that the drawing shows.
func (c RateByPosition) desc() string {
	var b strings.Builder
	b.WriteString("Rate in seconds per day by position, with expanded uncertainty (k = 2).")
	for _, series := range c.Series {
		var said, absent []string
		for _, p := range timing.Positions() {
			if v, taken := series.Rates[p]; taken {
				said = append(said, fmt.Sprintf("%s (%s) %s", p, p.Words(c.CrownHour), v.FormatSigned()))
			} else {
				absent = append(absent, string(p))
			}
		}
		name := series.Name
		if series.Predicted {
			name += " (predicted, not measured)"
		}
		fmt.Fprintf(&b, " %s: %s", name, cmp.Or(strings.Join(said, "; "), "nothing measured"))
		if len(said) > 0 && len(absent) > 0 {
			without := "not measured: "
			if series.Predicted {
				without = "not predicted: "
			}
			b.WriteString("; " + without + strings.Join(absent, ", "))
		}
		b.WriteString(".")
	}
	if c.LimitsLabel != "" {
		b.WriteString(" Shown with " + c.LimitsLabel + ".")
	}
	return b.String()
}
