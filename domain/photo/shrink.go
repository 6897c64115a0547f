package photo

import (
	"image"
	"image/draw"
)

// shrink draws src on white, its longer side brought down to side pixels by
// area averaging; a smaller picture keeps its size. It works row by row: a
// filter that keeps the whole picture in floating point needs half a gigabyte
// for a large photograph.
func shrink(src image.Image, side int) *image.RGBA {
	b := src.Bounds()
	w, h := b.Dx(), b.Dy()
	if longer := max(w, h); longer > side {
		w, h = max(1, (w*side+longer/2)/longer), max(1, (h*side+longer/2)/longer)
	}
	dst := image.NewRGBA(image.Rect(0, 0, w, h))
	if w == b.Dx() && h == b.Dy() {
		draw.Draw(dst, dst.Rect, image.White, image.Point{}, draw.Src)
		draw.Draw(dst, dst.Rect, src, b.Min, draw.Over)
		return dst
	}
	row := image.NewRGBA(image.Rect(0, 0, b.Dx(), 1))
	line := make([]uint64, 3*w) // one row of src, brought down to w
	sums := make([]uint64, 3*w) // of the row of dst in work
	area := uint64(b.Dx()) * uint64(b.Dy())
	at := cursor{cells: h, over: b.Dy(), left: b.Dy()}
	for y := range b.Dy() {
		draw.Draw(row, row.Rect, image.White, image.Point{}, draw.Src)
		draw.Draw(row, row.Rect, src, image.Pt(b.Min.X, b.Min.Y+y), draw.Over)
		sumRow(line, row.Pix, w, b.Dx())
		for i := range sums {
			sums[i] += at.here() * line[i]
		}
		if !at.fills() {
			at.step()
			continue
		}
		putRow(dst.Pix[at.cell*dst.Stride:], sums, area)
		for i := range sums {
			sums[i] = at.next() * line[i]
		}
		at.step()
	}
	return dst
}

// cursor walks over equal samples that are shared out among fewer equal cells.
// Each sample measures as many units as there are cells, each cell as many as
// there are samples, so every share is a whole number and none is lost.
type cursor struct {
	cells, over int // number of cells, number of samples
	cell        int // the one being filled
	left        int // units still to fill in it
}

// here is the share of the sample that goes to the cell being filled.
func (c *cursor) here() uint64 { return uint64(min(c.cells, c.left)) }

// next is the share that goes to the cell after it.
func (c *cursor) next() uint64 { return uint64(max(0, c.cells-c.left)) }

// fills reports whether the sample fills the cell.
func (c *cursor) fills() bool { return c.cells >= c.left }

// step goes on to the next sample.
func (c *cursor) step() {
	c.left -= c.cells
	if c.left <= 0 {
		c.left += c.over
		c.cell++
	}
}

// sumRow shares out a row of n RGBA pixels among w cells of red, green, blue.
func sumRow(line []uint64, pix []uint8, w, n int) {
	clear(line)
	at := cursor{cells: w, over: n, left: n}
	for x := range n {
		p := pix[4*x : 4*x+3 : 4*x+3]
		cell := line[3*at.cell:]
		share := at.here()
		cell[0] += share * uint64(p[0])
		cell[1] += share * uint64(p[1])
		cell[2] += share * uint64(p[2])
		if share = at.next(); share > 0 {
			cell[3] += share * uint64(p[0])
			cell[4] += share * uint64(p[1])
			cell[5] += share * uint64(p[2])
		}
		at.step()
	}
}

// putRow writes sums over an area as opaque pixels, rounded to the nearest.
func putRow(pix []uint8, sums []uint64, area uint64) {
	for i := range len(sums) / 3 {
		for c := range 3 {
			pix[4*i+c] = uint8((sums[3*i+c] + area/2) / area)
		}
		pix[4*i+3] = 255
	}
}
