package paper

import (
	"slices"

	"github.com/a-h/templ"

	"ledgerwheel/web/paper/drawing"
)

// DrawerLabel goes on the drawer of a part (62 x 29 mm).
type DrawerLabel struct {
	Shop       string
	Lang       string
	PartNumber string // the shop's own
	Name       string
	Place      string // cabinet and drawer; may be empty
	URL        string // the part's page, as the QR code says it
	Code       string // what the bars say
}

func (l DrawerLabel) document() document {
	return document{size: label, title: "Drawer label", number: l.PartNumber, issuer: Issuer{Name: l.Shop}, lang: l.Lang, draw: l.draw,
		parts: []part{
			plain{numeral: l.PartNumber},
			prose{paragraphs: []string{l.Name}, manner: inStrong},
			prose{paragraphs: []string{l.Place}},
		}}
}

func (l DrawerLabel) draw(d *drawing.Drawing) ([]Field, error) {
	d.AddPage()
	m := &measured{Drawing: d}
	err := m.drawer(0, 0, d.W, l)
	return m.rest, err
}

// drawer sets a label 29 mm high with its upper left corner at x and y. The margin is the quiet zone of the Code 128.
func (m *measured) drawer(x, y, w float64, l DrawerLabel) error {
	const margin, qrSize, barsAt, bar = 3.4, 18.0, 20.2, 4 * 25.4 / 300 // four dots of a 300 dpi label printer make a bar
	if err := m.QR(x+w-qrSize-0.5, y+0.5, qrSize, l.URL); err != nil {
		return err
	}
	width := w - qrSize - margin - 0.5
	black := func(st drawing.Style) drawing.Style { return st.In(drawing.Black) }
	number, body := black(style(serif, 14, drawing.Black)), black(style(sans, 7.5, drawing.Black))
	at := m.put(place{x + margin, y + 1.2, width, number.LineHeight()}, "Number", l.PartNumber, number, drawing.Left) - 0.3
	last := y + barsAt - body.LineHeight() - 0.7
	m.put(place{x + margin, at, width, last - at}, "Name", l.Name, style(sansBold, 8, drawing.Black), drawing.Left)
	m.put(place{x + margin, last, width, body.LineHeight()}, "Place", l.Place, body, drawing.Left)
	_, _, err := m.Code128(x+margin, y+barsAt, w-2*margin, 7.6, bar, drawing.Left, l.Code)
	return err
}

// DrawerLabels are labels of drawers on sheets of A4, to be cut apart.
type DrawerLabels struct {
	Shop, Lang string
	Labels     []DrawerLabel
}

func (s DrawerLabels) document() document {
	return document{size: a4, title: "Drawer labels", issuer: Issuer{Name: s.Shop}, lang: s.Lang, running: "Drawer labels",
		parts: []part{plain{name: "Drawer labels"}, title{"Drawer labels"}, labelGrid{s.Labels}}}
}

// labelGrid is labels two abreast, with a hairline around each to cut along.
type labelGrid struct{ labels []DrawerLabel }

func (g labelGrid) read() templ.Component { return readLabels(g) }

func (g labelGrid) flow(f *flow) error {
	const abreast, wide, high, apart = 2, 62.0, 29.0, 4.0
	for row := range slices.Chunk(g.labels, abreast) {
		f.need(high + apart)
		var rest []placed
		for i, l := range row {
			x := f.side + float64(i)*(wide+apart)
			m := &measured{Drawing: f.Drawing}
			if err := m.drawer(x, f.y, wide, l); err != nil {
				return err
			}
			f.Path([][2]float64{{x, f.y}, {x + wide, f.y}, {x + wide, f.y + high}, {x, f.y + high}}, true, &drawing.Stroke{Width: 0.1, Ink: drawing.Quiet}, nil)
			for _, lost := range m.rest {
				rest = append(rest, settled(f.side, f.inner(), l.PartNumber+": "+lost.Value, f.fine, 6, drawing.Left))
			}
		}
		f.y += high + apart
		for _, p := range rest { // what a label had no room for
			f.row(p)
		}
	}
	return nil
}
