package drawing

import (
	"errors"
	"fmt"
	"strings"

	"github.com/boombuler/barcode"
	"github.com/boombuler/barcode/code128"
	"github.com/boombuler/barcode/qr"
	goqr "github.com/piglig/go-qr"

	"ledgerwheel/web/paper/script"
)

// Quiet zones, in modules on every side: ISO/IEC 15417 asks ten for Code 128,
// ISO/IEC 18004 four for QR.
const (
	quietCode128 = 10
	quietQR      = 4
)

// Least module widths, in mm, that a hand-held reader and a desktop printer
// manage. Common practice: 0.19 mm for linear codes, 0.3 mm for QR.
const (
	leastBarMM    = 0.19
	leastModuleMM = 0.30
)

// ErrCodeTooLong reports text that makes a bar code too fine to print in its place.
var ErrCodeTooLong = errors.New("text is too long for the bar code's place")

// rect is a dark rectangle of a bar code, in modules.
type rect struct{ x, y, w, h int }

// modules is a bar code as dark rectangles on a grid, quiet zone included.
type modules struct {
	w, h  int
	rects []rect
}

// code128Modules encodes text in Code 128, one module high.
func code128Modules(text string) (modules, error) {
	for _, r := range text {
		if r > 127 { // the library takes its function codes from beyond ASCII
			return modules{}, fmt.Errorf("code 128 of %q: not ASCII", text)
		}
	}
	img, err := code128.Encode(text)
	if err != nil {
		return modules{}, fmt.Errorf("code 128: %w", err)
	}
	w := img.Bounds().Dx()
	m := modules{w: w + 2*quietCode128, h: 1}
	for _, run := range darkRuns(w, func(x int) bool { return dark(img, x, 0) }) {
		m.rects = append(m.rects, rect{run[0] + quietCode128, 0, run[1] - run[0], 1})
	}
	return m, nil
}

// qrModules encodes text in a QR symbol of error correction level M.
func qrModules(text string) (modules, error) {
	if text == "" {
		return modules{}, errors.New("qr code: no text")
	}
	img, err := qr.Encode(text, qr.M, qr.Auto)
	if err != nil {
		return modules{}, fmt.Errorf("qr code: %w", err)
	}
	return squareModules(img.Bounds().Dx(), func(x, y int) bool { return dark(img, x, y) }), nil
}

// mixedModules is qrModules for a head of any text before a long tail of capitals and digits. Each goes in the mode that
// takes it shortest (ISO/IEC 18004, byte and alphanumeric), which the library above can't do in one symbol.
func mixedModules(head, tail string) (modules, error) {
	var segments []*goqr.QrSegment
	if head != "" {
		first, err := goqr.MakeBytes([]byte(head))
		if err != nil {
			return modules{}, fmt.Errorf("qr code: %w", err)
		}
		segments = append(segments, first)
	}
	rest, err := goqr.MakeAlphanumeric(tail)
	if err != nil {
		return modules{}, fmt.Errorf("qr code: %w", err)
	}
	const smallest, largest, anyMask, boost = 1, 40, -1, false
	code, err := goqr.EncodeSegments(append(segments, rest), goqr.Medium, smallest, largest, anyMask, boost)
	if err != nil {
		return modules{}, fmt.Errorf("qr code: %w", err)
	}
	return squareModules(code.Size(), code.Module), nil
}

// squareModules gathers the dark modules of a symbol of n by n into rectangles, quiet zone added.
func squareModules(n int, dark func(x, y int) bool) modules {
	m := modules{w: n + 2*quietQR, h: n + 2*quietQR}
	open := map[[2]int]int{} // runs of the row above, to their rectangle
	for y := range n {
		here := map[[2]int]int{}
		for _, run := range darkRuns(n, func(x int) bool { return dark(x, y) }) {
			if at, ok := open[run]; ok {
				m.rects[at].h++
				here[run] = at
				continue
			}
			here[run] = len(m.rects)
			m.rects = append(m.rects, rect{run[0] + quietQR, y + quietQR, run[1] - run[0], 1})
		}
		open = here
	}
	return m
}

// dark reports whether a module of a bar code is dark.
func dark(img barcode.Barcode, x, y int) bool {
	r, _, _, _ := img.At(x, y).RGBA()
	return r < 0x8000
}

// darkRuns lists the dark stretches of one row as [from, to).
func darkRuns(width int, dark func(x int) bool) [][2]int {
	var runs [][2]int
	start := -1
	for x := range width + 1 {
		ink := x < width && dark(x)
		switch {
		case ink && start < 0:
			start = x
		case !ink && start >= 0:
			runs = append(runs, [2]int{start, x})
			start = -1
		}
	}
	return runs
}

// Code128SVG draws text (printable ASCII, up to 80 characters) in Code 128 as an
// SVG image with a title, its quiet zone included. Size it by the classes
// "barcode" and "barcode-code128".
func Code128SVG(text string) (string, error) {
	m, err := code128Modules(text)
	if err != nil {
		return "", err
	}
	const height = 40 // modules; the quiet zone is at the sides only
	for i := range m.rects {
		m.rects[i].h = height
	}
	m.h = height
	return m.svg("barcode-code128", "Code 128: "+text), nil
}

// QRSVG draws text as a QR symbol in an SVG image with a title, its quiet zone
// included. Size it by the classes "barcode" and "barcode-qr".
func QRSVG(text string) (string, error) {
	m, err := qrModules(text)
	if err != nil {
		return "", err
	}
	return m.svg("barcode-qr", "QR code: "+text), nil
}

// svg uses presentation attributes, which a policy against inline style allows,
// and brings its own white ground, so that readers see it on a dark page too.
func (m modules) svg(class, title string) string {
	var b strings.Builder
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" class="barcode %s" role="img" viewBox="0 0 %d %d" shape-rendering="crispEdges"><title>%s</title>`,
		class, m.w, m.h, xmlText(title))
	fmt.Fprintf(&b, `<path class="barcode-ground" fill="#fff" d="M0 0h%dv%dH0z"/><path class="barcode-ink" fill="#000" d="`, m.w, m.h)
	for _, r := range m.rects {
		fmt.Fprintf(&b, "M%d %dh%dv%dh%dz", r.x, r.y, r.w, r.h, -r.w)
	}
	b.WriteString(`"/></svg>`)
	return b.String()
}

// xmlText escapes markup and drops the control characters XML cannot hold.
func xmlText(s string) string {
	s = strings.Map(func(r rune) rune {
		if r < ' ' && r != '\t' && r != '\n' {
			return -1
		}
		return r
	}, strings.ToValidUTF8(s, string(script.Replacement)))
	return strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;", `"`, "&#34;").Replace(s)
}

// codeOp is a bar code with modules w by h mm, its quiet zone beginning at (x, y).
type codeOp struct {
	m          modules
	x, y, w, h float64
}

// Code128 draws text in Code 128 with its bars inside a strip of width by height mm, at the side that align says; a bar
// is at most widest mm. The caller keeps ten times that free on either side. It returns where the bars begin and end.
func (d *Drawing) Code128(x, y, width, height, widest float64, align Alignment, text string) (from, to float64,
	err error) {
	m, err := code128Modules(text)
	if err != nil {
		return 0, 0, err
	}
	bars := float64(m.w - 2*quietCode128)
	module := min(widest, width/bars)
	if module < leastBarMM {
		return 0, 0, fmt.Errorf("code 128 of %q: %w", text, ErrCodeTooLong)
	}
	spare := width - module*bars
	switch align {
	case Centre:
		x += spare / 2
	case Right:
		x += spare
	}
	d.add(codeOp{m, x - quietCode128*module, y, module, height})
	return x, x + module*bars, nil
}

// QR draws text as a QR symbol in a square of size mm, quiet zone included.
func (d *Drawing) QR(x, y, size float64, text string) error {
	m, err := qrModules(text)
	if err != nil {
		return err
	}
	return d.square(x, y, size, m)
}

// MixedQR is QR for a head of any text before a tail of capitals and digits (ISO/IEC 18004 alphanumeric mode).
func (d *Drawing) MixedQR(x, y, size float64, head, tail string) error {
	m, err := mixedModules(head, tail)
	if err != nil {
		return err
	}
	return d.square(x, y, size, m)
}

func (d *Drawing) square(x, y, size float64, m modules) error {
	module := size / float64(m.w)
	if module < leastModuleMM {
		return fmt.Errorf("qr code of %d modules: %w", m.w-2*quietQR, ErrCodeTooLong)
	}
	d.add(codeOp{m, x, y, module, module})
	return nil
}
