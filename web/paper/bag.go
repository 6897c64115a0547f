package paper

import (
	"cmp"
	"strings"

	"ledgerwheel/web/paper/drawing"
)

// BagLabel goes on the bag or tray that holds the watch (62 x 29 mm).
type BagLabel struct {
	Shop     string
	Lang     string
	Docket   string
	Code     string // what the QR says; empty is the docket number
	Maker    string
	Model    string
	Serial   string
	Promised string
	Order    string   // number that a firm gave its order; may be empty
	Hazards  []string // words such as "RADIUM"; printed white on black
}

func (l BagLabel) document() document {
	return document{size: label, title: "Bag label", number: l.Docket, issuer: Issuer{Name: l.Shop}, lang: l.Lang,
		draw: l.draw, parts: []part{
			plain{numeral: l.Docket},
			prose{paragraphs: []string{l.watch(), l.serial()}, manner: inStrong},
			prose{paragraphs: []string{l.hazards()}, id: "label-hazards", manner: inStrong},
			prose{paragraphs: []string{l.promised()}},
		}}
}

func (l BagLabel) watch() string   { return strings.TrimSpace(l.Maker + " " + l.Model) }
func (l BagLabel) hazards() string { return strings.Join(l.Hazards, " · ") }

func (l BagLabel) serial() string {
	var parts []string
	if l.Serial != "" {
		parts = append(parts, "No. "+l.Serial)
	}
	if l.Order != "" {
		parts = append(parts, "order "+l.Order)
	}
	return strings.Join(parts, " · ")
}

func (l BagLabel) promised() string {
	if l.Promised == "" {
		return ""
	}
	return "for " + l.Promised
}

func (l BagLabel) draw(d *drawing.Drawing) ([]Field, error) {
	// The margin is the quiet zone of the Code 128, with which the text lines up.
	const margin, qrSize, barsAt = 3.4, 18.0, 19.6
	m := &measured{Drawing: d}
	d.AddPage()
	if err := d.QR(d.W-qrSize-0.5, 0.5, qrSize, cmp.Or(l.Code, l.Docket)); err != nil {
		return nil, err
	}
	width := d.W - qrSize - margin - 0.5
	black := func(st drawing.Style) drawing.Style { return st.In(drawing.Black) }
	body := black(style(sans, 6.8, drawing.Black))
	number := black(style(serif, 14, drawing.Black))
	y := m.put(place{margin, 1.2, width, number.LineHeight()}, "Docket", l.Docket, number, drawing.Left) - 0.5
	last := barsAt - body.LineHeight() - 0.9
	room := last - y
	if l.serial() != "" {
		room -= body.LineHeight()
	}
	y = m.put(place{margin, y, width, room}, "Watch", l.watch(), style(sansBold, 8, drawing.Black), drawing.Left)
	m.put(place{margin, y, width, last - y}, "Serial", l.serial(), body, drawing.Left)
	m.warn(margin, last, width, l, body)
	// Four dots of a 300 dpi label printer make a bar.
	const bar = 4 * 25.4 / 300
	if _, _, err := d.Code128(margin, barsAt, d.W-2*margin, 8.2, bar, drawing.Left, l.Docket); err != nil {
		return nil, err
	}
	return m.rest, nil
}

// warn sets the promised date and, before it, the hazard words reversed out of a black bar: they must be seen before
// the bag is opened.
func (m *measured) warn(x, y, width float64, l BagLabel, body drawing.Style) {
	if words := l.hazards(); words != "" {
		loud := style(sansBold, 6.8, drawing.White)
		share := width * 0.6
		w := share
		if b, whole := loud.Fit(words, leastType, share, body.LineHeight()); whole && len(b.Lines) == 1 {
			w = b.Style.Width(b.Lines[0].Text)
		}
		m.Rect(x, y, w+2, body.LineHeight()+0.2, drawing.Black)
		m.put(place{x + 1, y + 0.1, share, body.LineHeight()}, "Hazards", words, loud, drawing.Left)
		x += w + 3.5
		width -= w + 3.5
	}
	m.put(place{x, y + 0.1, width, body.LineHeight()}, "Promised", l.promised(), body, drawing.Left)
}
