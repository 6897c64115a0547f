package chart

import (
	"context"
	"fmt"
	"io"
	"math"
	"strings"

	"ledgerwheel/domain/acoustic"
	"ledgerwheel/domain/metrology"
)

// RateAgainstRunDown shows how the rate of one position goes with the amplitude as the mainspring lets down.
type RateAgainstRunDown struct {
	ID        string // of the element; unique on its page
	Title     string
	Stretches []acoustic.Stretch
	Run       acoustic.Run // RateOnAmplitude is drawn with its 95 % band
}

// Most drawn: points, and points with bars of their own.
const (
	mostRunDown     = 400
	mostRunDownBars = 40
)

const noAmplitudes = "No amplitude heard yet."

// Render writes the chart; it makes RateAgainstRunDown a templ component.
func (c RateAgainstRunDown) Render(ctx context.Context, w io.Writer) error {
	return write(ctx, w, c.SVG)
}

// SVG returns the chart as an svg element. It fails on an unusable ID. Stretches without an amplitude, or with a
// figure that is not finite, are passed over.
func (c RateAgainstRunDown) SVG() (string, error) {
	var having []acoustic.Stretch
	var rates, amplitudes []metrology.Value
	for _, s := range c.Stretches {
		rate, hasRate := runFigure(s, 0)
		amplitude, hasAmplitude := runFigure(s, 1)
		if hasRate && hasAmplitude {
			having, rates, amplitudes = append(having, s), append(rates, rate), append(amplitudes, amplitude)
		}
	}
	if len(having) == 0 {
		return emptyOf(c.ID, c.Title, noAmplitudes)
	}
	rateSpan, _ := around(rates)
	amplitudeSpan, _ := around(amplitudes)
	a := c.layout(rateSpan, amplitudeSpan)
	l := runDownLayout{RateAgainstRunDown: c, amplitudeLayout: a, having: having, drawn: thinned(having, mostRunDown)}
	var s svg
	a.curveBands(&s)
	rateRules(&s, a.y, a.left, rightEdge)
	a.amplitudeRules(&s)
	l.points(&s)
	a.curveLines(&s)
	l.ends(&s)
	height := l.legend(&s)
	return frame{id: c.ID, title: c.Title, desc: l.desc(), height: height}.document(&s)
}

// leastRunDownSpan, in degrees, keeps an amplitude that hardly changed from being spread over the chart.
const leastRunDownSpan = 8

// layout spans the figures alone: it is their slope that tells, wherever nought lies.
func (c RateAgainstRunDown) layout(rates, amplitudes span) amplitudeLayout {
	a := amplitudeLayout{RateAgainstAmplitude: RateAgainstAmplitude{Curves: c.curve()}}
	a.y = newAxis(rates.atLeast(leastRunRateSpan), 6, plotBottom, plotTop)
	a.left = a.y.labelWidth(true) + 8
	a.x = newAxis(amplitudes.atLeast(leastRunDownSpan), 5, a.left+markRadius+2, rightEdge-14)
	return a
}

// curve is the fitted line as a curve with its band, at points close enough for the band's bend.
func (c RateAgainstRunDown) curve() []FittedCurve {
	line := c.Run.RateOnAmplitude
	if line == nil || line.Slope.Check() != nil || line.Centre.Check() != nil || !finite(line.LowX) ||
		!finite(line.HighX) || line.Points < 3 {
		return nil
	}
	const steps = 16
	curve := FittedCurve{Name: "straight line", Remark: slopeWords(*line)}
	for i := range steps + 1 {
		a := line.LowX + float64(i)/steps*(line.HighX-line.LowX)
		rate, u := line.At(a).Value, line.U95(a)
		curve.Points = append(curve.Points, CurvePoint{AmplitudeDeg: a, RateSPerDay: rate, LowerSPerDay: rate - u,
			UpperSPerDay: rate + u})
	}
	return []FittedCurve{curve}
}

// slopeWords says the slope for ten degrees, as watchmakers do.
func slopeWords(l acoustic.Line) string {
	const deg = 10
	v := metrology.Value{Value: l.Slope.Value * deg, StdUncertainty: l.Slope.StdUncertainty * deg, Unit: "s/d"}
	return legible(v).FormatSigned() + " for 10°"
}

// runDownLayout places the chart's parts.
type runDownLayout struct {
	RateAgainstRunDown
	amplitudeLayout
	having, drawn []acoustic.Stretch
}

func (l runDownLayout) at(s acoustic.Stretch) (x, y float64) {
	return l.x.at(s.Amplitude.Value), l.y.at(s.Rate.Value)
}

// points draws the stretches as dots, and their uncertainties while they are few enough to be told apart.
func (l runDownLayout) points(s *svg) {
	var dots strings.Builder
	for _, stretch := range l.drawn {
		x, y := l.at(stretch)
		if len(l.drawn) <= mostRunDownBars {
			if u := stretch.Rate.Expanded(); u > 0 {
				s.bar(3, x, l.y.at(stretch.Rate.Value-u), x, l.y.at(stretch.Rate.Value+u))
			}
			if u := stretch.Amplitude.Expanded(); u > 0 {
				s.bar(3, l.x.at(stretch.Amplitude.Value-u), y, l.x.at(stretch.Amplitude.Value+u), y)
			}
		}
		dot(&dots, x, y)
	}
	s.element("path", "class", "chart-dots", "d", dots.String())
}

// ends says which of the points was first and which last.
func (l runDownLayout) ends(s *svg) {
	if len(l.having) < 2 {
		return
	}
	labels := labelPlacer{bounds: box{l.left, plotTop - 4, rightEdge, plotBottom - 1}}
	for _, end := range []struct {
		stretch acoustic.Stretch
		word    string
	}{{l.having[0], "first"}, {l.having[len(l.having)-1], "last"}} {
		x, y := l.at(end.stretch)
		s.element("circle", "class", "chart-off", "cx", num(x), "cy", num(y), "r", "4.5")
		if place, found := labels.place(x, y, textWidth(end.word, smallSize)); found {
			s.text("chart-label", middle, place.middleX(), place.bottom-3, end.word)
		}
	}
}

// legend says what is drawn and returns the chart's height.
func (l runDownLayout) legend(s *svg) float64 {
	y := plotBottom + 46.0
	s.line("chart-rule", 0, y, width, y)
	s.element("path", "class", "chart-dots", "d", "M7 "+num(y+13)+"Z")
	y += s.nameRow(y+17, "one stretch", l.countWords())
	y = l.curveRows(s, y+26)
	s.line("chart-zero", 0, y, width, y)
	s.line("chart-zero", 0, y+3, width, y+3)
	return y + 4
}

func (l runDownLayout) countWords() string {
	if len(l.drawn) < len(l.having) {
		return fmt.Sprintf("%d of %d drawn", len(l.drawn), len(l.having))
	}
	return fmt.Sprint(len(l.having))
}

// desc says in words what the drawing shows.
func (l runDownLayout) desc() string {
	var b strings.Builder
	b.WriteString("Rate in seconds per day against amplitude in degrees as the mainspring lets down, with expanded " +
		"uncertainty (k = 2).")
	say := func(s acoustic.Stretch) string { return s.Rate.FormatSigned() + " at " + s.Amplitude.Format() }
	first, last := l.having[0], l.having[len(l.having)-1]
	fmt.Fprintf(&b, " Stretches: %s. First %s", l.countWords(), say(first))
	if len(l.having) > 1 {
		fmt.Fprintf(&b, ", last %s", say(last))
	}
	b.WriteString(".")
	if line := l.Run.RateOnAmplitude; len(l.Curves) > 0 {
		fmt.Fprintf(&b, "%s Scatter over what the uncertainties explain (reduced chi-squared): %.2g.",
			l.RateAgainstAmplitude.curveWords(), math.Abs(line.ReducedChiSquare))
	}
	return b.String()
}
