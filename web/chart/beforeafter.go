package chart

import (
	"context"
	"io"
	"math"
	"strings"

	"ledgerwheel/domain/metrology"
)

// BeforeAfter shows what work did to the rates of a watch, for people who do not work on watches: a row for each way it
// was laid, hollow marks before and full ones after, on one scale of seconds a day with zero on it. Its words come in the
// reader's language.
type BeforeAfter struct {
	ID, Title, Desc string
	Before, After   string // as the legend says them
	Slow, Fast      string // what the two ends of the scale mean
	Unit            string // below the scale
	DecimalComma    bool
	Rows            []BeforeAfterRow
}

// BeforeAfterRow is one way of laying the watch. A rate that was not read is nil.
type BeforeAfterRow struct {
	Name          string
	Before, After *metrology.Value // s/d, + gains
}

// Render writes the chart; it makes BeforeAfter a templ component.
func (c BeforeAfter) Render(ctx context.Context, w io.Writer) error { return write(ctx, w, c.SVG) }

// Places of the chart, in user units.
const (
	beforeAfterRow   = 30.0
	beforeAfterTop   = 66.0 // of the first row, below legend and ends
	beforeAfterTicks = 5
)

// SVG returns the chart as an svg element. It fails on an unusable ID, without rows, and on figures that are not finite.
func (c BeforeAfter) SVG() (string, error) {
	values := c.values()
	if err := checkFigures(values); err != nil {
		return "", err
	}
	data, found := around(values)
	if !found {
		return "", ErrSize
	}
	left := 0.0
	for _, r := range c.Rows {
		left = math.Max(left, float64(len([]rune(r.Name)))*wordWidth*textSize)
	}
	left = math.Min(left, width/3) + 12
	zero := span{math.Min(data.low, 0), math.Max(data.high, 0)} // what matters is the way to zero, however long
	x := newAxis(zero.atLeast(leastRateSpan), beforeAfterTicks, left, rightEdge-8)
	foot := beforeAfterTop + beforeAfterRow*float64(len(c.Rows))
	var s svg
	c.legend(&s)
	c.scale(&s, x, foot)
	for i, r := range c.Rows {
		c.row(&s, x, r, beforeAfterTop+beforeAfterRow*(float64(i)+0.5), left)
	}
	s.text("chart-caption", middle, (x.from+x.to)/2, foot+38, c.Unit)
	return frame{id: c.ID, title: c.Title, desc: c.Desc, height: foot + 46}.document(&s)
}

func (c BeforeAfter) values() []metrology.Value {
	var all []metrology.Value
	for _, r := range c.Rows {
		for _, v := range []*metrology.Value{r.Before, r.After} {
			if v != nil {
				all = append(all, *v)
			}
		}
	}
	return all
}

// legend names the two marks.
func (c BeforeAfter) legend(s *svg) {
	s.drawMark(1, markRadius+1, 12)
	s.text("chart-name", start, nameLeft, 17, c.Before)
	x := nameLeft + float64(len([]rune(c.Before)))*wordWidth*textSize + 24
	s.drawMark(0, x, 12)
	s.text("chart-name", start, x+markRadius+6, 17, c.After)
}

// scale draws the ticks, and zero stronger, with what its two sides mean.
func (c BeforeAfter) scale(s *svg, x axis, foot float64) {
	zero := x.at(0)
	for _, t := range x.ticks {
		if t != 0 {
			s.line("chart-rule", x.at(t), beforeAfterTop, x.at(t), foot)
		}
	}
	s.line("chart-zero", zero, beforeAfterTop-8, zero, foot)
	last := math.Inf(-1)
	for _, t := range x.ticks {
		label := x.label(t, true)
		if c.DecimalComma {
			label = strings.ReplaceAll(label, ".", ",")
		}
		half := textWidth(label, textSize) / 2
		at := math.Min(x.at(t), width-half)
		if at-half < last+4 {
			continue
		}
		last = at + half
		s.text("chart-tick", middle, at, foot+18, label)
	}
	const head = beforeAfterTop - 16
	if room := zero - x.from; room > float64(len([]rune(c.Slow)))*wordWidth*textSize {
		s.text("chart-words", end, zero-6, head, c.Slow)
	}
	if room := x.to - zero; room > float64(len([]rune(c.Fast)))*wordWidth*textSize {
		s.text("chart-words", start, zero+6, head, c.Fast)
	}
}

// row draws both marks of a row, with their expanded uncertainties and the way between them.
func (c BeforeAfter) row(s *svg, x axis, r BeforeAfterRow, y, left float64) {
	s.text("chart-label", start, 0, y+5, fit(r.Name, left, textSize))
	if r.Before != nil && r.After != nil {
		s.line("chart-link", x.at(r.Before.Value), y, x.at(r.After.Value), y)
	}
	c.mark(s, x, 1, r.Before, y)
	c.mark(s, x, 0, r.After, y) // over it, where they lie on each other
}

func (c BeforeAfter) mark(s *svg, x axis, shape int, v *metrology.Value, y float64) {
	if v == nil {
		return
	}
	if u := v.Expanded(); u > 0 {
		s.bar(shape, x.within(v.Value-u), y, x.within(v.Value+u), y)
	}
	s.drawMark(shape, x.at(v.Value), y)
}
