package photo

import (
	"bytes"
	"encoding/binary"
	"encoding/hex"
	"errors"
	"hash/crc32"
	"image"
	"image/color"
	"image/gif"
	"image/jpeg"
	"image/png"
	"math"
	"strings"
	"testing"
)

// letterF is the letter F as it is stored under each orientation, drawn as in
// the table of A. M. Costello that the manual of jpegexiforient (libjpeg-progs)
// prints. Upright it is the first.
var letterF = [8]string{
	"### #.. ##. #.. #..",
	"### ..# .## ..# ..#",
	"..# ..# .## ..# ###",
	"#.. #.. ##. #.. ###",
	"##### #.#.. #....",
	"#.... #.#.. #####",
	"....# ..#.# #####",
	"##### ..#.# ....#",
}

// blockPx is the side of one square of a letter: two blocks of JPEG chroma.
const blockPx = 32

// drawLetter paints the rows of a letter in dark squares on light.
func drawLetter(rows string) *image.RGBA {
	lines := strings.Fields(rows)
	img := image.NewRGBA(image.Rect(0, 0, blockPx*len(lines[0]), blockPx*len(lines)))
	for y := range img.Rect.Dy() {
		for x := range img.Rect.Dx() {
			shade := color.RGBA{230, 220, 200, 255}
			if lines[y/blockPx][x/blockPx] == '#' {
				shade = color.RGBA{30, 40, 60, 255}
			}
			img.SetRGBA(x, y, shade)
		}
	}
	return img
}

// readLetter reads the squares back by the shade of their middles.
func readLetter(img image.Image) string {
	var lines []string
	for y := blockPx / 2; y < img.Bounds().Dy(); y += blockPx {
		var line strings.Builder
		for x := blockPx / 2; x < img.Bounds().Dx(); x += blockPx {
			if r, _, _, _ := img.At(x, y).RGBA(); r>>8 < 128 {
				line.WriteByte('#')
			} else {
				line.WriteByte('.')
			}
		}
		lines = append(lines, line.String())
	}
	return strings.Join(lines, " ")
}

// secret stands in every piece of metadata that the tests write.
const secret = "SALTBYQUAY"

// tiff writes a TIFF structure as a camera does: a maker's name, the
// orientation, and a GPS directory with a position and the secret.
func tiff(order binary.AppendByteOrder, o uint16) []byte {
	short := func(b []byte, v uint16) []byte { return order.AppendUint16(b, v) }
	long := func(b []byte, v uint32) []byte { return order.AppendUint32(b, v) }
	entry := func(b []byte, tag, kind uint16, count uint32, value []byte) []byte {
		return append(long(short(short(b, tag), kind), count), value...)
	}
	t := []byte("MM")
	if order.String() == binary.LittleEndian.String() {
		t = []byte("II")
	}
	t = long(short(t, 42), 8)
	const (
		ascii, shortType, longType, rational = 2, 3, 4, 5
		gpsAt                                = 8 + 2 + 3*12 + 4
		dataAt                               = gpsAt + 2 + 3*12 + 4
	)
	t = short(t, 3)
	t = entry(t, 0x010F, ascii, uint32(len(secret)), long(nil, dataAt+24)) // Make
	t = entry(t, tagOrientation, shortType, 1, short(short(nil, o), 0))
	t = entry(t, 0x8825, longType, 1, long(nil, gpsAt)) // GPS directory
	t = long(t, 0)
	t = short(t, 3)
	t = entry(t, 0x0001, ascii, 2, []byte("N\x00\x00\x00"))
	t = entry(t, 0x0002, rational, 3, long(nil, dataAt)) // latitude
	t = entry(t, 0x001D, ascii, uint32(len(secret)), long(nil, dataAt+24))
	t = long(t, 0)
	for _, v := range []uint32{54, 1, 29, 1, 1234, 100} {
		t = long(t, v)
	}
	return append(t, secret...)
}

// withSegments puts APP segments in front of a JPEG's own.
func withSegments(jpg []byte, segments ...[]byte) []byte {
	out := append([]byte(nil), jpg[:2]...)
	for _, s := range segments {
		out = append(out, s...)
	}
	return append(out, jpg[2:]...)
}

func segment(marker byte, body []byte) []byte {
	return append(binary.BigEndian.AppendUint16([]byte{0xFF, marker}, uint16(len(body)+2)), body...)
}

func exifSegment(order binary.AppendByteOrder, o uint16) []byte {
	return segment(0xE1, append([]byte("Exif\x00\x00"), tiff(order, o)...))
}

func jpegOf(t testing.TB, img image.Image) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := jpeg.Encode(&b, img, &jpeg.Options{Quality: 95}); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func pngOf(t testing.TB, img image.Image) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := png.Encode(&b, img); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// withChunk puts a chunk after a PNG's header chunk.
func withChunk(file []byte, name string, data []byte) []byte {
	const afterHeader = 8 + 8 + 13 + 4
	c := binary.BigEndian.AppendUint32(nil, uint32(len(data)))
	named := append([]byte(name), data...)
	c = binary.BigEndian.AppendUint32(append(c, named...), crc32.ChecksumIEEE(named))
	return append(append(append([]byte(nil), file[:afterHeader]...), c...), file[afterHeader:]...)
}

func decodeJPEG(t *testing.T, file []byte) image.Image {
	t.Helper()
	img, err := jpeg.Decode(bytes.NewReader(file))
	if err != nil {
		t.Fatal(err)
	}
	return img
}

func TestEveryOrientationComesUpright(t *testing.T) {
	t.Parallel()
	for i, stored := range letterF {
		for name, order := range map[string]binary.AppendByteOrder{"big-endian": binary.BigEndian,
			"little-endian": binary.LittleEndian} {
			img := drawLetter(stored)
			for format, file := range map[string][]byte{
				"JPEG": withSegments(jpegOf(t, img), segment(0xE0, []byte("JFIF\x00\x01\x02")), exifSegment(order, uint16(i+1))),
				"PNG":  withChunk(pngOf(t, img), "eXIf", tiff(order, uint16(i+1))),
			} {
				p, err := Process(file)
				if err != nil {
					t.Fatalf("%s, %s, orientation %d: %v", format, name, i+1, err)
				}
				full := decodeJPEG(t, p.Full)
				if got := readLetter(full); got != letterF[0] {
					t.Errorf("%s, %s, orientation %d: %q, want %q", format, name, i+1, got, letterF[0])
				}
				if p.WidthPx != 3*blockPx || p.HeightPx != 5*blockPx || full.Bounds().Dx() != p.WidthPx ||
					full.Bounds().Dy() != p.HeightPx {
					t.Errorf("%s, orientation %d: said %d x %d, is %v", format, i+1, p.WidthPx, p.HeightPx, full.Bounds())
				}
				if got := readLetter(decodeJPEG(t, p.Thumb)); got != letterF[0] {
					t.Errorf("%s, orientation %d: thumbnail %q", format, i+1, got)
				}
			}
		}
	}
}

func TestNoMetadataSurvives(t *testing.T) {
	t.Parallel()
	img := drawLetter(letterF[0])
	thumbnailed := append(tiff(binary.LittleEndian, 1), jpegOf(t, img)...)
	for name, file := range map[string][]byte{
		"JPEG": append(withSegments(jpegOf(t, img),
			exifSegment(binary.BigEndian, 1),
			segment(0xE1, []byte("http://ns.adobe.com/xap/1.0/\x00<x:xmpmeta>"+secret+"</x:xmpmeta>")),
			segment(0xE1, append([]byte("Exif\x00\x00"), thumbnailed...)),
			segment(0xE2, []byte("ICC_PROFILE\x00\x01\x01"+secret)),
			segment(0xED, []byte("Photoshop 3.0\x008BIM"+secret)),
			segment(0xFE, []byte(secret)),
		), secret...), // and after the end of the image
		"PNG": withChunk(withChunk(pngOf(t, img), "tEXt", []byte("Author\x00"+secret)), "eXIf", tiff(binary.BigEndian, 1)),
	} {
		if !bytes.Contains(file, []byte(secret)) {
			t.Fatalf("%s: the upload does not hold the secret", name)
		}
		p, err := Process(file)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		for part, out := range map[string][]byte{"full": p.Full, "thumbnail": p.Thumb} {
			for _, trace := range []string{secret, "Exif", "MM\x00*", "II*\x00", "8BIM", "ICC_PROFILE", "xmp"} {
				if bytes.Contains(out, []byte(trace)) {
					t.Errorf("%s, %s: %q survives", name, part, trace)
				}
			}
			want := "DB C0 C4 DA"
			if part == "thumbnail" { // which states its own sum
				want = "FE " + want
				if stated, holds := SumHolds(out); !stated || !holds {
					t.Errorf("%s: the thumbnail's comment is no sum of it", name)
				}
			}
			if got := markers(t, out); got != want {
				t.Errorf("%s, %s: segments %s, want only tables, frame and scan", name, part, got)
			}
		}
	}
}

// markers lists the segments of a JPEG up to its scan, and checks that
// nothing follows the end of the image.
func markers(t *testing.T, file []byte) string {
	t.Helper()
	if !bytes.HasSuffix(file, []byte{0xFF, 0xD9}) || bytes.Count(file, []byte{0xFF, 0xD9}) != 1 {
		t.Error("something follows the end of the image")
	}
	var seen []string
	for rest := file[2:]; len(rest) > 4; rest = rest[2+int(binary.BigEndian.Uint16(rest[2:])):] {
		seen = append(seen, strings.ToUpper(hex.EncodeToString(rest[1:2])))
		if rest[1] == 0xDA {
			break
		}
	}
	return strings.Join(seen, " ")
}

func TestSizes(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct{ w, h, fullW, fullH, thumbW, thumbH int }{
		{2560, 10, 2560, 10, 480, 2},
		{2561, 10, 2560, 10, 480, 2},
		{3000, 1500, 2560, 1280, 480, 240},
		{1500, 3000, 1280, 2560, 240, 480},
		{480, 480, 480, 480, 480, 480},
		{1, 1, 1, 1, 1, 1},
		{5000, 1, 2560, 1, 480, 1},
	} {
		p, err := Process(pngOf(t, image.NewGray(image.Rect(0, 0, tt.w, tt.h))))
		if err != nil {
			t.Fatalf("%d x %d: %v", tt.w, tt.h, err)
		}
		if p.WidthPx != tt.fullW || p.HeightPx != tt.fullH || p.ThumbWidthPx != tt.thumbW || p.ThumbHeightPx != tt.thumbH {
			t.Errorf("%d x %d: %d x %d and %d x %d, want %d x %d and %d x %d", tt.w, tt.h,
				p.WidthPx, p.HeightPx, p.ThumbWidthPx, p.ThumbHeightPx, tt.fullW, tt.fullH, tt.thumbW, tt.thumbH)
		}
		if got := decodeJPEG(t, p.Thumb).Bounds(); got.Dx() != tt.thumbW || got.Dy() != tt.thumbH {
			t.Errorf("%d x %d: the thumbnail is %v", tt.w, tt.h, got)
		}
	}
}

// Scaling must average, not pick: a fine chequer of black and white becomes grey.
func TestScalingAverages(t *testing.T) {
	t.Parallel()
	img := image.NewGray(image.Rect(0, 0, 960, 960))
	for i := range img.Pix {
		img.Pix[i] = uint8((i%960+i/960)%2) * 255
	}
	p, err := Process(pngOf(t, img))
	if err != nil {
		t.Fatal(err)
	}
	thumb := decodeJPEG(t, p.Thumb)
	for _, at := range []image.Point{{100, 100}, {240, 240}, {333, 51}} {
		grey := color.GrayModel.Convert(thumb.At(at.X, at.Y)).(color.Gray).Y
		// The mean of 0 and 255 is 127.5; 3 is room for the JPEG's quantisation.
		if math.Abs(float64(grey)-127.5) > 3 {
			t.Errorf("at %v: %d, want about 127", at, grey)
		}
	}
}

func TestTransparentBecomesWhite(t *testing.T) {
	t.Parallel()
	p, err := Process(pngOf(t, image.NewNRGBA(image.Rect(0, 0, 600, 40))))
	if err != nil {
		t.Fatal(err)
	}
	for name, file := range map[string][]byte{"full": p.Full, "thumbnail": p.Thumb} {
		if r, g, b, _ := decodeJPEG(t, file).At(5, 5).RGBA(); min(r, g, b)>>8 < 250 { // room for the JPEG's quantisation
			t.Errorf("%s: %d %d %d, want white", name, r>>8, g>>8, b>>8)
		}
	}
}

func TestGIFGivesItsFirstFrame(t *testing.T) {
	t.Parallel()
	palette := color.Palette{color.White, color.Black}
	first, second := image.NewPaletted(image.Rect(0, 0, 40, 30), palette), image.NewPaletted(image.Rect(0, 0, 40, 30),
		palette)
	for i := range first.Pix {
		first.Pix[i] = 1
	}
	var b bytes.Buffer
	if err := gif.EncodeAll(&b, &gif.GIF{Image: []*image.Paletted{first, second}, Delay: []int{1, 1}}); err != nil {
		t.Fatal(err)
	}
	p, err := Process(b.Bytes())
	if err != nil {
		t.Fatal(err)
	}
	if r, _, _, _ := decodeJPEG(t, p.Full).At(20, 15).RGBA(); r>>8 > 10 {
		t.Errorf("shade %d, want black", r>>8)
	}
}

// onePixelWebP is a lossless picture of one pixel: RIFF header, VP8L chunk.
var onePixelWebP = []byte("RIFF\x1a\x00\x00\x00WEBPVP8L\x0d\x00\x00\x00\x2f\x00\x00\x00\x10\x07\x10\x11\x11\x88\x88\xfe\x07\x00")

func TestWebP(t *testing.T) {
	t.Parallel()
	p, err := Process(onePixelWebP)
	if err != nil || p.WidthPx != 1 || p.HeightPx != 1 {
		t.Errorf("%d x %d, %v; want 1 x 1", p.WidthPx, p.HeightPx, err)
	}
	exif := tiff(binary.LittleEndian, 6)
	if len(exif)%2 == 1 {
		exif = append(exif, 0)
	}
	withEXIF := append([]byte(nil), onePixelWebP...)
	withEXIF = append(withEXIF, "EXIF"...)
	withEXIF = append(binary.LittleEndian.AppendUint32(withEXIF, uint32(len(exif))), exif...)
	if got := orientationOf(withEXIF); got != rightTop {
		t.Errorf("orientation %d, want %d", got, rightTop)
	}
}

func TestSameUploadSameBytes(t *testing.T) {
	t.Parallel()
	file := withSegments(jpegOf(t, drawLetter(letterF[5])), exifSegment(binary.BigEndian, 6))
	a, errA := Process(file)
	b, errB := Process(file)
	if errA != nil || errB != nil || !bytes.Equal(a.Full, b.Full) || !bytes.Equal(a.Thumb, b.Thumb) ||
		a.SHA256 != b.SHA256 || len(a.SHA256) != 64 {
		t.Errorf("%v, %v, %s, %s", errA, errB, a.SHA256, b.SHA256)
	}
}

// claim returns a PNG that claims a size and depth, and holds nothing more.
func claim(w, h uint32, depth, colour byte) []byte {
	header := append(binary.BigEndian.AppendUint32(binary.BigEndian.AppendUint32([]byte("IHDR"), w), h), depth, colour, 0,
		0, 0)
	file := append([]byte("\x89PNG\r\n\x1a\n\x00\x00\x00\x0d"), header...)
	return binary.BigEndian.AppendUint32(file, crc32.ChecksumIEEE(header))
}

func TestRefusals(t *testing.T) {
	t.Parallel()
	good := jpegOf(t, drawLetter(letterF[0]))
	for name, tt := range map[string]struct {
		file []byte
		want error
	}{
		"nothing":              {nil, ErrNotImage},
		"words":                {[]byte("<html>not a picture</html>"), ErrNotImage},
		"drawing":              {[]byte(`<svg xmlns="http://www.w3.org/2000/svg"/>`), ErrNotImage},
		"cut short":            {good[:len(good)/2], ErrNotImage},
		"start alone":          {good[:2], ErrNotImage},
		"too many bytes":       {append(good, make([]byte, MaxBytes)...), ErrTooLarge},
		"too many pixels":      {claim(10000, 5001, 8, 2), ErrTooLarge},
		"absurd size":          {claim(1<<20, 1<<20, 8, 2), ErrTooLarge},
		"16 bits count twice":  {claim(10000, 2501, 16, 2), ErrTooLarge},
		"just small enough":    {claim(10000, 5000, 8, 2), ErrNotImage}, // its pixels are missing
		"16 bits small enough": {claim(10000, 2500, 16, 2), ErrNotImage},
		"HEIC":                 {[]byte("\x00\x00\x00\x18ftypheic\x00\x00\x00\x00mif1heic"), ErrHEIC},
		"AVIF":                 {[]byte("\x00\x00\x00\x18ftypavif\x00\x00\x00\x00mif1avif"), ErrHEIC},
		"film":                 {[]byte("\x00\x00\x00\x18ftypisom\x00\x00\x00\x00isomavc1"), ErrNotImage},
	} {
		p, err := Process(tt.file)
		if !errors.Is(err, tt.want) || p.Full != nil {
			t.Errorf("%s: %v, want %v", name, err, tt.want)
		}
		if len(Problem(err)) < 20 {
			t.Errorf("%s: the sentence is %q", name, Problem(err))
		}
	}
	if Problem(nil) != "" {
		t.Error("no error is no problem")
	}
	if Problem(ErrHEIC) == Problem(ErrNotImage) || Problem(ErrTooLarge) == Problem(ErrNotImage) {
		t.Error("each refusal has its own sentence")
	}
}

func TestFaultyEXIFIsPassedOver(t *testing.T) {
	t.Parallel()
	whole := tiff(binary.BigEndian, 6)
	change := func(at int, b byte) []byte {
		t := append([]byte(nil), whole...)
		t[at] = b
		return t
	}
	const entryAt = 8 + 2 + 12 // of the orientation
	for name, tt := range map[string]struct {
		tiff []byte
		want orientation
	}{
		"sound":                   {whole, rightTop},
		"nothing":                 {nil, topLeft},
		"unknown byte order":      {change(0, 'X'), topLeft},
		"not 42":                  {change(3, 43), topLeft},
		"directory far off":       {change(4, 0xFF), topLeft},
		"not a SHORT":             {change(entryAt+3, 4), topLeft},
		"two values":              {change(entryAt+7, 2), topLeft},
		"nought":                  {change(entryAt+9, 0), topLeft},
		"nine":                    {change(entryAt+9, 9), topLeft},
		"cut before the entry":    {whole[:entryAt+11], topLeft},
		"no entries":              {change(9, 0), topLeft},
		"claims too many entries": {change(8, 0xFF), rightTop},
	} {
		if got := tiffOrientation(tt.tiff); got != tt.want {
			t.Errorf("%s: %d, want %d", name, got, tt.want)
		}
	}
	for name, file := range map[string][]byte{
		"length of nought":   {0xFF, 0xD8, 0xFF, 0xE1, 0, 0, 'E', 'x'},
		"length past end":    {0xFF, 0xD8, 0xFF, 0xE1, 0xFF, 0xFF, 'E', 'x'},
		"EXIF after scan":    append([]byte{0xFF, 0xD8, 0xFF, 0xDA, 0, 2}, exifSegment(binary.BigEndian, 6)...),
		"endless PNG chunk":  append([]byte("\x89PNG\r\n\x1a\n"), 0xFF, 0xFF, 0xFF, 0xFF, 'e', 'X', 'I', 'f'),
		"endless WebP chunk": append([]byte("RIFF\x00\x00\x00\x00WEBP"), 'E', 'X', 'I', 'F', 0xFF, 0xFF, 0xFF, 0xFF),
	} {
		if got := orientationOf(file); got != topLeft {
			t.Errorf("%s: %d, want %d", name, got, topLeft)
		}
	}
	filled := append([]byte{0xFF, 0xD8, 0xFF, 0xFF}, exifSegment(binary.BigEndian, 6)...)
	if got := orientationOf(filled); got != rightTop {
		t.Errorf("after fill bytes: %d, want %d", got, rightTop)
	}
}

func FuzzOrientation(f *testing.F) {
	f.Add(withSegments(jpegOf(f, drawLetter(letterF[0])), exifSegment(binary.BigEndian, 6)))
	f.Add(withChunk(pngOf(f, image.NewGray(image.Rect(0, 0, 2, 2))), "eXIf", tiff(binary.LittleEndian, 8)))
	f.Add(onePixelWebP)
	f.Add(append([]byte{0xFF, 0xD8}, exifSegment(binary.LittleEndian, 3)...))
	f.Add([]byte{0xFF, 0xD8, 0xFF, 0xFF, 0xFF})
	f.Fuzz(func(t *testing.T, file []byte) {
		if o := orientationOf(file); o < topLeft || o > leftBottom {
			t.Errorf("orientation %d", o)
		}
	})
}

func BenchmarkProcess12Megapixels(b *testing.B) {
	img := image.NewRGBA(image.Rect(0, 0, 4000, 3000))
	for i := range img.Pix {
		img.Pix[i] = uint8(i * i >> 7)
	}
	file := withSegments(jpegOf(b, img), exifSegment(binary.BigEndian, 6))
	b.SetBytes(int64(len(file)))
	for b.Loop() {
		if _, err := Process(file); err != nil {
			b.Fatal(err)
		}
	}
}
