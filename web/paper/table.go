package paper

import (
	"github.com/a-h/templ"

	"ledgerwheel/web/paper/drawing"
)

// column is one column of a table; width as a share of the paper's.
type column struct {
	title string
	share float64
	align drawing.Alignment
}

// group is a heading over neighbouring columns [from, to).
type group struct {
	title    string
	from, to int
}

// cell is what stands in a column of one row: a mark or a small watch before the text, and a quiet note after it.
type cell struct {
	text, note string
	strong     bool
	verdict    *drawing.Mark
	position   *drawing.Position
}

// table sets rows under headings that repeat on every page.
type table struct {
	heading, id string
	caption     string // said, not shown, where there is no heading
	columns     []column
	groups      []group
	rows        [][]cell
	row         string // test id of each row
	before      fields // what stands between the heading and the table
}

const (
	cellPad   = 1.2 // mm above and below the lines of a row
	columnGap = 3.0 // mm kept free at the right of a column
)

func (t table) read() templ.Component { return readTable(t) }

func (t table) flow(f *flow) error {
	g := grid{table: t, flow: f}
	if t.heading != "" {
		f.section(t.heading, min(g.headHeight()+float64(len(t.rows))*(f.body.LineHeight()+2*cellPad), 60))
	}
	if err := t.before.flow(f); err != nil {
		return err
	}
	f.need(g.headHeight() + 2*f.body.LineHeight() + 2*cellPad)
	again := f.Repeating
	g.head()
	f.Repeating = again
	f.onBreak = g.head
	for _, row := range t.rows {
		g.set(row)
	}
	f.onBreak = nil
	f.y += f.gap(5)
	return nil
}

// grid is a table being set.
type grid struct {
	table
	*flow
}

func (g grid) left(i int) float64 {
	x := g.side
	for _, c := range g.columns[:i] {
		x += c.share * g.inner()
	}
	return x
}

// width that column i gives its text.
func (g grid) width(i int) float64 {
	w := g.columns[i].share * g.inner()
	if i == len(g.columns)-1 {
		return w
	}
	return w - columnGap
}

func (g grid) titles() (cells []placed, height float64) {
	for i, c := range g.columns {
		p := settled(g.left(i), g.width(i), c.title, g.label, 5.5, c.align)
		cells = append(cells, p)
		height = max(height, float64(len(p.lines))*g.label.LineHeight())
	}
	return cells, height
}

func (g grid) headHeight() float64 {
	_, h := g.titles()
	h += 1.6
	if len(g.groups) > 0 {
		h += g.strong.LineHeight() + 1
	}
	return h
}

func (g grid) head() {
	for _, group := range g.groups {
		st := g.strong.At(g.strong.Size * 0.9)
		x1, x2 := g.left(group.from), g.left(group.to-1)+g.width(group.to-1)
		b := st.Settle(group.title, 6, x2-x1-columnGap)
		g.Block(x1+columnGap, g.y, x2-x1-columnGap, b, drawing.Centre)
		g.Line(x1+columnGap, g.y+st.LineHeight()+0.3, x2, g.y+st.LineHeight()+0.3, 0.12, drawing.Brass)
	}
	if len(g.groups) > 0 {
		g.y += g.strong.LineHeight() + 1
	}
	cells, height := g.titles()
	for _, c := range cells {
		y := g.y
		for _, l := range c.lines {
			g.SetLine(c.x, y, c.width, l.Line, l.style, c.align)
			y += l.style.LineHeight()
		}
	}
	g.y += height + 0.8
	g.Line(g.side, g.y, g.right(), g.y, 0.35, drawing.Accent)
	g.y += 0.8
}

// place sets one cell in column i. Figures, which stand at the right, keep to one line where they can.
func (g grid) place(i int, c cell) placed {
	st := g.body
	if c.strong {
		st = g.strong
	}
	p := placed{x: g.left(i), width: g.width(i), align: g.columns[i].align}
	indent := 0.0
	switch {
	case c.position != nil:
		const size, symbolWidth = 5.2, 8.5
		indent = size + 1.2 + symbolWidth
		p.mark = func(x, mid float64) {
			g.Lying(x-indent+size/2, mid, size, *c.position)
			g.Text(x-indent+size+1.2, mid+g.strong.CapHeight()/2, c.position.Symbol, g.strong, drawing.Left)
		}
	case c.verdict != nil:
		const size = 3.0
		indent = size + 1.8
		p.mark = func(x, mid float64) { g.Lozenge(x-indent+size/2, mid, size, *c.verdict) }
	}
	p.x, p.width = p.x+indent, p.width-indent
	if p.align == drawing.Right {
		p.lines = linesOf(st.Settle(c.text, 6, p.width))
	} else {
		p.lines = linesOf(drawing.Block{Lines: st.Wrap(c.text, p.width), Style: st})
	}
	p.lines = append(p.lines, linesOf(drawing.Block{Lines: g.small.Wrap(c.note, p.width), Style: g.small})...)
	if len(p.lines) == 0 && p.mark != nil {
		p.lines = []styledLine{{style: st}} // the mark needs a line to stand on
	}
	return p
}

func (g grid) set(row []cell) {
	cells := make([]placed, len(row))
	lines := 0
	for i, c := range row {
		cells[i] = g.place(i, c)
		lines = max(lines, len(cells[i].lines))
	}
	if whole := float64(lines)*g.body.LineHeight() + 2*cellPad; whole <= g.room()-g.headHeight() {
		g.need(whole)
	}
	g.y += cellPad
	g.flow.row(cells...)
	g.y += cellPad
	g.Line(g.side, g.y, g.right(), g.y, 0.15, drawing.Rule)
}
