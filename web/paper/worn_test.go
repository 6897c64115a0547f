package paper

import (
	"fmt"
	"image"
	"image/color"
	"image/png"
	"math"
	"os"
	"path/filepath"
	"testing"

	"golang.org/x/image/draw"
	"golang.org/x/image/math/f64"
)

// seen is how a page of 300 dpi looks to a scanner that holds it askew and out of focus.
func seen(t *testing.T, file string, degrees float64, blurs int) string {
	t.Helper()
	f, err := os.Open(file)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	page, err := png.Decode(f)
	if err != nil {
		t.Fatal(err)
	}
	w, h := page.Bounds().Dx(), page.Bounds().Dy()
	out := image.NewGray(image.Rect(0, 0, w+300, h+300))
	draw.Draw(out, out.Bounds(), image.NewUniform(color.Gray{210}), image.Point{}, draw.Src)
	sin, cos := math.Sincos(degrees * math.Pi / 180)
	cx, cy := float64(w)/2, float64(h)/2
	draw.BiLinear.Transform(out, f64.Aff3{cos, -sin, cx + 150 - cos*cx + sin*cy, sin, cos, cy + 150 - sin*cx - cos*cy}, page,
		page.Bounds(), draw.Over, nil)
	for range blurs {
		out = blurred(out)
	}
	name := filepath.Join(t.TempDir(), "seen.png")
	to, err := os.Create(name)
	if err != nil {
		t.Fatal(err)
	}
	defer to.Close()
	if err := png.Encode(to, out); err != nil {
		t.Fatal(err)
	}
	return name
}

// blurred gives each dot the mean of the nine around it: a spread of 0.8 dots, which is a fifth of the smallest module.
func blurred(in *image.Gray) *image.Gray {
	out := image.NewGray(in.Rect)
	for y := in.Rect.Min.Y; y < in.Rect.Max.Y; y++ {
		for x := in.Rect.Min.X; x < in.Rect.Max.X; x++ {
			sum, n := 0, 0
			for dy := -1; dy <= 1; dy++ {
				for dx := -1; dx <= 1; dx++ {
					if (image.Point{x + dx, y + dy}).In(in.Rect) {
						sum, n = sum+int(in.GrayAt(x+dx, y+dy).Y), n+1
					}
				}
			}
			out.SetGray(x, y, color.Gray{uint8(sum / n)})
		}
	}
	return out
}

// The longest code that a card may carry is read from a print of 300 dpi, held askew and a little out of focus too.
func TestTheLongestCardIsRead(t *testing.T) {
	t.Parallel()
	c := provenWarranty()
	page := raster(t, onDisk(t, "card-proven", pdfOf(t, "card-proven", c)), 1, 300)
	for _, degrees := range []float64{0, 2, 7, 20, 90} {
		for blurs := range 2 {
			t.Run(fmt.Sprintf("%g degrees, blurred %d times", degrees, blurs), func(t *testing.T) {
				t.Parallel()
				if got := scan(t, seen(t, page, degrees, blurs)); !got["QR-Code:"+c.Code+c.Proof] {
					t.Errorf("read %.60v", got)
				}
			})
		}
	}
}
