package paper

import (
	"github.com/a-h/templ"

	"ledgerwheel/web/paper/drawing"
)

// TestPrint is a sheet with a ruler, by which somebody sees whether a printer prints true to size (A4).
type TestPrint struct {
	Shop  string
	Lang  string
	Title string
	Notes []string
}

func (s TestPrint) document() document {
	return document{size: a4, title: s.Title, number: "ruler", issuer: Issuer{Name: s.Shop}, lang: s.Lang, running: s.Title,
		parts: []part{
			plain{name: s.Title},
			title{s.Title},
			prose{paragraphs: s.Notes},
			prose{paragraphs: []string{"100 mm"}, manner: inStrong},
			ruler{},
		}}
}

// ruler is 100 mm long, with a mark for each millimetre and longer ones for fives and tens.
type ruler struct{}

func (ruler) read() templ.Component { return templ.NopComponent }

func (ruler) flow(f *flow) error {
	const long, fine, thick = 100, 0.15, 0.3
	f.need(20)
	base := f.y + 12
	f.Line(f.side, base, f.side+long, base, fine, drawing.Plain)
	for mm := range long + 1 {
		high, width := 3.0, fine
		switch {
		case mm == 0 || mm == long:
			high, width = 11, thick
		case mm%10 == 0:
			high = 7
		case mm%5 == 0:
			high = 5
		}
		x := f.side + float64(mm)
		f.Line(x, base-high, x, base, width, drawing.Plain)
	}
	f.y = base + 6
	return nil
}
