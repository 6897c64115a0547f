package drawing

import (
	"bytes"
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode/utf16"
	"unicode/utf8"

	"codeberg.org/go-pdf/fpdf"

	"ledgerwheel/web/paper/script"
	"ledgerwheel/web/paper/typeface"
)

// ErrNoDate reports a paper made without a creation date.
var ErrNoDate = errors.New("paper: no creation date")

// About is what a PDF says of itself.
type About struct {
	Title, Subject, Author string
	Lang                   string // BCP 47; empty is en-GB
	Created                time.Time
	Pictures               Pictures // nil leaves the places of pictures empty
}

var langTag = regexp.MustCompile(`^[A-Za-z]{2,8}(-[A-Za-z0-9]{1,8})*$`) // form of a tag in BCP 47

// pdfWriter writes a drawing; used has the characters of each face, for the names of its subsets.
type pdfWriter struct {
	*fpdf.Fpdf
	h    float64
	used map[typeface.Face]map[rune]bool
	of   Pictures
}

// PDF writes the drawing. The same drawing with the same words about it gives the same bytes.
func (d *Drawing) PDF(a About) ([]byte, error) {
	if a.Created.IsZero() {
		return nil, ErrNoDate
	}
	if a.Lang == "" {
		a.Lang = "en-GB"
	}
	if !langTag.MatchString(a.Lang) {
		return nil, fmt.Errorf("paper: %q is not a language tag", a.Lang)
	}
	w := &pdfWriter{fpdf.NewCustom(&fpdf.InitType{UnitStr: "mm", Size: fpdf.SizeType{Wd: d.W, Ht: d.H}}), d.H,
		map[typeface.Face]map[rune]bool{}, a.Pictures}
	w.SetAutoPageBreak(false, 0)
	w.SetMargins(0, 0, 0)
	w.SetCellMargin(0)
	w.SetCatalogSort(true)
	w.SetCreationDate(a.Created.UTC())
	w.SetModificationDate(a.Created.UTC())
	w.SetTitle(basic(a.Title), true)
	w.SetSubject(basic(a.Subject), true)
	w.SetAuthor(basic(a.Author), true)
	w.SetCreator("Ledgerwheel", true)
	w.SetProducer("Ledgerwheel", true)
	w.SetLang(a.Lang)
	w.SetDisplayMode("fullpage", "SinglePage")
	for _, p := range d.pages {
		w.AddPage()
		for _, o := range p.ops {
			o.pdf(w)
		}
	}
	var out bytes.Buffer
	if err := w.Output(&out); err != nil {
		return nil, fmt.Errorf("paper: %w", err)
	}
	return typeface.NameSubsets(out.Bytes(), w.used), nil
}

// basic keeps text within the plane that the writer can write.
func basic(text string) string {
	return strings.Map(func(r rune) rune {
		if r > 0xFFFF {
			return script.Replacement
		}
		return r
	}, strings.ToValidUTF8(text, string(script.Replacement)))
}

// pdf sets the line's characters in visual order, a run for each change of face. Readers of PDF put right-to-left runs
// back into logical order themselves; only replaced characters need their text beside them, as ActualText.
func (t textOp) pdf(w *pdfWriter) {
	w.SetTextColor(t.style.Ink.R, t.style.Ink.G, t.style.Ink.B)
	x := t.x
	for _, run := range faceRuns(script.Visual(t.line.Text, t.line.RTL), t.style.Face) {
		shown := run.text
		if run.replaced {
			shown = strings.Repeat(string(script.Replacement), utf8.RuneCountInString(run.text))
			w.RawWriteStr("/Span <</ActualText <" + utf16Hex(run.text) + ">>> BDC")
		}
		w.useFace(run.face, shown)
		w.SetFont(run.face.Family(), "", t.style.Size)
		w.Text(x, t.y, shown)
		if run.replaced {
			w.RawWriteStr("EMC")
		}
		part := t.style
		part.Face = run.face
		x += part.Width(shown)
	}
}

// useFace registers a face when it is first needed and notes what it draws.
func (w *pdfWriter) useFace(f typeface.Face, text string) {
	if w.used[f] == nil {
		w.used[f] = map[rune]bool{}
		w.AddUTF8FontFromBytes(f.Family(), "", slices.Clone(f.TTF()))
	}
	for _, r := range text {
		w.used[f][r] = true
	}
}

// faceRun is text that one face draws, or characters that none has.
type faceRun struct {
	face     typeface.Face
	text     string
	replaced bool
}

// faceRuns parts a line by the face that has each character.
func faceRuns(runes []rune, f typeface.Face) []faceRun {
	var runs []faceRun
	for _, r := range runes {
		in, shown := f.Pick(r)
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

// style sets pen and fill, and gives the writer's word for what is drawn with them.
func (w *pdfWriter) style(pen *Stroke, fill *Ink) string {
	how := ""
	if fill != nil {
		w.SetFillColor(fill.R, fill.G, fill.B)
		how = "F"
	}
	if pen != nil {
		w.SetDrawColor(pen.Ink.R, pen.Ink.G, pen.Ink.B)
		w.SetLineWidth(pen.Width)
		w.SetDashPattern(pen.Dash, 0)
		w.SetLineCapStyle("butt")
		if pen.Round {
			w.SetLineCapStyle("round")
		}
		how += "D"
	}
	return how
}

func (p pathOp) pdf(w *pdfWriter) {
	how := w.style(p.pen, p.fill)
	if !p.closed {
		w.Line(p.points[0][0], p.points[0][1], p.points[1][0], p.points[1][1])
		return
	}
	points := make([]fpdf.PointType, len(p.points))
	for i, at := range p.points {
		points[i] = fpdf.PointType{X: at[0], Y: at[1]}
	}
	w.Polygon(points, how)
}

func (c circleOp) pdf(w *pdfWriter) { w.Circle(c.x, c.y, c.r, w.style(c.pen, c.fill)) }

func (l linkOp) pdf(w *pdfWriter) { w.LinkString(l.x, l.y, l.w, l.h, l.url) }

// pdf fills all rectangles as one path: drawn singly, some printers and viewers leave a hair of light between
// neighbours.
func (c codeOp) pdf(w *pdfWriter) {
	num := func(mm float64) string { return strconv.FormatFloat(mm/MMPerPoint, 'f', 4, 64) }
	w.SetFillColor(0, 0, 0)
	var b strings.Builder
	for _, r := range c.m.rects {
		top := c.y + float64(r.y)*c.h
		fmt.Fprintf(&b, "%s %s %s %s re\n", num(c.x+float64(r.x)*c.w), num(w.h-top),
			num(float64(r.w)*c.w), num(-float64(r.h)*c.h))
	}
	b.WriteString("f")
	w.RawWriteStr(b.String())
}
