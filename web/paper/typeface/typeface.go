// Package typeface has the faces that papers are set in: the house's own, Plex Sans and Vollkorn; DejaVu where those
// lack a letter (Hebrew, Arabic, signs); and a type of the machine for Chinese, Japanese and Korean.
//
// The files in ttf are made once of the web fonts in web/static/fonts, so that paper and page have the same letters:
// with fonttools, each variable part (latin, latin-ext, greek, cyrillic, vietnamese) is fixed at its weight
// (fonttools varLib.instancer; Regular 400, SemiBold 600, Medium 500), Vollkorn's lining figures of one width (its features
// lnum and tnum) take the place of its digits, its layout tables and hints are dropped, since
// the writer of PDF uses neither, and the parts are joined by fonttools merge. Licence: SIL OFL 1.1, as there.
package typeface

import (
	_ "embed" // the house faces
	"fmt"
	"math"
	"sync"

	"github.com/go-fonts/dejavu/dejavusanscondensed"
	"github.com/go-fonts/dejavu/dejavusanscondensedbold"
	"golang.org/x/image/font"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"

	"ledgerwheel/web/paper/script"
)

// Face names a type face.
type Face int

// The faces of the house, and those that stand in for them.
const (
	Sans Face = iota
	SansBold
	Serif
	SerifItalic
	fallback
	fallbackBold
	machine // the first of those added, for Chinese, Japanese, Korean; the others follow
)

// lastRune is the greatest character a PDF text string of the writer can hold: it numbers glyphs by two-byte code.
const lastRune = 0xFFFF

// absent marks a character without a glyph in a width table.
const absent = -1

var (
	//go:embed ttf/PlexSans-Regular.ttf
	plex []byte
	//go:embed ttf/PlexSans-SemiBold.ttf
	plexBold []byte
	//go:embed ttf/Vollkorn-Medium.ttf
	vollkorn []byte
	//go:embed ttf/Vollkorn-Italic.ttf
	vollkornItalic []byte
)

// typeface is a face with its glyph widths, read once.
type typeface struct {
	name   string // PostScript name, as it appears in the PDF
	ttf    []byte
	widths func() *[lastRune + 1]int16 // in thousandths of the type size; absent where there is no glyph
}

var builtIn = [...]typeface{
	Sans:         newTypeface("PlexSans-Regular", plex),
	SansBold:     newTypeface("PlexSans-SemiBold", plexBold),
	Serif:        newTypeface("Vollkorn-Medium", vollkorn),
	SerifItalic:  newTypeface("Vollkorn-Italic", vollkornItalic),
	fallback:     newTypeface("DejaVuSansCondensed", dejavusanscondensed.TTF),
	fallbackBold: newTypeface("DejaVuSansCondensed-Bold", dejavusanscondensedbold.TTF),
}

func newTypeface(name string, ttf []byte) typeface {
	return typeface{name: name, ttf: ttf, widths: sync.OnceValue(func() *[lastRune + 1]int16 {
		widths, err := glyphWidths(ttf)
		if err != nil { // compiled in: only a wrong build gets here
			panic(fmt.Sprintf("typeface: built-in font: %v", err))
		}
		return widths
	})}
}

// glyphWidths reads the advance of every character of the basic plane.
func glyphWidths(ttf []byte) (*[lastRune + 1]int16, error) {
	f, err := sfnt.Parse(ttf)
	if err != nil {
		return nil, err
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
	return widths, nil
}

// of finds a face; ok is false for the machine's while there is none.
func of(f Face) (t typeface, ok bool) {
	if f < machine {
		return builtIn[f], true
	}
	list := added.Load()
	if list == nil || int(f-machine) >= len(*list) {
		return typeface{}, false
	}
	return (*list)[f-machine], true
}

// has reports whether the face can draw r.
func (f Face) has(r rune) bool {
	t, ok := of(f)
	return ok && r >= 0 && r <= lastRune && t.widths()[r] != absent
}

// Pick says what is drawn for r in f, and in which face: r itself where a face has it, else [script.Replacement].
func (f Face) Pick(r rune) (Face, rune) {
	for _, in := range [...]Face{f, f.stand(), fallback} {
		if in.has(r) {
			return in, r
		}
	}
	for in := machine; ; in++ {
		if _, ok := of(in); !ok {
			return fallback, script.Replacement
		}
		if in.has(r) {
			return in, r
		}
	}
}

// stand is the face of greatest coverage that keeps f's weight.
func (f Face) stand() Face {
	if f == SansBold {
		return fallbackBold
	}
	return fallback
}

// Advance is the width of r set in f, in thousandths of the type size.
func (f Face) Advance(r rune) float64 {
	if script.Invisible(r) {
		return 0
	}
	in, shown := f.Pick(r)
	t, _ := of(in)
	return float64(t.widths()[shown])
}

// TTF is the file of the face.
func (f Face) TTF() []byte {
	t, _ := of(f)
	return t.ttf
}

// Name is its PostScript name.
func (f Face) Name() string {
	t, _ := of(f)
	return t.name
}

// Lacking lists the characters of text that no face has, each once, in order of appearance.
func Lacking(text string) []rune {
	var missing []rune
	seen := map[rune]bool{}
	for _, r := range script.Prepare(text) {
		if r == '\n' || script.Invisible(r) || seen[r] {
			continue
		}
		seen[r] = true
		if _, drawn := Sans.Pick(r); drawn != r {
			missing = append(missing, r)
		}
	}
	return missing
}
