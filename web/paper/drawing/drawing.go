// Package drawing is a paper as it is drawn: pages of one size with lines of text, rules, shapes and bar codes in their
// places. One drawing becomes a PDF and the pictures of a page, so that both are the same to the hair.
//
// All lengths are in mm from the top left corner; y of text is its baseline.
package drawing

import (
	"slices"

	"ledgerwheel/web/paper/script"
	"ledgerwheel/web/paper/typeface"
)

// Drawing is the pages of a paper.
type Drawing struct {
	W, H  float64
	pages []page
	at    int
	// Repeating is set while what is drawn repeats on every page or counts them: heads, feet, headings of tables.
	Repeating bool
}

// page is what is drawn on one page, in order.
type page struct{ ops []op }

// op is one thing drawn.
type op interface {
	pdf(w *pdfWriter)
	svg(w *svgWriter)
}

// New starts a drawing without pages.
func New(w, h float64) *Drawing { return &Drawing{W: w, H: h} }

// AddPage adds a page and turns to it.
func (d *Drawing) AddPage() {
	d.pages = append(d.pages, page{})
	d.at = len(d.pages) - 1
}

// Pages counts them; Turn goes to one, from 0.
func (d *Drawing) Pages() int { return len(d.pages) }
func (d *Drawing) Turn(n int) { d.at = n }
func (d *Drawing) Page() int  { return d.at }
func (d *Drawing) add(o op)   { d.pages[d.at].ops = append(d.pages[d.at].ops, o) }

// Box is where something was drawn.
type Box struct {
	Page       int
	X, Y, W, H float64
	Text       string
	Repeating  bool
}

// Boxes are the lines of text, in order of drawing; their text is as it was typed.
func (d *Drawing) Boxes() []Box {
	var boxes []Box
	d.each(func(n int, o op) {
		if t, ok := o.(textOp); ok {
			boxes = append(boxes, Box{n, t.x, t.y - t.style.Ascent(), t.w, t.style.Ascent() + t.style.Descent(),
				script.Plain(t.line.Text), t.repeating})
		}
	})
	return boxes
}

// Codes are the bar codes with their quiet zones.
func (d *Drawing) Codes() []Box {
	var boxes []Box
	d.each(func(n int, o op) {
		if c, ok := o.(codeOp); ok {
			boxes = append(boxes, Box{Page: n, X: c.x, Y: c.y, W: float64(c.m.w) * c.w, H: float64(c.m.h) * c.h,
				Text: "a bar code"})
		}
	})
	return boxes
}

func (d *Drawing) each(do func(page int, o op)) {
	for n, p := range d.pages {
		for _, o := range p.ops {
			do(n, o)
		}
	}
}

// Lacking lists the characters that no type at hand has, each once.
func (d *Drawing) Lacking() []rune {
	var all []rune
	d.each(func(_ int, o op) {
		if t, ok := o.(textOp); ok {
			for _, r := range typeface.Lacking(t.line.Text) {
				if !slices.Contains(all, r) {
					all = append(all, r)
				}
			}
		}
	})
	return all
}

// LackingIn lists the lines of text that hold such characters, each once, in order of drawing and as they
// were typed; heads and feet say again what stands elsewhere.
func (d *Drawing) LackingIn() []string {
	var lines []string
	d.each(func(_ int, o op) {
		if t, ok := o.(textOp); ok && !t.repeating && len(typeface.Lacking(t.line.Text)) > 0 {
			if line := script.Plain(t.line.Text); !slices.Contains(lines, line) {
				lines = append(lines, line)
			}
		}
	})
	return lines
}

// Alignment of a line about its x.
type Alignment int

const (
	Left Alignment = iota
	Centre
	Right
)

type textOp struct {
	x, y, w   float64
	line      Line
	style     Style
	repeating bool
}

// Text draws one line as it is: settle or wrap it first. It returns the width in mm.
func (d *Drawing) Text(x, y float64, text string, st Style, align Alignment) float64 {
	line := script.OneLine(text)
	return d.line(x, y, Line{line, script.RightToLeft(line)}, st, align)
}

func (d *Drawing) line(x, y float64, line Line, st Style, align Alignment) float64 {
	if line.Text == "" {
		return 0
	}
	w := st.Width(line.Text)
	switch align {
	case Centre:
		x -= w / 2
	case Right:
		x -= w
	}
	d.add(textOp{x, y, w, line, st, d.Repeating})
	return w
}

// Block draws wrapped lines whose first line's top is y in a column of width mm, and returns the y below the last.
// Lines that run from right to left stand at the right where others stand at the left.
func (d *Drawing) Block(x, y, width float64, b Block, align Alignment) float64 {
	for _, line := range b.Lines {
		d.SetLine(x, y, width, line, b.Style, align)
		y += b.Style.LineHeight()
	}
	return y
}

// SetLine draws one line of a block whose top is y.
func (d *Drawing) SetLine(x, y, width float64, line Line, st Style, align Alignment) {
	switch {
	case align == Centre:
		x += width / 2
	case align == Right || line.RTL:
		x, align = x+width, Right
	}
	d.line(x, y+st.Ascent(), line, st, align)
}

// Stroke is a pen: its width in mm and, if it is dashed, the lengths of dash and gap.
type Stroke struct {
	Width float64
	Ink   Ink
	Dash  []float64
	Round bool // ends
}

type pathOp struct {
	points [][2]float64
	closed bool
	pen    *Stroke
	fill   *Ink
}

// Line rules from (x1, y1) to (x2, y2).
func (d *Drawing) Line(x1, y1, x2, y2, width float64, i Ink) {
	d.Path([][2]float64{{x1, y1}, {x2, y2}}, false, &Stroke{Width: width, Ink: i}, nil)
}

// Path draws a line through points, or the shape they bound.
func (d *Drawing) Path(points [][2]float64, closed bool, pen *Stroke, fill *Ink) {
	d.add(pathOp{points, closed, pen, fill})
}

// Rect fills a rectangle.
func (d *Drawing) Rect(x, y, w, h float64, fill Ink) {
	d.Path([][2]float64{{x, y}, {x + w, y}, {x + w, y + h}, {x, y + h}}, true, nil, &fill)
}

type circleOp struct {
	x, y, r float64
	pen     *Stroke
	fill    *Ink
}

// Circle draws one about (x, y).
func (d *Drawing) Circle(x, y, r float64, pen *Stroke, fill *Ink) {
	d.add(circleOp{x, y, r, pen, fill})
}

type linkOp struct {
	x, y, w, h float64
	url        string
}

// Link makes a place of the PDF lead to an address.
func (d *Drawing) Link(x, y, w, h float64, url string) { d.add(linkOp{x, y, w, h, url}) }

// LedgerRule is the house's head rule: a thick line over a thin one. It returns the y below it.
func (d *Drawing) LedgerRule(x1, x2, y, thick float64) float64 {
	d.Line(x1, y, x2, y, thick, Accent)
	gap := max(thick*1.6, 0.55)
	d.Line(x1, y+gap, x2, y+gap, 0.12, Accent)
	return y + gap
}
