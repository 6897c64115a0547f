package drawing

import (
	"bytes"
	"fmt"

	"codeberg.org/go-pdf/fpdf"
)

// Pictures gives the PNG of a picture by its name; nil where it can't be had, which leaves its place empty.
type Pictures func(name string) []byte

// PicturePath is the address below which pages find pictures by their names.
const PicturePath = "/logo/"

type pictureOp struct {
	x, y, w, h float64
	name       string
}

// Picture draws a picture into a box, whose proportion must be its own.
func (d *Drawing) Picture(x, y, w, h float64, name string) { d.add(pictureOp{x, y, w, h, name}) }

// Pictured are the boxes of the pictures; their text is the name.
func (d *Drawing) Pictured() []Box {
	var boxes []Box
	d.each(func(n int, o op) {
		if p, ok := o.(pictureOp); ok {
			boxes = append(boxes, Box{Page: n, X: p.x, Y: p.y, W: p.w, H: p.h, Text: p.name})
		}
	})
	return boxes
}

func (p pictureOp) pdf(w *pdfWriter) {
	if w.of == nil {
		return
	}
	png := w.of(p.name)
	if png == nil {
		return
	}
	how := fpdf.ImageOptions{ImageType: "PNG"}
	w.RegisterImageOptionsReader(p.name, how, bytes.NewReader(png))
	w.ImageOptions(p.name, p.x, p.y, p.w, p.h, false, how, 0, "")
}

func (p pictureOp) svg(w *svgWriter) {
	fmt.Fprintf(w, `<image x="%s" y="%s" width="%s" height="%s" href="%s"/>`, num(p.x), num(p.y), num(p.w), num(p.h),
		xmlText(PicturePath+p.name))
}
