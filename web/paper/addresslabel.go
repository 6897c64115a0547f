package paper

import (
	"github.com/a-h/templ"

	"ledgerwheel/domain/tongue"
)

// AddressLabel goes on a parcel (A6). It says neither what is in it nor what that is worth: whoever handles it reads it.
type AddressLabel struct {
	Issuer Issuer // from whom
	Lang   string
	Tongue tongue.Tongue // of the words around the address
	Docket string
	To     []string // a line each, in the order of the country it goes to
}

func (l AddressLabel) document() document {
	t := l.Tongue
	return document{size: a6, title: t.Say("paper.label"), number: l.Docket, issuer: l.Issuer, lang: l.Lang, tongue: t, parts: []part{
		prose{paragraphs: []string{t.Say("paper.label.from")}, manner: inFine},
		letterhead{l.Issuer, true},
		destination{t.Say("paper.label.to"), l.To},
		fields{list: []Field{{t.Say("paper.label.reference"), l.Docket}}, perRow: 1},
	}}
}

// destination is to whom a parcel goes, to be read at arm's length.
type destination struct {
	heading string
	lines   []string
}

func (p destination) read() templ.Component {
	return readDestination(p)
}

func (p destination) flow(f *flow) error {
	const size, least = 16.0, 9.0 // points
	f.section(p.heading, 20)
	f.y += f.gap(2)
	for _, line := range p.lines {
		f.row(placed{x: f.side, width: f.inner(), lines: linesOf(f.strong.At(size).Settle(line, least, f.inner()))})
		f.y += f.gap(1)
	}
	f.y += f.gap(6)
	return nil
}
