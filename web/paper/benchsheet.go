package paper

import (
	"slices"

	"github.com/a-h/templ"

	"ledgerwheel/web/paper/drawing"
)

// BenchSheet is the sheet of bar codes that works the bench view: printed once, laminated and kept at the bench (A4).
type BenchSheet struct {
	Shop  string
	Lang  string
	Notes []string
	Codes []BenchCode
}

// BenchCode is one code of the sheet.
type BenchCode struct {
	Code string // what the Code 128 says
	Says string // "Next position"
	Does string
}

func (s BenchSheet) document() document {
	return document{size: a4, title: "Sheet of codes", number: "for the bench", issuer: Issuer{Name: s.Shop}, lang: s.Lang,
		running: "Sheet of codes for the bench",
		parts: []part{
			plain{name: "At the bench"},
			title{"At the bench"},
			prose{paragraphs: s.Notes},
			codeGrid{s.Codes},
		}}
}

// title is a paper's name where it bears no number.
type title struct{ name string }

func (t title) read() templ.Component { return templ.NopComponent }

func (t title) flow(f *flow) error {
	f.row(settled(f.side, f.inner(), t.name, f.title, 13, drawing.Left))
	f.y += 3
	return nil
}

// codeGrid is bar codes two abreast, each under what it says. They stand so far apart that a scanner meets one alone.
type codeGrid struct{ codes []BenchCode }

func (g codeGrid) read() templ.Component { return readCodes(g) }

func (g codeGrid) flow(f *flow) error {
	const abreast, gap, barsHigh, bar, below = 2, 22.0, 11.0, 0.38, 8.0
	width := (f.inner() - gap) / abreast
	for row := range slices.Chunk(g.codes, abreast) {
		says, does := make([]drawing.Block, len(row)), make([]drawing.Block, len(row))
		words := 0.0
		for i, c := range row {
			says[i], does[i] = f.strong.At(14).Settle(c.Says, 9, width), f.body.Settle(c.Does, 6, width)
			words = max(words, says[i].Height()+does[i].Height())
		}
		f.need(words + barsHigh + below)
		for i, c := range row {
			x := f.side + float64(i)*(width+gap)
			f.Block(x, f.Block(x, f.y, width, says[i], drawing.Left), width, does[i], drawing.Left)
			if _, _, err := f.Code128(x, f.y+words+1, width, barsHigh, bar, drawing.Left, c.Code); err != nil {
				return err
			}
		}
		f.y += words + barsHigh + below + 1
	}
	return nil
}
