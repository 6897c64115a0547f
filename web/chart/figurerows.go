package chart

import (
	"context"
	"io"
	"math"
	"strings"
)

// FigureRows draws one figure for each of several months, people, calibres or stages, a row each: a lozenge where it is, and a line
// over the range that belongs to it. Rows of which too few are known say so in words, and have no mark that could be compared.
type FigureRows struct {
	ID, Title string
	Unit      string // stands under the scale
	Range     string // what the line is, in words; "" where there is none
	Percent   bool   // the scale is 0 to 100
	FromZero  bool   // a bar from zero, for what adds up
	Rows      []FigureRow
}

// FigureRow is a row: Label, and the figure with its range. Without Mid its Words stand in its place.
type FigureRow struct {
	Label, Words   string
	Low, Mid, High *float64
}

// Measures in user units.
const (
	figureRowHeight = 26.0
	figureRowTop    = 8.0
	figureLabelMost = 118.0
)

// Render writes the chart; it makes FigureRows a templ component.
func (c FigureRows) Render(ctx context.Context, w io.Writer) error { return write(ctx, w, c.SVG) }

// SVG returns the chart as an svg element. It fails on an unusable ID, and on a figure that is not finite.
func (c FigureRows) SVG() (string, error) {
	over, ok, err := c.span()
	if err != nil {
		return "", err
	}
	if len(c.Rows) == 0 || !ok {
		return emptyOf(c.ID, c.Title, "Too few to say anything yet.")
	}
	left := c.labelWidth() + 12
	x := newAxis(over, 3, left, width)
	x = newAxis(over, 3, left, width-math.Max(14, textWidth(x.label(x.high, false), textSize)/2+2))
	bottom := figureRowTop + figureRowHeight*float64(len(c.Rows))
	var s svg
	for _, tick := range x.ticks {
		s.line("chart-rule", x.at(tick), figureRowTop-4, x.at(tick), bottom)
		s.text("chart-tick", middle, x.at(tick), bottom+18, x.label(tick, false))
	}
	if x.holds(0) {
		s.line("chart-zero", x.at(0), figureRowTop-4, x.at(0), bottom)
	}
	for i, r := range c.Rows {
		c.row(&s, x, r, figureRowTop+figureRowHeight*(float64(i)+0.5))
	}
	foot := s.paragraph("chart-caption", left, bottom+36, width-left, smallSize, c.foot())
	return frame{id: c.ID, title: c.Title, desc: c.desc(), height: foot - lineHeight + 6}.document(&s)
}

func (c FigureRows) row(s *svg, x axis, r FigureRow, y float64) {
	s.text("chart-words", start, 0, y+5, fit(r.Label, c.labelWidth(), textSize))
	if r.Mid == nil {
		s.text("chart-caption", start, x.from+6, y+5, fit(r.Words, width-x.from-6, textSize))
		return
	}
	if c.FromZero {
		s.line("chart-room", x.within(0), y, x.within(*r.Mid), y)
	}
	if r.Low != nil && r.High != nil {
		s.line("chart-bar", x.within(*r.Low), y, x.within(*r.High), y)
	}
	s.drawMark(0, x.within(*r.Mid), y)
}

// span is what the scale must show; ok is false where no row has a figure.
func (c FigureRows) span() (over span, ok bool, err error) {
	for _, r := range c.Rows {
		for _, v := range []*float64{r.Low, r.Mid, r.High} {
			if v == nil || r.Mid == nil {
				continue
			}
			if !finite(*v) {
				return over, false, ErrNotFinite
			}
			if !ok {
				over = span{*v, *v}
			}
			over, ok = span{math.Min(over.low, *v), math.Max(over.high, *v)}, true
		}
	}
	switch {
	case c.Percent:
		over = span{0, 100}
	case over.low >= 0: // what can't be below zero begins there
		over.low = 0
	}
	if c.FromZero {
		over = span{math.Min(over.low, 0), math.Max(over.high, 0)}
	}
	return over.atLeast(1), ok, nil
}

// labelWidth is the room of the labels.
func (c FigureRows) labelWidth() float64 {
	most := 0.0
	for _, r := range c.Rows {
		most = math.Max(most, float64(len([]rune(r.Label)))*wordWidth*textSize)
	}
	return math.Min(most+4, figureLabelMost)
}

func (c FigureRows) foot() string {
	words := c.Unit
	if c.Range != "" {
		words += "; " + c.Range
	}
	return words
}

// desc has every row in words.
func (c FigureRows) desc() string {
	var b strings.Builder
	b.WriteString(c.foot() + ". ")
	for _, r := range c.Rows {
		b.WriteString(r.Label + ": ")
		switch {
		case r.Mid == nil:
			b.WriteString(r.Words)
		case r.Low != nil && r.High != nil:
			b.WriteString(plainFigure(tenth(*r.Mid)) + ", from " + plainFigure(tenth(*r.Low)) + " to " + plainFigure(tenth(*r.High)))
		default:
			b.WriteString(plainFigure(tenth(*r.Mid)))
		}
		b.WriteString(". ")
	}
	return strings.TrimSpace(b.String())
}

// tenth rounds to the finest that a page of figures shows.
func tenth(x float64) float64 { return math.Round(x*10) / 10 }
