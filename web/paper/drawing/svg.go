package drawing

import (
	"fmt"
	"strconv"
	"strings"

	"ledgerwheel/web/paper/script"
	"ledgerwheel/web/paper/typeface"
)

// svgWriter writes a page as a picture. It uses presentation attributes, which a policy against inline style allows;
// the faces are named by classes (css/print.css).
type svgWriter struct{ strings.Builder }

var faceClass = map[typeface.Face]string{typeface.Sans: "tf-sans", typeface.SansBold: "tf-strong",
	typeface.Serif: "tf-serif", typeface.SerifItalic: "tf-italic"}

// SVG writes each page as a picture of its true size.
func (d *Drawing) SVG() []string {
	var out []string
	for n := range d.pages {
		out = append(out, d.picture(n, 0, 0, d.W, d.H, "leaf"))
	}
	return out
}

// Part writes a piece of a page, in mm, as a picture without a size of its own.
func (d *Drawing) Part(page int, x, y, w, h float64) string {
	return d.picture(page, x, y, w, h, "leaf-part")
}

func (d *Drawing) picture(n int, x, y, width, height float64, class string) string {
	w := &svgWriter{}
	fmt.Fprintf(w, `<svg xmlns="http://www.w3.org/2000/svg" class="%s" aria-hidden="true" width="%smm" height="%smm" viewBox="%s %s %s %s">`,
		class, num(width), num(height), num(x), num(y), num(width), num(height))
	for _, o := range d.pages[n].ops {
		o.svg(w)
	}
	w.WriteString("</svg>")
	return w.String()
}

func num(v float64) string {
	return strconv.FormatFloat(float64(int64(v*1e4+0.5*sign(v)))/1e4, 'f', -1, 64)
}

func sign(v float64) float64 {
	if v < 0 {
		return -1
	}
	return 1
}

func (i Ink) String() string { return fmt.Sprintf("#%02x%02x%02x", i.R, i.G, i.B) }

// svg gives the line as typed, so that the browser joins and orders it, in the width it takes in the PDF.
func (t textOp) svg(w *svgWriter) {
	x, dir := t.x, ""
	if t.line.RTL {
		x, dir = t.x+t.w, ` direction="rtl"`
	}
	fmt.Fprintf(w, `<text class="%s" x="%s" y="%s" font-size="%s" fill="%s" textLength="%s" lengthAdjust="spacingAndGlyphs"%s>%s</text>`,
		faceClass[t.style.Face], num(x), num(t.y), num(t.style.Size*MMPerPoint), t.style.Ink, num(t.w), dir,
		xmlText(script.Plain(t.line.Text)))
}

// paint writes the attributes of pen and fill.
func (w *svgWriter) paint(pen *Stroke, fill *Ink) {
	if fill == nil {
		w.WriteString(` fill="none"`)
	} else {
		fmt.Fprintf(w, ` fill="%s"`, *fill)
	}
	if pen == nil {
		return
	}
	fmt.Fprintf(w, ` stroke="%s" stroke-width="%s"`, pen.Ink, num(pen.Width))
	if len(pen.Dash) > 0 {
		fmt.Fprintf(w, ` stroke-dasharray="%s %s"`, num(pen.Dash[0]), num(pen.Dash[1]))
	}
	if pen.Round {
		w.WriteString(` stroke-linecap="round"`)
	}
}

func (p pathOp) svg(w *svgWriter) {
	w.WriteString(`<path d="`)
	for i, at := range p.points {
		w.WriteString([]string{"M", "L"}[min(i, 1)] + num(at[0]) + " " + num(at[1]))
	}
	if p.closed {
		w.WriteString("z")
	}
	w.WriteString(`"`)
	w.paint(p.pen, p.fill)
	w.WriteString("/>")
}

func (c circleOp) svg(w *svgWriter) {
	fmt.Fprintf(w, `<circle cx="%s" cy="%s" r="%s"`, num(c.x), num(c.y), num(c.r))
	w.paint(c.pen, c.fill)
	w.WriteString("/>")
}

func (linkOp) svg(*svgWriter) {}

func (c codeOp) svg(w *svgWriter) {
	w.WriteString(`<path shape-rendering="crispEdges" fill="#000" d="`)
	for _, r := range c.m.rects {
		width := float64(r.w) * c.w
		fmt.Fprintf(w, "M%s %sh%sv%sh%sz", num(c.x+float64(r.x)*c.w), num(c.y+float64(r.y)*c.h), num(width),
			num(float64(r.h)*c.h), num(-width))
	}
	w.WriteString(`"/>`)
}
