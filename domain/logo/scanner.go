package logo

import (
	"errors"
	"image"
	"image/color"
	imagedraw "image/draw"

	"github.com/srwiley/rasterx"
	"golang.org/x/image/math/fixed"
	"golang.org/x/image/vector"
)

// errTooMuch is raised where a drawing has more lines than may be drawn.
var errTooMuch = errors.New("too many lines")

const mostPoints = 2_000_000

// scanner fills what rasterx draws: within bounds, so that no number makes it work for long, and also by the even-odd rule,
// which rasterx leaves to others. Each part of a path then is filled by itself, and what two parts share is cleared: right
// where no part crosses itself.
type scanner struct {
	*rasterx.ScannerGV
	img     *image.RGBA
	evenOdd bool
	parts   [][]fixed.Point26_6
	source  image.Image
	points  int
}

func newScanner(img *image.RGBA) *scanner {
	return &scanner{ScannerGV: rasterx.NewScannerGV(img.Rect.Dx(), img.Rect.Dy(), img, img.Rect), img: img}
}

// near keeps a point within three pictures' width of the picture: a line that leaves it further leaves it the same way.
func (s *scanner) near(a fixed.Point26_6) fixed.Point26_6 {
	if s.points++; s.points > mostPoints {
		panic(errTooMuch)
	}
	const far = 3 * MaxSidePx * 64
	return fixed.Point26_6{X: max(-far, min(far, a.X)), Y: max(-far, min(far, a.Y))}
}

// Start implements rasterx.Scanner.
func (s *scanner) Start(a fixed.Point26_6) {
	a = s.near(a)
	s.parts = append(s.parts, []fixed.Point26_6{a})
	s.ScannerGV.Start(a)
}

// Line implements rasterx.Scanner.
func (s *scanner) Line(b fixed.Point26_6) {
	b = s.near(b)
	if n := len(s.parts); n > 0 {
		s.parts[n-1] = append(s.parts[n-1], b)
	}
	s.ScannerGV.Line(b)
}

// SetWinding implements rasterx.Scanner.
func (s *scanner) SetWinding(nonZero bool) { s.evenOdd = !nonZero }

// SetColor implements rasterx.Scanner.
func (s *scanner) SetColor(c any) {
	switch c := c.(type) {
	case color.Color:
		s.source = image.NewUniform(c)
	case rasterx.ColorFunc:
		s.source = painted{c, s.img.Rect}
	}
	s.ScannerGV.SetColor(c)
}

// Clear implements rasterx.Scanner.
func (s *scanner) Clear() {
	s.parts = nil
	s.ScannerGV.Clear()
}

// Draw implements rasterx.Scanner.
func (s *scanner) Draw() {
	if !s.evenOdd || len(s.parts) < 2 {
		s.ScannerGV.Draw()
		return
	}
	if len(s.parts) > 400 { // each part is as much work as a whole picture
		panic(errTooMuch)
	}
	size := s.img.Rect
	all, one := image.NewAlpha(size), image.NewAlpha(size)
	for _, part := range s.parts {
		r := vector.NewRasterizer(size.Dx(), size.Dy())
		r.DrawOp = imagedraw.Src
		for i, p := range part {
			if x, y := float32(p.X)/64, float32(p.Y)/64; i == 0 {
				r.MoveTo(x, y)
			} else {
				r.LineTo(x, y)
			}
		}
		r.ClosePath()
		r.Draw(one, size, image.Opaque, image.Point{})
		for i, b := range one.Pix {
			a := int(all.Pix[i])
			all.Pix[i] = uint8((a*(255-int(b)) + int(b)*(255-a) + 127) / 255)
		}
	}
	imagedraw.DrawMask(s.img, size, s.source, image.Point{}, all, image.Point{}, imagedraw.Over)
}

// painted is a gradient as a picture.
type painted struct {
	at  rasterx.ColorFunc
	box image.Rectangle
}

func (p painted) ColorModel() color.Model { return color.RGBAModel }
func (p painted) Bounds() image.Rectangle { return p.box }
func (p painted) At(x, y int) color.Color { return p.at(x, y) }
