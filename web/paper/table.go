package paper

// column is one column of an A4 table; width in mm.
type column struct {
	title string
	width float64
	align alignment
}

// group is a heading over neighbouring columns [from, to).
type group struct {
	title    string
	from, to int
}

// cell is what stands in a column of one row. Its first line may be drawn strong
// and a quiet note may follow it.
type cell struct {
	text   string
	note   string
	strong bool
	mark   func(x, mid float64) float64 // draws before the text about the height mid; returns the width taken
	indent float64                      // width that mark takes, in mm
}

// table sets rows under headings that repeat on every page.
type table struct {
	*flow
	columns []column
	groups  []group
}

const (
	cellPad   = 1.5 // mm above and below the lines of a row
	columnGap = 3.0 // mm kept free at the right of a column
)

// inner is the width that column i gives its text.
func (t table) inner(i int) float64 {
	if i == len(t.columns)-1 {
		return t.columns[i].width
	}
	return t.columns[i].width - columnGap
}

func (t table) left(i int) float64 {
	x := marginSide
	for _, c := range t.columns[:i] {
		x += c.width
	}
	return x
}

// draw sets the table from the flow's place on.
func (t table) draw(rows [][]cell) {
	t.need(t.headHeight() + 2*bodyStyle.lineHeight() + 2*cellPad)
	t.head()
	t.onBreak = t.head
	for _, row := range rows {
		t.row(row)
	}
	t.onBreak = nil
}

func (t table) headHeight() float64 {
	h := labelStyle.lineHeight() + 1.6
	if len(t.groups) > 0 {
		h += strongStyle.lineHeight() + 1
	}
	return h
}

func (t table) head() {
	if len(t.groups) > 0 {
		st := strongStyle.at(8)
		for _, g := range t.groups {
			x1, x2 := t.left(g.from), t.left(g.to-1)+t.inner(g.to-1)
			t.fitted((x1+columnGap+x2)/2, t.y+st.ascent(), x2-x1-columnGap, g.title, st, 6, centre)
			t.line(x1+columnGap, t.y+st.lineHeight()+0.3, x2, t.y+st.lineHeight()+0.3, 0.12, brassInk)
		}
		t.y += strongStyle.lineHeight() + 1
	}
	for i, c := range t.columns {
		t.cellText(i, t.y+labelStyle.ascent(), c.title, labelStyle, 5)
	}
	t.y += labelStyle.lineHeight() + 0.8
	t.line(marginSide, t.y, a4Width-marginSide, t.y, 0.35, accentInk)
	t.y += 0.8
}

// cellText sets one line in column i at a baseline.
func (t table) cellText(i int, baseline float64, text string, st style, least float64) {
	x := t.left(i)
	switch t.columns[i].align {
	case right:
		x += t.inner(i)
	case centre:
		x += t.inner(i) / 2
	}
	t.fitted(x, baseline, t.inner(i), text, st, least, t.columns[i].align)
}

// styledLine is one line of a cell.
type styledLine struct {
	setLine
	style style
}

// lines wraps a cell. Figures, which stand at the right, are kept on one line.
func (t table) lines(i int, c cell) []styledLine {
	st := bodyStyle
	if c.strong {
		st = strongStyle
	}
	width := t.inner(i) - c.indent
	if t.columns[i].align == right {
		line, fitted := st.fit(c.text, 5, width)
		return []styledLine{{setLine{line, false}, fitted}}
	}
	var out []styledLine
	for _, line := range st.wrap(c.text, width) {
		out = append(out, styledLine{line, st})
	}
	for _, line := range smallStyle.wrap(c.note, width) {
		out = append(out, styledLine{line, smallStyle})
	}
	return out
}

// row sets one row. A row goes to the next page whole; one longer than a page
// is parted between lines.
func (t table) row(cells []cell) {
	lineH := bodyStyle.lineHeight()
	lines := make([][]styledLine, len(cells))
	most := 1
	for i, c := range cells {
		lines[i] = t.lines(i, c)
		most = max(most, len(lines[i]))
	}
	fullPage := t.bottom() - marginTop - 20 - t.headHeight() // 20: the running head
	if height := float64(most)*lineH + 2*cellPad; height <= fullPage {
		t.need(height)
	}
	t.y += cellPad
	for n := range most {
		t.need(lineH + cellPad)
		for i, c := range cells {
			indent := c.indent
			if n == 0 && c.mark != nil {
				c.mark(t.left(i), t.y+bodyStyle.ascent()-bodyStyle.capHeight()/2)
			}
			if n < len(lines[i]) {
				t.styled(i, indent, lines[i][n])
			}
		}
		t.y += lineH
	}
	t.y += cellPad
	t.line(marginSide, t.y, a4Width-marginSide, t.y, 0.15, ruleInk)
}

func (t table) styled(i int, indent float64, line styledLine) {
	baseline := t.y + bodyStyle.ascent()
	if t.columns[i].align == right {
		t.text(t.left(i)+t.inner(i), baseline, line.text, line.style, right)
		return
	}
	t.setLine(t.left(i)+indent, baseline, t.inner(i)-indent, line.setLine, line.style)
}
