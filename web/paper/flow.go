package paper

import (
	"ledgerwheel/web/paper/drawing"
	"ledgerwheel/web/paper/script"
)

// flow fills pages from the top and breaks them.
type flow struct {
	*drawing.Drawing
	size
	styles
	doc     document
	y       float64 // top of what comes next
	onBreak func()  // draws what repeats on a new page; nil outside tables
}

func newFlow(doc document, by float64) *flow {
	f := &flow{Drawing: drawing.New(doc.size.w, doc.size.h), size: doc.size, doc: doc}
	f.styles = doc.size.styles.scaled(by)
	f.AddPage()
	f.y = f.top
	return f
}

func (f *flow) inner() float64  { return f.w - 2*f.side }
func (f *flow) right() float64  { return f.w - f.side }
func (f *flow) lowest() float64 { return f.h - f.size.bottom }

// need breaks the page unless height mm are left, and reports whether it did.
func (f *flow) need(height float64) bool {
	if f.y+height <= f.lowest() {
		return false
	}
	f.breakPage()
	return true
}

// room is the height of a page after its running head, in mm.
func (f *flow) room() float64 { return f.lowest() - f.top - f.headHeight() }

func (f *flow) headStyle() drawing.Style { return style(serif, f.label.Size+2, drawing.Accent) }

func (f *flow) headHeight() float64 { return f.headStyle().LineHeight() + 0.6 + 0.55 + f.gap(4) }

// gap is a distance that is mm on A4 and half of it on smaller papers.
func (f *flow) gap(mm float64) float64 {
	if f.w < a4.w {
		mm /= 2
	}
	return mm * f.body.Size / 9
}

func (f *flow) breakPage() {
	f.AddPage()
	f.Repeating = true
	f.y = f.top
	st := f.headStyle()
	f.short(f.side, f.y, f.inner()*0.45, f.doc.issuer.Name, st, drawing.Left)
	f.short(f.right(), f.y+(st.Ascent()-f.label.Ascent()), f.inner()*0.5, f.running(), f.label, drawing.Right)
	f.LedgerRule(f.side, f.right(), f.y+st.LineHeight()+0.6, 0.3)
	f.y += f.headHeight()
	if f.onBreak != nil {
		f.onBreak()
	}
	f.Repeating = false
}

func (f *flow) running() string {
	if f.doc.running != "" {
		return f.doc.running
	}
	return f.doc.title + " · " + f.doc.docket(f.doc.number)
}

// short sets what repeats on one line whose top is y: smaller down to seven tenths, then cut. It stands whole at its
// first place.
func (f *flow) short(x, y, width float64, text string, st drawing.Style, align drawing.Alignment) float64 {
	line := script.OneLine(text)
	least := st.Size * 0.7
	b := st.Settle(line, least, width)
	if len(b.Lines) > 1 {
		b = b.Style.Settle(line, least, 1e6)
		runes := []rune(line)
		for len(runes) > 0 && b.Style.Width(string(runes)+"…") > width {
			runes = runes[:len(runes)-1]
		}
		line = string(runes) + "…"
	}
	return f.Text(x, y+st.Ascent(), line, b.Style, align)
}

// finish writes the feet, and gives a roll its length.
func (f *flow) finish() {
	f.Repeating = true
	defer func() { f.Repeating = false }()
	pages := f.Pages()
	if f.h == longestRoll && pages == 1 {
		f.Drawing.H = max(f.y+f.size.bottom, 100)
		return
	}
	if f.footed {
		f.foot(pages)
		return
	}
	for n := range pages {
		if pages > 1 {
			f.Turn(n)
			f.short(f.right(), f.lowest()+1.2, f.inner(), f.doc.pageOf(n+1, pages), f.label.At(6), drawing.Right)
		}
	}
}

// foot rules the foot of every page and writes its number.
func (f *flow) foot(pages int) {
	for n := range pages {
		f.Turn(n)
		y := f.lowest() + 4
		f.Line(f.side, y, f.right(), y, 0.15, drawing.Brass)
		w := f.short(f.right(), y+1.2, f.inner(), f.doc.pageOf(n+1, pages), f.small, drawing.Right)
		f.short(f.side, y+1.2, f.inner()-w-6, f.doc.issuer.Name+" · "+f.running(), f.small, drawing.Left)
	}
	if len(f.Lacking()) > 0 {
		f.Text(f.side, f.lowest()+5.2+f.small.LineHeight()+f.small.Ascent(),
			f.doc.tongue.Say("paper.lacking", "sign", string(script.Replacement)), f.small.At(6.5),
			drawing.Left)
	}
}

// styledLine is one line of a cell.
type styledLine struct {
	drawing.Line
	style drawing.Style
}

// linesOf are a block's lines.
func linesOf(b drawing.Block) []styledLine {
	var out []styledLine
	for _, l := range b.Lines {
		out = append(out, styledLine{l, b.Style})
	}
	return out
}

// placed is text in a column of a row.
type placed struct {
	x, width float64
	align    drawing.Alignment
	lines    []styledLine
	mark     func(x, mid float64) // draws before the first line about the height mid
}

// settled is a text that keeps to one line where it can.
func settled(x, width float64, text string, st drawing.Style, least float64, align drawing.Alignment) placed {
	return placed{x: x, width: width, align: align, lines: linesOf(st.Settle(text, least, width))}
}

// row sets columns abreast. A row goes to the next page whole; one longer than a page is parted between lines.
func (f *flow) row(cells ...placed) {
	var heights []float64
	whole := 0.0
	for _, c := range cells {
		for n, line := range c.lines {
			if n == len(heights) {
				heights = append(heights, 0)
			}
			heights[n] = max(heights[n], line.style.LineHeight())
		}
	}
	for _, h := range heights {
		whole += h
	}
	if whole <= f.room() {
		f.need(whole)
	}
	for n, h := range heights {
		f.need(h)
		for _, c := range cells {
			if n == 0 && c.mark != nil {
				c.mark(c.x, f.y+f.body.Ascent()-f.body.CapHeight()/2)
			}
			if n < len(c.lines) {
				f.SetLine(c.x, f.y, c.width, c.lines[n].Line, c.lines[n].style, c.align)
			}
		}
		f.y += h
	}
}
