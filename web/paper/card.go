package paper

import (
	"cmp"
	"slices"
	"strings"

	"ledgerwheel/domain/tongue"
	"ledgerwheel/web/paper/drawing"
	"ledgerwheel/web/paper/script"
)

// Margins of ISO/IEC 7810 ID-1, in mm.
const (
	cardMargin = 4.5
	cardInner  = 85.60 - 2*cardMargin
)

// Styles of the card; sizes in points.
var (
	cardLabel = style(sans, 5, drawing.Quiet)
	cardBody  = style(sans, 6.4, drawing.Plain)
	cardHead  = style(serif, 7.4, drawing.Accent)
)

// CardRate is a final rate in one position, formatted.
type CardRate struct {
	Symbol    string // ISO 3158
	Rate      string // s/d
	Amplitude string // degrees; may be empty
}

// WarrantyCard is the signed card the watch leaves with (ISO/IEC 7810 ID-1, both
// faces). Its ground is not printed.
type WarrantyCard struct {
	Issuer    Issuer
	Lang      string
	Tongue    tongue.Tongue
	Number    string // empty while it is a draft
	Docket    string
	Watch     string  // maker and model
	Serials   []Field // case, movement, reference
	WorkDone  []string
	Rates     []CardRate
	RatesNote string // as "full wind, ± 0.6 s/d (k = 2)"
	Term      string // as "24 months"
	From      string
	Until     string
	Covers    string
	Code      string // the link that proves the card genuine; empty while it is a draft
	Proof     string // what follows the link: the card's signed facts, in capitals and digits; empty for older cards
	Key       string // the fingerprint of the key that signed it, grouped
	CodeWords string // empty is "Scan to check this card"
	CheckAt   string // where the number is typed to check it without scanning
}

// Headings and labels of the card.
func (c WarrantyCard) coversHeading() string { return c.Tongue.Say("paper.card.covers") }
func (c WarrantyCard) ratesHeading() string  { return c.Tongue.Say("paper.card.rates") }
func (c WarrantyCard) workHeading() string   { return c.Tongue.Say("paper.card.work") }
func (c WarrantyCard) label() string         { return c.Tongue.Say("paper.card.card") }

func (c WarrantyCard) document() document {
	rates := table{heading: c.ratesHeading(), columns: []column{{}, {align: drawing.Right}, {align: drawing.Right}}}
	for _, r := range c.Rates {
		rates.rows = append(rates.rows, []cell{{text: r.Symbol, strong: true}, {text: r.Rate}, {text: r.amplitude()}})
	}
	doc := document{size: id1, title: c.Tongue.Say("paper.card"), number: c.Number, issuer: c.Issuer, lang: c.Lang,
		tongue: c.Tongue, running: c.label() + " " + c.number(), draw: c.draw, parts: []part{
			plain{over: c.Tongue.Say("paper.card.warranty"), name: c.Watch, under: c.Issuer.Name},
			fields{list: append(c.terms(), c.Serials...)},
			prose{paragraphs: present(c.codeWords(), c.keyWords()), manner: inFine},
			items{c.workHeading(), c.WorkDone},
		}}
	if len(c.Rates) > 0 {
		doc.parts = append(doc.parts, rates, prose{paragraphs: []string{c.RatesNote}, manner: inFine})
	}
	doc.parts = append(doc.parts, prose{heading: c.coversHeading(), paragraphs: []string{c.Covers}},
		prose{paragraphs: []string{c.where(), c.contact(), c.proof()}, manner: inFine})
	return doc
}

// number is the card's, or that it has none yet.
func (c WarrantyCard) number() string {
	return cmp.Or(c.Number, c.Tongue.Say("paper.card.not_issued"))
}

// terms are from when until when the card serves, and which it is.
func (c WarrantyCard) terms() []Field {
	term := c.Term
	switch {
	case term == "":
		term = c.From
	case c.From != "":
		term = c.Tongue.Say("paper.card.term_from", "term", term, "day", c.From)
	}
	return []Field{{c.Tongue.Say("paper.card.until"), c.Until}, {c.Tongue.Say("paper.card.term"), term},
		{c.label(), c.number()}, {c.Tongue.Say("paper.docket_word"), c.Docket}}
}

func (c WarrantyCard) codeWords() string {
	if c.Code == "" && c.Proof == "" {
		return c.Tongue.Say("paper.card.code_follows")
	}
	return cmp.Or(c.CodeWords, c.Tongue.Say("paper.card.scan"))
}

// keyWords name the key under which the code holds, to be compared with where else the shop states it.
func (c WarrantyCard) keyWords() string {
	if c.Key == "" {
		return ""
	}
	return c.Tongue.Say("paper.card.key", "key", c.Key)
}

// present leaves out empty lines.
func present(lines ...string) []string {
	return slices.DeleteFunc(lines, func(s string) bool { return s == "" })
}

func (c WarrantyCard) where() string {
	return strings.Join(append([]string{c.Issuer.Name}, c.Issuer.Address...), " · ")
}
func (c WarrantyCard) contact() string { return strings.Join(c.Issuer.Contact, " · ") }

// proof is the number, and where to type it.
func (c WarrantyCard) proof() string {
	if c.CheckAt == "" || c.Number == "" {
		return c.label() + " " + c.number()
	}
	return c.CheckAt + " · " + c.Number
}

func (r CardRate) amplitude() string {
	if r.Amplitude == "" {
		return ""
	}
	return r.Amplitude + "°"
}

func (c WarrantyCard) draw(d *drawing.Drawing) ([]Field, error) {
	m := &measured{Drawing: d}
	d.AddPage()
	if err := c.front(m); err != nil {
		return nil, err
	}
	d.AddPage()
	c.back(m)
	return m.rest, nil
}

// large reports whether the code holds signed facts, as every new card's does, and so takes as much as the front has
// room for: the longest then has modules of 0.35 mm.
func (c WarrantyCard) large() bool { return c.Proof != "" || c.Code == "" }

// Sides of the code in mm, quiet zone included.
const largeCode, smallCode = 34.0, 25.0

// front says which watch, for how long, and proves itself by the QR code.
func (c WarrantyCard) front(m *measured) error {
	const top = cardMargin - 0.6
	size := smallCode
	if c.large() {
		size = largeCode
	}
	x2 := m.W - cardMargin
	shop, watch := style(serif, 11, drawing.Accent), style(serif, 11.5, drawing.Plain)
	w := m.Text(x2, top+shop.Ascent(), c.Tongue.Say("paper.card.warranty"), style(serifItalic, 8.5, drawing.Brass), drawing.Right)
	nameX, low := cardMargin, top+shop.LineHeight()
	if lw, lh := c.Issuer.Logo.Fit(15, 4.6); lh > 0 {
		m.Picture(cardMargin, top, lw, lh, string(c.Issuer.Logo))
		nameX, low = nameX+lw+1.6, max(low, top+lh)
	}
	y := m.put(place{nameX, top, x2 - nameX - w - 4, 7}, c.Tongue.Say("paper.card.shop"), c.Issuer.Name, shop, drawing.Left)
	y = m.LedgerRule(cardMargin, x2, max(y, low)+0.4, 0.4) + 1.6
	words := present(c.codeWords(), c.keyWords())
	lines := float64(len(words))
	wordsY := m.H - cardMargin - 0.8 - (lines-1)*cardLabel.LineHeight()
	qrX, qrY := x2-size+2.2, wordsY-size-0.2
	width, high := cardInner, min(8.6, qrY-y)
	if c.large() { // the watch stands beside the code, not above it
		qrX = x2 - size + 1.6
		width, high = qrX-1-cardMargin, 8.6
	}
	y = m.put(place{cardMargin, y, width, high}, c.Tongue.Say("paper.watch"), c.Watch, watch, drawing.Left) + 0.8
	at := place{qrX + 1, wordsY, size - 2, lines*cardLabel.LineHeight() + 0.01}
	var err error
	switch {
	case c.Proof != "":
		err = m.MixedQR(qrX, qrY, size, c.Code, c.Proof)
	case c.Code != "":
		err = m.QR(qrX, qrY, size, c.Code)
	default:
		at.y, at.h = qrY+size/2-3, 9
	}
	if err != nil {
		return err
	}
	m.put(at, c.Tongue.Say("paper.card.code"), strings.Join(words, "\n"), cardLabel, drawing.Centre)
	c.frontFields(m, y, qrX-1)
	return nil
}

// frontFields sets serials above a hairline and the term under it, left of x2.
func (c WarrantyCard) frontFields(m *measured, y, x2 float64) {
	const gap, most = 3.0, 4
	half := (x2 - cardMargin - gap) / 2
	low := cardLabel.LineHeight() + cardBody.LineHeight() + 0.7
	spots := c.termSpots(half, x2-cardMargin, gap, low)
	foot := m.H - cardMargin - spots[2].y - low + 1.6
	serials := stated(c.Serials)
	shown := serials[:min(most, len(serials))]
	m.rest = append(m.rest, serials[len(shown):]...)
	row := min((foot-1.8-y)/2, 8)
	for i, serial := range shown {
		m.labelled(place{cardMargin + float64(i%2)*(half+gap), y + float64(i/2)*row, half, row - 0.4}, serial, cardBody)
	}
	m.Line(cardMargin, foot-1.2, x2, foot-1.2, 0.12, drawing.Brass)
	for i, field := range c.terms() {
		st := cardBody
		if i == 0 || i == 2 {
			st = style(sansBold, 6.6, drawing.Plain)
		}
		at := spots[i]
		m.labelled(place{cardMargin + at.x, foot + at.y, at.w, low}, field, st)
	}
}

// termSpots are the places of until, term, card and docket from the corner of their field on: in two columns or, beside
// a large code, with a line of its own for what is long. The third is the lowest.
func (c WarrantyCard) termSpots(half, whole, gap, low float64) []place {
	if !c.large() {
		return []place{{0, 0, half, low}, {half + gap, 0, half, low}, {0, low, half, low}, {half + gap, low, half, low}}
	}
	return []place{{0, 0, half, low}, {0, low, whole, low}, {0, 2 * low, whole, low}, {half + gap, 0, half, low}}
}

// back says what was done, how the watch went when it left, and what is covered.
func (c WarrantyCard) back(m *measured) {
	const ratesWidth, gap, coverHeight, footHeight, top = 25.0, 4.0, 13.4, 6.7, cardMargin - 0.6
	x2 := m.W - cardMargin
	foot := m.H - cardMargin - footHeight + 1.2
	cover := foot - coverHeight
	ratesX := x2 - ratesWidth
	width := cardInner
	if len(c.Rates) > 0 {
		width = ratesX - gap - cardMargin
		c.rates(m, place{ratesX, top, ratesWidth, cover - top - 1})
		m.Line(ratesX-gap/2, top+0.6, ratesX-gap/2, cover-2.2, 0.12, drawing.Brass)
	}
	y := m.heading(cardMargin, top, width, c.workHeading())
	m.list(place{cardMargin, y, width, cover - y - 2}, c.workHeading(), c.WorkDone)

	m.Line(cardMargin, cover-1.2, x2, cover-1.2, 0.12, drawing.Brass)
	y = m.heading(cardMargin, cover, cardInner, c.coversHeading())
	m.put(place{cardMargin, y, cardInner, foot - y - 0.8}, c.coversHeading(), c.Covers, cardBody.At(6), drawing.Left)

	y = m.LedgerRule(cardMargin, x2, foot, 0.3) + 0.5
	line := style(sans, 4.8, drawing.Quiet)
	const proofWidth = 28.0
	m.put(place{x2 - proofWidth, y, proofWidth, footHeight}, c.label(), c.proof(), line, drawing.Right)
	m.put(place{cardMargin, y, cardInner - proofWidth - 3, footHeight}, c.Tongue.Say("paper.card.address"), c.where()+"\n"+c.contact(), line,
		drawing.Left)
}

func (m *measured) heading(x, y, width float64, words string) float64 {
	return m.Block(x, y, width, cardHead.Settle(words, 5, width), drawing.Left) + 0.3
}

// list sets items, each after a dash with its lines hanging clear of it.
func (m *measured) list(at place, label string, list []string) {
	const hang, step = 2.0, 0.2
	var kept []string
	for _, item := range list {
		if line := script.OneLine(item); line != "" {
			kept = append(kept, line)
		}
	}
	text, st := strings.Join(kept, "\n"), cardBody
	for st.Size > leastType && (drawing.Block{Lines: st.Wrap(text, at.w-hang), Style: st}).Height() > at.h {
		st = st.At(st.Size - step)
	}
	y := at.y
	for i, item := range kept {
		b := drawing.Block{Lines: st.Wrap(item, at.w-hang), Style: st}
		if left := at.y + at.h - y; b.Height() > left+1e-9 { // rounding of the sum only
			m.rest = append(m.rest, Field{label, strings.Join(kept[i:], "\n")})
			m.Text(at.x, y-st.LineHeight()/2+st.Ascent(), "…", st, drawing.Left)
			return
		}
		m.Line(at.x+0.2, y+st.Ascent()-st.CapHeight()/2, at.x+1.2, y+st.Ascent()-st.CapHeight()/2, 0.15, drawing.Quiet)
		y = m.Block(at.x+hang, y, at.w-hang, b, drawing.Left)
	}
}

// rates sets the final rates as a small table.
func (c WarrantyCard) rates(m *measured, at place) {
	const most = 8
	y := m.heading(at.x, at.y, at.w, c.ratesHeading())
	shown := c.Rates[:min(most, len(c.Rates))]
	for _, r := range c.Rates[len(shown):] {
		m.rest = append(m.rest, Field{c.ratesHeading(), strings.TrimSpace(r.Symbol + " " + r.Rate + " " + r.amplitude())})
	}
	note := 2 * cardLabel.LineHeight()
	pitch := min(cardBody.LineHeight()+0.35, (at.y+at.h-y-note-0.8)/float64(len(shown)))
	st := cardBody.At(min(cardBody.Size, pitch/drawing.MMPerPoint/1.34))
	for _, r := range shown {
		rate := at.w * 0.42
		if r.Amplitude == "" {
			rate = at.w * 0.72
		}
		top := y + (pitch-st.LineHeight())/2
		m.put(place{at.x, top, at.w * 0.27, st.LineHeight()}, c.ratesHeading(), r.Symbol, st.In(drawing.Accent), drawing.Left)
		m.put(place{at.x + at.w*0.27, top, rate, st.LineHeight()}, c.ratesHeading(), r.Rate, st, drawing.Right)
		if r.Amplitude != "" {
			m.put(place{at.x + at.w*0.7, top, at.w * 0.3, st.LineHeight()}, c.ratesHeading(), r.amplitude(), st.In(drawing.Quiet),
				drawing.Right)
		}
		y += pitch
		m.Line(at.x, y, at.x+at.w, y, 0.1, drawing.Rule)
	}
	m.put(place{at.x, y + 0.5, at.w, note + 0.01}, c.ratesHeading(), c.RatesNote, cardLabel, drawing.Left)
}
