package paper

import (
	"strings"
	"unicode"
)

const (
	mmPerPoint = 25.4 / 72
	ellipsis   = '…'
)

// ink is a print colour.
type ink struct{ r, g, b int }

// The tokens of the house that print; the page ground is left to the paper.
var (
	black      = ink{0, 0, 0} // bar codes only
	textInk    = ink{0x21, 0x1C, 0x16}
	quietInk   = ink{0x6A, 0x60, 0x53}
	accentInk  = ink{0x24, 0x45, 0x6B}
	ruleInk    = ink{0xD9, 0xD0, 0xBD}
	brassInk   = ink{0x8A, 0x6A, 0x2A}
	whiteInk   = ink{0xFF, 0xFF, 0xFF}
	defaultGap = 1.32 // line spacing over type size
)

// style is how a piece of text is set; size in points.
type style struct {
	face face
	size float64
	ink  ink
}

func (st style) at(size float64) style { st.size = size; return st }
func (st style) in(i ink) style        { st.ink = i; return st }

// lineHeight is the distance between baselines, in mm.
func (st style) lineHeight() float64 { return st.size * mmPerPoint * defaultGap }

// ascent is the room a line needs above its baseline, in mm: DejaVu's
// capitals with an accent reach 0.93 of the size.
func (st style) ascent() float64 { return 0.93 * st.size * mmPerPoint }

// descent is the room below the baseline, in mm.
func (st style) descent() float64 { return 0.24 * st.size * mmPerPoint }

// capHeight is the height of a capital, in mm: 0.729 of the size in DejaVu.
func (st style) capHeight() float64 { return 0.729 * st.size * mmPerPoint }

// runeWidth is the advance of r in mm.
func (st style) runeWidth(r rune) float64 {
	if invisible(r) {
		return 0
	}
	f, shown := st.face.forRune(r)
	return float64(typefaces[f].widths()[shown]) / 1000 * st.size * mmPerPoint
}

// width is the length of a prepared line in mm.
func (st style) width(line string) float64 {
	sum := 0.0
	for _, r := range line {
		sum += st.runeWidth(r)
	}
	return sum
}

// fit sets one line within width mm: smaller if it must be, down to least
// points, then cut with an ellipsis.
func (st style) fit(text string, least, width float64) (string, style) {
	line := oneLine(text)
	natural := st.width(line)
	if natural <= width {
		return line, st
	}
	if size := st.size * width / natural; size >= least {
		return line, st.at(size * 0.999) // stay inside the width after rounding
	}
	st = st.at(min(least, st.size))
	return st.cut(line, width), st
}

// cut shortens a prepared line to width mm, ellipsis included. It does not part
// a mark from its base.
func (st style) cut(line string, width float64) string {
	if st.width(line) <= width {
		return line
	}
	room := width - st.runeWidth(ellipsis)
	sum, end := 0.0, 0
	for i, r := range line {
		if !unicode.Is(unicode.Mn, r) {
			end = i
		}
		if sum += st.runeWidth(r); sum > room {
			break
		}
	}
	return strings.TrimRightFunc(line[:end], unicode.IsSpace) + string(ellipsis)
}

// oneLine prepares text for a place that holds a single line.
func oneLine(text string) string {
	return strings.Join(strings.Fields(prepare(text)), " ")
}

// setLine is a prepared line and the direction of the paragraph it belongs to.
type setLine struct {
	text string
	rtl  bool
}

// wrap breaks text into lines of at most width mm. Line feeds in text are kept;
// a word longer than a line is broken where it fills it.
func (st style) wrap(text string, width float64) []setLine {
	text = strings.TrimSpace(prepare(text))
	if text == "" {
		return nil
	}
	var lines []setLine
	for _, paragraph := range strings.Split(text, "\n") {
		rtl := rightToLeft(paragraph)
		for _, line := range st.wrapParagraph(paragraph, width) {
			lines = append(lines, setLine{line, rtl})
		}
	}
	return lines
}

func (st style) wrapParagraph(paragraph string, width float64) []string {
	space := st.runeWidth(' ')
	var lines []string
	line, used := "", 0.0
	for _, word := range strings.Fields(paragraph) {
		for _, part := range st.breakWord(word, width) {
			need := st.width(part)
			switch {
			case line == "":
				line, used = part, need
			case used+space+need <= width && part != "":
				line, used = line+" "+part, used+space+need
			default:
				lines = append(lines, line)
				line, used = part, need
			}
		}
	}
	return append(lines, line)
}

// breakWord parts a word that is wider than a line; others stay whole.
func (st style) breakWord(word string, width float64) []string {
	if st.width(word) <= width {
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

// block is wrapped text ready to draw.
type block struct {
	lines []setLine
	style style
}

func (b block) height() float64 { return float64(len(b.lines)) * b.style.lineHeight() }

// fitBlock wraps text into a box of width by height mm: smaller if it must be,
// down to least points, then cut with an ellipsis.
func (st style) fitBlock(text string, least, width, height float64) block {
	const step = 0.25 // points; finer is not seen
	for size := st.size; size > least; size -= step {
		b := block{st.at(size).wrap(text, width), st.at(size)}
		if b.height() <= height {
			return b
		}
	}
	st = st.at(min(least, st.size))
	lines := st.wrap(text, width)
	room := max(1, int(height/st.lineHeight()+1e-9)) // rounding of the division only
	if len(lines) > room {
		lines = lines[:room]
		last := lines[room-1].text + string(ellipsis)
		if st.width(last) > width {
			last = st.cut(last, width)
		}
		lines[room-1].text = last
	}
	return block{lines, st}
}

// list draws items, each after a dash with its lines hanging clear of it, in a
// box of width by height mm by the rule of fitBlock.
func (s *sheet) list(x, y, width, height float64, items []string, st style, least float64) {
	const hang = 2.0
	var kept []string
	for _, item := range items {
		if line := oneLine(item); line != "" {
			kept = append(kept, line)
		}
	}
	text := strings.Join(kept, "\n")
	b := st.fitBlock(text, least, width-hang, height)
	starts := map[int]bool{}
	n := 0
	for _, item := range kept {
		starts[n] = true
		n += len(b.style.wrap(item, width-hang))
	}
	for i, line := range b.lines {
		baseline := y + b.style.ascent()
		if starts[i] {
			s.text(x, baseline, "–", b.style.in(quietInk), left)
		}
		s.setLine(x+hang, baseline, width-hang, line, b.style)
		y += b.style.lineHeight()
	}
}
