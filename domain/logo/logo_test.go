package logo

import (
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"math"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// square is a drawing of 100 by 100 with something in it.
func square(inner string) []byte {
	return []byte(`<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" viewBox="0 0 100 100">` + inner + `</svg>`)
}

// frame is a hair around the square, so that nothing is cut off it.
const frame = `<path d="M0 0H100V100H0Z M.4 .4V99.6H99.6V.4Z"/>`

// inkOf is how much of the square is inked, in its units.
func inkOf(t *testing.T, inner string) float64 {
	t.Helper()
	p, err := Process(square(frame + inner))
	if err != nil {
		t.Fatalf("%s: %v", inner, err)
	}
	img, err := png.Decode(bytes.NewReader(p.PNG))
	if err != nil {
		t.Fatal(err)
	}
	if p.WidthPx != MaxSidePx || p.HeightPx != MaxSidePx {
		t.Fatalf("%d x %d pixels", p.WidthPx, p.HeightPx)
	}
	sum := 0.0
	for y := range MaxSidePx {
		for x := range MaxSidePx {
			_, _, _, a := img.At(x, y).RGBA()
			sum += float64(a) / 0xffff
		}
	}
	return sum*100*100/MaxSidePx/MaxSidePx - (100*100 - 99.2*99.2)
}

// TestShapesAreDrawnAsMeant: each drawing covers the area that geometry gives. The cases are those that SVG 2 defines and that
// a drawing library gets wrong easily.
func TestShapesAreDrawnAsMeant(t *testing.T) {
	t.Parallel()
	disc := math.Pi * 30 * 30
	for name, c := range map[string]struct {
		inner string
		area  float64
	}{
		"rect":                          {`<rect x="10" y="20" width="50" height="30"/>`, 1500},
		"circle":                        {`<circle cx="50" cy="50" r="30"/>`, disc},
		"ellipse":                       {`<ellipse cx="50" cy="50" rx="30" ry="20"/>`, math.Pi * 600},
		"polygon":                       {`<polygon points="10,10 60,10 10,60"/>`, 1250},
		"rounded by one radius":         {`<rect x="10" y="10" width="40" height="40" rx="10"/>`, 1600 - (4-math.Pi)*100},
		"arc, flags without spaces":     {`<path d="M20 50a30 30 0 1060 0a30 30 0 10-60 0"/>`, disc},
		"arc, several in one command":   {`<path d="M20 50A30 30 0 1 0 80 50 30 30 0 1 0 20 50Z"/>`, disc},
		"relative, run together":        {`<path d="m10 10h50v-5.5.5l0 5v50h-50z"/>`, 50*50 + 0},
		"drawn on after it was closed":  {`<path d="M10 10h20v20h-20zv-5h20v5z"/>`, 400 + 100},
		"smooth cubic":                  {`<path d="M20 50C20 33.43 33.43 20 50 20S80 33.43 80 50 66.57 80 50 80 20 66.57 20 50Z"/>`, disc},
		"even-odd hole":                 {`<path fill-rule="evenodd" d="M10 10H90V90H10ZM30 30H70V70H30Z"/>`, 6400 - 1600},
		"even-odd by style and group":   {`<g style="fill-rule:evenodd"><path d="M10 10H90V90H10ZM30 30H70V70H30Z"/></g>`, 6400 - 1600},
		"non-zero, the same way round":  {`<path d="M10 10H90V90H10ZM30 30H70V70H30Z"/>`, 6400},
		"scaled by one factor":          {`<rect transform="scale(2)" x="5" y="10" width="25" height="15"/>`, 1500},
		"turned about a point":          {`<rect transform="rotate(30 50 50)" x="30" y="30" width="40" height="40"/>`, 1600},
		"moved, then scaled":            {`<g transform="translate(10 10) scale(.5)"><rect width="80" height="80"/></g>`, 1600},
		"a stroke is 1 wide":            {`<line x1="10" y1="50" x2="90" y2="50" stroke="#000"/>`, 80},
		"a stroke's corners are mitred": {`<path d="M20 20H80V80H20Z" fill="none" stroke="#000" stroke-width="10"/>`, 70*70 - 50*50},
		"a ring":                        {`<circle cx="50" cy="50" r="30" fill="none" stroke="#000" stroke-width="10"/>`, 2 * math.Pi * 30 * 10},
		"a triangle's corners":          {`<polygon points="10,10 90,10 10,90" fill="none" stroke="#000" stroke-width="4"/>`, 4 * (80 + 80 + 80*math.Sqrt2)},
		"a stroke is scaled":            {`<g transform="rotate(90) scale(2)" stroke-width="3"><path d="M10-10H40" stroke="#000"/></g>`, 60 * 6},
		"by class":                      {`<defs><style>.a,.b{fill:none}.b{stroke:#123456;stroke-width:4px}</style></defs><path class="a b" d="M10 50H90"/>`, 320},
		"half clear":                    {`<rect x="10" y="10" width="50" height="40" opacity=".5"/>`, 1000},
		"hidden":                        {`<g display="none"><rect width="90" height="90"/></g>`, 0},
		"a gradient that stands later": {`<rect x="10" y="10" width="50" height="40" fill="url(#g)"/>
			<linearGradient id="g"><stop stop-color="#000"/><stop offset="100%" style="stop-color:#222"/></linearGradient>`, 2000},
		"editors' own data are left out": {`<metadata><x xmlns="urn:x">y</x></metadata><q:r xmlns:q="urn:q"><q:s/></q:r><rect x="10" y="10" width="10" height="10"/>`, 100},
	} {
		if got := inkOf(t, c.inner); math.Abs(got-c.area) > 6+c.area*0.004 {
			t.Errorf("%s: %.1f are inked, want %.1f", name, got, c.area)
		}
	}
}

// TestSizeOfADrawing: a view box may begin anywhere and be of any unit.
func TestSizeOfADrawing(t *testing.T) {
	t.Parallel()
	for name, head := range map[string]string{"far off": `viewBox="-500 300 2 1"`, "large": `viewBox="0 0 200000 100000"`,
		"by width and height": `width="40mm" height="20mm"`} {
		x, y, w, h := -500.0, 300.0, 2.0, 1.0
		switch name {
		case "large":
			x, y, w, h = 0, 0, 200000, 100000
		case "by width and height":
			x, y, w, h = 0, 0, 40, 20
		}
		p, err := Process(fmt.Appendf(nil, `<svg %s><rect x="%g" y="%g" width="%g" height="%g"/></svg>`, head, x, y, w, h))
		if err != nil || p.WidthPx != MaxSidePx || p.HeightPx != MaxSidePx/2 {
			t.Errorf("%s: %d x %d pixels, %v", name, p.WidthPx, p.HeightPx, err)
		}
	}
}

// TestWhatIsNeverTaken: each kind has its own sentence.
func TestWhatIsNeverTaken(t *testing.T) {
	t.Parallel()
	rect := `<rect width="50" height="50"/>`
	for name, c := range map[string]struct {
		upload []byte
		says   string
	}{
		"script":                     {square(rect + `<script>alert(1)</script>`), "holds a script"},
		"script of another language": {square(rect + `<h:script xmlns:h="http://www.w3.org/1999/xhtml">x</h:script>`), "holds a script"},
		"handler":                    {square(`<g onload="alert(1)">` + rect + `</g>`), "holds a script"},
		"link that runs":             {square(`<a xlink:href="javascript:alert(1)">` + rect + `</a>`), "holds a script"},
		"entity":                     {[]byte(`<!DOCTYPE svg [<!ENTITY x SYSTEM "file:///etc/passwd">]>` + string(square(`<desc>&x;</desc>`+rect))), "declares entities"},
		"entities in entities":       {[]byte(`<?xml version="1.0"?><!DOCTYPE svg [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;">]>` + string(square(rect))), "declares entities"},
		"unknown entity":             {square(`<desc>&x;</desc>` + rect), "declares entities"},
		"picture elsewhere":          {square(rect + `<image href="https://example.org/x.png" width="9" height="9"/>`), "outside itself"},
		"picture within":             {square(rect + `<image width="9" height="9"/>`), "outside itself"},
		"use of another file":        {square(`<use xlink:href="other.svg#a"/>`), "outside itself"},
		"paint elsewhere":            {square(`<rect width="50" height="50" fill="url(https://example.org/#a)"/>`), "outside itself"},
		"style elsewhere":            {square(`<style>@import "https://example.org/a.css";</style>` + rect), "outside itself"},
		"sheet elsewhere":            {[]byte(`<?xml-stylesheet href="https://example.org/a.css"?>` + string(square(rect))), "outside itself"},
		"letters":                    {square(rect + `<text x="1" y="9">Tern</text>`), "letters as text"},
		"copies":                     {square(`<g id="a">` + rect + `</g><use href="#a"/>`), "uses ‹use›"},
		"clipped":                    {square(`<g clip-path="url(#c)">` + rect + `</g>`), "uses ‹clip-path›"},
		"dashes":                     {square(`<path d="M0 0H9" stroke="red" stroke-dasharray=".0001"/>`), "dashed lines"},
		"a stretched line":           {square(`<path transform="scale(1 5)" d="M0 9H9" stroke="red"/>`), "stretched"},
		"huge view box":              {[]byte(`<svg viewBox="0 0 1e30 1e30">` + rect + `</svg>`), "view box"},
		"view box without height":    {[]byte(`<svg viewBox="0 0 100 0">` + rect + `</svg>`), "view box"},
		"no size":                    {[]byte(`<svg>` + rect + `</svg>`), "view box"},
		"huge number":                {square(`<path d="M0 0H1e300V9Z"/>`), "a number beyond"},
		"cut off":                    {square(rect)[:100], "not whole"},
		"deep":                       {square(strings.Repeat("<g>", 100) + rect + strings.Repeat("</g>", 100)), "too intricate"},
		"packed":                     {[]byte{0x1f, 0x8b, 8, 0, 0}, "packed"},
		"Latin 1":                    {[]byte(`<?xml version="1.0" encoding="ISO-8859-1"?>` + string(square(rect))), "not written in UTF-8"},
		"too many bytes of SVG":      {square(rect + strings.Repeat(" ", maxSVGBytes)), "too large"},
		"no image":                   {[]byte("%PDF-1.7 and so on"), "no logo that can be read"},
		"empty":                      {nil, "no logo that can be read"},
		"a page":                     {[]byte(`<!doctype html><p>x</p>`), "no logo that can be read"},
		"too many bytes":             {make([]byte, MaxBytes+1), "too large"},
		"a PNG of 64 gigapixels":     {bomb(250_000, 250_000), "too large"},
		"a PNG cut off":              {pixels(t, 100, 100, color.Black)[:60], "no logo that can be read"},
		"white":                      {pixels(t, 100, 100, color.White), "Nothing is to be seen"},
		"clear":                      {pixels(t, 100, 100, color.Transparent), "Nothing is to be seen"},
		"pale yellow":                {pixels(t, 100, 100, color.NRGBA{255, 250, 160, 255}), "hardly be seen"},
		"tiny":                       {pixels(t, 10, 10, color.Black), "less than 16 pixels"},
		"a ribbon":                   {pixels(t, 1000, 20, color.Black), "twelve times"},
	} {
		p, err := Process(c.upload)
		if err == nil || !strings.Contains(Problem(err), c.says) || len(p.PNG) > 0 {
			t.Errorf("%s: %q, want %q", name, Problem(err), c.says)
		}
	}
}

// pixels is a PNG of one colour.
func pixels(t testing.TB, w, h int, c color.Color) []byte {
	t.Helper()
	img := image.NewNRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			img.Set(x, y, c)
		}
	}
	var out bytes.Buffer
	if err := png.Encode(&out, img); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// bomb is a small PNG whose head claims a size (PNG, third edition, 11.2.1).
func bomb(w, h uint32) []byte {
	var data bytes.Buffer
	z := zlib.NewWriter(&data)
	_, _ = z.Write(make([]byte, 1<<20)) // a bytes.Buffer takes all
	z.Close()
	out := []byte("\x89PNG\r\n\x1a\n")
	head := binary.BigEndian.AppendUint32(binary.BigEndian.AppendUint32(nil, w), h)
	for _, c := range []struct {
		kind string
		data []byte
	}{{"IHDR", append(head, 1, 0, 0, 0, 0)}, {"IDAT", data.Bytes()}, {"IEND", nil}} {
		out = binary.BigEndian.AppendUint32(out, uint32(len(c.data)))
		body := append([]byte(c.kind), c.data...)
		out = binary.BigEndian.AppendUint32(append(out, body...), crc32.ChecksumIEEE(body))
	}
	return out
}

// TestPicturesAreCutAndBounded: margins go, clear parts stay clear, a large picture is brought down, and its colour stays.
func TestPicturesAreCutAndBounded(t *testing.T) {
	t.Parallel()
	img := image.NewNRGBA(image.Rect(0, 0, 3000, 2000))
	for y := 500; y < 1500; y++ {
		for x := 250; x < 2750; x++ {
			if (x/500+y/250)%2 == 0 || x < 260 || x >= 2740 || y < 510 || y >= 1490 {
				img.Set(x, y, color.NRGBA{0, 64, 128, 255})
			}
		}
	}
	var upload bytes.Buffer
	if err := png.Encode(&upload, img); err != nil {
		t.Fatal(err)
	}
	p, err := Process(upload.Bytes())
	if err != nil {
		t.Fatal(err)
	}
	if w, h := p.Name.SizePx(); w != p.WidthPx || h != p.HeightPx || math.Abs(float64(w)/float64(h)-2.5) > 0.01 || w > MaxSidePx || w < 950 {
		t.Errorf("%d x %d pixels, named %s", p.WidthPx, p.HeightPx, p.Name)
	}
	if !p.Name.Valid() || !p.Name.Holds(p.PNG) || p.Name.Holds(append(p.PNG, 0)) {
		t.Errorf("%s does not name what is kept", p.Name)
	}
	again, _ := Process(upload.Bytes())
	if !bytes.Equal(again.PNG, p.PNG) {
		t.Error("the same upload gives other bytes")
	}
	kept, err := png.Decode(bytes.NewReader(p.PNG))
	if err != nil {
		t.Fatal(err)
	}
	clear, dark := 0, 0
	for y := range p.HeightPx {
		for x := range p.WidthPx {
			switch c := color.NRGBAModel.Convert(kept.At(x, y)).(color.NRGBA); {
			case c.A == 0:
				clear++
			case c == (color.NRGBA{0, 64, 128, 255}):
				dark++
			}
		}
	}
	if part := float64(clear+dark) / float64(p.WidthPx*p.HeightPx); part < 0.94 || clear*3 < dark || dark*3 < clear {
		t.Errorf("%d clear, %d dark: %.3f in all", clear, dark, part)
	}
	if w, h := p.Name.Fit(50, 10); math.Abs(w-25) > 0.2 || h != 10 {
		t.Errorf("it takes %.1f x %.1f of a box of 50 x 10", w, h)
	}
}

// TestJPEGIsTaken: also without a clear ground.
func TestJPEGIsTaken(t *testing.T) {
	t.Parallel()
	img := image.NewGray(image.Rect(0, 0, 400, 300))
	for i := range img.Pix {
		img.Pix[i] = 255
	}
	for y := 100; y < 200; y++ {
		for x := 100; x < 300; x++ {
			img.SetGray(x, y, color.Gray{30})
		}
	}
	var upload bytes.Buffer
	if err := jpeg.Encode(&upload, img, nil); err != nil {
		t.Fatal(err)
	}
	p, err := Process(upload.Bytes())
	if err != nil || p.WidthPx < 200 || p.WidthPx > 216 || p.HeightPx < 100 || p.HeightPx > 116 {
		t.Errorf("%d x %d pixels, %v", p.WidthPx, p.HeightPx, err)
	}
}

// TestAnyBytesAreTakenOrRefused: within a bounded time and with a sentence.
func TestAnyBytesAreTakenOrRefused(t *testing.T) {
	t.Parallel()
	words := []string{"<g>", "</g>", "<path d='", "'/>", "M", "L", "a", "0", "1", "-9e5", ".5", " ", ",", "z", "<rect width='9' height='9' ", "/>", "fill='", "url(#g)", "'", "transform='",
		"scale(", "1e6", ")", "rotate(45 1 1)", "<linearGradient id='g'>", "</linearGradient>", "<stop offset='1'/>", "stroke='red' ", "stroke-width='999' ", "fill-rule='evenodd' "}
	rapid.Check(t, func(t *rapid.T) {
		inner := strings.Join(rapid.SliceOfN(rapid.SampledFrom(words), 0, 40).Draw(t, "words"), "")
		begun := time.Now()
		p, err := Process(square(inner))
		if took := time.Since(begun); took > 20*time.Second {
			t.Fatalf("%s took %v", inner, took)
		}
		if (err == nil) != p.Name.Valid() || err != nil && Problem(err) == "" {
			t.Fatalf("%s: %v, %s", inner, err, p.Name)
		}
	})
}

// TestTooManyLinesAreRefused: a drawing of very many long lines ends in a sentence, not in a long wait.
func TestTooManyLinesAreRefused(t *testing.T) {
	t.Parallel()
	begun := time.Now()
	_, err := Process(square(`<path fill-rule="evenodd" d="` + strings.Repeat("M0 0L9 9 0 9Z", 3000) + `"/>`))
	if !errors.Is(err, errIntricate) {
		t.Errorf("many parts: %v", err)
	}
	_, err = Process(square(`<path d="M0 0` + strings.Repeat("L999999 1-999999 2", 25000) + `"/>`))
	if took := time.Since(begun); took > 60*time.Second {
		t.Errorf("took %v (%v)", took, err)
	}
	t.Logf("far lines: %v, %v", err, time.Since(begun))
}
