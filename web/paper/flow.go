package paper

import (
	"fmt"
	"time"
)

// A4 and its margins, in mm.
const (
	a4Width      = 210.0
	a4Height     = 297.0
	marginSide   = 20.0
	marginTop    = 16.0
	marginBottom = 22.0
	footGap      = 4.0 // from the body to the rule of the foot
	a4Inner      = a4Width - 2*marginSide
)

// Styles of the A4 papers; sizes in points.
var (
	bodyStyle    = style{sans, 9, textInk}
	strongStyle  = style{sansBold, 9, textInk}
	smallStyle   = style{sans, 7.5, quietInk}
	labelStyle   = style{sans, 7, quietInk}
	titleStyle   = style{serif, 20, textInk}
	sectionStyle = style{serifNarrow, 12, accentInk}
	shopStyle    = style{serif, 15, accentInk}
)

// Issuer is the shop as its papers name it.
type Issuer struct {
	Name      string
	Address   []string // one line each
	Contact   []string // telephone, mail, site; one line each
	TaxNumber string   // with its own words, as "VAT no. ..."; empty if there is none
}

// Field is a label and what stands beside it.
type Field struct {
	Label, Value string
}

// flow fills A4 pages from the top and breaks them.
type flow struct {
	*sheet
	y       float64 // top of what comes next
	issuer  Issuer
	running string // head of pages after the first, and of the foot
	onBreak func() // draws what repeats on a new page; nil outside tables
}

// newFlow opens an A4 paper called title about a docket.
func newFlow(is Issuer, title, docket, lang string, created time.Time) (*flow, error) {
	s, err := newSheet(about{
		title: title + " " + docket, subject: title, author: is.Name, lang: lang, created: created,
	}, a4Width, a4Height)
	if err != nil {
		return nil, err
	}
	s.addPage()
	return &flow{sheet: s, y: marginTop, issuer: is, running: title + " · docket " + docket}, nil
}

func (f *flow) bottom() float64 { return a4Height - marginBottom }

// need breaks the page unless height mm are left, and reports whether it did.
func (f *flow) need(height float64) bool {
	if f.y+height <= f.bottom() {
		return false
	}
	f.breakPage()
	return true
}

func (f *flow) breakPage() {
	f.addPage()
	f.y = marginTop
	st := style{serifNarrow, 9, accentInk}
	baseline := f.y + st.ascent()
	f.fitted(marginSide, baseline, a4Inner*0.45, f.issuer.Name, st, 7, left)
	f.fitted(a4Width-marginSide, baseline, a4Inner*0.5, f.running, smallStyle, 6, right)
	f.y = f.ledgerRule(marginSide, a4Width-marginSide, f.y+st.lineHeight()+0.6, 0.3) + 6
	if f.onBreak != nil {
		f.onBreak()
	}
}

// feet writes the foot of every page once their number is known.
func (f *flow) feet() {
	pages := f.pdf.PageCount()
	for n := 1; n <= pages; n++ {
		f.pdf.SetPage(n)
		y := a4Height - marginBottom + footGap
		f.line(marginSide, y, a4Width-marginSide, y, 0.15, brassInk)
		baseline := y + 1.2 + smallStyle.ascent()
		w := f.text(a4Width-marginSide, baseline, fmt.Sprintf("Page %d of %d", n, pages), smallStyle, right)
		f.fitted(marginSide, baseline, a4Inner-w-6, f.issuer.Name+" · "+f.running, smallStyle, 6, left)
	}
	if f.replaced() {
		f.pdf.SetPage(pages)
		f.text(marginSide, a4Height-marginBottom+footGap+1.2+smallStyle.lineHeight()+smallStyle.ascent(),
			string(replacement)+" stands for a character that the type of this paper lacks.", smallStyle.at(6.5), left)
	}
}

// replaced reports whether any character was printed as Replacement.
func (s *sheet) replaced() bool { return s.used[sans][replacement] }

// finish writes the feet and closes the document.
func (f *flow) finish() ([]byte, error) {
	f.feet()
	return f.bytes()
}

// letterhead sets the shop at the top of the first page.
func (f *flow) letterhead() {
	const nameShare = 0.55
	f.fitted(marginSide, f.y+shopStyle.ascent(), a4Inner*nameShare, f.issuer.Name, shopStyle, 9, left)
	f.y += shopStyle.lineHeight()
	right1 := append(append([]string{}, f.issuer.Address...), f.issuer.Contact...)
	if f.issuer.TaxNumber != "" {
		right1 = append(right1, f.issuer.TaxNumber)
	}
	y := marginTop
	half := (len(right1) + 1) / 2
	if len(right1) <= 3 {
		half = len(right1)
	}
	columns := [][]string{right1[:half], right1[half:]}
	x := a4Width - marginSide
	for i := len(columns) - 1; i >= 0; i-- {
		if len(columns[i]) == 0 {
			continue
		}
		yy := y + 0.6
		widest := 0.0
		for _, line := range columns[i] {
			widest = max(widest, f.fitted(x, yy+smallStyle.ascent(), a4Inner*(1-nameShare)/2-3, line, smallStyle, 5.5, right))
			yy += smallStyle.lineHeight()
		}
		f.y = max(f.y, yy)
		x -= widest + 6
	}
	f.y = f.ledgerRule(marginSide, a4Width-marginSide, f.y+1.5, 0.6) + 8
}

// title sets the paper's name, with the docket number and its Code 128 at the right.
func (f *flow) title(name, under, docket string) error {
	const codeWidth, codeHeight = 62.0, 9.0
	top := f.y
	f.fitted(marginSide, top+titleStyle.ascent(), a4Inner-codeWidth-8, name, titleStyle, 11, left)
	if under != "" {
		st := style{serifItalic, 10, quietInk}
		f.fitted(marginSide, top+titleStyle.lineHeight()+st.ascent(), a4Inner-codeWidth-8, under, st, 7, left)
	}
	from, to, err := f.code128(a4Width-marginSide-codeWidth, top+1, codeWidth, codeHeight, 0.38, right, docket)
	if err != nil {
		return err
	}
	st := style{sans, 8.5, textInk}
	f.fitted((from+to)/2, top+codeHeight+1.8+st.ascent(), codeWidth, "Docket "+docket, st, 6, centre)
	f.y = top + titleStyle.lineHeight() + 10
	return nil
}

// section sets a heading that keeps company with at least follow mm below it.
func (f *flow) section(name string, follow float64) {
	f.need(sectionStyle.lineHeight() + 3 + follow)
	f.fitted(marginSide, f.y+sectionStyle.ascent(), a4Inner, name, sectionStyle, 8, left)
	f.y += sectionStyle.lineHeight() + 1.6
}

// fields sets labelled values in columns, each value wrapped under its label.
func (f *flow) fields(fields []Field, columns int) {
	const gap = 6.0
	width := (a4Inner - gap*float64(columns-1)) / float64(columns)
	var kept []Field
	for _, field := range fields {
		if oneLine(field.Value) != "" {
			kept = append(kept, field)
		}
	}
	for len(kept) > 0 {
		n := min(columns, len(kept))
		tallest := 0.0
		blocks := make([]block, n)
		for i, field := range kept[:n] {
			blocks[i] = bodyStyle.fitBlock(field.Value, 7, width, 3*bodyStyle.lineHeight())
			tallest = max(tallest, blocks[i].height())
		}
		f.need(labelStyle.lineHeight() + tallest + 2.4)
		for i, field := range kept[:n] {
			x := marginSide + float64(i)*(width+gap)
			f.fitted(x, f.y+labelStyle.ascent(), width, field.Label, labelStyle, 5.5, left)
			f.block(x, f.y+labelStyle.lineHeight(), width, blocks[i])
		}
		f.y += labelStyle.lineHeight() + tallest + 2.4
		kept = kept[n:]
	}
}

// prose sets paragraphs over the full width, over as many pages as they take.
func (f *flow) prose(text string, st style) {
	for _, line := range st.wrap(text, a4Inner) {
		f.need(st.lineHeight())
		f.setLine(marginSide, f.y+st.ascent(), a4Inner, line, st)
		f.y += st.lineHeight()
	}
}

// signatures sets lines to sign on, up to three in a row.
func (f *flow) signatures(roles []string) {
	const height, gap, perRow = 17.0, 8.0, 3
	for len(roles) > 0 {
		n := min(perRow, len(roles))
		f.need(height)
		width := (a4Inner - gap*(perRow-1)) / perRow
		for i, role := range roles[:n] {
			x := marginSide + float64(i)*(width+gap)
			f.line(x, f.y+10, x+width, f.y+10, 0.2, textInk)
			f.fitted(x, f.y+11+labelStyle.ascent(), width, role, labelStyle, 5.5, left)
		}
		f.y += height
		roles = roles[n:]
	}
}
