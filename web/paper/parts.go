package paper

import (
	"cmp"
	"strings"

	"github.com/a-h/templ"

	"ledgerwheel/domain/text"
	"ledgerwheel/domain/tongue"
	"ledgerwheel/web/paper/drawing"
	"ledgerwheel/web/paper/script"
)

// section sets a heading that keeps company with at least follow mm below it.
func (f *flow) section(name string, follow float64) {
	if name == "" {
		return
	}
	b := f.styles.section.Settle(name, 6, f.inner())
	f.need(b.Height() + 1.6 + min(follow, f.room()/2))
	f.row(placed{x: f.side, width: f.inner(), lines: linesOf(b)})
	f.y += f.gap(1.4)
}

// stated leaves out what has no value.
func stated(list []Field) []Field {
	var kept []Field
	for _, field := range list {
		if script.OneLine(field.Value) != "" {
			kept = append(kept, field)
		}
	}
	return kept
}

// fields are labelled values in columns, each value wrapped under its label; a code to scan may stand at their right.
type fields struct {
	list   []Field
	perRow int // 0 as the paper's size has it
	strong int // how many of the first are strong
	qr     string
	words  string // what scanning does
	ruled  bool   // a rule closes them
	id     string
}

func (p fields) read() templ.Component { return readFields(p) }

func (p fields) flow(f *flow) error {
	gap, columns := f.gap(6), cmp.Or(p.perRow, f.perRow)
	width, low, page := f.inner(), 0.0, f.Page()
	if p.qr != "" {
		const side = 27.0
		f.need(side + 4)
		page = f.Page()
		width -= side
		x := f.right() - side + 2 // the code's white zone runs into the margin
		if err := f.QR(x, f.y-1, side, p.qr); err != nil {
			return err
		}
		low = f.Block(x, f.y-1+side, side-3, f.label.Settle(p.words, 5, side-3), drawing.Centre)
	}
	each := (width - gap*float64(columns-1)) / float64(columns)
	kept := stated(p.list)
	for at := 0; at < len(kept); {
		n := min(columns, len(kept)-at)
		if at < p.strong {
			n = 1 // each on a line of its own
		}
		cells := make([]placed, n)
		for i, field := range kept[at : at+n] {
			x, w, st := f.side+float64(i)*(each+gap), each, f.body
			if at < p.strong {
				st, w = f.strong.At(f.strong.Size*1.1), (width-gap*float64(n-1))/float64(n)
				x = f.side + float64(i)*(w+gap)
			}
			cells[i] = placed{x: x, width: w, lines: append(linesOf(f.label.Settle(field.Label, 5, w)),
				linesOf(st.Settle(field.Value, st.Size*0.85, w))...)}
		}
		f.row(cells...)
		f.y += f.gap(2.2)
		at += n
	}
	if f.Page() == page {
		f.y = max(f.y, low)
	}
	if p.ruled {
		f.y += 0.6
		f.Line(f.side, f.y, f.right(), f.y, 0.15, drawing.Brass)
		f.y += 1.4
	}
	return nil
}

// manner is how a paragraph is set.
type manner int

const (
	inBody manner = iota
	inStrong
	inQuotes // somebody's own words
	inFine
	inLetter // a letter is read at arm's length: larger, with room between its paragraphs
)

// prose is paragraphs, over as many pages as they take.
type prose struct {
	heading, id string
	paragraphs  []string
	manner      manner
}

func (p prose) read() templ.Component { return readProse(p) }

func (p prose) flow(f *flow) error {
	p.set(f)
	return nil
}

// said are the paragraphs that say something.
func (p prose) said() []string {
	var kept []string
	for _, words := range p.paragraphs {
		if strings.TrimSpace(script.Prepare(words)) != "" {
			kept = append(kept, words)
		}
	}
	return kept
}

func (p prose) set(f *flow) {
	said := p.said()
	if len(said) == 0 {
		return
	}
	st := [...]drawing.Style{inBody: f.body, inStrong: f.strong, inQuotes: f.quoted, inFine: f.fine, inLetter: f.letter()}[p.manner]
	between := f.gap(1.2)
	if p.manner == inLetter {
		between = f.gap(4)
	}
	f.section(p.heading, 2*st.LineHeight())
	for _, words := range said {
		lines := st.Wrap(words, f.inner())
		f.need(float64(min(2, len(lines))) * st.LineHeight()) // no line of a paragraph stands alone below a page
		for _, line := range lines {
			f.need(st.LineHeight())
			f.SetLine(f.side, f.y, f.inner(), line, st, drawing.Left)
			f.y += st.LineHeight()
		}
		f.y += between
	}
	f.y += f.gap(2)
}

// verdict is the judgement of the whole between two rules.
type verdict struct {
	tongue           tongue.Tongue
	mark             drawing.Mark
	sentence, judged string
}

func (v verdict) word() string          { return text.Capital(markWord(v.tongue, v.mark)) }
func (v verdict) read() templ.Component { return readVerdict(v) }

func (v verdict) flow(f *flow) error {
	const size = 7.0
	st := style(serif, 13, drawing.Plain)
	f.need(size + 14)
	f.y++
	f.Line(f.side, f.y, f.right(), f.y, 0.15, drawing.Brass)
	f.y += 3
	f.Lozenge(f.side+size/2, f.y+size/2, size, v.mark)
	x := f.side + size + 6
	width := f.right() - x
	f.row(settled(x, width, v.word(), st, 13, drawing.Left))
	for _, line := range f.body.Wrap(v.sentence, width) {
		f.row(placed{x: x, width: width, lines: []styledLine{{line, f.body}}})
	}
	f.row(settled(x, width, v.judged, f.small, 6.5, drawing.Left))
	f.y += 3
	f.Line(f.side, f.y, f.right(), f.y, 0.15, drawing.Brass)
	f.y += 5
	return nil
}

// markKey explains the lozenges in one line.
type markKey struct{ tongue tongue.Tongue }

func (markKey) marks() []drawing.Mark {
	return []drawing.Mark{drawing.Pass, drawing.Fail, drawing.Undecided, drawing.NotMeasured}
}
func (k markKey) word(m drawing.Mark) string { return markWord(k.tongue, m) }
func (k markKey) read() templ.Component      { return readMarkKey(k) }

func (k markKey) flow(f *flow) error {
	const size = 3.0
	f.need(f.body.LineHeight() + 2)
	x := f.side
	for _, m := range k.marks() {
		f.Lozenge(x+size/2, f.y+f.small.Ascent()-f.small.CapHeight()/2, size, m)
		x += size + 1.6
		x += f.Text(x, f.y+f.small.Ascent(), k.word(m), f.small, drawing.Left) + 7
	}
	f.y += f.small.LineHeight() + 4
	return nil
}

// signatures are lines to sign on.
type signatures struct {
	roles    []string
	atBottom bool // of the page, where there is room
}

func (s signatures) read() templ.Component { return readSignatures(s) }

func (s signatures) flow(f *flow) error {
	const most = 3
	room := f.body.Size
	for roles := s.roles; len(roles) > 0; {
		n := min(most, len(roles))
		gap := f.gap(8)
		width := (f.inner() - gap*float64(max(2, min(most, len(s.roles)))-1)) / float64(max(2, min(most, len(s.roles))))
		cells := make([]placed, n)
		tall := 0
		for i, role := range roles[:n] {
			cells[i] = settled(f.side+float64(i)*(width+gap), width, role, f.label, 5, drawing.Left)
			tall = max(tall, len(cells[i].lines))
		}
		height := room + 1 + float64(tall)*f.label.LineHeight()
		f.need(min(height, f.room()))
		if s.atBottom && f.h != longestRoll && len(roles) == n {
			f.y = max(f.y, f.lowest()-height)
		}
		f.y += room
		for _, c := range cells {
			f.Line(c.x, f.y, c.x+c.width, f.y, 0.2, drawing.Plain)
		}
		f.y++
		f.row(cells...)
		f.y += f.gap(3)
		roles = roles[n:]
	}
	return nil
}

// items is a list of short lines.
type items struct {
	heading string
	list    []string
}

func (l items) read() templ.Component { return readItems(l) }

func (l items) flow(f *flow) error {
	prose{heading: l.heading, paragraphs: l.list}.set(f)
	return nil
}

// plain is the name of what is drawn to measure, as a page reads it.
type plain struct{ over, name, under, numeral string }

func (p plain) read() templ.Component { return readPlain(p) }
func (p plain) flow(*flow) error      { return nil }
