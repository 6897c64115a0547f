package e2e

import (
	"bytes"
	bigendian "encoding/binary"
	"image"
	"image/color"
	"image/jpeg"
	"os"
	"path/filepath"
	"testing"
)

// The photographs are made here, as a telephone would make them: stored lying on their side, with the EXIF data that
// says so and where they were taken.

const (
	photoWidth, photoHeight = 320, 240 // as stored; upright it is 240 wide
	quarterTurn             = 6        // EXIF orientation: the stored top is the right side (CIPA DC-008, 4.6.4)
)

// telephonePhoto writes such a photograph and returns its path. Upright, it is red at the top left, where the dial's
// maker would stand, and blue elsewhere.
func telephonePhoto(t *testing.T, name string) string {
	t.Helper()
	img := image.NewRGBA(image.Rect(0, 0, photoWidth, photoHeight))
	for y := range photoHeight {
		for x := range photoWidth {
			img.Set(x, y, color.RGBA{30, 40, 160, 255})
		}
	}
	// Turned a quarter clockwise for looking at, the stored bottom left comes to the top left.
	for y := photoHeight / 2; y < photoHeight; y++ {
		for x := range photoWidth / 2 {
			img.Set(x, y, color.RGBA{200, 30, 30, 255})
		}
	}
	var plain bytes.Buffer
	if err := jpeg.Encode(&plain, img, &jpeg.Options{Quality: 90}); err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(t.TempDir(), name)
	marked := append(append([]byte{0xFF, 0xD8}, exifSegment()...), plain.Bytes()[2:]...)
	if err := os.WriteFile(file, marked, 0o600); err != nil {
		t.Fatal(err)
	}
	return file
}

// entry is one field of a TIFF directory whose value fits its four bytes.
type entry struct {
	tag, kind uint16
	count     uint32
	value     [4]byte
}

// exifSegment is an APP1 segment with two directories: orientation and maker, and the place as GPS data.
func exifSegment() []byte {
	const ascii, short, long = 2, 3, 4
	be := bigendian.BigEndian
	number := func(n uint32) (b [4]byte) { be.PutUint32(b[:], n); return b }
	words := func(s string) (b [4]byte) { copy(b[:], s); return b }
	directory := func(list ...entry) []byte {
		b := be.AppendUint16(nil, uint16(len(list)))
		for _, e := range list {
			b = append(be.AppendUint32(be.AppendUint16(be.AppendUint16(b, e.tag), e.kind), e.count), e.value[:]...)
		}
		return be.AppendUint32(b, 0) // no directory follows
	}
	const head, firstLength = 8, 2 + 3*12 + 4
	tiff := append([]byte("MM\x00\x2a"), 0, 0, 0, head)
	tiff = append(tiff, directory(
		entry{0x010F, ascii, 4, words("Tel")},                  // Make
		entry{0x0112, short, 1, [4]byte{0, quarterTurn}},       // Orientation
		entry{0x8825, long, 1, number(head + firstLength)})...) // GPSInfo
	tiff = append(tiff, directory(
		entry{0x0001, ascii, 2, words("N")},     // GPSLatitudeRef
		entry{0x0003, ascii, 2, words("W")})...) // GPSLongitudeRef
	body := append([]byte("Exif\x00\x00"), tiff...)
	return append(be.AppendUint16([]byte{0xFF, 0xE1}, uint16(len(body)+2)), body...)
}

// upright checks a stored photograph: turned the right way up, and nothing left of what the telephone wrote.
func upright(t *testing.T, name string, jpg []byte) {
	t.Helper()
	for _, trace := range []string{"Exif", "\xFF\xE1", "GPS", "Tel\x00", "http://ns.adobe.com"} {
		if bytes.Contains(jpg, []byte(trace)) {
			t.Errorf("%s still holds %q", name, trace)
		}
	}
	img, _, err := image.Decode(bytes.NewReader(jpg))
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	b := img.Bounds()
	if b.Dx() >= b.Dy() {
		t.Errorf("%s is %d x %d, want it upright", name, b.Dx(), b.Dy())
	}
	reddish := func(x, y int) bool { r, _, bl, _ := img.At(x, y).RGBA(); return r > 2*bl }
	if !reddish(b.Dx()/4, b.Dy()/4) || reddish(3*b.Dx()/4, b.Dy()/4) || reddish(b.Dx()/4, 3*b.Dy()/4) {
		t.Errorf("%s is not the right way round: the red corner should be at the top left", name)
	}
}
