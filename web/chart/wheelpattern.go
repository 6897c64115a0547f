package chart

import (
	"cmp"
	"context"
	"fmt"
	"io"
	"math"
	"strings"

	"ledgerwheel/domain/acoustic"
)

// WheelPattern shows what repeats with the turns of the escape wheel: each tooth's mean residual on the two pallets.
type WheelPattern struct {
	ID      string // of the element; unique on its page
	Title   string
	Pattern *acoustic.WheelPattern // nil when none stands out
}

const noPattern = "No pattern of the escape wheel stands out."

// mostWheelBeats bounds a drawing: no escape wheel has so many teeth.
const mostWheelBeats = 120

// Render writes the chart; it makes WheelPattern a templ component.
func (c WheelPattern) Render(ctx context.Context, w io.Writer) error { return write(ctx, w, c.SVG) }

// SVG returns the chart as an svg element. It fails on an unusable ID, on figures that are not finite, and on more
// than sixty teeth.
func (c WheelPattern) SVG() (string, error) {
	if c.Pattern == nil || len(c.Pattern.Ms) == 0 {
		return emptyOf(c.ID, c.Title, noPattern)
	}
	if len(c.Pattern.Ms) > mostWheelBeats {
		return "", ErrTooMany
	}
	u := c.Pattern.StdMs
	if !finite(u) || u < 0 {
		return "", ErrNotFinite
	}
	reach := leastResidualSpan / 2
	for _, ms := range c.Pattern.Ms {
		if !finite(ms) {
			return "", ErrNotFinite
		}
		reach = math.Max(reach, math.Abs(ms)+2*u)
	}
	y := newAxis(span{-reach, reach}, 6, plotBottom, plotTop)
	l := wheelLayout{WheelPattern: c, y: y, left: y.labelWidth(true) + 8}
	var s svg
	l.rules(&s)
	l.bars(&s)
	height := l.legend(&s)
	return frame{id: c.ID, title: c.Title, desc: c.desc(), height: height}.document(&s)
}

// wheelLayout places the chart's parts.
type wheelLayout struct {
	WheelPattern
	y    axis
	left float64
}

// centre is the middle of the i-th beat's column.
func (l wheelLayout) centre(i int) float64 {
	return l.left + (float64(i)+0.5)*(rightEdge-l.left)/float64(len(l.Pattern.Ms))
}

// rules draws the ruled lines, and a line between every two teeth.
func (l wheelLayout) rules(s *svg) {
	s.text("chart-caption", start, 0, smallSize, "off the fitted line, ms (+ late)")
	for _, tick := range l.y.ticks {
		class := "chart-rule"
		if math.Abs(tick) < l.y.step/2 {
			class = "chart-zero"
		}
		s.line(class, l.left, l.y.at(tick), rightEdge, l.y.at(tick))
		s.text("chart-tick", end, l.left-6, l.y.at(tick)+textSize*0.35, l.y.label(tick, true))
	}
	teeth := (len(l.Pattern.Ms) + 1) / 2
	every := 1
	for float64(every)*(rightEdge-l.left)/float64(teeth) < 18 {
		every++
	}
	for tooth := range teeth {
		if tooth%every == 0 {
			x := (l.centre(2*tooth) + l.centre(min(2*tooth+1, len(l.Pattern.Ms)-1))) / 2
			s.text("chart-tick", middle, x, plotBottom+17, fmt.Sprint(tooth+1))
		}
		if tooth > 0 {
			x := (l.centre(2*tooth-1) + l.centre(2*tooth)) / 2
			s.line("chart-rule", x, plotBottom, x, plotBottom+5)
		}
	}
	s.text("chart-caption", end, rightEdge, plotBottom+34, "tooth, counted from the first heard")
}

// bars draws each beat as a stem from the line with its uncertainty and its mark: ticks full, tocks hollow.
func (l wheelLayout) bars(s *svg) {
	var stems, whiskers strings.Builder
	for i, ms := range l.Pattern.Ms {
		x := l.centre(i)
		stems.WriteString(stroke(x, l.y.at(0), x, l.y.at(ms)))
		if u := 2 * l.Pattern.StdMs; u > 0 {
			whiskers.WriteString(stroke(x, l.y.at(ms-u), x, l.y.at(ms+u)))
		}
	}
	s.element("path", "class", "chart-stem", "d", stems.String())
	if whiskers.Len() > 0 {
		s.element("path", "class", "chart-whisker", "d", whiskers.String())
	}
	for i, ms := range l.Pattern.Ms {
		class := "chart-point"
		if i&1 == 1 {
			class = "chart-ring"
		}
		s.element("circle", "class", class, "cx", num(l.centre(i)), "cy", num(l.y.at(ms)), "r", "2.5")
	}
}

// legend writes the marks under the chart and returns its height.
func (l wheelLayout) legend(s *svg) float64 {
	y := plotBottom + 44.0
	s.line("chart-rule", 0, y, width, y)
	s.element("circle", "class", "chart-point", "cx", "7", "cy", num(y+13), "r", "2.5")
	s.nameRow(y+17, "tick", "")
	s.element("circle", "class", "chart-ring", "cx", "67", "cy", num(y+13), "r", "2.5")
	s.text("chart-name", start, 80, y+17, "tock")
	if u := 2 * l.Pattern.StdMs; u > 0 {
		s.line("chart-whisker", 127, y+6, 127, y+20)
		s.text("chart-caption", start, 136, y+17, "± "+milliseconds(u)+" ms, 95 %")
	}
	s.line("chart-zero", 0, y+27, width, y+27)
	s.line("chart-zero", 0, y+30, width, y+30)
	return y + 31
}

// desc says in words all that the drawing shows.
func (c WheelPattern) desc() string {
	p := c.Pattern
	var said [2][]string
	least, most := 0, 0
	for i, ms := range p.Ms {
		said[i&1] = append(said[i&1], signedMs(ms))
		if ms < p.Ms[least] {
			least = i
		}
		if ms > p.Ms[most] {
			most = i
		}
	}
	return fmt.Sprintf("What repeats with each turn of the escape wheel of %d teeth, in milliseconds off the fitted "+
		"line, positive is late, "+
		"each ±%s ms (95 %%). Earliest: tooth %d, %s; latest: tooth %d, %s. Ticks by tooth: %s. Tocks by tooth: %s.",
		p.Teeth, milliseconds(2*p.StdMs), least/2+1, acoustic.Swing(least&1), most/2+1, acoustic.Swing(most&1),
		strings.Join(said[0], ", "), cmp.Or(strings.Join(said[1], ", "), "nothing measured"))
}
