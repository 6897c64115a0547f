package photo

import (
	"image"
	"math"
	"testing"

	"pgregory.net/rapid"
)

// areaMean is the mean of one channel over a rectangle in source pixels, by
// the definition: each pixel weighted with the area it shares with it.
func areaMean(src *image.RGBA, channel int, x0, y0, x1, y1 float64) float64 {
	sum := 0.0
	for y := int(y0); y < src.Rect.Dy() && float64(y) < y1; y++ {
		for x := int(x0); x < src.Rect.Dx() && float64(x) < x1; x++ {
			shared := (math.Min(x1, float64(x+1)) - math.Max(x0, float64(x))) * (math.Min(y1, float64(y+1)) - math.Max(y0,
				float64(y)))
			sum += shared * float64(src.Pix[src.PixOffset(x, y)+channel])
		}
	}
	return sum / ((x1 - x0) * (y1 - y0))
}

func TestShrinkIsTheAreaMean(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		w, h := rapid.IntRange(1, 40).Draw(t, "w"), rapid.IntRange(1, 40).Draw(t, "h")
		side := rapid.IntRange(1, 40).Draw(t, "side")
		src := image.NewRGBA(image.Rect(0, 0, w, h))
		seed := rapid.Uint64().Draw(t, "seed")
		for i := range src.Pix {
			seed = seed*6364136223846793005 + 1442695040888963407 // Knuth's MMIX generator
			src.Pix[i] = uint8(seed >> 56)
			if i%4 == 3 {
				src.Pix[i] = 255
			}
		}
		dst := shrink(src, side)
		dw, dh := float64(dst.Rect.Dx()), float64(dst.Rect.Dy())
		if max(dw, dh) != float64(min(side, max(w, h))) {
			t.Fatalf("%d x %d to %d gives %v", w, h, side, dst.Rect)
		}
		sx, sy := float64(w)/dw, float64(h)/dh
		for y := range dst.Rect.Dy() {
			for x := range dst.Rect.Dx() {
				for c := range 3 {
					got := float64(dst.Pix[dst.PixOffset(x, y)+c])
					want := areaMean(src, c, float64(x)*sx, float64(y)*sy, float64(x+1)*sx, float64(y+1)*sy)
					// Half a step of rounding, and 1e-9 for the floats of the definition.
					if math.Abs(got-want) > 0.5+1e-9 {
						t.Fatalf("at %d, %d channel %d: %g, want %g", x, y, c, got, want)
					}
				}
			}
		}
	})
}
