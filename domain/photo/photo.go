// Package photo makes uploaded photographs fit to keep: upright, of bounded
// size, and without the metadata that tells where and by whom they were taken.
package photo

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"image"
	"image/color"
	_ "image/gif" // registers the format for image.Decode
	"image/jpeg"
	_ "image/png" // registers the format for image.Decode

	_ "golang.org/x/image/webp" // registers the format for image.Decode
)

// Limits on what is taken in and kept.
const (
	MaxBytes    = 20 << 20   // of the upload
	maxPixels   = 50_000_000 // of the upload; pixels of 16 bits a channel count twice
	fullSidePx  = 2560       // longer side of the picture kept
	ThumbSidePx = 480        // longer side of its thumbnail
	jpegQuality = 88
)

// ContentType is the media type of what Process returns.
const ContentType = "image/jpeg"

// The ways an upload is refused.
var (
	ErrNotImage = errors.New("not an image that can be read")
	ErrTooLarge = errors.New("image too large")
	ErrHEIC     = errors.New("image in HEIC or AVIF form")
)

// Problem says err, from Process, as a sentence for a form.
func Problem(err error) string {
	switch {
	case err == nil:
		return ""
	case errors.Is(err, ErrTooLarge):
		return "This picture is too large: at most 20 MB and 50 megapixels can be taken."
	case errors.Is(err, ErrHEIC):
		return "This picture is in HEIC or AVIF form, which can't be read here: set the telephone's camera to JPEG, or " +
			"send the picture as JPEG."
	}
	return "This is not a picture that can be read: choose a JPEG, PNG, WebP or GIF file."
}

// Picture is a photograph made fit to keep. It holds nothing of the upload but
// its pixels.
type Picture struct {
	Full          []byte // JPEG, upright, longer side at most fullSidePx
	Thumb         []byte // JPEG, upright, longer side at most ThumbSidePx
	WidthPx       int    // of Full
	HeightPx      int
	ThumbWidthPx  int // of Thumb, pixels
	ThumbHeightPx int
	SHA256        string // of Full, 64 hexadecimal digits
}

// Process decodes an upload in JPEG, PNG, WebP or GIF (first frame), turns it
// upright by its EXIF orientation, and encodes it anew, so that no metadata of
// the upload survives. Transparent parts become white. The same upload gives
// the same bytes. The error wraps ErrTooLarge, ErrHEIC or ErrNotImage.
func Process(upload []byte) (Picture, error) {
	src, err := decode(upload)
	if err != nil {
		return Picture{}, err
	}
	full := orient(shrink(src, fullSidePx), orientationOf(upload))
	thumb := shrink(full, ThumbSidePx)
	p := Picture{
		WidthPx: full.Rect.Dx(), HeightPx: full.Rect.Dy(),
		ThumbWidthPx: thumb.Rect.Dx(), ThumbHeightPx: thumb.Rect.Dy(),
	}
	if p.Full, err = encode(full); err != nil {
		return Picture{}, err
	}
	if p.Thumb, err = encode(thumb); err != nil {
		return Picture{}, err
	}
	p.Thumb = withSum(p.Thumb)
	sum := sha256.Sum256(p.Full)
	p.SHA256 = hex.EncodeToString(sum[:])
	return p, nil
}

// decode reads the pixels, having looked at the size first: a small file can
// claim a picture that no memory holds.
func decode(upload []byte) (image.Image, error) {
	if len(upload) > MaxBytes {
		return nil, fmt.Errorf("%d bytes: %w", len(upload), ErrTooLarge)
	}
	if isHEIF(upload) {
		return nil, ErrHEIC
	}
	config, _, err := image.DecodeConfig(bytes.NewReader(upload))
	if err != nil {
		return nil, fmt.Errorf("%w: %w", ErrNotImage, err)
	}
	if config.Width <= 0 || config.Height <= 0 {
		return nil, fmt.Errorf("%d x %d pixels: %w", config.Width, config.Height, ErrNotImage)
	}
	if config.Width > maxPixels/channelBytes(config.ColorModel)/config.Height {
		return nil, fmt.Errorf("%d x %d pixels: %w", config.Width, config.Height, ErrTooLarge)
	}
	img, _, err := image.Decode(bytes.NewReader(upload))
	if err != nil {
		return nil, fmt.Errorf("%w: %w", ErrNotImage, err)
	}
	if img.Bounds().Empty() {
		return nil, fmt.Errorf("no pixels: %w", ErrNotImage)
	}
	return img, nil
}

func channelBytes(m color.Model) int {
	switch m {
	case color.NRGBA64Model, color.RGBA64Model, color.Gray16Model:
		return 2
	}
	return 1
}

// isHEIF reports whether the file is of the ISO base media family that
// telephones write pictures in: bytes 4 to 7 say 'ftyp', the next four a brand
// of HEIF (ISO/IEC 23008-12) or AVIF.
func isHEIF(upload []byte) bool {
	if len(upload) < 12 || string(upload[4:8]) != "ftyp" {
		return false
	}
	switch string(upload[8:12]) {
	case "heic", "heix", "hevc", "hevx", "heim", "heis", "mif1", "msf1", "avif", "avis":
		return true
	}
	return false
}

func encode(img image.Image) ([]byte, error) {
	var out bytes.Buffer
	if err := jpeg.Encode(&out, img, &jpeg.Options{Quality: jpegQuality}); err != nil {
		return nil, fmt.Errorf("encode picture: %w", err)
	}
	return out.Bytes(), nil
}
