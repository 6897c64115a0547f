package paper

import (
	"fmt"
	"math"
	"sync"

	"github.com/go-fonts/dejavu/dejavusanscondensed"
	"github.com/go-fonts/dejavu/dejavusanscondensedbold"
	"github.com/go-fonts/dejavu/dejavuserif"
	"github.com/go-fonts/dejavu/dejavuserifcondensed"
	"github.com/go-fonts/dejavu/dejavuserifcondenseditalic"
	"golang.org/x/image/font"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
)

// face names one of the type faces that papers are set in.
type face int

const (
	sans face = iota
	sansBold
	serif
	serifNarrow
	serifItalic
)

// Replacement stands on paper for a character that the type lacks.
const Replacement = '\uFFFD'

// lastRune is the greatest character a PDF text string of the writer can hold:
// it numbers glyphs by two-byte code.
const lastRune = 0xFFFF

// absent marks a character without a glyph in a width table.
const absent = -1

// typeface is a face with its glyph widths, read once.
type typeface struct {
	name   string // PostScript name, as it appears in the PDF
	ttf    []byte
	widths func() *[lastRune + 1]int16 // in thousandths of the type size; absent where there is no glyph
}

var typefaces = [...]typeface{
	sans:        newTypeface("DejaVuSansCondensed", dejavusanscondensed.TTF),
	sansBold:    newTypeface("DejaVuSansCondensed-Bold", dejavusanscondensedbold.TTF),
	serif:       newTypeface("DejaVuSerif", dejavuserif.TTF),
	serifNarrow: newTypeface("DejaVuSerifCondensed", dejavuserifcondensed.TTF),
	serifItalic: newTypeface("DejaVuSerifCondensed-Italic", dejavuserifcondenseditalic.TTF),
}

func newTypeface(name string, ttf []byte) typeface {
	return typeface{name: name, ttf: ttf, widths: sync.OnceValue(func() *[lastRune + 1]int16 {
		return glyphWidths(ttf)
	})}
}

// glyphWidths reads the advance of every character of the basic plane. The fonts
// are compiled in, so one that does not parse is a fault of the build.
func glyphWidths(ttf []byte) *[lastRune + 1]int16 {
	f, err := sfnt.Parse(ttf)
	if err != nil {
		panic(fmt.Sprintf("paper: built-in font: %v", err))
	}
	var buf sfnt.Buffer
	em := fixed.I(int(f.UnitsPerEm()))
	widths := new([lastRune + 1]int16)
	for r := range rune(lastRune + 1) {
		widths[r] = absent
		glyph, err := f.GlyphIndex(&buf, r)
		if err != nil || glyph == 0 {
			continue
		}
		advance, err := f.GlyphAdvance(&buf, glyph, em, font.HintingNone)
		if err != nil {
			continue
		}
		widths[r] = int16(math.Round(1000 * float64(advance) / float64(em)))
	}
	return widths
}

// has reports whether the face can draw r.
func (f face) has(r rune) bool {
	return r >= 0 && r <= lastRune && typefaces[f].widths()[r] != absent
}

// fallback is the face of greatest coverage that keeps f's weight.
func (f face) fallback() face {
	if f == sansBold {
		return sansBold
	}
	return sans
}

// forRune picks what is drawn for r in f, and in which face: r itself where a
// face has it, else the Replacement character.
func (f face) forRune(r rune) (face, rune) {
	switch {
	case f.has(r):
		return f, r
	case f.fallback().has(r):
		return f.fallback(), r
	case sans.has(r):
		return sans, r
	}
	return sans, Replacement
}

// Missing lists the characters of text that would print as [Replacement], each
// once, in order of appearance. It is empty for text that prints in full.
func Missing(text string) []rune {
	var missing []rune
	seen := map[rune]bool{}
	for _, r := range prepare(text) {
		if r == '\n' || invisible(r) || seen[r] {
			continue
		}
		seen[r] = true
		if _, drawn := sans.forRune(r); drawn != r {
			missing = append(missing, r)
		}
	}
	return missing
}
