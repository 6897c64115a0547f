package paper

import (
	"strings"

	"github.com/a-h/templ"

	"ledgerwheel/domain/logo"
	"ledgerwheel/web/paper/drawing"
	"ledgerwheel/web/paper/script"
)

// letterhead is the shop at the top of a paper.
type letterhead struct {
	Issuer
	close bool // on a small paper: address and contact a line each
}

// lines are where and how to reach the shop.
func (l letterhead) lines() []string {
	if !l.close {
		return l.Issuer.lines()
	}
	var kept []string
	for _, line := range []string{strings.Join(l.Address, ", "), strings.Join(l.Contact, " · "), l.TaxNumber} {
		if line != "" {
			kept = append(kept, line)
		}
	}
	return kept
}

// pictureURL is where a page finds a logo.
func pictureURL(name logo.Name) string { return drawing.PicturePath + string(name) }

func (l letterhead) read() templ.Component { return readLetterhead(l) }

func (l letterhead) flow(f *flow) error {
	if l.close {
		w, h := l.Logo.Fit(f.w*0.25, 12)
		top, width := f.y, f.inner()
		if h > 0 {
			f.Picture(f.right()-w, top, w, h, string(l.Logo))
			width -= w + 3
		}
		f.row(settled(f.side, width, l.Name, f.shop, 9, drawing.Left))
		for _, line := range l.lines() {
			f.row(settled(f.side, width, line, f.fine, f.fine.Size*0.9, drawing.Left))
		}
		f.y = max(f.y, top+h)
		f.y = f.LedgerRule(f.side, f.right(), f.y+1.2, 0.5) + 2
		return nil
	}
	const nameShare, between = 0.52, 5.0
	lines := l.lines()
	name := settled(f.side, f.inner()*nameShare, l.Name, f.shop, 10, drawing.Left)
	columns := [][]string{lines}
	if len(lines) > 3 {
		half := (len(lines) + 1) / 2
		columns = [][]string{lines[:half], lines[half:]}
	}
	width := (f.inner()*(1-nameShare) - between*float64(len(columns))) / float64(len(columns))
	var cells []placed
	top, below := f.y, 0.0
	if w, h := l.Logo.Fit(64, 16); h > 0 { // the name stands under the logo
		f.Picture(f.side, top, w, h, string(l.Logo))
		f.y += h + 1.5
		f.abreast(name)
		f.y, below = top, f.y
	} else {
		cells = []placed{name}
	}
	for i, column := range columns {
		c := placed{x: f.right() - width - float64(len(columns)-1-i)*(width+between), width: width, align: drawing.Right}
		for _, line := range column {
			c.lines = append(c.lines, linesOf(f.small.Settle(line, 6, width))...)
		}
		cells = append(cells, c)
	}
	f.abreast(cells...)
	f.y = max(f.y, below)
	f.y = f.LedgerRule(f.side, f.right(), f.y+1.5, 0.6) + 7
	return nil
}

// abreast sets columns each with its own height of line, where a page holds them; else as a row.
func (f *flow) abreast(cells ...placed) {
	tallest := 0.0
	heights := make([]float64, len(cells))
	for i, c := range cells {
		for _, l := range c.lines {
			heights[i] += l.style.LineHeight()
		}
		tallest = max(tallest, heights[i])
	}
	if tallest > f.room() {
		f.row(cells...)
		return
	}
	f.need(tallest)
	for _, c := range cells {
		y := f.y
		for _, l := range c.lines {
			f.SetLine(c.x, y, c.width, l.Line, l.style, c.align)
			y += l.style.LineHeight()
		}
	}
	f.y += tallest
}

// head is the paper's name, with the docket's number and its Code 128.
type head struct {
	name, under string
	code        string // what the Code 128 says
	codeWords   string // what stands with it
}

func (h head) read() templ.Component { return readHead(h) }

func (h head) flow(f *flow) error {
	if f.w < a4.w {
		return h.onTicket(f)
	}
	const codeWidth, codeHeight = 62.0, 9.0
	width := f.inner() - codeWidth - 8
	start, page := f.y, f.Page()
	from, to, err := f.Code128(f.right()-codeWidth, f.y+1, codeWidth, codeHeight, 0.38, drawing.Right, h.code)
	if err != nil {
		return err
	}
	b := f.body.At(8.5).Settle(h.codeWords, 6, codeWidth)
	low := f.Block((from+to)/2-codeWidth/2, f.y+codeHeight+1.8, codeWidth, b, drawing.Centre)
	f.row(settled(f.side, width, h.name, f.title, 13, drawing.Left))
	f.row(settled(f.side, width, h.under, f.quoted.In(drawing.Quiet), 8, drawing.Left))
	if f.Page() == page {
		f.y = max(f.y, low, start)
	}
	f.y += 4
	return nil
}

// onTicket sets the number large over its bars, and the paper's name small above it.
func (h head) onTicket(f *flow) error {
	const barHeight = 9.5
	name := f.label.Width(script.OneLine(h.name)) + 2
	f.abreast(settled(f.side, f.inner(), h.name, f.label, 5, drawing.Left),
		settled(f.side+name, f.inner()-name, h.under, f.label, 5, drawing.Right))
	f.row(settled(f.side, f.inner(), h.codeWords, f.title, 10, drawing.Left))
	bar := min(0.5, f.inner()/180)
	if _, _, err := f.Code128(f.side, f.y, f.inner(), barHeight, bar, drawing.Left, h.code); err != nil {
		return err
	}
	f.y += barHeight + 2
	return nil
}

// parties are the customer at the left and facts about the paper at the right.
type parties struct {
	customer []string
	facts    []Field
}

func (p parties) read() templ.Component { return readParties(p) }

func (p parties) flow(f *flow) error {
	const factsX, labelWidth = 118.0, 30.0
	who := placed{x: f.side, width: factsX - f.side - 8}
	for i, line := range p.customer {
		st := f.body.At(10)
		if i == 0 {
			st = f.strong.At(10)
		}
		who.lines = append(who.lines, linesOf(st.Settle(line, 8, who.width))...)
	}
	labels := placed{x: factsX, width: labelWidth - 2}
	values := placed{x: factsX + labelWidth, width: f.right() - factsX - labelWidth}
	for _, fact := range stated(p.facts) {
		l := linesOf(f.body.In(drawing.Quiet).Settle(fact.Label, 7, labels.width))
		v := linesOf(f.body.Settle(fact.Value, 7, values.width))
		for len(l) < len(v) {
			l = append(l, styledLine{style: v[len(l)].style})
		}
		labels.lines, values.lines = append(labels.lines, l...), append(values.lines, v...)
	}
	f.abreast(who, labels, values)
	f.y += f.gap(5)
	return nil
}
