package chart

import (
	"context"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"ledgerwheel/domain/figure"
	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/text"
)

// Allan shows how steady the rate is, by the time it is averaged over, both axes logarithmic.
type Allan struct {
	ID     string // of the element; unique on its page
	Title  string
	Points []metrology.Stability // of fractional frequency, in order of TauS
	Name   string                // of the statistic; "overlapping Allan deviation" when empty
}

const (
	noStability = "Too short to tell how steady the rate is."
	dayS        = 86400.0
)

// mostTaus bounds a drawing; octaves of all time are fewer.
const mostTaus = 64

// Render writes the chart; it makes Allan a templ component.
func (c Allan) Render(ctx context.Context, w io.Writer) error { return write(ctx, w, c.SVG) }

// SVG returns the chart as an svg element. It fails on an unusable ID and on more than 64 points. Points that have no
// place on a logarithmic scale, for they are nought or not finite, are passed over; an interval without an upper end
// reaches the edge.
func (c Allan) SVG() (string, error) {
	if len(c.Points) > mostTaus {
		return "", ErrTooMany
	}
	var points []metrology.Stability
	taus, rates := span{math.Inf(1), math.Inf(-1)}, span{math.Inf(1), math.Inf(-1)}
	for _, p := range c.Points {
		if !(p.TauS > 0) || !(p.Deviation > 0) || !finite(p.TauS) || !finite(p.Deviation) {
			continue
		}
		if !(p.Lower >= 0 && p.Lower <= p.Deviation) || !(p.Upper >= p.Deviation) {
			p.Lower, p.Upper = p.Deviation, p.Deviation // no interval about it
		}
		points = append(points, p)
		taus = span{math.Min(taus.low, p.TauS), math.Max(taus.high, p.TauS)}
		// An interval of very few degrees of freedom would press all else flat: it ends at the edge.
		low, high := math.Max(p.Lower, p.Deviation/5), math.Min(p.Upper, p.Deviation*5)
		rates = span{math.Min(rates.low, low*dayS), math.Max(rates.high, high*dayS)}
	}
	if len(points) == 0 {
		return emptyOf(c.ID, c.Title, noStability)
	}
	y := newLogAxis(rates, plotBottom, plotTop)
	left := y.labelWidth() + 8
	l := allanLayout{Allan: c, points: points, y: y, left: left, x: newLogAxis(taus, left, rightEdge)}
	var s svg
	l.rules(&s)
	l.curve(&s)
	height := l.legend(&s)
	return frame{id: c.ID, title: c.Title, desc: l.desc(), height: height}.document(&s)
}

// logAxis is an axis over the logarithms of positive figures.
type logAxis struct {
	axis            // of the decimal logarithms
	marks []float64 // labelled
	rules []float64 // ruled, fainter, between them
}

// newLogAxis lays an axis over positive figures, with ticks at the powers of ten, and at twice and five times these
// where it would have less than three otherwise.
func newLogAxis(s span, from, to float64) logAxis {
	low, high := math.Log10(s.low), math.Log10(s.high)
	if high-low < 0.3 {
		middle := (low + high) / 2
		low, high = middle-0.15, middle+0.15
	}
	room := (high - low) * 0.06 // marks at the ends keep clear of the edges
	low, high = low-room, high+room
	l := logAxis{axis: axis{span: span{low, high}, from: from, to: to}}
	every := max(1, int(math.Ceil((high-low)/8))) // decades between ticks
	for decade := int(math.Floor(low)); decade <= int(math.Ceil(high)); decade++ {
		for _, m := range []float64{1, 2, 5} {
			at := m * math.Pow(10, float64(decade))
			if lg := math.Log10(at); lg < low-1e-9 || lg > high+1e-9 {
				continue
			}
			switch {
			case m == 1 && decade%every == 0, m != 1 && high-low < 2:
				l.marks = append(l.marks, at)
			case every == 1:
				l.rules = append(l.rules, at)
			}
		}
	}
	if len(l.marks) == 0 {
		l.marks = []float64{s.low}
	}
	return l
}

func (l logAxis) at(x float64) float64     { return l.axis.at(math.Log10(x)) }
func (l logAxis) within(x float64) float64 { return l.axis.within(math.Log10(x)) }

// logLabel writes a tick: plainly, or as a power of ten where that would be long.
func logLabel(x float64) string {
	decade := int(math.Floor(math.Log10(x) + 1e-9))
	if decade < -3 || decade > 4 {
		digits := strings.NewReplacer("-", "⁻", "0", "⁰", "1", "¹", "2", "²", "3", "³", "4", "⁴", "5", "⁵", "6", "⁶", "7",
			"⁷", "8", "⁸", "9", "⁹")
		power := "10" + digits.Replace(strconv.Itoa(decade))
		if m := math.Round(x / math.Pow(10, float64(decade))); m != 1 {
			return strconv.Itoa(int(m)) + "·" + power
		}
		return power
	}
	return strconv.FormatFloat(x, 'f', max(0, -decade), 64)
}

func (l logAxis) labelWidth() float64 {
	widest := 0.0
	for _, m := range l.marks {
		widest = math.Max(widest, textWidth(logLabel(m), textSize))
	}
	return widest
}

// allanLayout places the chart's parts.
type allanLayout struct {
	Allan
	points []metrology.Stability
	x, y   logAxis
	left   float64
}

func (l allanLayout) rules(s *svg) {
	s.text("chart-caption", start, 0, smallSize, "unsteadiness of the rate, s/d")
	for _, r := range l.y.rules {
		s.line("chart-fine-rule", l.left, l.y.at(r), rightEdge, l.y.at(r))
	}
	for _, m := range l.y.marks {
		y := l.y.within(m)
		s.line("chart-rule", l.left, y, rightEdge, y)
		s.text("chart-tick", end, l.left-6, y+textSize*0.35, logLabel(m))
	}
	s.line("chart-axis", l.left, plotBottom, rightEdge, plotBottom)
	for _, r := range l.x.rules {
		s.line("chart-axis", l.x.at(r), plotBottom, l.x.at(r), plotBottom+3)
	}
	for _, m := range l.x.marks {
		x := l.x.within(m)
		s.line("chart-axis", x, plotBottom, x, plotBottom+6)
		if label := logLabel(m); x+textWidth(label, textSize)/2 <= width {
			s.text("chart-tick", middle, x, plotBottom+20, label)
		}
	}
	s.text("chart-caption", end, rightEdge, plotBottom+37, "averaged over, s")
}

// curve draws the intervals, the points joined, and a ring about the least.
func (l allanLayout) curve(s *svg) {
	var line, dots strings.Builder
	letter := "M"
	for _, p := range l.points {
		x, y := l.x.at(p.TauS), l.y.within(p.Deviation*dayS)
		if low, high := l.interval(p); high > low {
			s.bar(0, x, l.y.within(low), x, l.y.within(high))
		}
		line.WriteString(letter + num(x) + " " + num(y))
		dot(&dots, x, y)
		letter = "L"
	}
	if len(l.points) > 1 {
		s.element("path", "class", "chart-thread", "d", line.String())
	}
	s.element("path", "class", "chart-dots", "d", dots.String())
	least := l.least()
	s.element("circle", "class", "chart-off", "cx", num(l.x.at(least.TauS)), "cy", num(l.y.within(least.Deviation*dayS)),
		"r", "5")
}

// interval is that of a point in s/d, cut to figures that have a logarithm.
func (l allanLayout) interval(p metrology.Stability) (low, high float64) {
	low, high = p.Lower*dayS, p.Upper*dayS
	if !(low > 0) {
		low = math.Pow(10, l.y.low)
	}
	if !finite(high) {
		high = math.Pow(10, l.y.high)
	}
	return low, high
}

// least is the steadiest point.
func (l allanLayout) least() metrology.Stability {
	least := l.points[0]
	for _, p := range l.points {
		if p.Deviation < least.Deviation {
			least = p
		}
	}
	return least
}

func (l allanLayout) legend(s *svg) float64 {
	y := plotBottom + 46.0
	s.line("chart-rule", 0, y, width, y)
	s.bar(0, 7, y+5, 7, y+21)
	s.element("path", "class", "chart-dots", "d", "M7 "+num(y+13)+"Z")
	y += s.caption(nameLeft, y+17, l.name()+", 95 %") + 26
	s.line("chart-rule", 0, y, width, y)
	s.element("circle", "class", "chart-off", "cx", "7", "cy", num(y+13), "r", "5")
	least := l.least()
	y += s.caption(nameLeft, y+17, "steadiest: "+figures(least.Deviation*dayS)+" s/d over "+durationWords(least.TauS)) + 26
	s.line("chart-zero", 0, y, width, y)
	s.line("chart-zero", 0, y+3, width, y+3)
	return y + 4
}

func (l allanLayout) name() string {
	if l.Name != "" {
		return l.Name
	}
	return metrology.OverlappingAllan.String()
}

// figures writes a positive figure to two significant digits.
func figures(x float64) string {
	decade := int(math.Floor(math.Log10(x)))
	if decade < -5 || decade > 6 {
		return figure.Printed(strconv.FormatFloat(x, 'e', 1, 64), false)
	}
	if decade >= 1 {
		return strconv.FormatFloat(x, 'f', 0, 64)
	}
	return strconv.FormatFloat(x, 'f', 1-decade, 64)
}

// desc says in words all that the drawing shows.
func (l allanLayout) desc() string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s of the rate in seconds per day against the averaging time, with its 95 %% interval, both "+
		"scales logarithmic.", text.Capital(l.name()))
	for i, p := range l.points {
		separator := ";"
		if i == 0 {
			separator = ""
		}
		fmt.Fprintf(&b, "%s over %s %s", separator, durationWords(p.TauS), figures(p.Deviation*dayS))
		if p.Lower > 0 && finite(p.Upper) {
			fmt.Fprintf(&b, " (%s to %s)", figures(p.Lower*dayS), figures(p.Upper*dayS))
		}
	}
	least := l.least()
	fmt.Fprintf(&b, ". Steadiest over %s: %s s/d, %.1e as a fraction.", durationWords(least.TauS),
		figures(least.Deviation*dayS), least.Deviation)
	return b.String()
}
