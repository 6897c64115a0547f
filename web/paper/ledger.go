package paper

import (
	"github.com/a-h/templ"

	"ledgerwheel/domain/tongue"
	"ledgerwheel/web/paper/drawing"
)

// Line is one priced line of an estimate or an invoice, its figures formatted.
type Line struct {
	Description string
	Detail      string // quiet second line: part number, reason; may be empty
	Quantity    string
	UnitPrice   string
	Tax         string // rate, as "20 %"
	Amount      string
}

// Total is a line below the priced lines. The last strong one is ruled double, as
// ledgers close an account.
type Total struct {
	Label, Amount string
	Strong        bool
}

// pricedLines are the lines of an estimate or invoice.
func pricedLines(tongue tongue.Tongue, id, row string, lines []Line) table {
	t := table{id: id, row: row, caption: tongue.Say("paper.work_and_parts"), columns: []column{
		{tongue.Say("paper.work_and_parts"), 0.46, drawing.Left},
		{tongue.Say("paper.quantity"), 0.12, drawing.Right},
		{tongue.Say("paper.unit_price"), 0.16, drawing.Right},
		{tongue.Say("paper.tax"), 0.1, drawing.Right},
		{tongue.Say("paper.amount"), 0.16, drawing.Right},
	}}
	for _, l := range lines {
		t.rows = append(t.rows, []cell{{text: l.Description, note: l.Detail}, {text: l.Quantity}, {text: l.UnitPrice},
			{text: l.Tax}, {text: l.Amount}})
	}
	return t
}

// totals are the sums at the right, on one page where it holds them.
type totals struct{ list []Total }

func (t totals) read() templ.Component { return readTotals(t) }

func (t totals) flow(f *flow) error {
	const width, amountWidth, between = 88.0, 42.0, 3.0
	strong := f.strong.At(11)
	x := f.right() - width
	var rows [][2]placed
	height := 6.0
	for _, total := range t.list {
		st := f.body
		if total.Strong {
			st = strong
		}
		row := [2]placed{settled(x, width-amountWidth-between, total.Label, st, 7, drawing.Left),
			settled(f.right()-amountWidth, amountWidth, total.Amount, st, 7, drawing.Right)}
		height += float64(max(len(row[0].lines), len(row[1].lines)))*st.LineHeight() + 1.6
		rows = append(rows, row)
	}
	f.need(min(height, f.room()))
	f.y -= f.gap(3) // the lines stand close above
	for i, row := range rows {
		strong := t.list[i].Strong
		if strong {
			f.y += 0.8
			f.Line(x, f.y, f.right(), f.y, 0.25, drawing.Plain)
			f.y += 0.6
		}
		f.row(row[0], row[1])
		f.y += 0.4
		if strong && i == lastStrong(t.list) {
			f.Line(x, f.y+0.2, f.right(), f.y+0.2, 0.25, drawing.Plain)
			f.Line(x, f.y+0.9, f.right(), f.y+0.9, 0.25, drawing.Plain)
			f.y += 1.8
		}
	}
	f.y += 5
	return nil
}

func lastStrong(totals []Total) int {
	last := -1
	for i, t := range totals {
		if t.Strong {
			last = i
		}
	}
	return last
}

// due is what is still to be paid, ruled off.
type due struct{ label, amount string }

func (d due) read() templ.Component { return readDue(d) }

func (d due) flow(f *flow) error {
	st := style(serif, 14, drawing.Accent)
	f.need(18)
	f.Line(f.side, f.y+1, f.right(), f.y+1, 0.5, drawing.Accent)
	f.y += 3
	f.row(settled(f.side, f.inner()*0.5, d.label, st, 9, drawing.Left),
		settled(f.right()-f.inner()*0.45, f.inner()*0.45, d.amount, st, 9, drawing.Right))
	f.y += 4
	return nil
}

// approval says how to answer: a code with the private link, and in words.
type approval struct {
	tongue tongue.Tongue
	url    string // empty once it no longer serves
	words  []string
}

func (a approval) heading() string { return a.tongue.Say("paper.how_to_answer") }

func (a approval) read() templ.Component { return readApproval(a) }

func (a approval) flow(f *flow) error {
	const size = 30.0
	f.section(a.heading(), 46)
	indent, low, page := 0.0, 0.0, f.Page()
	if a.url != "" {
		indent = size + 4
		f.need(size)
		page = f.Page()
		// The code's own white zone stands in for the gap at its left and top.
		if err := f.QR(f.side-2, f.y-1, size, a.url); err != nil {
			return err
		}
		low = f.y + size
	}
	x, width := f.side+indent, f.inner()-indent
	for i, words := range a.words {
		f.row(placed{x: x, width: width, lines: linesOf(drawing.Block{Lines: f.body.Wrap(words, width), Style: f.body})})
		f.y += 1.4
		if i == 0 && a.url != "" {
			url := f.body.At(8).In(drawing.Accent).Settle(a.url, 6, width)
			f.need(url.Height())
			f.Link(x, f.y, width, url.Height(), a.url)
			f.y = f.Block(x, f.y, width, url, drawing.Left) + 2
		}
	}
	if f.Page() == page {
		f.y = max(f.y, low)
	}
	f.y += 2
	return nil
}
