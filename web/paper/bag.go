package paper

import (
	"strings"
	"time"
)

// Bag label stock, in mm.
const (
	bagWidth  = 62.0
	bagHeight = 29.0
	// labelMargin is the quiet zone of the Code 128, with which the text lines up.
	labelMargin = 3.4
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
	Hazards  []string // words such as "RADIUM"; printed white on black
}

// Texts is as [ClaimTicket.Texts].
func (l BagLabel) Texts() []string { return append([]string{l.Maker, l.Model, l.Serial}, l.Hazards...) }

// PDF sets the label; errors as [Estimate.PDF].
func (l BagLabel) PDF(created time.Time) ([]byte, error) {
	s, err := l.layout(created)
	if err != nil {
		return nil, err
	}
	return s.bytes()
}

func (l BagLabel) layout(created time.Time) (*sheet, error) {
	const margin, qrSize = labelMargin, 18.0
	if l.Code == "" {
		l.Code = l.Docket
	}
	s, err := newSheet(about{
		title: "Bag label " + l.Docket, subject: "Watch bag label", author: l.Shop, lang: l.Lang, created: created,
	}, bagWidth, bagHeight)
	if err != nil {
		return nil, err
	}
	s.addPage()
	if err := s.qr(bagWidth-qrSize-0.5, 0.5, qrSize, l.Code); err != nil {
		return nil, err
	}
	width := bagWidth - qrSize - margin - 0.5
	y := 1.6
	number := style{serif, 13.5, black}
	s.fitted(margin, y+number.ascent(), width, l.Docket, number, 8, left)
	y += number.lineHeight() - 0.7
	strong, body := style{sansBold, 7.5, black}, style{sans, 6.8, black}
	s.fitted(margin, y+strong.ascent(), width, l.Maker+" "+l.Model, strong, 5, left)
	y += strong.lineHeight()
	if l.Serial != "" {
		s.fitted(margin, y+body.ascent(), width, "No. "+l.Serial, body, 5, left)
	}
	y += body.lineHeight()
	s.hazards(margin, y, width, l)
	// Four dots of a 300 dpi label printer make a bar.
	const bar = 4 * 25.4 / 300
	if _, _, err := s.code128(margin, bagHeight-9.4, bagWidth-2*margin, 8.2, bar, left, l.Docket); err != nil {
		return nil, err
	}
	return s, nil
}

// hazards sets the promised date and, before it, the hazard words reversed out of
// a black bar: they must be seen before the bag is opened.
func (s *sheet) hazards(x, y, width float64, l BagLabel) {
	body, loud := style{sans, 6.8, black}, style{sansBold, 6.8, whiteInk}
	if words := strings.Join(l.Hazards, " · "); oneLine(words) != "" {
		line, st := loud.fit(words, 4.8, width*0.66)
		w := st.width(line) + 2
		s.pdf.SetFillColor(black.r, black.g, black.b)
		s.pdf.Rect(x, y+0.1, w, body.lineHeight()+0.1, "F")
		s.text(x+1, y+body.ascent()+0.1, line, st, left)
		x += w + 1.5
		width -= w + 1.5
	}
	if l.Promised != "" {
		s.fitted(x, y+body.ascent()+0.1, width, "for "+l.Promised, body, 4.8, left)
	}
}
