package photo

import "image"

// orientation is the value of EXIF tag 0x0112: where row 0 and column 0 of the
// stored pixels are on the upright picture (JEITA CP-3451, the same as TIFF
// 6.0 section 8).
type orientation int

// The orientations. The comment says where row 0 and column 0 are seen.
const (
	topLeft     orientation = 1 + iota // as stored
	topRight                           // mirrored left to right
	bottomRight                        // turned by 180°
	bottomLeft                         // mirrored top to bottom
	leftTop                            // mirrored about the falling diagonal
	rightTop                           // to be turned by 90° clockwise
	rightBottom                        // mirrored about the rising diagonal
	leftBottom                         // to be turned by 90° anticlockwise
)

// orient returns src as it is seen upright.
func orient(src *image.RGBA, o orientation) *image.RGBA {
	if o <= topLeft || o > leftBottom {
		return src
	}
	w, h := src.Rect.Dx(), src.Rect.Dy()
	size := image.Rect(0, 0, w, h)
	if o >= leftTop {
		size = image.Rect(0, 0, h, w)
	}
	dst := image.NewRGBA(size)
	for y := range h {
		for x := range w {
			dx, dy := seenAt(o, x, y, w, h)
			copy(dst.Pix[dst.PixOffset(dx, dy):][:4], src.Pix[src.PixOffset(x, y):][:4])
		}
	}
	return dst
}

// seenAt returns where the pixel stored at column x, row y of a picture w wide
// and h high is seen.
func seenAt(o orientation, x, y, w, h int) (dx, dy int) {
	switch o {
	case topRight:
		return w - 1 - x, y
	case bottomRight:
		return w - 1 - x, h - 1 - y
	case bottomLeft:
		return x, h - 1 - y
	case leftTop:
		return y, x
	case rightTop:
		return h - 1 - y, x
	case rightBottom:
		return h - 1 - y, w - 1 - x
	case leftBottom:
		return y, w - 1 - x
	}
	return x, y
}
