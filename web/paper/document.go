package paper

import (
	"slices"
	"time"

	"github.com/a-h/templ"

	"ledgerwheel/domain/logo"
	"ledgerwheel/domain/tongue"
	"ledgerwheel/web/paper/drawing"
)

// Paper is what the shop hands over: it describes itself once, and becomes a page and a PDF.
type Paper interface{ document() document }

// document is a paper described: its parts in the order in which they are read.
type document struct {
	size    size
	title   string // as "Invoice"
	number  string // of docket or card
	issuer  Issuer
	lang    string // BCP 47; empty is en-GB
	tongue  tongue.Tongue
	parts   []part
	running string // head of pages after the first, and of the foot; empty is title and docket
	// draw sets a paper that is drawn to measure (card, label) and says what did not fit; that flows on over further
	// pages of the same size. The parts then are how the paper is read.
	draw func(d *drawing.Drawing) (rest []Field, err error)
}

// part is one thing that a paper is made of.
type part interface {
	// flow sets the part at the flow's place.
	flow(f *flow) error
	// read is the part as a page shows it.
	read() templ.Component
}

// Set lays a paper out.
func Set(p Paper) (Sheets, error) {
	doc := p.document()
	d, err := doc.lay()
	if err != nil {
		return Sheets{}, err
	}
	return Sheets{doc, d}, nil
}

// PDF sets a paper and writes it as a PDF. What a code is made of must fit it ([drawing.ErrCodeTooLong]); created must
// not be zero ([drawing.ErrNoDate]). The same paper always gives the same bytes. Pictures gives what its pictures show; nil
// leaves their places empty.
func PDF(p Paper, created time.Time, pictures drawing.Pictures) ([]byte, error) {
	s, err := Set(p)
	if err != nil {
		return nil, err
	}
	return s.PDF(created, pictures)
}

// Sheets is a paper laid out.
type Sheets struct {
	doc     document
	drawing *drawing.Drawing
}

// PDF writes the sheets as [PDF] does.
func (s Sheets) PDF(created time.Time, pictures drawing.Pictures) ([]byte, error) {
	return s.drawing.PDF(drawing.About{Title: s.doc.title + " " + s.doc.number, Subject: s.doc.title,
		Author: s.doc.issuer.Name, Lang: s.doc.lang, Created: created, Pictures: pictures})
}

// Pages counts the sheets, or the faces of a card.
func (s Sheets) Pages() int { return s.drawing.Pages() }

// Lacking lists the characters that no type at hand has: the PDF prints a sign in their place.
func (s Sheets) Lacking() []rune { return s.drawing.Lacking() }

// LackingIn lists the lines in which they stand, as they were typed.
func (s Sheets) LackingIn() []string { return s.drawing.LackingIn() }

// Size names the paper's size, as css/print.css does.
func (s Sheets) Size() string { return s.doc.size.name }

// Overflows reports that the paper takes more pages than it is meant to.
func (s Sheets) Overflows() bool { return s.doc.size.pages > 0 && s.Pages() > s.doc.size.pages }

// size is a paper's measure; lengths in mm.
type size struct {
	name              string
	w, h              float64
	side, top, bottom float64 // margins
	pages             int     // that it is meant to take; 0 where it may run on
	footed            bool    // every page has a foot; else only where there are several
	squeezes          []float64
	styles
}

// styles are the type of one size of paper; sizes in points.
type styles struct {
	body, strong, small, fine, label, title, section, shop, quoted drawing.Style
	perRow                                                         int // fields abreast, where the part does not say
}

// letter is the body of a letter.
func (st styles) letter() drawing.Style {
	s := st.body
	s.Size *= 1.15
	return s
}

// scaled sets everything but the head smaller.
func (st styles) scaled(by float64) styles {
	for _, s := range []*drawing.Style{&st.body, &st.strong, &st.small, &st.fine, &st.label, &st.quoted} {
		s.Size *= by
	}
	return st
}

// lay sets the parts over as many pages as they take: where the size allows it a little smaller, if that saves a page.
func (doc document) lay() (*drawing.Drawing, error) {
	if doc.draw != nil {
		return doc.toMeasure()
	}
	first, err := doc.flowed(1)
	if err != nil || first.Pages() == 1 {
		return first, err
	}
	for _, by := range doc.size.squeezes {
		if d, err := doc.flowed(by); err == nil && d.Pages() == 1 {
			return d, nil
		}
	}
	return first, nil
}

func (doc document) flowed(by float64) (*drawing.Drawing, error) {
	f := newFlow(doc, by)
	for _, p := range doc.parts {
		if err := p.flow(f); err != nil {
			return nil, err
		}
	}
	f.finish()
	return f.Drawing, nil
}

// toMeasure draws a card or label, and what it has no room for on further ones.
func (doc document) toMeasure() (*drawing.Drawing, error) {
	d := drawing.New(doc.size.w, doc.size.h)
	rest, err := doc.draw(d)
	if err != nil || len(rest) == 0 {
		return d, err
	}
	f := &flow{Drawing: d, size: doc.size, doc: doc}
	f.styles = doc.size.styles
	f.breakPage()
	for _, field := range rest {
		prose{heading: field.Label, paragraphs: []string{field.Value}}.set(f)
	}
	return d, nil
}

// Issuer is the shop as its papers name it.
type Issuer struct {
	Name      string
	Address   []string  // one line each
	Contact   []string  // telephone, mail, site; one line each
	Logo      logo.Name // "" for none
	TaxNumber string    // with its own words, as "VAT no. ..."; empty if there is none
}

// lines are where and how to reach it.
func (i Issuer) lines() []string {
	all := slices.Concat(i.Address, i.Contact)
	if i.TaxNumber != "" {
		all = append(all, i.TaxNumber)
	}
	return all
}

// Field is a label and what stands beside it.
type Field struct {
	Label, Value string
}

// docket names a docket within a line.
func (doc document) docket(number string) string {
	return doc.tongue.Say("paper.docket_within", "number", number)
}

func (doc document) pageOf(n, pages int) string {
	return doc.tongue.Say("paper.page_of", "n", n, "pages", pages)
}
