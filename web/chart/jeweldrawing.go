package chart

import (
	"context"
	"fmt"
	"io"
	"math"
	"strings"
)

// JewelFit shows a pivot in its hole: along the arbor, to scale and lying against the wall, and from the side with the
// end shake, which is not to scale.
type JewelFit struct {
	ID      string // of the element; unique on its page
	Title   string
	PivotMm float64
	HoleMm  float64
	// SmallestMm is the diameter at the bottom of a worn groove; 0: none.
	SmallestMm float64
	// PlayText and EndshakeText are both plays worded: "0.010 mm, usual"; EndshakeText "" was not measured.
	PlayText, EndshakeText string
	Facts                  []Fact
}

// Measures of the drawings of jewels, in user units.
const (
	jewelY      = 104.0
	jewelBody   = 78.0
	jewelHole   = 58.0
	jewelFoot   = jewelY + jewelBody + 12
	sideTop     = 34.0
	sideBottom  = 174.0
	sideHalf    = 44.0
	stoneHeight = 26.0
)

// Render writes the drawing; it makes JewelFit a templ component.
func (d JewelFit) Render(ctx context.Context, w io.Writer) error { return write(ctx, w, d.SVG) }

// SVG returns the drawing as an svg element. It fails on an unusable ID and on sizes that are negative, nothing, not
// finite or beyond any watch's.
func (d JewelFit) SVG() (string, error) {
	if !sizes(mostMm, d.PivotMm, d.HoleMm, d.SmallestMm) || d.PivotMm == 0 || d.HoleMm == 0 {
		return "", ErrSize
	}
	var s svg
	d.along(&s)
	d.side(&s)
	r := benchRows{s: &s, y: jewelFoot}
	for _, f := range d.facts() {
		r.add(f.Name, f.Value, nil)
	}
	return frame{id: d.ID, title: d.Title, desc: d.desc(), height: r.end()}.document(&s)
}

// along draws hole and pivot as seen along the arbor; a pivot that does not enter is drawn over the hole's edge.
func (d JewelFit) along(s *svg) {
	const x = width / 4
	s.text("chart-caption", middle, x, smallSize, "along the arbor")
	scale := jewelHole / math.Max(d.HoleMm, d.PivotMm*jewelHole/jewelBody) // so that a thick pivot stays on the stone
	hole, pivot := scale*d.HoleMm, scale*d.PivotMm
	s.element("path", "class", "chart-wall", "fill-rule", "evenodd", "d", ringPath(x, jewelY, jewelBody)+ringPath(x,
		jewelY, hole))
	y := jewelY + math.Max(0, hole-pivot)
	s.circle("chart-arbor", x, y, pivot)
	if d.SmallestMm > 0 {
		s.circle("chart-sought", x, y, scale*math.Min(d.SmallestMm, d.PivotMm))
	}
	s.circle("chart-pivot", x, y, 1.5)
}

// side draws an arbor between two stones with its play at the upper one.
func (d JewelFit) side(s *svg) {
	const x, pivot, body, gap = width * 3 / 4, 7.0, 17.0, 10.0
	s.text("chart-caption", middle, x, smallSize, "from the side")
	for _, top := range []float64{sideTop, sideBottom - stoneHeight} {
		for _, side := range []float64{-1, 1} { // either side of the hole
			near, far := x+side*(pivot+2.5), x+side*sideHalf
			s.element("path", "class", "chart-wall", "d", polyline([]float64{near, top, far, top, far, top + stoneHeight, near,
				top + stoneHeight})+"Z")
		}
	}
	up, low := sideTop+stoneHeight+gap, sideBottom-stoneHeight
	s.element("path", "class", "chart-arbor-side", "d", polyline([]float64{
		x - pivot, sideTop + gap, x + pivot, sideTop + gap, x + pivot, up, x + body, up, x + body, low, x + pivot, low,
		x + pivot, sideBottom, x - pivot, sideBottom, x - pivot, low, x - body, low, x - body, up, x - pivot, up})+"Z")
	s.line("chart-axis", x+body+2, up, x+sideHalf+14, up)
	s.line("chart-axis", x+sideHalf, up-gap, x+sideHalf+14, up-gap)
	s.text("chart-label", start, x+body+6, up+16, "end shake")
}

func (d JewelFit) facts() []Fact {
	facts := []Fact{{"pivot in hole", mmFigure(d.PivotMm) + " in " + mmFigure(d.HoleMm) + " mm"},
		{"play sideways", d.PlayText}}
	if d.SmallestMm > 0 {
		facts = append(facts, Fact{"dashed: bottom of the groove", mmFigure(d.SmallestMm) + " mm"})
	}
	if d.EndshakeText != "" {
		facts = append(facts, Fact{"end shake, not to scale", d.EndshakeText})
	}
	return append(facts, d.Facts...)
}

func (d JewelFit) desc() string {
	var b strings.Builder
	b.WriteString("A pivot lying against the wall of its hole, to scale, and its arbor from the side between two stones.")
	factSentences(&b, d.facts())
	return b.String()
}

// JewelOil shows how much oil a jewel takes: from above, to scale, between the least and the most, and in section.
type JewelOil struct {
	ID      string // of the element; unique on its page
	Title   string
	Capped  bool    // a jewel with an endstone; else a cup
	WidthMm float64 // of the jewel or its cup
	LowMm   float64 // width of the oil, at least
	HighMm  float64 // and at most
	Facts   []Fact
}

// Render writes the drawing; it makes JewelOil a templ component.
func (d JewelOil) Render(ctx context.Context, w io.Writer) error { return write(ctx, w, d.SVG) }

// SVG returns the drawing as an svg element. It fails on an unusable ID and on sizes that are not in order.
func (d JewelOil) SVG() (string, error) {
	if !sizes(mostMm, d.WidthMm, d.LowMm, d.HighMm) || d.WidthMm == 0 || d.LowMm > d.HighMm || d.HighMm > d.WidthMm {
		return "", ErrSize
	}
	var s svg
	d.above(&s)
	if d.Capped {
		d.cappedSection(&s)
	} else {
		d.cupSection(&s)
	}
	r := benchRows{s: &s, y: jewelFoot}
	for _, f := range d.facts() {
		r.add(f.Name, f.Value, nil)
	}
	return frame{id: d.ID, title: d.Title, desc: d.desc(), height: r.end()}.document(&s)
}

const oilHole = 6.0

func (d JewelOil) above(s *svg) {
	const x = width / 4
	s.text("chart-caption", middle, x, smallSize, "from above")
	scale := jewelBody / d.WidthMm
	s.circle("chart-wheel", x, jewelY, jewelBody)
	s.circle("chart-region", x, jewelY, scale*d.HighMm)
	s.circle("chart-region", x, jewelY, scale*d.LowMm)
	s.circle("chart-arbor", x, jewelY, oilHole)
}

// sectionWidth is half the width of a section; share is that of the oil in it, at most.
const sectionWidth = 70.0

func (d JewelOil) share() float64 { return d.HighMm / d.WidthMm }

// cappedSection draws a hole jewel, its endstone below and the drop between them.
func (d JewelOil) cappedSection(s *svg) {
	const x, top, stone, gap = width * 3 / 4, 62.0, 34.0, 12.0
	s.text("chart-caption", middle, x, smallSize, "in section, not to scale")
	low := top + stone + gap
	s.element("rect", "class", "chart-region", "x", num(x-sectionWidth*d.share()), "y", num(top+stone-2), "width",
		num(2*sectionWidth*d.share()), "height", num(gap+2))
	for _, side := range []float64{-1, 1} {
		s.element("path", "class", "chart-wall", "d", polyline([]float64{
			x + side*oilHole, top + 10, x + side*sectionWidth*0.4, top, x + side*sectionWidth, top, x + side*sectionWidth,
			top + stone - 10, x + side*oilHole, top + stone})+"Z")
	}
	s.element("path", "class", "chart-wall", "d", polyline([]float64{x - sectionWidth, low, x + sectionWidth, low,
		x + sectionWidth, low + stone, x - sectionWidth, low + stone})+"Z")
	s.text("chart-caption", middle, x, top-8, "hole jewel")
	s.text("chart-caption", middle, x, low+stone+16, "endstone")
}

// cupSection draws a hole jewel with its cup and the pool in it.
func (d JewelOil) cupSection(s *svg) {
	const x, top, stone, deep = width * 3 / 4, 74.0, 62.0, 30.0
	s.text("chart-caption", middle, x, smallSize, "in section, not to scale")
	cup := func(half float64) float64 { // depth of the cup's curve at a distance from its axis
		return deep * (1 - half*half/(sectionWidth*sectionWidth*0.81))
	}
	const edge = sectionWidth * 0.9
	for _, side := range []float64{-1, 1} {
		points := []float64{x + side*sectionWidth, top + stone, x + side*sectionWidth, top, x + side*edge, top}
		for _, part := range []float64{0.8, 0.6, 0.4, 0.2} {
			points = append(points, x+side*edge*part, top+cup(edge*part))
		}
		points = append(points, x+side*oilHole, top+cup(oilHole), x+side*oilHole, top+stone)
		s.element("path", "class", "chart-wall", "d", polyline(points)+"Z")
	}
	half := edge * d.share()
	level := top + cup(half)
	pool := []float64{x - half, level, x + half, level}
	for _, part := range []float64{0.75, 0.5, 0.25, 0, -0.25, -0.5, -0.75} {
		pool = append(pool, x+half*part, top+cup(half*part))
	}
	s.element("path", "class", "chart-region", "d", polyline(pool)+"Z")
	s.text("chart-caption", middle, x, top-8, "cup")
}

func (d JewelOil) facts() []Fact {
	what := "cup, across"
	if d.Capped {
		what = "jewel, across"
	}
	return append([]Fact{{what, mmFigure(d.WidthMm) + " mm"},
		{"oil, across", fmt.Sprintf("%s to %s mm", hundredthMm(d.LowMm), hundredthMm(d.HighMm))}}, d.Facts...)
}

func (d JewelOil) desc() string {
	var b strings.Builder
	if d.Capped {
		b.WriteString("A drop of oil between a hole jewel and its endstone, from above to scale with its least and its " +
			"greatest width, and in section.")
	} else {
		b.WriteString("A pool of oil in the cup of a hole jewel, from above to scale with its least and its greatest " +
			"width, and in section.")
	}
	factSentences(&b, d.facts())
	return b.String()
}
