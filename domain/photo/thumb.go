package photo

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"image/jpeg"
	"strings"
)

// A thumbnail is kept under the sum of its full size, so it states its own: in a comment segment right after the beginning
// (ITU-T T.81, B.2.4.5), the SHA-256 of all that follows the segment.
const (
	jpegStart  = "\xFF\xD8"
	commentTag = "\xFF\xFE"
	sumWord    = "sha256:"
	// segmentBytes are the marker, the length of two bytes, which counts itself, and the text.
	segmentBytes = 2 + 2 + len(sumWord) + 2*sha256.Size
)

// withSum has a JPEG state the sum of what follows.
func withSum(picture []byte) []byte {
	rest := picture[len(jpegStart):]
	sum := sha256.Sum256(rest)
	head := jpegStart + commentTag + string([]byte{0, byte(segmentBytes - 2)}) + sumWord + hex.EncodeToString(sum[:])
	return append([]byte(head), rest...)
}

// SumHolds reports whether a picture states its own sum, and whether it is that of what follows. Thumbnails of older releases
// state none.
func SumHolds(picture []byte) (stated, holds bool) {
	head := len(jpegStart) + segmentBytes
	if len(picture) < head || !strings.HasPrefix(string(picture[:head]), jpegStart+commentTag+string([]byte{0, byte(segmentBytes - 2)})+sumWord) {
		return false, false
	}
	sum := sha256.Sum256(picture[head:])
	return true, hex.EncodeToString(sum[:]) == string(picture[head-2*sha256.Size:head])
}

// ThumbOf makes the thumbnail of a full size anew.
func ThumbOf(full []byte) ([]byte, error) {
	img, err := jpeg.Decode(bytes.NewReader(full))
	if err != nil {
		return nil, fmt.Errorf("%w: %w", ErrNotImage, err)
	}
	thumb, err := encode(shrink(img, ThumbSidePx))
	if err != nil {
		return nil, err
	}
	return withSum(thumb), nil
}
