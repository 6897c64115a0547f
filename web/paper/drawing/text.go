package drawing

import (
	"strings"
	"unicode"

	"ledgerwheel/web/paper/script"
	"ledgerwheel/web/paper/typeface"
)

// MMPerPoint is a point of 1/72 inch, in mm.
const MMPerPoint = 25.4 / 72

// Ink is a print colour.
type Ink struct{ R, G, B int }

// The tokens of the house that print; the page ground is left to the paper.
var (
	Black  = Ink{0, 0, 0} // bar codes only
	Plain  = Ink{0x21, 0x1C, 0x16}
	Quiet  = Ink{0x6A, 0x60, 0x53}
	Accent = Ink{0x24, 0x45, 0x6B}
	Rule   = Ink{0xD9, 0xD0, 0xBD}
	Brass  = Ink{0x8A, 0x6A, 0x2A}
	White  = Ink{0xFF, 0xFF, 0xFF}
)

const lineGap = 1.32 // line spacing over type size

// Style is how a piece of text is set; size in points.
type Style struct {
	Face typeface.Face
	Size float64
	Ink  Ink
}

func (st Style) At(size float64) Style { st.Size = size; return st }
func (st Style) In(i Ink) Style        { st.Ink = i; return st }

// LineHeight is the distance between baselines, in mm.
func (st Style) LineHeight() float64 { return st.Size * MMPerPoint * lineGap }

// Ascent is the room a line needs above its baseline, in mm: capitals with an accent reach 0.93 of the size.
func (st Style) Ascent() float64 { return 0.93 * st.Size * MMPerPoint }

// Descent is the room below the baseline, in mm.
func (st Style) Descent() float64 { return 0.24 * st.Size * MMPerPoint }

// CapHeight is the height of a capital, in mm: 0.698 of the size in Plex Sans.
func (st Style) CapHeight() float64 { return 0.698 * st.Size * MMPerPoint }

func (st Style) runeWidth(r rune) float64 {
	return st.Face.Advance(r) / 1000 * st.Size * MMPerPoint
}

// Width is the length of a prepared line in mm.
func (st Style) Width(line string) float64 {
	sum := 0.0
	for _, r := range line {
		sum += st.runeWidth(r)
	}
	return sum
}

// Line is a prepared line and the direction of the paragraph it belongs to.
type Line struct {
	Text string
	RTL  bool
}

// Block is wrapped text ready to draw.
type Block struct {
	Lines []Line
	Style Style
}

// Height of the block, in mm.
func (b Block) Height() float64 { return float64(len(b.Lines)) * b.Style.LineHeight() }

// Wrap breaks text into lines of at most width mm. Line feeds in text are kept; a word longer than a line is broken
// where it fills it.
func (st Style) Wrap(text string, width float64) []Line {
	text = strings.TrimSpace(script.Prepare(text))
	if text == "" {
		return nil
	}
	var lines []Line
	for _, paragraph := range strings.Split(text, "\n") {
		rtl := script.RightToLeft(paragraph)
		for _, line := range st.wrapParagraph(paragraph, width) {
			lines = append(lines, Line{line, rtl})
		}
	}
	return lines
}

func (st Style) wrapParagraph(paragraph string, width float64) []string {
	space := st.runeWidth(' ')
	var lines []string
	line, used := "", 0.0
	for _, word := range script.Fields(paragraph) {
		for _, part := range st.breakWord(word, width) {
			need := st.Width(part)
			switch {
			case line == "":
				line, used = part, need
			case used+space+need <= width:
				line, used = line+" "+part, used+space+need
			default:
				lines = append(lines, line)
				line, used = part, need
			}
		}
	}
	return append(lines, line)
}

// breakWord parts a word that is wider than a line; others stay whole. It does not part a mark from its base.
func (st Style) breakWord(word string, width float64) []string {
	if st.Width(word) <= width {
		return []string{word}
	}
	var parts []string
	start, sum := 0, 0.0
	for i, r := range word {
		w := st.runeWidth(r)
		if sum+w > width && i > start && !unicode.Is(unicode.Mn, r) {
			parts = append(parts, word[start:i])
			start, sum = i, 0
		}
		sum += w
	}
	return append(parts, word[start:])
}

// Settle sets text in a column width mm wide: on one line, smaller if it must be, down to least points; else wrapped
// at that size. Nothing is cut.
func (st Style) Settle(text string, least, width float64) Block {
	line := script.OneLine(text)
	if line == "" {
		return Block{Style: st}
	}
	natural := st.Width(line)
	if size := st.Size * width / natural; natural > width && size >= least {
		st = st.At(size * 0.999) // stay inside the width after rounding
	} else if natural > width {
		st = st.At(min(least, st.Size))
		return Block{st.Wrap(line, width), st}
	}
	return Block{[]Line{{line, script.RightToLeft(line)}}, st}
}

// Fit wraps text into a box of width by height mm: smaller if it must be, down to least points. It reports whether
// the box holds it; what it gives holds all of the text either way.
func (st Style) Fit(text string, least, width, height float64) (Block, bool) {
	const step = 0.2 // points; finer is not seen
	for size := st.Size; size > least; size -= step {
		b := Block{st.At(size).Wrap(text, width), st.At(size)}
		if b.Height() <= height {
			return b, true
		}
	}
	st = st.At(min(least, st.Size))
	b := Block{st.Wrap(text, width), st}
	return b, b.Height() <= height+1e-9 // rounding of the sum only
}
