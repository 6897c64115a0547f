package paper

import (
	"bytes"
	"errors"
	"fmt"
	"regexp"
	"time"
	"unicode/utf16"

	"codeberg.org/go-pdf/fpdf"
)

// ErrNoDate reports a paper made without a creation date.
var ErrNoDate = errors.New("paper: no creation date")

// about is what a PDF says of itself.
type about struct {
	title, subject, author, lang string
	created                      time.Time
}

// textBox is where a line of text was drawn, in mm from the top left corner.
type textBox struct {
	page       int
	x, y, w, h float64
	text       string
}

// sheet draws on pages of one size. All lengths are in mm from the top left
// corner; y of text is its baseline.
type sheet struct {
	pdf    *fpdf.Fpdf
	w, h   float64
	used   map[face]map[rune]bool
	boxes  []textBox // every line drawn, for the tests of what stays inside the page
	images int
}

var langTag = regexp.MustCompile(`^[A-Za-z]{2,8}(-[A-Za-z0-9]{1,8})*$`) // form of a tag in BCP 47

func newSheet(a about, w, h float64) (*sheet, error) {
	if a.created.IsZero() {
		return nil, ErrNoDate
	}
	lang := a.lang
	if lang == "" {
		lang = "en-GB"
	}
	if !langTag.MatchString(lang) {
		return nil, fmt.Errorf("paper: %q is not a language tag", lang)
	}
	pdf := fpdf.NewCustom(&fpdf.InitType{UnitStr: "mm", Size: fpdf.SizeType{Wd: w, Ht: h}})
	pdf.SetAutoPageBreak(false, 0)
	pdf.SetMargins(0, 0, 0)
	pdf.SetCellMargin(0)
	pdf.SetCatalogSort(true)
	pdf.SetCreationDate(a.created.UTC())
	pdf.SetModificationDate(a.created.UTC())
	pdf.SetTitle(a.title, true)
	pdf.SetSubject(a.subject, true)
	pdf.SetAuthor(a.author, true)
	pdf.SetCreator("Ledgerwheel", true)
	pdf.SetProducer("Ledgerwheel", true)
	pdf.SetLang(lang)
	pdf.SetDisplayMode("fullpage", "SinglePage")
	s := &sheet{pdf: pdf, w: w, h: h, used: map[face]map[rune]bool{}}
	return s, nil
}

func (s *sheet) addPage() { s.pdf.AddPage() }

// bytes closes the document.
func (s *sheet) bytes() ([]byte, error) {
	s.pdf.SetPage(s.pdf.PageCount()) // the writer counts pages by the current one
	var out bytes.Buffer
	if err := s.pdf.Output(&out); err != nil {
		return nil, fmt.Errorf("paper: %w", err)
	}
	return s.nameSubsets(out.Bytes()), nil
}

// alignment of a line about its x.
type alignment int

const (
	left alignment = iota
	centre
	right
)

// text draws one line as it is: fit or cut it first. It returns the width in mm.
func (s *sheet) text(x, y float64, text string, st style, align alignment) float64 {
	line := oneLine(text)
	if line == "" {
		return 0
	}
	w := st.width(line)
	switch align {
	case centre:
		x -= w / 2
	case right:
		x -= w
	}
	s.boxes = append(s.boxes, textBox{s.pdf.PageNo(), x, y - st.ascent(), w, st.ascent() + st.descent(), line})
	s.drawRuns(x, y, line, st)
	return w
}

// drawRuns sets the line in visual order, a run for each change of face. Where
// that order or the characters differ from the text, the text itself goes into
// the page as ActualText, so that search and copy find it.
func (s *sheet) drawRuns(x, y float64, line string, st style) {
	runes := visual(line, rightToLeft(line))
	runs, plain := faceRuns(runes, st.face)
	plain = plain && string(runes) == line
	if !plain {
		s.pdf.RawWriteStr("/Span <</ActualText <" + utf16Hex(unjoin(line)) + ">>> BDC")
	}
	s.pdf.SetTextColor(st.ink.r, st.ink.g, st.ink.b)
	for _, run := range runs {
		s.useFace(run.face, run.text)
		s.pdf.SetFont(familyName(run.face), "", st.size)
		s.pdf.Text(x, y, run.text)
		part := st
		part.face = run.face
		x += part.width(run.text)
	}
	if !plain {
		s.pdf.RawWriteStr("EMC")
	}
}

type faceRun struct {
	face face
	text string
}

// faceRuns parts a line by the face that has each character; plain says that no
// character was replaced.
func faceRuns(runes []rune, f face) (runs []faceRun, plain bool) {
	plain = true
	for _, r := range runes {
		in, shown := f.forRune(r)
		plain = plain && shown == r
		if n := len(runs); n > 0 && runs[n-1].face == in {
			runs[n-1].text += string(shown)
			continue
		}
		runs = append(runs, faceRun{in, string(shown)})
	}
	return runs, plain
}

func utf16Hex(text string) string {
	var out bytes.Buffer
	out.WriteString("FEFF")
	for _, unit := range utf16.Encode([]rune(text)) {
		fmt.Fprintf(&out, "%04X", unit)
	}
	return out.String()
}

// fitted draws one line within width mm by the rule of style.fit and returns the
// width it took.
func (s *sheet) fitted(x, y, width float64, text string, st style, least float64, align alignment) float64 {
	line, st := st.fit(text, least, width)
	return s.text(x, y, line, st, align)
}

// block draws wrapped lines whose first line's top is y, and returns the y below
// the last. Paragraphs of right-to-left script stand at the right of the width.
func (s *sheet) block(x, y, width float64, b block) float64 {
	rtl := len(b.lines) > 1 && rightToLeft(b.lines[0])
	for _, line := range b.lines {
		baseline := y + b.style.ascent()
		if rtl {
			s.text(x+width, baseline, line, b.style, right)
		} else {
			s.text(x, baseline, line, b.style, left)
		}
		y += b.style.lineHeight()
	}
	return y
}

// line rules from (x1, y1) to (x2, y2), width in mm.
func (s *sheet) line(x1, y1, x2, y2, width float64, i ink) {
	s.pdf.SetDrawColor(i.r, i.g, i.b)
	s.pdf.SetLineWidth(width)
	s.pdf.Line(x1, y1, x2, y2)
}

// ledgerRule is the house's head rule: a thick line over a thin one. It returns
// the y below it.
func (s *sheet) ledgerRule(x1, x2, y, thick float64) float64 {
	s.line(x1, y, x2, y, thick, accentInk)
	gap := max(thick*1.6, 0.55)
	s.line(x1, y+gap, x2, y+gap, 0.12, accentInk)
	return y + gap
}

// dashed draws with a dash pattern, in mm, and takes it off again.
func (s *sheet) dashed(pattern []float64, draw func()) {
	s.pdf.SetDashPattern(pattern, 0)
	draw()
	s.pdf.SetDashPattern(nil, 0)
}
