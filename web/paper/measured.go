package paper

import (
	"strings"

	"ledgerwheel/web/paper/drawing"
	"ledgerwheel/web/paper/script"
)

// measured is a card or label being drawn to measure. What a place doesn't hold at its least size is shown there as far
// as it goes, and whole on a further card.
type measured struct {
	*drawing.Drawing
	rest []Field
}

// least size of type on cards and labels, in points.
const leastType = 4.4

// place is a box for a text.
type place struct{ x, y, w, h float64 }

// put sets text in a box, smaller if it must be, and returns the y below it. A row of one line keeps to its line.
func (m *measured) put(at place, label, text string, st drawing.Style, align drawing.Alignment) float64 {
	b, whole := st.Fit(text, leastType, at.w, at.h)
	one := st.Settle(text, b.Style.Size, at.w)
	if !strings.Contains(text, "\n") && len(one.Lines) == 1 && one.Style.Size >= b.Style.Size {
		b = one // one line a little smaller reads better than two
	}
	if !whole {
		m.rest = append(m.rest, Field{label, text})
		room := max(1, int(at.h/b.Style.LineHeight()+1e-9)) // rounding of the division only
		b.Lines = b.Lines[:min(room, len(b.Lines))]
		last := &b.Lines[len(b.Lines)-1]
		last.Text = shortened(last.Text, b.Style, at.w)
	}
	return m.Block(at.x, at.y, at.w, b, align)
}

// shortened ends a line in an ellipsis within width mm.
func shortened(line string, st drawing.Style, width float64) string {
	runes := []rune(line)
	for len(runes) > 0 && st.Width(string(runes)+"…") > width {
		runes = runes[:len(runes)-1]
	}
	return string(runes) + "…"
}

// labelled sets a small label over its value in a box.
func (m *measured) labelled(at place, f Field, st drawing.Style) {
	if script.OneLine(f.Value) == "" {
		return
	}
	top := m.put(place{at.x, at.y, at.w, cardLabel.LineHeight() + 0.01}, f.Label, f.Label, cardLabel, drawing.Left)
	m.put(place{at.x, top, at.w, at.h - cardLabel.LineHeight()}, f.Label, f.Value, st, drawing.Left)
}
