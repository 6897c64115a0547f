package chart

import (
	"context"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"regexp"
	"strconv"
	"strings"
)

// width is the width of most charts in user units; heights vary. It is a little less than the column of the narrowest
// telephone that is looked at, 358 px, so that no type is smaller than textSize on any page.
const width = 352.0

// smallWidth is the width of a chart that stands in a table, where it is drawn at that size.
const smallWidth = 200.0

// Type sizes in user units, the least that is read at arm's length; static/css/chart.css sets the same one.
const (
	textSize  = 14.0 // ticks, symbols, figures
	smallSize = 14.0 // captions, words
)

// charWidth is the width of a figure in ems, a little above that of the fonts used, so that estimates err wide.
const charWidth = 0.6

// wordWidth is that of running text, narrower than figures.
const wordWidth = 0.52

// textWidth estimates the width of one line of text in user units.
func textWidth(s string, size float64) float64 { return float64(len([]rune(s))) * charWidth * size }

// svg collects a drawing. Text and attribute values are escaped as they are written.
type svg struct {
	b strings.Builder
}

// usualLength is the length of most drawings, in bytes.
const usualLength = 16 << 10

// attrs are attribute names and values in turn.
func (s *svg) open(tag string, attrs ...string) {
	if s.b.Cap() == 0 {
		s.b.Grow(usualLength)
	}
	s.b.WriteByte('<')
	s.b.WriteString(tag)
	for i := 0; i+1 < len(attrs); i += 2 {
		s.b.WriteByte(' ')
		s.b.WriteString(attrs[i])
		s.b.WriteString(`="`)
		s.b.WriteString(escape(attrs[i+1]))
		s.b.WriteByte('"')
	}
	s.b.WriteString(">")
}

func (s *svg) close(tag string) { s.b.WriteString("</" + tag + ">\n") }

func (s *svg) element(tag string, attrs ...string) {
	s.open(tag, attrs...)
	s.close(tag)
}

func (s *svg) textElement(tag, content string, attrs ...string) {
	s.open(tag, attrs...)
	s.b.WriteString(escape(content))
	s.close(tag)
}

// paragraph writes a text over as many lines as it needs, the first with its baseline at y, and returns the baseline
// after the last.
func (s *svg) paragraph(class string, x, y, room, size float64, content string) float64 {
	for _, line := range wrap(content, room, size) {
		s.text(class, start, x, y, line)
		y += lineHeight
	}
	return y
}

const lineHeight = 17.0

// wrap breaks a text between words into lines of a width.
func wrap(content string, room, size float64) []string {
	var lines []string
	line := ""
	for _, word := range strings.Fields(content) {
		longer := strings.TrimSpace(line + " " + word)
		if line != "" && float64(len([]rune(longer)))*wordWidth*size > room {
			lines, line = append(lines, line), word
			continue
		}
		line = longer
	}
	if line != "" {
		lines = append(lines, line)
	}
	for i := range lines {
		lines[i] = fit(lines[i], room, size) // a single word may be too long
	}
	return lines
}

// line draws a straight line.
func (s *svg) line(class string, x1, y1, x2, y2 float64) {
	s.element("path", "class", class, "d", stroke(x1, y1, x2, y2))
}

// stroke is the path of a straight line.
func stroke(x1, y1, x2, y2 float64) string {
	return "M" + num(x1) + " " + num(y1) + "L" + num(x2) + " " + num(y2)
}

// anchors of a text.
const (
	start  = "start"
	middle = "middle"
	end    = "end"
)

// text writes one line whose baseline is at y.
func (s *svg) text(class, anchor string, x, y float64, content string) {
	s.textElement("text", content, "class", class, "text-anchor", anchor, "x", num(x), "y", num(y))
}

// nameRow writes a row of the legend: a name, and a remark at the right or, where there is no room for both, below. It
// returns how much higher than one line the row became.
func (s *svg) nameRow(baseline float64, name, remark string) (more float64) {
	room := rightEdge - nameLeft
	beside := room - float64(len([]rune(remark)))*wordWidth*smallSize - 8
	if remark != "" && float64(len([]rune(name)))*wordWidth*textSize <= beside {
		s.text("chart-caption", end, rightEdge, baseline, remark)
		s.text("chart-name", start, nameLeft, baseline, name)
		return 0
	}
	foot := s.paragraph("chart-name", nameLeft, baseline, room, textSize, name)
	if remark != "" {
		foot = s.paragraph("chart-caption", nameLeft, foot, room, smallSize, remark)
	}
	return foot - baseline - lineHeight
}

// caption writes a row of the legend that is one remark, and returns how much higher than one line it became.
func (s *svg) caption(x, baseline float64, words string) (more float64) {
	return s.paragraph("chart-caption", x, baseline, rightEdge-x, smallSize, words) - baseline - lineHeight
}

// nameLeft is where the names of the legend begin, right of their marks.
const nameLeft = 20.0

// fit cuts a text that is too long for its room, with an ellipsis; the description has it whole.
func fit(s string, room, size float64) string {
	runes := []rune(s)
	most := int(room / (wordWidth * size))
	if len(runes) <= most {
		return s
	}
	return strings.TrimSpace(string(runes[:max(0, most-1)])) + "…"
}

// escape makes text safe in XML content and attributes; characters XML cannot hold become U+FFFD.
func escape(s string) string {
	if plainText(s) {
		return s
	}
	var b strings.Builder
	_ = xml.EscapeText(&b, []byte(s)) // a Builder never fails
	return b.String()
}

// plainText reports whether s has only ASCII characters that mean nothing to XML, as most of a drawing has.
func plainText(s string) bool {
	for i := range len(s) {
		switch c := s[i]; {
		case c < ' ' || c > '~', c == '<', c == '>', c == '&', c == '"', c == '\'':
			return false
		}
	}
	return true
}

// num writes a coordinate to a hundredth of a unit, which is finer than any printer.
func num(x float64) string {
	hundredths := int64(math.Round(x * 100))
	if hundredths%100 == 0 {
		return strconv.FormatInt(hundredths/100, 10)
	}
	var room [24]byte
	b := room[:0]
	if hundredths < 0 {
		b, hundredths = append(b, '-'), -hundredths
	}
	b = strconv.AppendInt(b, hundredths/100, 10)
	b = append(b, '.', byte('0'+hundredths/10%10))
	if last := hundredths % 10; last != 0 {
		b = append(b, byte('0'+last))
	}
	return string(b)
}

// frame is what every chart has: an id that is unique on its page, and a title.
type frame struct {
	id, title, desc string
	height          float64
	small           bool    // narrower, to stand in a table
	across          float64 // the width, where it is another than usual
}

var idPattern = regexp.MustCompile(`^[A-Za-z][A-Za-z0-9_-]*$`)

// ErrID reports an ID that cannot be used as the id of an element.
var ErrID = errors.New("the chart's ID must be a letter followed by letters, digits, hyphens or underscores")

// document wraps a drawing into its svg element with title and description.
func (f frame) document(drawing *svg) (string, error) {
	if !idPattern.MatchString(f.id) {
		return "", fmt.Errorf("chart %q: %w", f.id, ErrID)
	}
	class, across := "chart", width
	if f.across > 0 {
		class, across = "chart chart-wide", f.across
	}
	if f.small {
		class, across = "chart chart-small", smallWidth
	}
	var s svg
	s.open("svg", "xmlns", "http://www.w3.org/2000/svg", "class", class, "viewBox",
		"0 0 "+num(across)+" "+num(f.height), "role", "img",
		"aria-labelledby", f.id+"-title "+f.id+"-desc")
	s.b.Grow(drawing.b.Len() + len(f.desc) + usualLength/8)
	s.b.WriteString("\n")
	s.textElement("title", f.title, "id", f.id+"-title")
	s.textElement("desc", f.desc, "id", f.id+"-desc")
	s.b.WriteString(drawing.b.String())
	s.close("svg")
	return s.b.String(), nil
}

// write renders a chart whole or not at all.
func write(ctx context.Context, w io.Writer, draw func() (string, error)) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	drawing, err := draw()
	if err != nil {
		return err
	}
	_, err = io.WriteString(w, drawing)
	return err
}

// empty draws a chart for which there are no figures yet.
func empty(id, title string) (string, error) { return emptyOf(id, title, noReadings) }

// emptyOf draws a chart for which there is nothing to draw, and says why.
func emptyOf(id, title, why string) (string, error) {
	const height = 72
	var s svg
	s.line("chart-zero", 0, 1, width, 1)
	s.text("chart-caption", middle, width/2, 42, why)
	s.line("chart-rule", 0, height-1, width, height-1)
	return frame{id: id, title: title, desc: why, height: height}.document(&s)
}

const noReadings = "No readings yet."
