package paper

import (
	"slices"
	"strings"
	"time"
)

// ISO/IEC 7810 ID-1, in mm.
const (
	cardWidth  = 85.60
	cardHeight = 53.98
	cardMargin = 4.5
	cardInner  = cardWidth - 2*cardMargin
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
	Number    string
	Docket    string
	Watch     string  // maker and model
	Serials   []Field // case, movement, reference: the first four are printed
	WorkDone  []string
	Rates     []CardRate // the first eight are printed
	RatesNote string     // as "full wind, ± 0.6 s/d (k = 2)"
	Term      string     // as "24 months"
	From      string
	Until     string
	Covers    string
	Code      string // the link that proves the card genuine
	CodeWords string // empty is "Scan to check this card"
}

// Texts is as [ClaimTicket.Texts].
func (c WarrantyCard) Texts() []string {
	return slices.Concat(c.Issuer.texts(), fieldTexts(c.Serials), c.WorkDone,
		[]string{c.Watch, c.RatesNote, c.Term, c.Covers, c.CodeWords})
}

// PDF sets both faces, front first; errors as [Estimate.PDF].
func (c WarrantyCard) PDF(created time.Time) ([]byte, error) {
	s, err := c.layout(created)
	if err != nil {
		return nil, err
	}
	return s.bytes()
}

// Styles of the card; sizes in points. Nothing is set under 4.6.
var (
	cardLabel = style{sans, 5, quietInk}
	cardBody  = style{sans, 6.4, textInk}
	cardHead  = style{serifNarrow, 7.2, accentInk}
)

const cardLeast = 4.6

func (c WarrantyCard) layout(created time.Time) (*sheet, error) {
	s, err := newSheet(about{
		title: "Warranty card " + c.Number, subject: "Warranty card", author: c.Issuer.Name, lang: c.Lang, created: created,
	}, cardWidth, cardHeight)
	if err != nil {
		return nil, err
	}
	s.addPage()
	if err := c.front(s); err != nil {
		return nil, err
	}
	s.addPage()
	c.back(s)
	return s, nil
}

// front says which watch, for how long, and proves itself by the QR code.
func (c WarrantyCard) front(s *sheet) error {
	const qrSize = 25.0
	x2 := cardWidth - cardMargin
	y := cardMargin - 0.6
	shop := style{serif, 10.5, accentInk}
	w := s.text(x2, y+shop.ascent(), "Warranty", style{serifItalic, 8, brassInk}, right)
	s.fitted(cardMargin, y+shop.ascent(), cardInner-w-4, c.Issuer.Name, shop, 5.5, left)
	y = s.ledgerRule(cardMargin, x2, y+shop.lineHeight()+0.6, 0.4) + 2.2

	watch := style{serifNarrow, 11, textInk}
	s.fitted(cardMargin, y+watch.ascent(), cardInner, c.Watch, watch, 6.5, left)
	y += watch.lineHeight() + 1.4

	qrX, qrY := x2-qrSize+2.2, cardHeight-cardMargin-qrSize-1
	if err := s.qr(qrX, qrY, qrSize, c.Code); err != nil {
		return err
	}
	words := c.CodeWords
	if words == "" {
		words = "Scan to check this card"
	}
	s.fitted(qrX+qrSize/2, cardHeight-cardMargin+0.6, qrSize-2, words, cardLabel, 4, centre)
	c.frontFields(s, y, qrX-1)
	return nil
}

// frontFields sets serials above a hairline and the term under it, left of x2.
func (c WarrantyCard) frontFields(s *sheet, y, x2 float64) {
	const gap = 3.0
	half := (x2 - cardMargin - gap) / 2
	rowHeight := cardLabel.lineHeight() + cardBody.lineHeight() + 0.7
	shown := 0
	for _, serial := range c.Serials {
		if shown == 4 || oneLine(serial.Value) == "" {
			continue
		}
		x := cardMargin + float64(shown%2)*(half+gap)
		c.labelled(s, x, y+float64(shown/2)*rowHeight, half, serial, cardBody)
		shown++
	}
	y = cardHeight - cardMargin - 2*rowHeight + 2.2 // its last baseline is the caption's
	s.line(cardMargin, y-1.4, x2, y-1.4, 0.12, brassInk)
	strong := style{sansBold, 6.6, textInk}
	for i, field := range []Field{
		{"Warranty until", c.Until}, {"Term", joined(c.Term, c.From)},
		{"Card", c.Number}, {"Docket", c.Docket},
	} {
		st := cardBody
		if i == 0 || i == 2 {
			st = strong
		}
		c.labelled(s, cardMargin+float64(i%2)*(half+gap), y+float64(i/2)*rowHeight, half, field, st)
	}
}

func joined(term, from string) string {
	if from == "" {
		return term
	}
	return term + " from " + from
}

func (c WarrantyCard) labelled(s *sheet, x, y, width float64, f Field, st style) {
	s.fitted(x, y+cardLabel.ascent(), width, f.Label, cardLabel, cardLeast, left)
	s.fitted(x, y+cardLabel.lineHeight()+st.ascent(), width, f.Value, st, cardLeast, left)
}

// back says what was done, how the watch went when it left, and what is covered.
func (c WarrantyCard) back(s *sheet) {
	const ratesWidth, gap, coverHeight, footHeight = 25.0, 4.0, 13.2, 5.2
	x2 := cardWidth - cardMargin
	top := cardMargin - 0.6
	foot := cardHeight - cardMargin - footHeight + 1.2
	cover := foot - coverHeight
	ratesX := x2 - ratesWidth
	workWidth := cardInner
	if len(c.Rates) > 0 {
		workWidth = ratesX - gap - cardMargin
		c.rates(s, ratesX, top, ratesWidth, cover-top-1)
		s.line(ratesX-gap/2, top+0.6, ratesX-gap/2, cover-2.2, 0.12, brassInk)
	}
	y := c.heading(s, cardMargin, top, workWidth, "Work done")
	s.list(cardMargin, y, workWidth, cover-y-2, c.WorkDone, cardBody, cardLeast)

	s.line(cardMargin, cover-1.2, x2, cover-1.2, 0.12, brassInk)
	y = c.heading(s, cardMargin, cover, cardInner, "What this warranty covers")
	s.block(cardMargin, y, cardInner, cardBody.at(6).fitBlock(c.Covers, cardLeast, cardInner, foot-y-1))

	y = s.ledgerRule(cardMargin, x2, foot, 0.3) + 0.6
	line := style{sans, 4.8, quietInk}
	number, st := line.fit("Card "+c.Number, 4, cardInner/3)
	w := s.text(x2, y+line.ascent(), number, st, right)
	where := strings.Join(append([]string{c.Issuer.Name}, c.Issuer.Address...), " · ")
	for _, words := range []string{where, strings.Join(c.Issuer.Contact, " · ")} {
		s.fitted(cardMargin, y+line.ascent(), cardInner-w-3, words, line, 3.8, left)
		y += line.lineHeight()
	}
}

func (c WarrantyCard) heading(s *sheet, x, y, width float64, words string) float64 {
	s.fitted(x, y+cardHead.ascent(), width, words, cardHead, 5, left)
	return y + cardHead.lineHeight() + 0.3
}

// rates sets the final rates as a small table of height mm at most.
func (c WarrantyCard) rates(s *sheet, x, y, width, height float64) {
	const most = 8
	bottom := y + height
	y = c.heading(s, x, y, width, "Final rates, s/d")
	rates := c.Rates[:min(most, len(c.Rates))]
	note := cardLabel.fitBlock(c.RatesNote, 4, width, 2*cardLabel.lineHeight())
	pitch := min(cardBody.lineHeight()+0.35, (bottom-y-note.height()-0.8)/float64(len(rates)))
	st := cardBody.at(min(cardBody.size, pitch/mmPerPoint/1.2))
	for _, r := range rates {
		baseline := y + (pitch+st.capHeight())/2
		s.fitted(x, baseline, width*0.26, r.Symbol, style{sansBold, st.size, textInk}, cardLeast-1, left)
		rateEdge := x + width
		if r.Amplitude != "" {
			s.fitted(x+width, baseline, width*0.3, r.Amplitude+"°", st.in(quietInk), cardLeast-1, right)
			rateEdge = x + width*0.66
		}
		s.fitted(rateEdge, baseline, width*0.38, r.Rate, st, cardLeast-1, right)
		y += pitch
		s.line(x, y, x+width, y, 0.1, ruleInk)
	}
	s.block(x, y+0.6, width, note)
}
