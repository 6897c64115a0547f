package chart

import (
	"context"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
)

// BarrelSection shows a barrel cut across its arbor, twice: with the spring wound on the arbor, and let down against
// the wall. Everything is to scale; what is not known is drawn dashed at a usual size. Sizes in millimetres, 0 is not
// known.
type BarrelSection struct {
	ID               string // of the element; unique on its page
	Title            string
	InsideDiameterMm float64
	ArborDiameterMm  float64
	ThicknessMm      float64 // of the spring
	WidthMm          float64 // its height in the barrel
	LengthMm         float64
	TurnsText        string // worded: "6.9 turns"; "" leaves the row out
	FillText         string // how much of the free space the spring takes, worded: "51 %"
	Facts            []Fact // further rows under the drawing
}

// Render writes the drawing; it makes BarrelSection a templ component.
func (d BarrelSection) Render(ctx context.Context, w io.Writer) error { return write(ctx, w, d.SVG) }

// mostMm bounds what is drawn: no barrel of a watch or a clock carried about is larger.
const mostMm = 500.0

// SVG returns the drawing as an svg element. It fails on an unusable ID and on sizes that are negative, not finite or
// beyond any watch's.
func (d BarrelSection) SVG() (string, error) {
	if !sizes(mostMm, d.InsideDiameterMm, d.ArborDiameterMm, d.ThicknessMm, d.WidthMm) || !sizes(100*mostMm, d.LengthMm) {
		return "", ErrSize
	}
	l := d.layout()
	var s svg
	wound := barrelSide{barrelLayout: l, x: width / 4, inner: l.arbor, outer: l.woundOuter(), words: "wound on the arbor",
		wound: true}
	down := barrelSide{barrelLayout: l, x: width * 3 / 4, inner: l.downInner(), outer: barrelRadius,
		words: "let down against the wall"}
	wound.draw(&s)
	down.draw(&s)
	s.dimension(wound.x-barrelRadius, wound.x+barrelRadius, barrelY+barrelRadius+20,
		"inside "+acrossMm(d.InsideDiameterMm))
	s.dimension(down.x-l.arbor, down.x+l.arbor, barrelY+barrelRadius+20, "arbor "+acrossMm(d.ArborDiameterMm))
	height := d.rows(&s, l)
	return frame{id: d.ID, title: d.Title, desc: d.desc(l), height: height}.document(&s)
}

// Measures of the drawing, in user units.
const (
	barrelRadius = 76.0 // inside the wall
	barrelWall   = 6.0
	barrelY      = 20 + barrelRadius + barrelWall
)

// barrelLayout is the barrel in user units.
type barrelLayout struct {
	arbor, area float64 // radius; area of the spring's edge over π, as seen along the arbor
	blade       float64 // thickness; 0 is not known
	arborKnown  bool
	springKnown bool
	tooMuch     bool // the spring has no room
}

// layout scales the barrel; what is not known takes a usual size: an arbor of a third of the barrel, a spring that
// fills half the room.
func (d BarrelSection) layout() barrelLayout {
	const usualArbor, usualFill = 1. / 3, 0.5
	l := barrelLayout{arbor: usualArbor * barrelRadius}
	scale := 0.0
	if d.InsideDiameterMm > 0 {
		scale = 2 * barrelRadius / d.InsideDiameterMm
	}
	if r := scale * d.ArborDiameterMm / 2; r > 0 {
		l.arbor, l.arborKnown = math.Min(r, barrelRadius), true
	}
	room := barrelRadius*barrelRadius - l.arbor*l.arbor
	l.area = usualFill * room
	if scale > 0 && d.ThicknessMm > 0 && d.LengthMm > 0 {
		l.springKnown, l.blade = true, scale*d.ThicknessMm
		l.area = l.blade * scale * d.LengthMm / math.Pi
		if l.area > room {
			l.tooMuch, l.area = true, room
		}
	}
	return l
}

// woundOuter and downInner are the radii of the spring's free side: its edge keeps its area however it is coiled.
func (l barrelLayout) woundOuter() float64 { return math.Sqrt(l.arbor*l.arbor + l.area) }
func (l barrelLayout) downInner() float64 {
	return math.Sqrt(math.Max(0, barrelRadius*barrelRadius-l.area))
}

// barrelSide is one of the two drawings, with the radii between which the spring is coiled.
type barrelSide struct {
	barrelLayout
	x, inner, outer float64
	words           string
	wound           bool
}

func (b barrelSide) draw(s *svg) {
	s.text("chart-caption", middle, b.x, smallSize, b.words)
	s.element("path", "class", "chart-wall", "fill-rule", "evenodd", "d",
		ringPath(b.x, barrelY, barrelRadius+barrelWall)+ringPath(b.x, barrelY, barrelRadius))
	b.spring(s)
	ink := "chart-arbor"
	if !b.arborKnown {
		ink = "chart-sought"
	}
	s.circle(ink, b.x, barrelY, b.arbor)
	s.circle("chart-pivot", b.x, barrelY, 1.5)
	free := box{top: b.arbor, bottom: b.inner}
	if b.wound {
		free = box{top: b.outer, bottom: barrelRadius}
	}
	if free.bottom-free.top > 17 {
		s.text("chart-label", middle, b.x, barrelY+(free.top+free.bottom)/2+4, "free")
	}
}

// spring draws the coils to scale where they can be told apart, as a band in any case, and the strand that leads
// across the free space to the hook.
func (b barrelSide) spring(s *svg) {
	ring := ringPath(b.x, barrelY, b.outer) + ringPath(b.x, barrelY, b.inner)
	if !b.springKnown {
		s.element("path", "class", "chart-sought", "d", ring)
		s.text("chart-label chart-symbol", middle, b.x, barrelY-(b.inner+b.outer)/2+5, "?")
		return
	}
	s.element("path", "class", "chart-blade-band", "fill-rule", "evenodd", "d", ring)
	if b.tooMuch {
		s.text("chart-label chart-symbol", middle, b.x, barrelY-(b.inner+b.outer)/2+5, "no room")
		return
	}
	const finest = 1.3
	const strand, from = 0.45, 170 // turns, and where it begins: above, clear of the word
	turns := (b.outer - b.inner) / b.blade
	if b.blade < finest {
		turns = (b.outer - b.inner) / finest
	}
	var path []float64
	if b.wound {
		path = spiral(path, b.x, barrelY, from-360*turns, turns, b.inner, b.outer)
		path = spiral(path, b.x, barrelY, from, strand, b.outer, barrelRadius)
	} else {
		path = spiral(path, b.x, barrelY, from, strand, b.arbor, b.inner)
		path = spiral(path, b.x, barrelY, from+360*strand, turns, b.inner, b.outer)
	}
	s.element("path", "class", "chart-blade", "d", polyline(path))
}

// acrossMm words a diameter.
func acrossMm(mm float64) string {
	if mm == 0 {
		return "⌀ ?"
	}
	return "⌀ " + mmFigure(mm) + " mm"
}

// mmFigure writes a size to the micrometre, or a question mark.
func mmFigure(mm float64) string {
	if mm == 0 {
		return "?"
	}
	return strconv.FormatFloat(math.Round(mm*1000)/1000, 'f', -1, 64)
}

// springSize words the three sizes of the spring.
func (d BarrelSection) springSize() string {
	return mmFigure(d.WidthMm) + " × " + mmFigure(d.ThicknessMm) + " × " + mmFigure(d.LengthMm) + " mm"
}

func (d BarrelSection) rows(s *svg, l barrelLayout) float64 {
	r := benchRows{s: s, y: barrelY + barrelRadius + 48}
	r.add("spring, width × thickness × length", d.springSize(), nil)
	if l.tooMuch {
		r.add(noSpringRoom, "", nil)
	}
	if d.FillText != "" {
		r.add("free space taken by the spring", d.FillText, nil)
	}
	if d.TurnsText != "" {
		r.add("turns from wound to let down", d.TurnsText, nil)
	}
	r.facts(d.Facts)
	if !l.arborKnown || !l.springKnown {
		r.add("dashed: not known, drawn at a usual size", "", func(y float64) {
			s.circle("chart-sought", markRadius+1, y,
				6)
		})
	}
	return r.end()
}

const noSpringRoom = "this spring has no room in this barrel"

// desc says in words all that the drawing shows.
func (d BarrelSection) desc(l barrelLayout) string {
	var b strings.Builder
	fmt.Fprintf(&b, "A barrel cut across its arbor, with the spring wound on the arbor and let down against the wall. "+
		"Inside diameter %s, arbor diameter %s. Spring, width × thickness × length: %s.",
		acrossWords(d.InsideDiameterMm), acrossWords(d.ArborDiameterMm), d.springSize())
	switch {
	case l.tooMuch:
		b.WriteString(" T" + noSpringRoom[1:] + ".")
	case l.springKnown && l.arborKnown:
		toMm := d.InsideDiameterMm / (2 * barrelRadius)
		fmt.Fprintf(&b, " Wound, the spring reaches out to a diameter of %s mm; let down, it leaves a space of %s mm across.",
			hundredthMm(2*l.woundOuter()*toMm), hundredthMm(2*l.downInner()*toMm))
	default:
		b.WriteString(" What is not known is drawn dashed at a usual size.")
	}
	if d.FillText != "" {
		b.WriteString(" Free space taken by the spring: " + d.FillText + ".")
	}
	if d.TurnsText != "" {
		b.WriteString(" Turns from wound to let down: " + d.TurnsText + ".")
	}
	factSentences(&b, d.Facts)
	return b.String()
}

func acrossWords(mm float64) string {
	if mm == 0 {
		return "not known"
	}
	return mmFigure(mm) + " mm"
}

func hundredthMm(mm float64) string { return strconv.FormatFloat(mm, 'f', 2, 64) }
