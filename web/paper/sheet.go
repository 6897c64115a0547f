package paper

import (
	"bytes"
	"errors"
	"fmt"
	"regexp"
	"strings"
	"time"
	"unicode/utf16"
	"unicode/utf8"

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
	pdf   *fpdf.Fpdf
	w, h  float64
	used  map[face]map[rune]bool
	boxes []textBox // every line drawn and
	codes []textBox // every bar code with its quiet zone, for the tests of what crosses or leaves the page
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
	return s.directed(x, y, line, rightToLeft(line), st, align)
}

// directed draws a prepared line whose paragraph has the given direction.
func (s *sheet) directed(x, y float64, line string, rtl bool, st style, align alignment) float64 {
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
	s.drawRuns(x, y, visual(line, rtl), st)
	return w
}

// setLine draws a line of a block width mm wide: from the left, or up to the right
// where its paragraph runs from right to left.
func (s *sheet) setLine(x, y, width float64, line setLine, st style) {
	if line.rtl {
		s.directed(x+width, y, line.text, true, st, right)
		return
	}
	s.directed(x, y, line.text, false, st, left)
}

// drawRuns sets characters in visual order, a run for each change of face.
// Readers of PDF put right-to-left runs back into logical order themselves; only
// replaced characters need their text beside them, as ActualText.
func (s *sheet) drawRuns(x, y float64, runes []rune, st style) {
	s.pdf.SetTextColor(st.ink.r, st.ink.g, st.ink.b)
	for _, run := range faceRuns(runes, st.face) {
		shown := run.text
		if run.replaced {
			shown = strings.Repeat(string(replacement), utf8.RuneCountInString(run.text))
			s.pdf.RawWriteStr("/Span <</ActualText <" + utf16Hex(run.text) + ">>> BDC")
		}
		s.useFace(run.face, shown)
		s.pdf.SetFont(familyName(run.face), "", st.size)
		s.pdf.Text(x, y, shown)
		if run.replaced {
			s.pdf.RawWriteStr("EMC")
		}
		part := st
		part.face = run.face
		x += part.width(shown)
	}
}

// faceRun is text that one face draws, or characters that none has.
type faceRun struct {
	face     face
	text     string
	replaced bool
}

// faceRuns parts a line by the face that has each character.
func faceRuns(runes []rune, f face) []faceRun {
	var runs []faceRun
	for _, r := range runes {
		in, shown := f.forRune(r)
		replaced := shown != r
		if n := len(runs); n > 0 && runs[n-1].face == in && runs[n-1].replaced == replaced {
			runs[n-1].text += string(r)
			continue
		}
		runs = append(runs, faceRun{in, string(r), replaced})
	}
	return runs
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
// the last.
func (s *sheet) block(x, y, width float64, b block) float64 {
	for _, line := range b.lines {
		s.setLine(x, y+b.style.ascent(), width, line, b.style)
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
