package logo

import (
	"image"
	"image/draw"
	"math"

	xdraw "golang.org/x/image/draw"
)

// reduced brings the longer side down to at most side pixels: first by whole steps, averaging, since a filter that keeps a
// large picture in floating point takes hundreds of megabytes.
func reduced(src image.Image, side int) *image.RGBA {
	b := src.Bounds()
	img := averaged(src, max(1, max(b.Dx(), b.Dy())/side))
	w, h := img.Rect.Dx(), img.Rect.Dy()
	longer := max(w, h)
	if longer <= side {
		return img
	}
	dst := image.NewRGBA(image.Rect(0, 0, max(1, (w*side+longer/2)/longer), max(1, (h*side+longer/2)/longer)))
	xdraw.CatmullRom.Scale(dst, dst.Rect, img, img.Rect, xdraw.Src, nil)
	return dst
}

// averaged takes squares of step pixels together, row by row; what is left over at the right and below is dropped.
func averaged(src image.Image, step int) *image.RGBA {
	b := src.Bounds()
	w, h := max(1, b.Dx()/step), max(1, b.Dy()/step)
	dst := image.NewRGBA(image.Rect(0, 0, w, h))
	if step == 1 {
		draw.Draw(dst, dst.Rect, src, b.Min, draw.Src)
		return dst
	}
	row := image.NewRGBA(image.Rect(0, 0, b.Dx(), 1))
	sums := make([]int, 4*w)
	for y := range h {
		clear(sums)
		rows := min(step, b.Dy()-y*step)
		columns := min(step, b.Dx())
		for i := range rows {
			draw.Draw(row, row.Rect, src, image.Pt(b.Min.X, b.Min.Y+y*step+i), draw.Src)
			for x := range w {
				for c, v := range row.Pix[4*x*step : 4*(x*step+columns)] {
					sums[4*x+c%4] += int(v)
				}
			}
		}
		for i, sum := range sums {
			dst.Pix[y*dst.Stride+i] = uint8((sum + rows*columns/2) / (rows * columns))
		}
	}
	return dst
}

// What counts as seen and as legible on white paper, as contrast ratios of WCAG 2.2: 3 is what it asks of graphics (1.4.11).
const (
	seenFrom    = 1.05
	legibleFrom = 3.0
	legiblePart = 0.15 // of what is seen, at least; ours: a dark line about a light field is legible
)

// seen cuts a picture to what is seen of it on white paper, and says where that is too little, too faint or too long.
func seen(img *image.RGBA) (*image.RGBA, error) {
	var in image.Rectangle
	var all, legible int
	for y := img.Rect.Min.Y; y < img.Rect.Max.Y; y++ {
		for x := img.Rect.Min.X; x < img.Rect.Max.X; x++ {
			ratio := onWhite(img.Pix[img.PixOffset(x, y):])
			if ratio < seenFrom {
				continue
			}
			all++
			if ratio >= legibleFrom {
				legible++
			}
			in = in.Union(image.Rect(x, y, x+1, y+1))
		}
	}
	w, h := in.Dx(), in.Dy()
	switch {
	case all == 0:
		return nil, ErrEmpty
	case float64(legible) < legiblePart*float64(all):
		return nil, ErrFaint
	case min(w, h) < minSidePx:
		return nil, ErrSmall
	case max(w, h) > mostAspect*min(w, h):
		return nil, ErrTooNarrow
	}
	cut := image.NewRGBA(image.Rect(0, 0, w, h))
	draw.Draw(cut, cut.Rect, img, in.Min, draw.Src)
	return cut, nil
}

// onWhite is the contrast ratio of a pixel (red, green, blue, alpha, premultiplied) laid on white, as WCAG 2.2 defines it.
func onWhite(p []uint8) float64 {
	clear := 255 - p[3]
	return 1.05 / (0.2126*linear[p[0]+clear] + 0.7152*linear[p[1]+clear] + 0.0722*linear[p[2]+clear] + 0.05)
}

// linear is the light of an sRGB value (IEC 61966-2-1).
var linear = func() (of [256]float64) {
	for i := range of {
		if v := float64(i) / 255; v <= 0.04045 {
			of[i] = v / 12.92
		} else {
			of[i] = math.Pow((v+0.055)/1.055, 2.4)
		}
	}
	return of
}()
