// Package logo makes an uploaded drawing of the shop's fit for its papers: a picture of bounded size that holds nothing of
// the upload but what is seen.
package logo

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"image"
	_ "image/jpeg" // registers the format for image.Decode
	"image/png"
	"regexp"
	"strconv"
	"strings"
)

// Limits on what is taken in and kept.
const (
	MaxBytes    = 4 << 20    // of the upload
	maxSVGBytes = 512 << 10  // of a drawing in SVG
	maxPixels   = 16_000_000 // of the upload
	// MaxSidePx is the longer side of what is kept: 600 dots to the inch over two inches, which is as much as a paper shows.
	MaxSidePx  = 1200
	minSidePx  = 16 // of what is seen, the shorter side
	mostAspect = 12 // longer side over the shorter
)

// The ways an upload is refused. What has more to say is a Refusal.
var (
	ErrNotImage  = errors.New("no PNG, JPEG or SVG that can be read")
	ErrTooLarge  = errors.New("too large")
	ErrEmpty     = errors.New("nothing to be seen")
	ErrFaint     = errors.New("too faint for white paper")
	ErrSmall     = errors.New("too small")
	ErrTooNarrow = errors.New("too long for its height")
)

// Refusal is a drawing in SVG that is not taken: Words is the sentence that says why.
type Refusal struct{ Words string }

func (r *Refusal) Error() string { return r.Words }

// Problem says err, from Process, as a sentence for a form.
func Problem(err error) string {
	var r *Refusal
	switch {
	case err == nil:
		return ""
	case errors.As(err, &r):
		return r.Words
	case errors.Is(err, ErrTooLarge):
		return "This file is too large: at most 4 MB and 16 megapixels can be taken, and 512 kB of SVG."
	case errors.Is(err, ErrEmpty):
		return "Nothing is to be seen on it: every part is white or clear."
	case errors.Is(err, ErrFaint):
		return "On white paper this would hardly be seen: choose the logo in a dark colour."
	case errors.Is(err, ErrSmall):
		return "What is to be seen is less than 16 pixels wide or high: choose a larger file."
	case errors.Is(err, ErrTooNarrow):
		return "This is more than twelve times as long as it is high, or as high as it is long: choose a more compact logo."
	}
	return "This is no logo that can be read: choose a PNG, JPEG or SVG file."
}

// Picture is a logo made fit to print.
type Picture struct {
	PNG      []byte
	WidthPx  int
	HeightPx int
	Name     Name
}

// Process makes an upload in PNG, JPEG or SVG fit to print: bounded before it is decoded, drawn anew, cut to what is seen,
// its clear parts kept clear. The same upload gives the same bytes. Problem says the error.
func Process(upload []byte) (Picture, error) {
	if len(upload) > MaxBytes {
		return Picture{}, fmt.Errorf("%d bytes: %w", len(upload), ErrTooLarge)
	}
	img, err := decode(upload)
	if err != nil {
		return Picture{}, err
	}
	if img, err = seen(img); err != nil {
		return Picture{}, err
	}
	var out bytes.Buffer
	if err := (&png.Encoder{CompressionLevel: png.BestCompression}).Encode(&out, img); err != nil {
		return Picture{}, fmt.Errorf("encode logo: %w", err)
	}
	p := Picture{PNG: out.Bytes(), WidthPx: img.Rect.Dx(), HeightPx: img.Rect.Dy()}
	sum := sha256.Sum256(p.PNG)
	p.Name = Name(fmt.Sprintf("%s-%dx%d", hex.EncodeToString(sum[:]), p.WidthPx, p.HeightPx))
	return p, nil
}

// decode reads the pixels, having looked at the size first: a small file can claim a picture that no memory holds.
func decode(upload []byte) (*image.RGBA, error) {
	if looksLikeSVG(upload) {
		return drawn(upload)
	}
	config, format, err := image.DecodeConfig(bytes.NewReader(upload))
	switch {
	case err != nil:
		return nil, fmt.Errorf("%w: %w", ErrNotImage, err)
	case format != "png" && format != "jpeg", config.Width <= 0, config.Height <= 0:
		return nil, fmt.Errorf("%s, %d x %d pixels: %w", format, config.Width, config.Height, ErrNotImage)
	case config.Width > maxPixels/config.Height:
		return nil, fmt.Errorf("%d x %d pixels: %w", config.Width, config.Height, ErrTooLarge)
	}
	img, _, err := image.Decode(bytes.NewReader(upload))
	if err != nil {
		return nil, fmt.Errorf("%w: %w", ErrNotImage, err)
	}
	return reduced(img, MaxSidePx), nil
}

// Name names a kept logo by the sum of its bytes and by its size, so that a page can be laid out before it is fetched:
// 64 hexadecimal digits, then width and height in pixels. "" is no logo.
type Name string

var nameShape = regexp.MustCompile(`^[0-9a-f]{64}-([1-9][0-9]{0,3})x([1-9][0-9]{0,3})$`)

// Valid reports whether n names a logo.
func (n Name) Valid() bool { return nameShape.MatchString(string(n)) }

// SizePx is the logo's width and height in pixels; 0, 0 for none.
func (n Name) SizePx() (w, h int) {
	m := nameShape.FindStringSubmatch(string(n))
	if m == nil {
		return 0, 0
	}
	w, _ = strconv.Atoi(m[1]) // digits, as the shape has them
	h, _ = strconv.Atoi(m[2])
	return w, h
}

// Fit is the width and height that the logo takes in a box, in the box's unit, its proportion kept; 0, 0 for no logo.
func (n Name) Fit(boxW, boxH float64) (w, h float64) {
	pw, ph := n.SizePx()
	if pw == 0 || ph == 0 {
		return 0, 0
	}
	scale := min(boxW/float64(pw), boxH/float64(ph))
	return float64(pw) * scale, float64(ph) * scale
}

// Holds reports whether these are the bytes that n names.
func (n Name) Holds(data []byte) bool {
	sum, _, _ := strings.Cut(string(n), "-")
	is := sha256.Sum256(data)
	return n.Valid() && sum == hex.EncodeToString(is[:])
}
