package paper

import (
	"bytes"
	"errors"
	"fmt"
	"image"
	"image/jpeg"
	_ "image/png" // photographs come as JPEG or PNG
	"strconv"

	"codeberg.org/go-pdf/fpdf"
	"golang.org/x/image/draw"
)

// ErrPhoto reports a photograph that cannot be read: neither JPEG nor PNG,
// damaged, or of more than 60 million pixels.
var ErrPhoto = errors.New("paper: photograph cannot be read")

// Photo is a photograph as JPEG or PNG, turned upright.
type Photo struct {
	Image   []byte
	Caption string
}

const (
	mostPixels    = 60_000_000
	photoPerMM    = 9.5 // pixels, about 240 to the inch
	photoQuality  = 85
	photosAbreast = 3
	photoHeight   = 42.0 // mm
)

// photos sets the photographs three abreast, each whole within its frame.
func (f *flow) photos(photos []Photo) error {
	const gap = 5.0
	if len(photos) == 0 {
		return nil
	}
	width := (a4Inner - gap*(photosAbreast-1)) / photosAbreast
	rowHeight := photoHeight + labelStyle.lineHeight() + 4
	f.section("Photographs", rowHeight)
	for i, p := range photos {
		if i%photosAbreast == 0 {
			f.need(rowHeight)
		}
		x := marginSide + float64(i%photosAbreast)*(width+gap)
		if err := f.photo(p, x, f.y, width, photoHeight); err != nil {
			return fmt.Errorf("photograph %d: %w", i+1, err)
		}
		f.fitted(x, f.y+photoHeight+1+labelStyle.ascent(), width, p.Caption, labelStyle, 5.5, left)
		if i%photosAbreast == photosAbreast-1 || i == len(photos)-1 {
			f.y += rowHeight
		}
	}
	return nil
}

// photo draws p as large as a frame of width by height mm holds it.
func (f *flow) photo(p Photo, x, y, width, height float64) error {
	size, kind, err := image.DecodeConfig(bytes.NewReader(p.Image))
	if err != nil || kind != "jpeg" && kind != "png" || size.Width < 1 || size.Height < 1 ||
		size.Width > mostPixels/size.Height {
		return ErrPhoto
	}
	full, _, err := image.Decode(bytes.NewReader(p.Image))
	if err != nil {
		return fmt.Errorf("%w: %w", ErrPhoto, err)
	}
	k := min(width/float64(size.Width), height/float64(size.Height))
	w, h := k*float64(size.Width), k*float64(size.Height)
	print, err := f.printSize(full, w, h)
	if err != nil {
		return err
	}
	name, options := "photo"+strconv.Itoa(f.images), fpdf.ImageOptions{ImageType: "jpeg"}
	f.pdf.RegisterImageOptionsReader(name, options, bytes.NewReader(print))
	f.pdf.ImageOptions(name, x+(width-w)/2, y+(height-h)/2, w, h, false, options, 0, "")
	f.pdf.SetDrawColor(ruleInk.r, ruleInk.g, ruleInk.b)
	f.pdf.SetLineWidth(0.15)
	f.pdf.Rect(x, y, width, height, "D")
	return nil
}

// printSize draws a photograph on white at the pixels that w by h mm need. Each
// has a pixel or two of width to itself: the writer orders images by width alone,
// and equal ones would make the bytes of the paper differ from time to time.
func (f *flow) printSize(full image.Image, w, h float64) ([]byte, error) {
	f.images++
	across := f.freeWidth(min(full.Bounds().Dx(), int(w*photoPerMM)))
	down := min(full.Bounds().Dy(), int(h*photoPerMM))
	pixels := image.Rect(0, 0, across, max(1, down))
	small := image.NewRGBA(pixels)
	draw.Draw(small, pixels, image.White, image.Point{}, draw.Src)
	draw.CatmullRom.Scale(small, pixels, full, full.Bounds(), draw.Over, nil)
	var b bytes.Buffer
	if err := jpeg.Encode(&b, small, &jpeg.Options{Quality: photoQuality}); err != nil {
		return nil, fmt.Errorf("%w: %w", ErrPhoto, err)
	}
	return b.Bytes(), nil
}

// freeWidth is the least width from wish up that no photograph has yet.
func (f *flow) freeWidth(wish int) int {
	width := max(1, wish)
	for f.widths[width] {
		width++
	}
	f.widths[width] = true
	return width
}
